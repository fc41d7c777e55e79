#ifndef UPSTOP_ANALYSIS_FIT_ALIGNED_H
#define UPSTOP_ANALYSIS_FIT_ALIGNED_H

/* The signals of one recording walked through together, on the time base of the current. Other tracks are read between
 * their samples along a straight line; readings that the instrument clipped or left out are NaN. */

#include "analysis/fit/recorded.h"

typedef struct up_cursor {
    const up_track *track; /* NULL: there is none */
    size_t at;
} up_cursor;

typedef struct up_moment {
    double time;           /* s */
    double current;        /* A */
    double leads, battery; /* V on the motor leads, and on the supply's side of harness and switch; NaN: not recorded */
    double speed;          /* rad/s of the armature */
    double position;       /* rad of the armature or m of the glass */
} up_moment;

typedef struct up_aligned {
    up_cursor current, leads, battery, speed, position;
    const up_track *pulses;
    int position_on_glass;
    size_t at, count;
} up_aligned;

/* Finds the tracks; nothing is copied. Of two voltages the one that is larger while current flows is the battery's; one
 * voltage alone is the battery's when it stays up while no current flows. Returns 0, or -1 without a current. */
int up_aligned_open(up_aligned *aligned, const up_recorded *recorded);

/* 1 and *moment, or 0 behind the last one. */
int up_aligned_next(up_aligned *aligned, up_moment *moment);

void up_aligned_rewind(up_aligned *aligned);
/* The next moment will be the first one at or behind that time, s. */
void up_aligned_seek(up_aligned *aligned, double time);

/* Time of a sample, s, and its value, NaN when clipped or missing. */
double up_track_time(const up_track *track, size_t at);
double up_track_value(const up_track *track, size_t at);

/* Level crossings of a pulse lead, one after the other. */
typedef struct up_edges {
    const up_track *track; /* NULL: none */
    double low, high;      /* levels to fall below and rise above */
    size_t at;
    int level; /* 0, 1; -1: not seen yet */
} up_edges;

/* track may be NULL. */
void up_edges_open(up_edges *edges, const up_track *track);

/* Time of the next edge, s; infinite when there is none. */
double up_edges_next(up_edges *edges);

#endif

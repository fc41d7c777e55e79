#ifndef UPSTOP_ANALYSIS_FIT_COURSE_H
#define UPSTOP_ANALYSIS_FIT_COURSE_H

/* What happened in one recording, made small: integrals of the signals from its start up to every encoder edge and up to
 * every tick of a coarse clock. Whatever lies between two such anchors is the difference of their integrals, exact for
 * straight lines between the samples, so nothing has to be differentiated and no sample is lost.
 *
 * Signs: raising is positive. Angles are those of the armature. */

#include "analysis/fit/aligned.h"
#include "core/door/door.h"

typedef struct up_anchor {
    double time;           /* s */
    double angle;          /* rad since the start; along the pulses, the speed or the position */
    double leads, battery; /* V s */
    double current;        /* A s */
    double brush;          /* s, integral of i / sqrt(i^2 + UP_BRUSH_CURRENT^2): what the brush drop weighs with */
    double warmed;         /* A s K, integral of current times the winding's rise as the sheet has it */
    double rise, box_rise; /* K above the air at this moment: winding, case */
    double amps;           /* A at this moment */
    long long samples;     /* taken up to here */
    long long unseen;      /* of those without a speed, where one is recorded */
    long long spoilt;      /* of those with a voltage or current that was missing or clipped */
    int direction; /* 1 raising, -1 lowering: the drive's at this moment, while coasting its last; 0 not yet driven */
} up_anchor;

typedef struct up_anchors {
    up_anchor *at;
    size_t count, room;
} up_anchors;

/* How the armature's motion is known. */
typedef enum up_motion {
    UP_MOTION_UNKNOWN,
    UP_MOTION_PULSES,
    UP_MOTION_SPEED,
    UP_MOTION_POSITION,
    UP_MOTION_RIPPLE /* speed from the current's ripple; where that has gaps, from the voltage */
} up_motion;

typedef enum up_happening {
    UP_HAPPENING_REST,
    UP_HAPPENING_SWITCHING, /* driven, not moving yet, or just switched */
    UP_HAPPENING_RUN_UP,
    UP_HAPPENING_STEADY,
    UP_HAPPENING_STALL,
    UP_HAPPENING_COAST, /* leads open, or shorted: then current flows back */
    UP_HAPPENING_COUNT
} up_happening;

typedef struct up_segment {
    up_happening happening;
    double start, end; /* s */
    int direction;
} up_segment;

enum { UP_SEGMENTS_MAX = 256 };

typedef struct up_course {
    up_aligned aligned;
    up_motion motion;
    int held;                           /* the armature is held: without pulses it stands */
    up_anchors edges;                   /* one each, only with pulses */
    up_anchors clock;                   /* evenly spaced */
    double clock_step, sample_interval; /* s */
    double most_current, most_voltage;  /* A, V */
    double zero;                        /* A that the instrument shows where nothing flows; taken off everywhere */
    double little_current;              /* A, below that nothing flows */
    double edge_angle;                  /* rad of the armature from edge to edge */
    double resistance, drop, torque_constant; /* ohm, V, V s/rad: the sheet's */
    double
        start_angle; /* rad of the armature at the first sample, glass at its down-stop: 0; NaN: no position recorded */
    int edges_a_turn; /* edges in one turn of the encoder's shaft */
    long long jumps;  /* samples between which the voltage jumped by half of its range */
    int segments;
    up_segment segment[UP_SEGMENTS_MAX];
} up_course;

/* Walks once through the recording. door: with the sheet's numbers, at the recording's temperature. held: 1: the armature
 * was held, whatever the voltage looks like. ripple: speeds found in the current's ripple, or NULL. Returns UP_OK, UP_BAD_OPTION
 * (no current, or fewer than 20 samples) or UP_MEMORY_TOO_SMALL; afterwards up_course_free in every case. */
up_status up_course_take(up_course *course, const up_recorded *recorded, const up_door *door, int held,
                         const up_track *ripple);
void up_course_free(up_course *course);

/* The next moment with the current's zero taken off; 0 behind the last one. */
int up_course_next(up_course *course, up_moment *moment);

/* segments.c: fills the segments from the anchors. */
void up_course_segment(up_course *course);

/* Is the armature seen to turn at that time? */
int up_course_moves(const up_course *course, double time);

const char *up_happening_word(up_happening happening);

#endif

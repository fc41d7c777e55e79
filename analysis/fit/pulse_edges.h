/* Edges of a lead that stands at two levels. Between pulses.c and pulse_edges.c. */
#ifndef UPSTOP_ANALYSIS_FIT_PULSE_EDGES_H
#define UPSTOP_ANALYSIS_FIT_PULSE_EDGES_H

#include <stddef.h>

#include "analysis/fit/recorded.h"

typedef struct up_levels {
    int two;          /* 1: the lead stands at two levels */
    double low, high; /* track's unit                     */
    double rises_at, falls_at;
    double noise; /* standard deviation round a level */
} up_levels;

/* Levels by the split that leaves least scatter within two classes (Otsu, "A threshold selection method from gray-level
 * histograms", IEEE Trans. SMC 9(1), 1979; from memory). */
up_levels up_levels_find(const up_track *track);

typedef struct up_rise {
    double time, error; /* s; standard deviation     */
    double fall;        /* s, of the edge down after */
} up_rise;

/* Rising edges, each with the falling one behind it (NaN: none came). rise: (capacity), or NULL to count only. Returns how
 * many there are. */
size_t up_rises_find(const up_track *track, const up_levels *levels, up_rise *rise, size_t capacity);

#endif

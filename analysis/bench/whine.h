/* The sound of a running drive: lines of the commutation, the worm mesh and the shaft, and hiss; all grow with the speed.
 * Strengths are assumed, no source; only the frequencies mean anything. */
#ifndef UPSTOP_ANALYSIS_BENCH_WHINE_H
#define UPSTOP_ANALYSIS_BENCH_WHINE_H

#include <stdint.h>

#include "analysis/bench/noise.h"
#include "core/door/values.h"

typedef struct up_whine {
    double now; /* pressure, -1..1 */
    double humps, starts, full_speed;
    uint64_t seed;
    up_noise hiss;
} up_whine;

void up_whine_begin(up_whine *whine, const up_values *values, uint64_t seed);

/* The next fine sample; factor: of the brushes, whose sparks and drop-outs are heard. */
void up_whine_at(up_whine *whine, double armature_angle, double armature_speed, double factor);

#endif

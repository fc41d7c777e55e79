/* Uniform cubic B-splines over time: what shakes the door.
 *
 * Value k weighs B((time - start) / spacing - k) with the cubic basis B of support 4 (C. de Boor, A Practical Guide to
 * Splines, 1978, from memory; written out in docs/model.md). The sum is smooth up to its second derivative everywhere,
 * its beginning and its end included, so no step of the integrator has to end at a cell's border. */
#ifndef UPSTOP_SIM_SHAKING_H
#define UPSTOP_SIM_SHAKING_H

#include "core/base/up_math.h"
#include "core/sim/motion.h"
#include "core/sim/run.h"

enum { UP_SHAKING_ORDER = 4 }; /* numbers a cell's cubic has */

/* Times are counted in spacings from UP_SHAKING_LEAD before the start: cell 0 is all that is before the first value is
 * felt, cells 1 to count + 3 have something, cell count + 4 is all that is after. */
static const double UP_SHAKING_LEAD = 3.0;

/* No step is longer than this many spacings while it shakes: a push that lets a sticking glass go and is over before
 * anyone looks would be missed, and nothing that sticks shows an error. Chosen by trial, docs/numerics.md. */
static const double UP_SHAKING_STEP = 1.0;

/* 1: finite, within the bounds that run.h says. Reads all values. */
int up_shaking_makes_sense(const up_shaking *shaking);

/* s, longest step from `time` on; 1e300 when nothing shakes any more. */
double up_shaking_longest_step(const up_world *world, double time);

static inline int up_shaking_last_cell(const up_shaking *shaking) {
    return shaking->count + UP_SHAKING_ORDER;
}

static inline double up_shaking_value(const double *value, int count, int index) {
    return index >= 0 && index < count ? value[index] : 0.0;
}

/* Cubic of one cell in the share of it that is over: c[0] + u (c[1] + u (c[2] + u c[3])). */
static inline void up_shaking_cubic(const double *value, int count, int cell, double c[UP_SHAKING_ORDER]) {
    const double a = up_shaking_value(value, count, cell - 4);
    const double b = up_shaking_value(value, count, cell - 3);
    const double d = up_shaking_value(value, count, cell - 2);
    const double e = up_shaking_value(value, count, cell - 1);
    c[0] = (a + 4.0 * b + d) / 6.0;
    c[1] = (d - a) / 2.0;
    c[2] = (a - 2.0 * b + d) / 2.0;
    c[3] = (e - a + 3.0 * (b - d)) / 6.0;
}

#endif

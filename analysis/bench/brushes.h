/* What brushes and commutator put on the current besides the ripple that the core knows (docs/model.md, section 16): lines
 * of the shaft, sub-lines of the ripple, contact noise, bouncing brushes, a dead segment.
 *
 * Observed only: the core's motion does not feel it. Mean currents stay what the core reckons. All of it is assumed, no
 * source: sizes are of the order that traces in print show. */
#ifndef UPSTOP_ANALYSIS_BENCH_BRUSHES_H
#define UPSTOP_ANALYSIS_BENCH_BRUSHES_H

#include <stdint.h>

#include "analysis/bench/noise.h"
#include "core/door/values.h"

typedef struct up_brushes {
    double shaft_order;  /* amplitude once per armature turn, share of the current: brush tracks out of round         */
    double second_order; /* twice per turn                                                                            */
    double half_line;  /* amplitude at half the ripple's frequency, share of the current: uneven coils                */
    double third_line; /* at a third                                                                                */
    double noise;      /* r.m.s. of the contact noise, share of the current, below about 1 kHz                     */
    double bounce_chance; /* of a brush leaving the commutator for a moment, per armature turn                        */
    double bounce_depth;  /* share of the current that is missing then, on average                                    */
    double
        dead_depth;   /* share of the current that is missing while a brush runs on the dead segment; 0: none is dead */
    int dead_segment; /* which, 0 .. segments - 1                                                                */
} up_brushes;

/* Humps of the ripple in one armature turn: least common multiple of segments and poles, for lap windings. */
int up_ripple_humps(const up_values *values);

/* Mean over a turn of the dead segment's pattern, 0..1: with a depth d the mean current is 1 - d * share of the sound one. */
double up_dead_share(const up_values *values);

typedef struct up_brush_state {
    const up_brushes *brushes;
    const up_values *values;
    uint64_t seed;
    up_noise fresh;         /* of the contact noise, one a fine sample */
    double kept, noise;     /* of the contact noise       */
    double dead_mean;       /* mean factor of the dead segment */
    double humps, phase[4]; /* of the ripple per turn; of the lines, turns */
} up_brush_state;

/* interval: s between fine samples. */
void up_brushes_begin(up_brush_state *state, const up_brushes *brushes, const up_values *values, double interval,
                      uint64_t seed);

/* Share of ripple and lines that is left at an armature speed, rad/s: they come from the turning and fade below a turn or two
 * a second. 0 at rest, so that a locked rotor's current is what resistances leave. */
double up_ripple_left(double armature_speed);

/* By what the current is to be multiplied at the next fine sample; armature_angle: rad, the core's; left: up_ripple_left. */
double up_brush_factor(up_brush_state *state, double armature_angle, double left);

#endif

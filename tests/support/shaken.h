/* Random things that shake a door, for tests: invented. */
#ifndef UPSTOP_TESTS_SUPPORT_SHAKEN_H
#define UPSTOP_TESTS_SUPPORT_SHAKEN_H

#include <stdint.h>

#include "core/sim/run.h"

enum { SHAKEN_VALUES = 512 };

typedef struct shaken {
    up_shaking shaking; /* points into the arrays: stays where it is */
    double push[SHAKEN_VALUES], press[SHAKEN_VALUES];
} shaken;

/* 1 to SHAKEN_VALUES values 2 to 60 ms apart, from a little before the start of the run to two seconds after; normal
 * pushes and absolute normal presses of up to 50 N standard deviation. */
void shaken_draw(shaken *s, uint64_t seed, uint64_t index);

/* One of seven stands still, the others are shaken; half of all have a rod that tilts the glass. */
void shaken_draw_run(shaken *s, uint64_t seed, uint64_t index, up_run_options *options);

#endif

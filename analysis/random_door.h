/* Random doors that can be built, for tests of laws and for benchmarks: wide ranges about what workshops meet. Invented,
 * every one. */
#ifndef UPSTOP_ANALYSIS_RANDOM_DOOR_H
#define UPSTOP_ANALYSIS_RANDOM_DOOR_H

#include <stdint.h>

#include "core/door/values.h"
#include "core/sim/run.h"

enum { UP_RANDOM_DOOR_TRIES = 1000 };

/* Door `index` of the sequence `seed`; its family is index modulo UP_FAMILY_COUNT. Every number of the family is drawn,
 * measured.* stay absent; up_door_is_usable holds. The same arguments always give the same door.
 * Returns UP_OK, or UP_BAD_GEOMETRY when no try made a usable door: *values is then one that is not. */
up_status up_random_door(uint64_t seed, uint64_t index, up_values *values);

/* A random run for that door: raising or lowering, held or one-touch, released midway or not, from anywhere, rod or none,
 * supply steps, -40 to 70 degC, position lost, leads direct. */
void up_random_run(uint64_t seed, uint64_t index, const up_values *values, up_run_options *options);

#endif

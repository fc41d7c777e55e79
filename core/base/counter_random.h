/* Random numbers that are a function of a key and a place, with no state between calls.
 *
 * The generator is Philox4x32 with ten rounds: "Parallel random numbers: as easy as 1, 2, 3", Proceedings of
 * SC11 (2011), sections 3.3 and table 2. Any number of a sequence can be had directly and in any order, so results do
 * not depend on how the work was shared between threads. Not for secrets. */
#ifndef UPSTOP_BASE_COUNTER_RANDOM_H
#define UPSTOP_BASE_COUNTER_RANDOM_H

#include <stdint.h>

/* The bare generator: counter[4] and key[2] in, block[4] out. block may be counter. Every input is allowed. */
void up_philox4x32(const uint32_t counter[4], const uint32_t key[2], uint32_t block[4]);

/* The number at place `index` of sequence `stream` under `seed`; all three may be anything, and two different triples
 * are two different inputs of the generator. 64 independent bits. */
uint64_t up_random_u64(uint64_t seed, uint64_t stream, uint64_t index);

/* Evenly spread over [0, 1): a multiple of 2^-53, never 1. */
double up_random_unit(uint64_t seed, uint64_t stream, uint64_t index);

/* Standard normal (mean 0, standard deviation 1) by the method of "A note on the generation of
 * random normal deviates", Ann. Math. Statist. 29 (1958) 610; magnitude at most 8.6. Uses the same block as up_random_u64 at
 * the same place: do not take both from one place where they must be independent. */
double up_random_normal(uint64_t seed, uint64_t stream, uint64_t index);

#endif

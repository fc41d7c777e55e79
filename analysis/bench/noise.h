/* Standard normals in the order of their numbers, drawn in blocks because that is faster (analysis/normals.h). Number i is a
 * function of seed, stream and i alone. */
#ifndef UPSTOP_ANALYSIS_BENCH_NOISE_H
#define UPSTOP_ANALYSIS_BENCH_NOISE_H

#include <stdint.h>

#include "analysis/normals.h"

enum { UP_NOISE_BLOCK = 64 };

typedef struct up_noise {
    uint64_t seed, stream, next;
    double block[UP_NOISE_BLOCK];
} up_noise;

static inline void up_noise_begin(up_noise *noise, uint64_t seed, uint64_t stream) {
    noise->seed = seed;
    noise->stream = stream;
    noise->next = 0;
}

static inline double up_noise_next(up_noise *noise) {
    const int into = (int)(noise->next % UP_NOISE_BLOCK);
    if (into == 0) {
        up_normals_fill(noise->seed, noise->stream, noise->next, UP_NOISE_BLOCK, noise->block);
    }
    noise->next++;
    return noise->block[into];
}

#endif

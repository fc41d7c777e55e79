/* Vectors of UP_LANES numbers, one for each lane, and the few things that are not plain arithmetic. */
#ifndef UPSTOP_BATCH_LANES_VECTOR_H
#define UPSTOP_BATCH_LANES_VECTOR_H

#include <stddef.h>
#include <stdint.h>

#include "core/batch/lanes.h"

#ifndef UP_LANES /* a file of one width says so before */
#define UP_LANES 2
#endif

#if UP_LANES_WIDE || defined __SSE2__
#include <immintrin.h>
#endif

#define UP_LANE_FLAT static inline __attribute__((always_inline))

typedef double lane __attribute__((vector_size(UP_LANES * 8), may_alias));
typedef int64_t lane_mask __attribute__((vector_size(UP_LANES * 8), may_alias));

/* A row of up_lanes as a vector. */
#define AT(row) (*(lane *)(void *)(row))
#define MASK_AT(row) (*(lane_mask *)(void *)(row))

/* The loop over the states, unrolled by hand: compilers leave it rolled at -O2, with everything in memory. */
#define UP_LANE_STATES(X) X(0) X(1) X(2) X(3) X(4) X(5) X(6) X(7)

/* a where m, else +0 */
UP_LANE_FLAT lane only(lane_mask m, lane a) {
    return (lane)(m & (lane_mask)a);
}

UP_LANE_FLAT lane pick(lane_mask m, lane a, lane b) {
#if UP_LANES == 4
    return (lane)_mm256_blendv_pd((__m256d)b, (__m256d)a, (__m256d)m);
#else
    return (lane)((m & (lane_mask)a) | (~m & (lane_mask)b));
#endif
}

UP_LANE_FLAT lane all(double x) {
    return (lane){0} + x;
}

UP_LANE_FLAT lane smaller(lane a, lane b) {
    return pick(a < b, a, b);
}

UP_LANE_FLAT lane larger(lane a, lane b) {
    return pick(a > b, a, b);
}

/* a > b ? b : a, which is a when either is NaN */
UP_LANE_FLAT lane smaller_or_nan(lane a, lane b) {
    return pick(a > b, b, a);
}

/* As up_abs: +0 for both zeros and for NaN. */
UP_LANE_FLAT lane magnitude(lane a) {
    return pick(a < 0.0, -a, only(a > 0.0, a));
}

UP_LANE_FLAT lane root(lane a) {
#if UP_LANES == 8
    return (lane)_mm512_sqrt_pd((__m512d)a);
#elif UP_LANES == 4
    return (lane)_mm256_sqrt_pd((__m256d)a);
#elif defined __SSE2__
    return (lane)_mm_sqrt_pd((__m128d)a);
#else
    lane r;
    for (int k = 0; k < UP_LANES; k++) {
        r[k] = __builtin_sqrt(a[k]);
    }
    return r;
#endif
}

UP_LANE_FLAT int any(lane_mask m) {
#if UP_LANES == 8
    return _mm512_test_epi64_mask((__m512i)m, (__m512i)m) != 0;
#elif UP_LANES == 4
    return _mm256_movemask_pd((__m256d)m);
#else
    int64_t some = 0;
    for (int k = 0; k < UP_LANES; k++) {
        some |= m[k];
    }
    return some != 0;
#endif
}

/* Whole part of a number from 0 to 2^51. */
UP_LANE_FLAT lane whole(lane a) {
    const lane near = (a + 0x1p52) - 0x1p52;
    return near - only(near > a, all(1.0));
}

#endif

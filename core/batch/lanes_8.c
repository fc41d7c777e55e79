/* The attempt in eight lanes, for processors with AVX-512. */
#include "core/batch/lanes.h"

#if UP_LANES_WIDE

#include <immintrin.h>

#include "core/base/up_math.h"
#include "core/sim/span.h"

#if defined __clang__
#pragma clang attribute push(__attribute__((target("avx512f,avx512dq,avx512vl"))), apply_to = function)
#else
#pragma GCC target("avx512f,avx512dq,avx512vl")
#endif

#define UP_LANES 8
#define UP_LANES_NAME up_lanes_attempt_8
#include "core/batch/lanes_attempt.def"

#if defined __clang__
#pragma clang attribute pop
#endif

#endif

/* The attempt in four lanes, for processors with AVX2. */
#include "core/batch/lanes.h"

#if UP_LANES_WIDE

#include <immintrin.h>

#include "core/base/up_math.h"
#include "core/sim/span.h"

#if defined __clang__
#pragma clang attribute push(__attribute__((target("avx2"))), apply_to = function)
#else
#pragma GCC target("avx2")
#endif

#define UP_LANES 4
#define UP_LANES_NAME up_lanes_attempt_4
#include "core/batch/lanes_attempt.def"

#if defined __clang__
#pragma clang attribute pop
#endif

#endif

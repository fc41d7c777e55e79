#include "analysis/exact_sum.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum { PIECE_BITS = 32, LOWEST_EXPONENT = -1074 };

/* One addition changes a piece by less than 2^32, so that many leave room to spare in 63 bits. */
static const uint32_t loose_max = UINT32_C(1) << 29;

/* Carries of at most 32 bits each way go up; the last piece keeps the sign. */
void up_exact_sum_tidy(up_exact_sum *sum) {
    for (int i = 0; i + 1 < UP_EXACT_SUM_PIECES; i++) {
        const int64_t low = sum->piece[i] & INT64_C(0xffffffff);
        sum->piece[i + 1] += (sum->piece[i] - low) / (INT64_C(1) << PIECE_BITS); /* exact: low bits are gone */
        sum->piece[i] = low;
    }
    sum->loose = 0;
}

void up_exact_sum_add(up_exact_sum *sum, double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    const int field = (int)(bits >> 52 & 0x7ff);
    if (field == 0x7ff) {
        return;
    }
    const uint64_t fraction = bits & ((UINT64_C(1) << 52) - 1);
    const uint64_t mantissa = field ? fraction | UINT64_C(1) << 52 : fraction;
    const int place = field ? field - 1 : 0; /* x = mantissa 2^(place - 1074) */
    const int first = place / PIECE_BITS, shift = place % PIECE_BITS;
    const int64_t sign = bits >> 63 ? -1 : 1;
    /* The 53 bits, moved up by less than 32, fall into three pieces. */
    const uint64_t low = mantissa << shift;
    const uint64_t high = shift ? mantissa >> (64 - shift) : 0;
    sum->piece[first] += sign * (int64_t)(low & 0xffffffff);
    sum->piece[first + 1] += sign * (int64_t)(low >> PIECE_BITS);
    sum->piece[first + 2] += sign * (int64_t)high;
    if (++sum->loose >= loose_max) {
        up_exact_sum_tidy(sum);
    }
}

void up_exact_sum_add_product(up_exact_sum *sum, double a, double b) {
    const double product = a * b;
    if (isfinite(product)) {
        up_exact_sum_add(sum, product);
        up_exact_sum_add(sum, fma(a, b, -product));
    }
}

void up_exact_sum_merge(up_exact_sum *into, const up_exact_sum *from) {
    up_exact_sum other = *from;
    up_exact_sum_tidy(&other);
    up_exact_sum_tidy(into);
    for (int i = 0; i < UP_EXACT_SUM_PIECES; i++) {
        into->piece[i] += other.piece[i];
    }
    up_exact_sum_tidy(into);
}

/* Of a tidy sum that is not negative: the topmost pieces, which hold at least 65 leading bits. */
static double magnitude(const up_exact_sum *sum) {
    int top = UP_EXACT_SUM_PIECES - 1;
    while (top > 0 && sum->piece[top] == 0) {
        top--;
    }
    /* Lower pieces first: each step but the last is exact or far below the last place of the result. */
    double value = 0;
    for (int i = top > 3 ? top - 3 : 0; i <= top; i++) {
        value += ldexp((double)sum->piece[i], PIECE_BITS * i + LOWEST_EXPONENT);
    }
    return value;
}

double up_exact_sum_value(const up_exact_sum *sum) {
    up_exact_sum tidy = *sum;
    up_exact_sum_tidy(&tidy);
    if (tidy.piece[UP_EXACT_SUM_PIECES - 1] >= 0) {
        return magnitude(&tidy);
    }
    for (int i = 0; i < UP_EXACT_SUM_PIECES; i++) {
        tidy.piece[i] = -tidy.piece[i];
    }
    up_exact_sum_tidy(&tidy);
    return -magnitude(&tidy);
}

double up_exact_sum_less(const up_exact_sum *sum, double x) {
    up_exact_sum rest = *sum;
    up_exact_sum_add(&rest, -x);
    return up_exact_sum_value(&rest);
}

#include "analysis/quantile.h"

#include <math.h>
#include <string.h>

void up_quantile_clear(up_quantile *q) {
    memset(q, 0, sizeof *q);
    q->smallest = INFINITY;
    q->largest = -INFINITY;
}

/* 0 for what counts as nothing, 1.. for the bins of one sign in order of size. */
static int side_bin(double magnitude) {
    int exponent;
    const double mantissa = frexp(magnitude, &exponent); /* magnitude = mantissa 2^exponent, mantissa in 0.5..1 */
    exponent -= 1;                                       /* now the power of two below it */
    if (magnitude == 0 || exponent < UP_QUANTILE_LOWEST) {
        return 0;
    }
    const int octave = exponent - UP_QUANTILE_LOWEST;
    if (octave >= UP_QUANTILE_OCTAVES) {
        return UP_QUANTILE_SIDE;
    }
    const int part = (int)((2 * mantissa - 1) * UP_QUANTILE_PER_OCTAVE); /* exact: a power of two times the fraction */
    return 1 + octave * UP_QUANTILE_PER_OCTAVE + part;
}

int up_quantile_bin(double x) {
    const int side = side_bin(fabs(x));
    return x < 0 ? UP_QUANTILE_SIDE - side : UP_QUANTILE_SIDE + side;
}

void up_quantile_edges(int bin, double *low, double *middle, double *high) {
    const int side = bin < UP_QUANTILE_SIDE ? UP_QUANTILE_SIDE - bin : bin - UP_QUANTILE_SIDE;
    if (side == 0) {
        *high = ldexp(1, UP_QUANTILE_LOWEST);
        *low = -*high;
        *middle = 0;
        return;
    }
    const int octave = (side - 1) / UP_QUANTILE_PER_OCTAVE, part = (side - 1) % UP_QUANTILE_PER_OCTAVE;
    const double unit = ldexp(1.0 / UP_QUANTILE_PER_OCTAVE, octave + UP_QUANTILE_LOWEST);
    const double near = (UP_QUANTILE_PER_OCTAVE + part) * unit, far = (UP_QUANTILE_PER_OCTAVE + part + 1) * unit;
    const int below_zero = bin < UP_QUANTILE_SIDE;
    *low = below_zero ? -far : near;
    *high = below_zero ? -near : far;
    *middle = 0.5 * (*low + *high);
}

void up_quantile_add(up_quantile *q, double x) {
    if (!isfinite(x)) {
        q->missing++;
        return;
    }
    q->count++;
    q->smallest = fmin(q->smallest, x);
    q->largest = fmax(q->largest, x);
    up_exact_sum_add(&q->sum, x);
    up_exact_sum_add_product(&q->square, x, x);
    q->bin[up_quantile_bin(x)]++;
}

void up_quantile_merge(up_quantile *into, const up_quantile *from) {
    into->count += from->count;
    into->missing += from->missing;
    into->smallest = fmin(into->smallest, from->smallest);
    into->largest = fmax(into->largest, from->largest);
    up_exact_sum_merge(&into->sum, &from->sum);
    up_exact_sum_merge(&into->square, &from->square);
    for (int i = 0; i < UP_QUANTILE_BINS; i++) {
        into->bin[i] += from->bin[i];
    }
}

double up_quantile_at(const up_quantile *q, double p) {
    if (q->count == 0 || !(p >= 0 && p <= 1)) {
        return NAN;
    }
    /* The product may lie a rounding above a whole number that it should be. */
    const double wanted = ceil(p * (double)q->count * (1 - 0x1p-50));
    if (wanted <= 1) {
        return q->smallest;
    }
    if (wanted >= (double)q->count) {
        return q->largest;
    }
    const uint64_t rank = (uint64_t)wanted;
    uint64_t passed = 0;
    int bin = 0;
    while (passed + q->bin[bin] < rank) {
        passed += q->bin[bin++];
    }
    double low, middle, high;
    up_quantile_edges(bin, &low, &middle, &high);
    return fmin(fmax(middle, q->smallest), q->largest);
}

double up_quantile_share_below(const up_quantile *q, double x) {
    if (q->count == 0 || isnan(x)) {
        return NAN;
    }
    if (x <= q->smallest || x > q->largest) {
        return x <= q->smallest ? 0 : 1;
    }
    const int bin = up_quantile_bin(x);
    uint64_t passed = 0;
    for (int i = 0; i < bin; i++) {
        passed += q->bin[i];
    }
    double low, middle, high;
    up_quantile_edges(bin, &low, &middle, &high);
    const double part = fmin(fmax((x - low) / (high - low), 0), 1);
    return ((double)passed + part * (double)q->bin[bin]) / (double)q->count;
}

double up_quantile_mean(const up_quantile *q) {
    return q->count ? up_exact_sum_value(&q->sum) / (double)q->count : NAN;
}

/* sum (x - m)^2 = sum x^2 - 2 m sum x + n m^2 with m the rounded mean. All three are large and nearly cancel, so
 * they are put together in an exact sum; sum x stands as a double and what that double leaves. */
double up_quantile_variance(const up_quantile *q) {
    if (q->count < 2) {
        return NAN;
    }
    const double n = (double)q->count, mean = up_quantile_mean(q);
    const double sum = up_exact_sum_value(&q->sum), rest = up_exact_sum_less(&q->sum, sum);
    const double n_mean = n * mean, n_mean_rest = fma(n, mean, -n_mean);
    up_exact_sum deviations = q->square;
    up_exact_sum_add_product(&deviations, -2 * mean, sum);
    up_exact_sum_add_product(&deviations, -2 * mean, rest);
    up_exact_sum_add_product(&deviations, mean, n_mean);
    up_exact_sum_add_product(&deviations, mean, n_mean_rest);
    /* The true sum of (x - m)^2 is larger than that of (x - true mean)^2 by n (m - true mean)^2, far below rounding. */
    return fmax(up_exact_sum_value(&deviations), 0) / (n - 1);
}

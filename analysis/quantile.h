/* Distribution of a stream of numbers in constant memory: quantiles to 0.1 %, exact mean and variance.
 *
 * Counted are integers in bins keyed by sign, exponent and the nine leading bits of the mantissa: 512 bins an
 * octave, each at most 0.2 % wide, so the middle of a bin lies within 0.1 % of all in it. Sums are exact
 * (exact_sum.h). All of it is the same bits whatever the order of the numbers and however the work was split and
 * merged.
 *
 * Bins reach from 2^-30 (9.3e-10) to 2^34 (1.7e10) in magnitude; what is smaller counts as 0, what is larger lies in
 * the last bin. Smallest and largest number are kept exactly. */
#ifndef UPSTOP_ANALYSIS_QUANTILE_H
#define UPSTOP_ANALYSIS_QUANTILE_H

#include <stdint.h>

#include "analysis/exact_sum.h"

enum {
    UP_QUANTILE_LOWEST = -30, /* exponent of the smallest bin */
    UP_QUANTILE_OCTAVES = 64,
    UP_QUANTILE_PER_OCTAVE = 512,
    UP_QUANTILE_SIDE = UP_QUANTILE_OCTAVES * UP_QUANTILE_PER_OCTAVE, /* bins for one sign */
    UP_QUANTILE_BINS = 2 * UP_QUANTILE_SIDE + 1                      /* in order of size, 0 in the middle */
};

/* 513 KiB. Plain data: may be stored and read back; clear with up_quantile_clear. */
typedef struct up_quantile {
    uint64_t count;           /* finite numbers                       */
    uint64_t missing;         /* NaN and infinite ones, left out      */
    double smallest, largest; /* +inf, -inf when empty        */
    up_exact_sum sum, square; /* of x, of x^2                 */
    uint64_t bin[UP_QUANTILE_BINS];
} up_quantile;

void up_quantile_clear(up_quantile *q);
void up_quantile_add(up_quantile *q, double x);
void up_quantile_merge(up_quantile *into, const up_quantile *from);

/* The number below which share p (0..1) of all lie: the ceil(p count)-th smallest, to 0.1 % (or to 2^-30); the smallest
 * for p = 0. NaN when empty or p is outside. */
double up_quantile_at(const up_quantile *q, double p);
/* Share of all that are below x, 0..1: the bin of x is counted in proportion. NaN when empty. */
double up_quantile_share_below(const up_quantile *q, double x);

/* Rounded once from exact sums. NaN when empty; the variance (of count - 1) when fewer than two. */
double up_quantile_mean(const up_quantile *q);
double up_quantile_variance(const up_quantile *q);

/* Bin of a number and what a bin stands for: lower edge, middle, upper edge. For pictures and for storing only the bins
 * that are not empty. */
int up_quantile_bin(double x);
void up_quantile_edges(int bin, double *low, double *middle, double *high);

#endif

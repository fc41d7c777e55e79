/* Sums of doubles without rounding, so that neither order nor grouping of the additions can change a bit.
 *
 * The sum is kept as one long fixed-point number that reaches from the smallest to the largest double, in pieces of
 * 32 bits with room for carries (U. W. Kulisch's long accumulator). Only integers are added. 552 bytes; about 5 ns a
 * number. */
#ifndef UPSTOP_ANALYSIS_EXACT_SUM_H
#define UPSTOP_ANALYSIS_EXACT_SUM_H

#include <stdint.h>

enum { UP_EXACT_SUM_PIECES = 68 };

/* A zeroed struct is an empty sum. Plain data: may be copied, stored and read back. */
typedef struct up_exact_sum {
    int64_t piece[UP_EXACT_SUM_PIECES]; /* piece i counts 2^(32 i - 1074) */
    uint32_t loose;                     /* additions since the carries were last swept up */
} up_exact_sum;

/* x must be finite; others are ignored. */
void up_exact_sum_add(up_exact_sum *sum, double x);
/* a b without rounding, as long as the product's last bits do not fall below the smallest double. */
void up_exact_sum_add_product(up_exact_sum *sum, double a, double b);
void up_exact_sum_merge(up_exact_sum *into, const up_exact_sum *from);
/* Sweeps up the carries: afterwards equal sums have equal bytes. */
void up_exact_sum_tidy(up_exact_sum *sum);
/* The double nearest to the sum (within one unit in the last place); infinite when it is out of range. */
double up_exact_sum_value(const up_exact_sum *sum);
/* What is left when a double is taken off, as a double. */
double up_exact_sum_less(const up_exact_sum *sum, double x);

#endif

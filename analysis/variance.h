/* Variance-based sensitivity: which share of a result's variance each input, or group of inputs, brings.
 *
 * First-order index S_i = Var(E(y | x_i)) / Var(y), total index ST_i = E(Var(y | all but x_i)) / Var(y), after I. M.
 * Sobol', Math. Comput. Simul. 55 (2001) 271 (from memory). Estimators: first order as in A. Saltelli et al.,
 * Comput. Phys. Commun. 181 (2010) 259, table 2 (b); total after M. J. W. Jansen, Comput. Phys. Commun. 117 (1999)
 * 35 (both from memory).
 *
 * How it goes. A plan has `rows` rows; a row has factors + 2 points: point 0 takes every factor from sample A, point
 * 1 every factor from sample B, point 2 + i takes factor i from B and all others from A. The plan holds no values:
 * the caller makes factor f of row r in sample s any way it likes as long as it is a function of (f, r, s) and
 * independent between different triples; up_random_unit(seed, stream_of_f, 2 * r + s) is one way, and a factor may
 * be a whole group of numbers. The caller then evaluates all points of the row, and hands the factors + 2 results to
 * up_variance_add.
 *
 * Rows are gathered in blocks, for two reasons: the scatter between blocks gives the confidence (delete-a-block
 * jackknife), and a block is the piece that one worker does alone. Row r belongs to block r * blocks / rows (rounded
 * down); within a block rows are added in rising order. Then the bits of the answer do not depend on who did what.
 * Memory: blocks, whatever the number of rows. Nothing is allocated. */
#ifndef UPSTOP_ANALYSIS_VARIANCE_H
#define UPSTOP_ANALYSIS_VARIANCE_H

#include <stdint.h>

#include "core/base/status.h"

enum { UP_VARIANCE_FACTORS_MAX = 128, UP_VARIANCE_BLOCKS_MAX = 256 };

typedef enum up_variance_sample { UP_VARIANCE_A, UP_VARIANCE_B } up_variance_sample;

/* Sample from which point `point` (0..factors + 1) takes factor `factor` (0..factors - 1). */
static inline up_variance_sample up_variance_sample_of(int point, int factor) {
    return point == 1 || point == 2 + factor ? UP_VARIANCE_B : UP_VARIANCE_A;
}

static inline int up_variance_points(int factors) {
    return factors + 2;
}

/* First row of a block; that of block `blocks` is rows. */
static inline uint64_t up_variance_first_row(uint64_t rows, int blocks, int block) {
    return (rows * (uint64_t)block + (uint64_t)blocks - 1) / (uint64_t)blocks;
}

/* Sums of one block and one result. Plain data: may be copied, stored and read back. */
typedef struct up_variance_block {
    int factors;
    uint64_t rows;                           /* added                                             */
    uint64_t skipped;                        /* rows with a result that is not a finite number     */
    double anchor;                           /* first result; all below are reckoned from there    */
    double mean;                             /* of points 0 and 1 of all rows                      */
    double square;                           /* sum of squared deviations from that mean           */
    double jump[UP_VARIANCE_FACTORS_MAX];    /* sum of y_i - y_A              */
    double product[UP_VARIANCE_FACTORS_MAX]; /* sum of (y_B - anchor) (y_i - y_A) */
    double total[UP_VARIANCE_FACTORS_MAX];   /* sum of (y_A - y_i)^2          */
} up_variance_block;

/* factors 1..UP_VARIANCE_FACTORS_MAX; others are clamped. */
void up_variance_block_clear(up_variance_block *block, int factors);
/* result: factors + 2 values in the order of the points. A row with one that is not finite is left out and counted. */
void up_variance_add(up_variance_block *block, const double *result);

typedef struct up_variance_index {
    double first, first_low, first_high; /* estimate, which may fall below 0 or above 1 by chance; 95 % interval */
    double total, total_low, total_high;
    double first_error, total_error; /* standard errors                                                    */
} up_variance_index;

typedef struct up_variance_result {
    uint64_t rows, skipped;
    double mean, variance; /* of the result, over both samples              */
    double mean_error;     /* standard error                                */
    int blocks;            /* with rows in them                             */
} up_variance_result;

/* block: `blocks` of them, all with the same factors. index: one for each factor. Intervals are estimate +- t standard
 * errors, t of blocks - 1 degrees of freedom.
 * UP_OK; UP_BAD_OPTION: fewer than two blocks with rows, different numbers of factors, or more than
 * UP_VARIANCE_BLOCKS_MAX. A result that never varies has indices NaN and is UP_OK. */
up_status up_variance_estimate(const up_variance_block *block, int blocks, up_variance_result *result,
                               up_variance_index *index);

#endif

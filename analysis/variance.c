#include "analysis/variance.h"

#include <math.h>
#include <string.h>

#include "analysis/student.h"

void up_variance_block_clear(up_variance_block *block, int factors) {
    memset(block, 0, sizeof *block);
    block->factors = factors < 1 ? 1 : factors > UP_VARIANCE_FACTORS_MAX ? UP_VARIANCE_FACTORS_MAX : factors;
}

/* Welford's update: no sum of squares that nearly cancels. */
static void add_to_mean(up_variance_block *block, double value, double count) {
    const double before = value - block->mean;
    block->mean += before / count;
    block->square += before * (value - block->mean);
}

void up_variance_add(up_variance_block *block, const double *result) {
    for (int p = 0; p < block->factors + 2; p++) {
        if (!isfinite(result[p])) {
            block->skipped++;
            return;
        }
    }
    const double a = result[0], b = result[1];
    if (block->rows == 0) {
        block->anchor = a;
    }
    add_to_mean(block, a, 2 * (double)block->rows + 1);
    add_to_mean(block, b, 2 * (double)block->rows + 2);
    for (int i = 0; i < block->factors; i++) {
        const double jump = result[2 + i] - a;
        block->jump[i] += jump;
        block->product[i] += (b - block->anchor) * jump;
        block->total[i] += jump * jump;
    }
    block->rows++;
}

/* ---- estimates -------------------------------------------------------------------------------------------------- */

/* Moments of several blocks together. */
typedef struct pool {
    double rows, mean, variance;
} pool;

static pool pool_of(const up_variance_block *block, int blocks, int left_out) {
    double values = 0, sum = 0, square = 0;
    for (int b = 0; b < blocks; b++) {
        if (b != left_out) {
            values += 2 * (double)block[b].rows;
            sum += 2 * (double)block[b].rows * block[b].mean;
        }
    }
    const double mean = sum / values;
    for (int b = 0; b < blocks; b++) {
        if (b != left_out && block[b].rows) {
            const double gap = block[b].mean - mean;
            square += block[b].square + 2 * (double)block[b].rows * gap * gap;
        }
    }
    return (pool){values / 2, mean, square / (values - 1)};
}

/* First: mean of (y_B - c)(y_i - y_A) over the variance, right for any c; the mean as c scatters least. */
static void indices(const up_variance_block *block, int blocks, int left_out, const pool *all, int factor,
                    double *first, double *total) {
    double product = 0, squares = 0;
    for (int b = 0; b < blocks; b++) {
        if (b != left_out) {
            product += block[b].product[factor] + (block[b].anchor - all->mean) * block[b].jump[factor];
            squares += block[b].total[factor];
        }
    }
    *first = product / all->rows / all->variance;
    *total = squares / (2 * all->rows) / all->variance;
}

/* Standard error of an estimate from those with one block left out each time; blocks of about equal size. */
typedef struct jackknife {
    double sum, square, anchor;
    int count;
} jackknife;

static void jackknife_add(jackknife *j, double estimate) {
    if (j->count++ == 0) {
        j->anchor = estimate;
    }
    const double x = estimate - j->anchor;
    j->sum += x;
    j->square += x * x;
}

static double jackknife_error(const jackknife *j) {
    const double n = j->count, mean = j->sum / n;
    return sqrt(fmax(j->square - n * mean * mean, 0) * (n - 1) / n);
}

static void estimate_factor(const up_variance_block *block, int blocks, const pool *all, const pool *without,
                            int factor, double width, up_variance_index *index) {
    jackknife first = {0}, total = {0};
    indices(block, blocks, -1, all, factor, &index->first, &index->total);
    for (int b = 0; b < blocks; b++) {
        if (block[b].rows) {
            double f, t;
            indices(block, blocks, b, &without[b], factor, &f, &t);
            jackknife_add(&first, f);
            jackknife_add(&total, t);
        }
    }
    index->first_error = jackknife_error(&first);
    index->total_error = jackknife_error(&total);
    index->first_low = index->first - width * index->first_error;
    index->first_high = index->first + width * index->first_error;
    index->total_low = index->total - width * index->total_error;
    index->total_high = index->total + width * index->total_error;
}

up_status up_variance_estimate(const up_variance_block *block, int blocks, up_variance_result *result,
                               up_variance_index *index) {
    memset(result, 0, sizeof *result);
    if (blocks < 2 || blocks > UP_VARIANCE_BLOCKS_MAX) {
        return UP_BAD_OPTION;
    }
    for (int b = 0; b < blocks; b++) {
        if (block[b].factors != block[0].factors) {
            return UP_BAD_OPTION;
        }
        result->rows += block[b].rows;
        result->skipped += block[b].skipped;
        result->blocks += block[b].rows > 0;
    }
    if (result->blocks < 2) {
        return UP_BAD_OPTION;
    }
    pool without[UP_VARIANCE_BLOCKS_MAX];
    const pool all = pool_of(block, blocks, -1);
    jackknife mean = {0};
    for (int b = 0; b < blocks; b++) {
        if (block[b].rows) {
            without[b] = pool_of(block, blocks, b);
            jackknife_add(&mean, without[b].mean);
        }
    }
    result->mean = all.mean;
    result->variance = all.variance;
    result->mean_error = jackknife_error(&mean);
    const double width = up_student_95(result->blocks - 1);
    for (int i = 0; i < block[0].factors; i++) {
        estimate_factor(block, blocks, &all, without, i, width, &index[i]);
    }
    return UP_OK;
}

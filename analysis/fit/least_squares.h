#ifndef UPSTOP_ANALYSIS_FIT_LEAST_SQUARES_H
#define UPSTOP_ANALYSIS_FIT_LEAST_SQUARES_H

/* Nonlinear least squares for few parameters and any number of rows.
 *
 * Levenberg's and Marquardt's method (D. W. Marquardt, "An algorithm for least-squares estimation of nonlinear
 * parameters", J. SIAM 11 (1963) 431) on a triangle R that is built row by row with Householder reflections: memory does
 * not grow with the rows, and nothing is squared. Columns are scaled by their largest norm so far, so parameters may be of any
 * size. Steps, covariance and rank come from the singular values of the scaled triangle.
 *
 * Opens nothing, allocates nothing, keeps nothing. */

#include <stddef.h>

enum { UP_SQUARES_MOST = 40 }; /* parameters */

/* Residuals of the rows first .. first + count - 1 at `parameter`, into residual[count]; at most 64 rows a call.
 * Unless slope is NULL, also slope[count][parameters], row after row: d residual / d parameter.
 * Returns 0; anything else, or a residual that is not finite: this place does not exist, step back. */
typedef int up_squares_rows(const void *context, const double *parameter, size_t first, size_t count, double *residual,
                            double *slope);

typedef struct up_squares_problem {
    int parameters; /* 1 .. UP_SQUARES_MOST */
    size_t rows;
    up_squares_rows *model;
    const void *context;
    int differences;    /* 1: the model fills no slopes, take central differences; 0: it does */
    const double *size; /* typical size of each parameter, for differences and to judge a step; NULL: its start */
    /* What was known before: (parameter - known) / deviation is one more row each. NULL, or NaN in an entry: nothing.
     * Residuals have to be in standard deviations of their noise then. */
    const double *known, *known_deviation;
    double enough;     /* stop where the sum is expected to fall by less than that; 0: to the last digit */
    int in_deviations; /* 1: residuals are in standard deviations already; 0: the scatter is worked out from the rest */
} up_squares_problem;

typedef enum up_squares_end {
    UP_SQUARES_FOUND,
    UP_SQUARES_GAVE_UP,    /* no end after 2000 steps; what was reached is in the result */
    UP_SQUARES_NO_START,   /* the model does not exist at the start */
    UP_SQUARES_BAD_PROBLEM /* counts out of range, too few rows */
} up_squares_end;

typedef struct up_squares_result {
    up_squares_end end;
    int steps;
    int rank;                                            /* below the number of parameters: some cannot be told apart */
    double parameter[UP_SQUARES_MOST];                   /* where the sum is least */
    double deviation[UP_SQUARES_MOST];                   /* standard deviation; infinite: the rows say nothing of it */
    double covariance[UP_SQUARES_MOST][UP_SQUARES_MOST]; /* of what the rank leaves */
    double blind[UP_SQUARES_MOST]; /* with a rank below: the combination that the rows see least, length 1 in scaled
                                      parameters (entry times column norm); else zeros */
    double sum;                    /* of squared residuals, rows of earlier knowledge left out */
    double prior_sum;              /* of those */
    double scatter;                /* sqrt(sum / degrees); NaN without degrees */
    long long degrees;             /* rows less parameters; with earlier knowledge rows less the share fitted to them */
} up_squares_result;

/* start[parameters]. Returns result->end. */
up_squares_end up_squares_solve(const up_squares_problem *problem, const double *start, up_squares_result *result);

/* Correlation of two parameters, -1 .. 1; 0 when one of them has no deviation. */
double up_squares_correlation(const up_squares_result *result, int one, int other);

#endif

/* What a campaign comes to: counts, distributions, and how its result goes with each thing that was drawn.
 *
 * Everything is counted in whole numbers or summed exactly, so rows may come in any order, and a tally is the same bytes for any
 * number of threads, for ranks, and for a campaign that was killed and resumed. Memory does not depend on the closings. */
#ifndef UPSTOP_ANALYSIS_CAMPAIGN_TALLY_H
#define UPSTOP_ANALYSIS_CAMPAIGN_TALLY_H

#include "analysis/campaign.h"
#include "analysis/exact_sum.h"
#include "analysis/quantile.h"

enum { UP_TALLY_BINS = 16 }; /* slices of equal probability of each drawn number */

/* Closings in which one drawn number lay in one slice. */
typedef struct up_tally_slice {
    uint64_t closings, hits; /* with a result; of these with a hit, see below */
    up_exact_sum sum;        /* of their results                              */
} up_tally_slice;

/* Without a rod the result of a closing is its severity (case.h), and a hit is a false reversal; with a rod the result is the
 * largest squeezing force on it, N, and a hit is a failed verdict. About 9 MB; clear with up_tally_clear. */
typedef struct up_tally {
    const up_case_maker *maker;
    uint64_t closings;     /* run and finished                                    */
    uint64_t failed;       /* no door, or the run gave up; in no figure           */
    uint64_t first_failed; /* lowest number among them                            */
    int32_t first_failure; /* its status                                          */
    uint64_t halved;       /* draws pulled towards the sheet                      */
    uint64_t end[UP_END_COUNT];
    uint64_t reversed, false_reversals;
    uint64_t turned[UP_TURNED_COUNT]; /* false reversals by place                        */
    uint64_t touched;                 /* closings that met the rod, see up_campaign_verdict   */
    uint64_t coasted;                 /* of them those that had turned round for nothing before, and failed */
    uint64_t passed, refused;         /* verdicts of the rule                                */
    up_quantile headline[UP_HEADLINE_COUNT];
    up_quantile severity;
    uint64_t with_result;
    up_exact_sum result, square; /* of the results */
    up_tally_slice slice[UP_CASE_SINGLES_MAX][UP_TALLY_BINS];
} up_tally;

void up_tally_clear(const up_case_maker *maker, up_tally *tally);
void up_tally_add(up_tally *tally, const up_closing_row *row);

/* The result of a row; NaN: it has none. */
double up_tally_result(const up_case_maker *maker, const up_closing_row *row);

/* Share of the result's variance that goes with one single number of z, from the slices: first-order index, corrected for what
 * slices of so many closings show by chance; may fall a little below 0. NaN when nothing varies. */
double up_tally_first_order(const up_tally *tally, int single);

/* The same of hit or no hit. */
double up_tally_hit_first_order(const up_tally *tally, int single);

/* What a first-order index of something that means nothing may come to by chance: three standard deviations of the chi-squared of
 * its slices. */
double up_tally_chance(const up_tally *tally);

/* Closings in the lowest (upper 0) or highest (upper 1) quarter of what a single number of z may be. */
typedef struct up_tally_quarter {
    uint64_t closings, hits;
    double mean; /* of their results; NaN: there are none */
} up_tally_quarter;
up_tally_quarter up_tally_quarter_of(const up_tally *tally, int single, int upper);

/* Mean and standard deviation of the result; NaN when there are too few. */
double up_tally_mean(const up_tally *tally);
double up_tally_deviation(const up_tally *tally);

#endif

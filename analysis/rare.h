/* Small probabilities: subset simulation in the space of independent standard normals.
 *
 * Wanted is P(severity(u) >= limit) for u of many independent standard normals. A population is drawn; the tenth
 * with the largest severity gives the first level; from each of them a Markov chain that never falls below the level
 * refills the population; and so on until the limit is a level. The probability is the product of the shares.
 * Method: S.-K. Au and J. L. Beck, Probab. Eng. Mech. 16 (2001) 263. Moves: u' = sqrt(1 - s^2) u + s w with w a
 * fresh normal vector, which leaves the normal distribution as it is in any number of dimensions, accepted when
 * severity(u') >= level; s is adapted towards an acceptance of 0.44 as by I. Papaioannou et al., Probab. Eng. Mech.
 * 41 (2015) 89. All from memory.
 *
 * A first population, the pilot, sets the levels and the reach of the moves and is then left out. All others run on
 * these levels, independent of each other, and each level's chains begin at points taken with equal expectation from
 * those above it. So each estimate is free of bias, and their scatter is an honest measure of the error, which the
 * formula for one population, blind to what its levels have in common, is not.
 *
 * Two things temper it. Founders: what reaches the limit descends from some points of the first populations. When few of
 * these stand for most of the estimate, chance decides how many there are, however alike the populations look: the
 * estimate is a sum over independent first points, and its variation at least that of a sum of as many equal ones
 * (founders = (sum of shares)^2 / sum of squared shares). First points: where severity jumps, a way to the limit may lie apart,
 * and nothing but a first point that falls into it by chance finds it; then splitting is no better than counting them, and if
 * none did, no scatter tells of it. So the first points at the limit are counted: that count bounds everything.
 *
 * Every random number is a function of (seed, population, level, chain, step, component): results are the same bits
 * for any number of threads and any way the evaluation shares its work. */
#ifndef UPSTOP_ANALYSIS_RARE_H
#define UPSTOP_ANALYSIS_RARE_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/workers.h"
#include "core/base/status.h"

enum { UP_RARE_LEVELS_MAX = 40, UP_RARE_POPULATIONS_MAX = 64 };

/* Severity of `count` points at once: point i is point[i * dimension] on. severity[i]: the larger, the nearer to
 * what is feared; NaN counts as minus infinity, i.e. harmless. It must depend on the point alone. It should not be
 * flat where it is harmless: what says only yes or no cannot lead anywhere. Called from the thread of up_rare_run;
 * shares the work with up_share_work if it likes. */
typedef void up_rare_evaluate(void *context, int dimension, int count, const double *point, double *severity);

typedef struct up_rare_request {
    int dimension;         /* >= 1                                                                              */
    int population;        /* points in each, 50..1000000; 1000 are advised; rounded down to whole chains       */
    int populations;       /* 1..UP_RARE_POPULATIONS_MAX; 10 are advised, below 4 the interval is a formula's   */
    int levels;            /* at most that many, 1..UP_RARE_LEVELS_MAX; 12 reach down to 1e-12                  */
    double limit;          /* severity from which on the event counts as happened                               */
    double level_share;    /* kept at each level, 0.05..0.5; one in a whole number is used: 0.1, 0.2, 0.25, 1/3 */
    uint64_t seed, stream; /* streams stream .. stream + populations are used                         */
    up_rare_evaluate *evaluate;
    void *context;
    up_workers *workers;        /* who draws the normals; NULL: the caller's thread */
    int (*stop)(void *context); /* asked between batches; NULL: never stops                              */
} up_rare_request;

/* dimension 1, population 1000 x 10, level share 0.1, 12 levels; limit, evaluate and context are left to the caller. */
void up_rare_request_default(up_rare_request *request);

typedef struct up_rare_level {
    double severity;   /* of the level; the last is the limit                            */
    double share;      /* mean of the conditional shares                                 */
    double acceptance; /* of the moves above that level; NaN on the last                 */
    int populations;   /* how many came that far                                         */
} up_rare_level;

typedef struct up_rare_result {
    double probability;         /* mean over the populations                                                          */
    double variation;           /* coefficient of variation of that mean: the largest of the scatter (with fewer than 4
                                 populations the formula in its place) and of what the founders say               */
    double founders;            /* see above; NaN when nothing reaches the limit                                    */
    uint64_t first, first_hits; /* points drawn afresh, the pilot's among them, and of these at the limit: see above */
    double formula_variation;   /* what Au and Beck's formula says, levels taken as independent                     */
    double low, high;           /* approximate 95 % interval; where severity leads to the limit: docs/disturbances.md */
    int reached; /* populations with a point at the limit; the others count as 0                         */
    int stuck;   /* 1: in the pilot no point was any more severe than the last level                     */
    uint64_t evaluations, not_numbers;
    int levels; /* rows in level[]                                                                   */
    up_rare_level level[UP_RARE_LEVELS_MAX + 1];
    double each[UP_RARE_POPULATIONS_MAX]; /* the estimates of the populations                                    */
    double worst_severity; /* largest seen; its point is first in memory afterwards, see up_rare_worst           */
} up_rare_result;

/* Bytes of memory needed; 0 when the request makes no sense. About 16 x dimension x population. */
size_t up_rare_memory(const up_rare_request *request);

/* UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL, or UP_STOPPED. When no population reaches the limit, probability is 0,
 * low 0 and high what the deepest levels still allow: "less than", no more. */
up_status up_rare_run(const up_rare_request *request, void *memory, size_t memory_size, up_rare_result *result);

/* The point of the largest severity met, `dimension` normals, inside the memory of a run that returned UP_OK. */
const double *up_rare_worst(const void *memory);

#endif

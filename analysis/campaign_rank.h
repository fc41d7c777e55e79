/* What the result of a campaign hangs on, and what to measure next.
 *
 * The result is that of campaign_tally.h: how near a closing came to a false reversal, or with a rod the squeezing force
 * (where the rod was not reached, the campaign's mean). Variance-based indices (variance.h) of the entries that matter most one by one, of all other
 * entries together, and of the surroundings by groups. */
#ifndef UPSTOP_ANALYSIS_CAMPAIGN_RANK_H
#define UPSTOP_ANALYSIS_CAMPAIGN_RANK_H

#include "analysis/campaign_tally.h"
#include "analysis/variance.h"

enum {
    UP_RANK_ENTRIES_MAX = 16,                                       /* entries looked at one by one          */
    UP_RANK_FACTORS_MAX = UP_RANK_ENTRIES_MAX + 1 + UP_GROUP_COUNT, /* and the others together, and the groups */
    UP_RANK_BLOCKS = 32
};

typedef enum up_rank_kind { UP_RANK_ENTRY, UP_RANK_OTHER_ENTRIES, UP_RANK_GROUP } up_rank_kind;

typedef struct up_rank_factor {
    up_rank_kind kind;
    up_number number; /* of an entry    */
    up_group group;   /* of a group     */
    up_variance_index index;
} up_rank_factor;

typedef struct up_rank_request {
    const up_case_maker *maker;
    const up_tally *tally; /* of a campaign of the same maker: says which entries to look at one by one */
    uint64_t seed;
    int entries;   /* how many, 0..UP_RANK_ENTRIES_MAX */
    uint64_t rows; /* of the plan of variance.h, at least UP_RANK_BLOCKS; each costs factors + 2 closings */
} up_rank_request;

typedef struct up_rank_result {
    int factors;
    up_rank_factor factor[UP_RANK_FACTORS_MAX]; /* by falling total index */
    up_variance_result about;
    uint64_t closings; /* that it took */
} up_rank_result;

size_t up_rank_memory(int threads); /* about 2 MB a thread */

/* Same bits for any workers. UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL. */
up_status up_rank_run(const up_rank_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_rank_result *result);

/* ---- what to measure next ---------------------------------------------------------------------------------------------- */

/* An entry measured better: to a part of its present interval. */
typedef struct up_measure {
    up_number number;
    int single;                     /* number of the entry in z                          */
    double spread_now, spread_then; /* SI, half widths of the 95 % interval             */
    double first;                   /* first-order index, of a hit or of the result      */
    double z;                       /* see up_measure_z                                  */
} up_measure;

/* How far apart the lowest and the highest quarter of a single number of z are, in standard deviations of what chance does to
 * that gap: in their shares of hits (by_hits 1) or in their mean results (0). 0: nothing to compare. */
double up_measure_z(const up_tally *tally, int single, int by_hits);

/* The z that one of so many comparisons reaches by chance in 5 of 100 campaigns (Bonferroni's bound); 3.3 for 60. */
double up_measure_z_by_chance(int comparisons);

/* Entries by falling promise, those with a z above what chance shows among all entries that vary; returns how many, at most
 * `room`. part: of the present interval, 0..1. Compared are shares of hits (campaign_tally.h): how far the verdict's share
 * moves with the entry; where hits, or misses, are too few to tell, mean results. *by_hits says which. */
int up_measure_choose(const up_case_maker *maker, const up_tally *tally, double part, up_measure *measures, int room,
                      int *by_hits);

/* 1: with the entry measured, the gap between low and high is less than two thirds of what it was (a third is what measuring
 * three times better should leave); a gap that chance made stays as wide. [0] lowest, [1] highest quarter. */
int up_measure_narrows(const up_tally_quarter now[2], const up_tally_quarter then[2], int by_hits);

/* What is known after that measurement, if it finds the sheet's value. */
void up_measure_known(const up_known *known, const up_measure *measure, up_known *then);

#endif

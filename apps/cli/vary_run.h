/* What `upstop vary` finds out before it says anything. */
#ifndef UPSTOP_CLI_VARY_RUN_H
#define UPSTOP_CLI_VARY_RUN_H

#include "analysis/campaign_rank.h"
#include "analysis/campaign_rare.h"
#include "analysis/campaign_tally.h"
#include "analysis/share.h"
#include "apps/cli/vary_options.h"
#include "io/campaign_store.h"
#include "io/sheet.h"

/* Who runs the closings: threads of this process, or ranks on many machines. */
typedef struct up_vary_crew up_vary_crew;
struct up_vary_crew {
    /* Works until the desk has no more. Returns -1, or an exit status after one message. */
    int (*run)(up_vary_crew *self, const up_campaign *campaign, const up_campaign_desk *desk);
    up_workers *workers; /* of this process, NULL: its own thread alone */
};

enum {
    UP_VARY_MEASURES = 3, /* advised at most         */
    UP_VARY_TRIES = 6,    /* of campaigns to find them */
    UP_VARY_NO_TOOL = 3
};

/* A result before or after a measurement. */
typedef struct up_vary_result {
    double low, high; /* 2.5 % and 97.5 % quantile of the result (campaign_tally.h)                            */
    up_share share;   /* false reversals among all closings; with a rod: passed among those judged             */
} up_vary_result;

/* An entry worth measuring, and the campaign tried again with it measured. */
typedef struct up_vary_measure {
    up_measure measure;
    up_tally_quarter now_quarter[2], then_quarter[2]; /* of the entry's interval: lowest, highest */
    up_vary_result then;
} up_vary_measure;

typedef struct up_vary_answer {
    const up_vary *vary;
    const up_sheet *sheet;
    up_case_maker maker;
    up_campaign campaign; /* of `maker` */
    up_tally *tally;
    double seconds;      /* that the closings of this call took, by the clock  */
    uint64_t found, run; /* closings that the store had, and that were run now */
    int ranked;          /* 1: rank is filled                                  */
    up_rank_result rank;
    int measures; /* rows of measure[], the most promising first        */
    int by_hits;  /* 1: chosen by the verdict's share, 0: by the result */
    int beyond;   /* entries that make a difference beyond chance       */
    int tried;    /* of these, campaigns run; what left the gap as wide is not in measure[] */
    int no_tools; /* rows of no_tool[]: of these, entries that no ordinary tool measures    */
    up_number no_tool[UP_VARY_NO_TOOL];
    up_vary_measure measure[UP_VARY_MEASURES];
    up_vary_result now;      /* of as many closings as the tried ones had          */
    uint64_t tried_closings; /* in each                                            */
    int has_rare;
    up_rare_result rare;
} up_vary_answer;

/* The result as its quantiles, and its share. */
up_vary_result up_vary_result_of(const up_tally *tally);

/* A crew of threads; NULL workers are allowed. */
typedef struct up_thread_crew {
    up_vary_crew crew; /* first */
    const char *command;
} up_thread_crew;
up_thread_crew up_thread_crew_of(const char *command, up_workers *workers);

/* Runs closings 1..count of a campaign into a tally, beside the store. Returns -1, or an exit status after one message. */
int up_vary_count(const up_vary *vary, const up_campaign *campaign, uint64_t count, up_vary_crew *crew,
                  up_tally *tally);

/* Ranking, what to measure next, small rates: vary_rank.c. Returns -1, or an exit status. */
int up_vary_rank(up_vary_answer *answer, up_vary_crew *crew);

/* Reads the sheet, runs the campaign, prints the answer. Returns an exit status. */
int up_vary_do(const up_vary *vary, up_vary_crew *crew);

/* Facts that a store is made for. *facts is allocated, the caller frees it; returns how many, 0 when out of memory. */
int up_vary_facts(const up_vary *vary, const up_known *known, double tolerance, up_store_fact **facts);

#endif

/* What `upstop vary` finds out before it says anything. */
#ifndef UPSTOP_CLI_VARY_RUN_H
#define UPSTOP_CLI_VARY_RUN_H

#include "analysis/campaign_tally.h"
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

typedef struct up_vary_answer {
    const up_vary *vary;
    const up_sheet *sheet;
    up_case_maker maker;
    up_campaign campaign; /* of `maker` */
    up_tally *tally;
    double seconds;      /* that the closings of this call took, by the clock  */
    uint64_t found, run; /* closings that the store had, and that were run now */
} up_vary_answer;

/* A crew of threads; NULL workers are allowed. */
typedef struct up_thread_crew {
    up_vary_crew crew; /* first */
    const char *command;
} up_thread_crew;
up_thread_crew up_thread_crew_of(const char *command, up_workers *workers);

/* Reads the sheet, runs the campaign, prints the answer. Returns an exit status. */
int up_vary_do(const up_vary *vary, up_vary_crew *crew);

/* Facts that a store is made for. *facts is allocated, the caller frees it; returns how many, 0 when out of memory. */
int up_vary_facts(const up_vary *vary, const up_known *known, double tolerance, up_store_fact **facts);

#endif

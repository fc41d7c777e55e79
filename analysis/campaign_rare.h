/* The rate of false reversals where it is too small to count: splitting (rare.h) on the very function that a campaign counts.
 *
 * The nearness of a closing (case.h) rises with the detector's largest lasting excess, and where that lay in the end zone with
 * the place where it began, and reaches 1 exactly where the glass turned round with nothing in the way; so "nearness at least
 * 1" is the event itself, and the levels on the way are closings that came ever nearer to it. */
#ifndef UPSTOP_ANALYSIS_CAMPAIGN_RARE_H
#define UPSTOP_ANALYSIS_CAMPAIGN_RARE_H

#include <stddef.h>

#include "analysis/case.h"
#include "analysis/rare.h"
#include "analysis/workers.h"

typedef struct up_campaign_rare {
    const up_case_maker *maker;
    uint64_t seed;
    int population, populations; /* as in rare.h; 1000 and 10 are usual           */
    int (*stop)(void *context);  /* NULL, or asked between batches of closings    */
    void *context;
} up_campaign_rare;

size_t up_campaign_rare_memory(const up_campaign_rare *request, int threads);

/* Same bits for any workers. Returns what up_rare_run does. */
up_status up_campaign_rare_run(const up_campaign_rare *request, up_workers *workers, void *memory, size_t memory_size,
                               up_rare_result *result);

#endif

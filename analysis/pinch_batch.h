/* Many closings onto rods, shared among workers, several side by side in each. */
#ifndef UPSTOP_ANALYSIS_PINCH_BATCH_H
#define UPSTOP_ANALYSIS_PINCH_BATCH_H

#include "analysis/pinch_point.h"
#include "analysis/workers.h"

typedef struct up_pinch_work {
    const up_pinch_study *study;
    const up_pinch_point *points; /* (count), or one for all when `same_point` */
    int same_point;
    int drawn; /* 1: item i is the drawn door i + 1, 0: all are the sheet's door */
    int count;
    up_pinch_result *results; /* (count), filled */
} up_pinch_work;

/* Same bits for any workers; NULL allowed. A closing that could not be run keeps its status and no figures. */
void up_pinch_run(const up_pinch_work *work, up_workers *workers);

/* One closing without a batch: the same bits. sink may be NULL. */
up_status up_pinch_run_one(const up_pinch_study *study, const up_pinch_point *point, const up_sink *sink,
                           up_pinch_result *result, up_outcome *outcome);

#endif

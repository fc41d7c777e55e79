/* The end of splitting (rare.h): what the populations add up to, and the estimate and interval from it. */
#ifndef UPSTOP_ANALYSIS_RARE_CLOSE_H
#define UPSTOP_ANALYSIS_RARE_CLOSE_H

#include "analysis/rare.h"

typedef struct up_rare_sums {
    double still;     /* shares at the deepest levels                                                          */
    double variation; /* squared variations after Au and Beck's formula, levels taken as independent           */
    double squares;   /* squared parts of the estimates that each founder stands for                           */
} up_rare_sums;

/* Fills everything of the result that is no count: levels holds sums over the populations, each[] their estimates. levels: below
 * the limit. */
void up_rare_close(const up_rare_request *request, int levels, const up_rare_sums *sums, up_rare_result *result);

#endif

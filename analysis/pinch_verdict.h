/* The verdict of a rule over a whole pinch map, paragraph by paragraph.
 *
 * Each paragraph is judged on every closing of the map, and the worst closing speaks for it: failed before cannot be
 * judged before passed, and among equals the smallest margin. Its confidence: doors drawn from the sheet's tolerances,
 * run at the same place. A calculation, no certification. */
#ifndef UPSTOP_ANALYSIS_PINCH_VERDICT_H
#define UPSTOP_ANALYSIS_PINCH_VERDICT_H

#include "analysis/pinch_map.h"
#include "analysis/share.h"

typedef struct up_pinch_spread {
    double nominal, low, high; /* of the sheet; 2.5 % and 97.5 % quantile of the draws */
    int count;                 /* draws that have it                                   */
} up_pinch_spread;

typedef struct up_pinch_clause {
    up_verdict verdict; /* of the worst closing                                                     */
    int cell;           /* where in the map; -1: none                                               */
    int failed, passed; /* closings of the map that failed and passed; no probability               */
    /* Of the paragraph on the reversal, elsewhere 0: failed because it never turned back, or turned back not far enough. */
    int unturned, too_short;
    up_verdict short_verdict; /* of the worst closing that turned back not far enough                    */
    int short_cell;           /* where in the map; -1: none                                              */
    up_share draws_passed;    /* of drawn doors at that place; of = 0: not drawn                          */
    up_pinch_spread figure;   /* of the verdict's figure, NaN without one                                 */
} up_pinch_clause;

typedef struct up_pinch_verdict {
    const up_rule *rule;
    int count;
    up_pinch_clause clause[UP_VERDICTS_MAX];
    up_verdict_result overall, closing;
    int unknown;                             /* required paragraphs that lack a fact            */
    up_pinch_spread force[UP_PINCH_STARTS];  /* N, at the worst closing of each start           */
    double force_most[UP_PINCH_STARTS];      /* N, the largest of the drawn doors; NaN: none    */
    up_share draws_touched[UP_PINCH_STARTS]; /* drawn doors whose glass came to the rod there   */
    /* Where it need not reverse: the same closing started a tenth of a millimetre below the smallest opening. */
    up_verdict exempt;
} up_pinch_verdict;

/* Bytes of memory for a number of draws, >= 2. */
size_t up_pinch_verdict_memory(int draws);

/* Returns UP_OK, UP_BAD_OPTION (draws below 2), UP_MEMORY_TOO_SMALL. */
up_status up_pinch_judge(const up_pinch_map *map, int draws, up_workers *workers, void *memory, size_t memory_size,
                         up_pinch_verdict *verdict);

/* The largest force that the paragraph on the squeezing force allows, N; NaN when the rule has none. */
double up_pinch_force_limit(const up_pinch_verdict *verdict);

/* 1: the paragraph is about the test rod: a fact about the test, nothing that a door passes. */
int up_pinch_is_about_rod(const up_pinch_clause *clause);

#endif

/* What `upstop move` finds out before it says anything: the run itself, the spread of its answers, the verdicts and, when
 * the glass turned round with nothing in the way, the cause. */
#ifndef UPSTOP_CLI_MOVE_RUN_H
#define UPSTOP_CLI_MOVE_RUN_H

#include "analysis/judge.h"
#include "analysis/reversal_cause.h"
#include "analysis/spread.h"
#include "apps/cli/move_options.h"
#include "io/trace.h"

enum { UP_MOVE_RULES_MAX = 4 };

/* The closing judged by one rule, with the rod stiffness that counts for it. */
typedef struct up_move_rule {
    const up_rule *rule;
    double stiffness;             /* N/m, of the rod in this run                                   */
    const up_rule_number *number; /* what the rule says of the stiffness                           */
    up_spread_result spread;
} up_move_rule;

typedef struct up_move_answer {
    const up_move *move;
    const up_sheet *sheet;
    up_run_options run; /* of the recorded run, complete                                        */
    up_door door;
    up_trace trace;
    up_outcome outcome;
    up_run_counts work;
    int rules; /* 0 without a rod; the recorded run has the first rule's rod           */
    up_move_rule rule[UP_MOVE_RULES_MAX];
    up_spread_result spread; /* of the recorded run                                            */
    int has_cause;
    up_cause cause;
    up_trace held_back; /* the same closing with the detector held back; empty without a cause  */
} up_move_answer;

/* Runs everything. *answer: zeroed by the caller, freed with up_move_forget in every case.
 * Returns -1, or an exit status after one message on stderr. */
int up_move_run(const up_move *move, const up_sheet *sheet, up_move_answer *answer);
void up_move_forget(up_move_answer *answer);

/* Did the glass turn round with nothing in the way? */
int up_move_false_reversal(const up_move_answer *answer);

#endif

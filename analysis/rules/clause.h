/* What the files of single rules share: citing a number, comparing with it, facts put together. */
#ifndef UPSTOP_ANALYSIS_RULES_CLAUSE_H
#define UPSTOP_ANALYSIS_RULES_CLAUSE_H

#include "analysis/judge.h"

/* Lengths that differ by less than this count as equal: far below any ruler, far above rounding. */
#define UP_SAME_LENGTH 1e-9 /* m */

typedef enum up_limit_sense {
    UP_LIMIT_AT_MOST, /* passes when figure <= limit */
    UP_LIMIT_BELOW,   /* passes when figure < limit  */
    UP_LIMIT_AT_LEAST /* passes when figure >= limit */
} up_limit_sense;

/* Takes paragraph and mark of a number; once one cited number is from memory, the verdict stays so. */
void up_cite(up_verdict *verdict, const up_rule_number *number);

/* Result without a number, citing one row. */
void up_decide(up_verdict *verdict, up_verdict_result result, const up_rule_number *number, const char *reason);

/* Figure against a number, to the last bit: fills result, figure, limit, margin, unit, and cites it. The reason is left
 * alone. */
void up_compare(up_verdict *verdict, double figure, const up_rule_number *limit, up_limit_sense sense);

/* 1 when low <= figure <= high, or figure is not known. */
int up_within_or_unknown(double figure, const up_rule_number *low, const up_rule_number *high);

/* A reversing device is fitted: said so, or seen to reverse. */
up_answer up_has_reversing(const up_facts *facts);

/* Alternatives for "opened again far enough". number: the row that asks for it. full_tilt NULL: no such alternative. */
typedef struct up_reversal_rows {
    const up_rule_number *back_to_start, *further_open, *rod_passes, *full_tilt;
} up_reversal_rows;

/* Passed by whichever alternative has the largest margin; failed with the one that came nearest. */
void up_judge_reversal(const up_facts *facts, const up_reversal_rows *rows, up_verdict *verdict);

#endif

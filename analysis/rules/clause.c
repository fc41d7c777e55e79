#include "analysis/rules/clause.h"

void up_cite(up_verdict *verdict, const up_rule_number *number) {
    verdict->paragraph = number->paragraph;
    if (verdict->source == UP_SOURCE_MEMORY) {
        return;
    }
    verdict->source = number->source;
    verdict->mark = number->mark;
}

void up_decide(up_verdict *verdict, up_verdict_result result, const up_rule_number *number, const char *reason) {
    verdict->result = result;
    verdict->reason = reason;
    up_cite(verdict, number);
}

void up_compare(up_verdict *verdict, double figure, const up_rule_number *limit, up_limit_sense sense) {
    const double margin = sense == UP_LIMIT_AT_LEAST ? figure - limit->value : limit->value - figure;
    const int passed = sense == UP_LIMIT_BELOW ? margin > 0 : margin >= 0;
    verdict->figure = figure;
    verdict->limit = limit->value;
    verdict->margin = margin;
    verdict->unit = limit->unit;
    verdict->result = passed ? UP_VERDICT_PASSED : UP_VERDICT_FAILED;
    up_cite(verdict, limit);
}

int up_within_or_unknown(double figure, const up_rule_number *low, const up_rule_number *high) {
    return up_is_absent(figure) || (figure >= low->value - UP_SAME_LENGTH && figure <= high->value + UP_SAME_LENGTH);
}

up_answer up_has_reversing(const up_facts *facts) {
    return up_is_absent(facts->reversal_opening) ? facts->reversing : UP_ANSWER_YES;
}

/* One alternative: how far the glass opened, and how far this row wants it; kept when better than what came before. */
static void try_alternative(up_verdict *best, const up_rule_number *row, double figure, double limit,
                            const char *passed, const char *failed) {
    if (up_is_absent(figure) || up_is_absent(limit)) {
        return;
    }
    const double margin = figure - limit;
    if (!up_is_absent(best->margin) && margin <= best->margin + UP_SAME_LENGTH) {
        return;
    }
    best->figure = figure;
    best->limit = limit;
    best->margin = margin;
    best->unit = "m";
    best->result = margin >= -UP_SAME_LENGTH ? UP_VERDICT_PASSED : UP_VERDICT_FAILED;
    best->reason = best->result == UP_VERDICT_PASSED ? passed : failed;
    up_cite(best, row);
}

void up_judge_reversal(const up_facts *facts, const up_reversal_rows *rows, up_verdict *verdict) {
    if (!facts->obstructed && up_is_absent(facts->reversal_opening)) {
        verdict->result = UP_VERDICT_NOT_APPLICABLE;
        verdict->reason = "nothing stood in the way and nothing reversed";
        up_cite(verdict, rows->further_open);
        return;
    }
    if (up_is_absent(facts->reversal_opening)) {
        up_decide(verdict, UP_VERDICT_FAILED, rows->further_open, "it met an obstacle and did not reverse");
        return;
    }
    if (rows->full_tilt && facts->tilted_fully == UP_ANSWER_YES && facts->window == UP_WINDOW_TILTING_ROOF) {
        up_decide(verdict, UP_VERDICT_PASSED, rows->full_tilt, "the panel went back to its full angle");
        return;
    }
    up_verdict best = *verdict;
    const double end = facts->final_opening;
    try_alternative(&best, rows->back_to_start, end, facts->start_opening, "opened again to where the closing started",
                    "did not open again to where the closing started");
    try_alternative(&best, rows->further_open, end - facts->reversal_opening, rows->further_open->value,
                    "opened again by the distance asked for", "did not open again by the distance asked for");
    try_alternative(&best, rows->rod_passes, end, rows->rod_passes->value,
                    "opened far enough to let the large rod through",
                    "did not open far enough to let the large rod through");
    if (up_is_absent(best.margin)) {
        up_decide(&best, UP_VERDICT_UNKNOWN, rows->further_open, "it is not known where the glass came to rest");
    }
    *verdict = best;
}

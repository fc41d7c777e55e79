#include "analysis/pinch_verdict.h"

#include <math.h>
#include <string.h>

#include "analysis/middle.h"

/* Titles that the rules give to the paragraphs that are looked at more closely here. */
static const char force_title[] = "squeezing force";
static const char reversal_title[] = "opening after reversal";
static const char rod_title[] = "test rod";

int up_pinch_is_about_rod(const up_pinch_clause *clause) {
    return strcmp(clause->verdict.title, rod_title) == 0;
}

/* ---- the worst closing of each paragraph ---- */

static int badness(const up_verdict *verdict) {
    static const int order[] = {
        [UP_VERDICT_NOT_APPLICABLE] = 0, [UP_VERDICT_PASSED] = 1, [UP_VERDICT_UNKNOWN] = 2, [UP_VERDICT_FAILED] = 3};
    return order[verdict->result];
}

static int is_worse(const up_verdict *a, const up_verdict *b) {
    if (badness(a) != badness(b)) {
        return badness(a) > badness(b);
    }
    if (up_is_absent(a->margin) || up_is_absent(b->margin)) {
        return up_is_absent(a->margin) && !up_is_absent(b->margin) && a->result == UP_VERDICT_FAILED;
    }
    return a->margin < b->margin;
}

static void judge_cell(const up_pinch_map *map, int cell, up_judgement *judgement) {
    up_facts facts;
    up_pinch_facts(map->plan->study, &map->cell[cell].result, &facts);
    up_judge(map->plan->study->rule, &facts, judgement);
}

/* A failed reversal without a figure never turned back. */
static void take_reversal(const up_verdict *one, int cell, up_pinch_clause *clause) {
    if (up_is_absent(one->figure)) {
        clause->unturned++;
        return;
    }
    clause->too_short++;
    if (clause->short_cell < 0 || is_worse(one, &clause->short_verdict)) {
        clause->short_verdict = *one;
        clause->short_cell = cell;
    }
}

static void take_cell(const up_judgement *judgement, int cell, up_pinch_verdict *verdict) {
    for (int i = 0; i < judgement->count; i++) {
        up_pinch_clause *clause = &verdict->clause[i];
        const up_verdict *one = &judgement->verdict[i];
        clause->failed += one->result == UP_VERDICT_FAILED;
        clause->passed += one->result == UP_VERDICT_PASSED;
        if (clause->cell < 0 || is_worse(one, &clause->verdict)) {
            clause->verdict = *one;
            clause->cell = cell;
        }
        if (one->result == UP_VERDICT_FAILED && strcmp(one->title, reversal_title) == 0) {
            take_reversal(one, cell, clause);
        }
    }
}

/* Of all required paragraphs, or only of those about the closing; as judge.h says. */
static up_verdict_result together(const up_pinch_verdict *verdict, int of_closing_only) {
    int count[UP_VERDICT_UNKNOWN + 1] = {0};
    for (int i = 0; i < verdict->count; i++) {
        const up_verdict *one = &verdict->clause[i].verdict;
        if (one->required && (one->of_closing || !of_closing_only)) {
            count[one->result]++;
        }
    }
    return count[UP_VERDICT_FAILED]    ? UP_VERDICT_FAILED
           : count[UP_VERDICT_UNKNOWN] ? UP_VERDICT_UNKNOWN
           : count[UP_VERDICT_PASSED]  ? UP_VERDICT_PASSED
                                       : UP_VERDICT_NOT_APPLICABLE;
}

static void judge_map(const up_pinch_map *map, up_pinch_verdict *verdict) {
    const int cells = map->first[UP_PINCH_FROM_REST] + map->cells[UP_PINCH_FROM_REST];
    verdict->rule = map->plan->study->rule;
    verdict->count = verdict->rule->clause_count;
    for (int i = 0; i < verdict->count; i++) {
        const up_clause *clause = &verdict->rule->clauses[i];
        verdict->clause[i].cell = -1;
        verdict->clause[i].short_cell = -1;
        verdict->clause[i].verdict = (up_verdict){.rule = verdict->rule->name,
                                                  .paragraph = clause->paragraph,
                                                  .title = clause->title,
                                                  .result = UP_VERDICT_UNKNOWN,
                                                  .of_closing = clause->of_closing,
                                                  .figure = UP_ABSENT,
                                                  .limit = UP_ABSENT,
                                                  .margin = UP_ABSENT,
                                                  .unit = "",
                                                  .mark = "",
                                                  .reason = "no closing of the map came to the rod"};
    }
    for (int i = 0; i < cells; i++) {
        const up_pinch_result *result = &map->cell[i].result;
        if (result->status == UP_OK && result->touched) {
            up_judgement judgement;
            judge_cell(map, i, &judgement);
            take_cell(&judgement, i, verdict);
        }
    }
    verdict->overall = together(verdict, 0);
    verdict->closing = together(verdict, 1);
    if (map->worst[UP_PINCH_RUNNING] < 0 && map->worst[UP_PINCH_FROM_REST] < 0) {
        verdict->overall = verdict->closing = UP_VERDICT_UNKNOWN; /* a rod that nothing met passes nothing */
    }
    for (int i = 0; i < verdict->count; i++) {
        const up_verdict *one = &verdict->clause[i].verdict;
        verdict->unknown += one->required && one->result == UP_VERDICT_UNKNOWN;
    }
}

static int force_clause(const up_pinch_verdict *verdict) {
    for (int i = 0; i < verdict->count; i++) {
        if (strcmp(verdict->clause[i].verdict.title, force_title) == 0) {
            return i;
        }
    }
    return -1;
}

double up_pinch_force_limit(const up_pinch_verdict *verdict) {
    const int i = force_clause(verdict);
    return i < 0 ? UP_ABSENT : verdict->clause[i].verdict.limit;
}

/* ---- drawn doors ---- */

typedef struct drawing {
    const up_pinch_map *map;
    up_workers *workers;
    int draws;
    up_pinch_result *results; /* (draws) of the cell drawn last */
    double *sorted;           /* (draws) */
    int cell;                 /* drawn last; -1: none */
} drawing;

static void draw_cell(drawing *d, int cell) {
    if (d->cell == cell) {
        return;
    }
    const up_pinch_work work = {.study = d->map->plan->study,
                                .points = &d->map->cell[cell].result.point,
                                .same_point = 1,
                                .drawn = 1,
                                .count = d->draws,
                                .results = d->results};
    up_pinch_run(&work, d->workers);
    d->cell = cell;
}

static void make_spread(double nominal, double *values, int count, up_pinch_spread *spread) {
    *spread = (up_pinch_spread){nominal, UP_ABSENT, UP_ABSENT, count};
    if (count > 0) {
        up_middle_95(values, count, &spread->low, &spread->high);
    }
}

static void draw_clause(drawing *d, int number, up_pinch_clause *clause) {
    int hits = 0;
    int of = 0;
    int figures = 0;
    draw_cell(d, clause->cell);
    for (int i = 0; i < d->draws; i++) {
        if (d->results[i].status != UP_OK || !d->results[i].touched) {
            continue;
        }
        up_facts facts;
        up_judgement judgement;
        up_pinch_facts(d->map->plan->study, &d->results[i], &facts);
        up_judge(d->map->plan->study->rule, &facts, &judgement);
        const up_verdict *one = &judgement.verdict[number];
        hits += one->result == UP_VERDICT_PASSED;
        of += one->result == UP_VERDICT_PASSED || one->result == UP_VERDICT_FAILED;
        if (!up_is_absent(one->figure)) {
            d->sorted[figures++] = one->figure;
        }
    }
    clause->draws_passed = up_share_of(hits, of);
    make_spread(clause->verdict.figure, d->sorted, figures, &clause->figure);
}

static void draw_worst(drawing *d, up_pinch_start start, up_pinch_verdict *verdict) {
    const int cell = d->map->worst[start];
    int touched = 0;
    int run = 0;
    verdict->force[start] = (up_pinch_spread){UP_ABSENT, UP_ABSENT, UP_ABSENT, 0};
    verdict->force_most[start] = UP_ABSENT;
    if (cell < 0) {
        return;
    }
    draw_cell(d, cell);
    for (int i = 0; i < d->draws; i++) {
        run += d->results[i].status == UP_OK;
        if (d->results[i].status == UP_OK && d->results[i].touched) {
            d->sorted[touched++] = d->results[i].force;
        }
    }
    verdict->draws_touched[start] = up_share_of(touched, run);
    make_spread(d->map->cell[cell].result.force, d->sorted, touched, &verdict->force[start]);
    verdict->force_most[start] = touched > 0 ? d->sorted[touched - 1] : UP_ABSENT;
}

/* The same closing from an opening too small for the smallest rod. */
static void judge_exempt(const up_pinch_map *map, up_pinch_verdict *verdict) {
    const up_rule *rule = map->plan->study->rule;
    const int force = force_clause(verdict);
    up_facts facts = *map->plan->study->facts;
    up_judgement judgement;
    facts.start_opening = rule->numbers[rule->range_low].value - 1e-4;
    up_judge(rule, &facts, &judgement);
    if (force >= 0) {
        verdict->exempt = judgement.verdict[force];
    }
}

size_t up_pinch_verdict_memory(int draws) {
    return draws < 2 ? 0 : (size_t)draws * (sizeof(up_pinch_result) + sizeof(double));
}

up_status up_pinch_judge(const up_pinch_map *map, int draws, up_workers *workers, void *memory, size_t memory_size,
                         up_pinch_verdict *verdict) {
    memset(verdict, 0, sizeof *verdict);
    if (draws < 2) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_pinch_verdict_memory(draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    judge_map(map, verdict);
    drawing d = {.map = map, .workers = workers, .draws = draws, .results = memory, .cell = -1};
    d.sorted = (double *)(void *)(d.results + draws);
    /* The larger force last: the paragraph on the force asks for the same drawn doors again. */
    const int running = map->worst[UP_PINCH_RUNNING];
    const int rest = map->worst[UP_PINCH_FROM_REST];
    const int running_last =
        rest < 0 || (running >= 0 && map->cell[running].result.force >= map->cell[rest].result.force);
    draw_worst(&d, running_last ? UP_PINCH_FROM_REST : UP_PINCH_RUNNING, verdict);
    draw_worst(&d, running_last ? UP_PINCH_RUNNING : UP_PINCH_FROM_REST, verdict);
    for (int i = 0; i < verdict->count; i++) {
        up_pinch_clause *clause = &verdict->clause[i];
        const int decided = clause->verdict.result == UP_VERDICT_PASSED || clause->verdict.result == UP_VERDICT_FAILED;
        clause->draws_passed = up_share_of(0, 0);
        clause->figure = (up_pinch_spread){clause->verdict.figure, UP_ABSENT, UP_ABSENT, 0};
        if (clause->cell >= 0 && clause->verdict.of_closing && clause->verdict.required && decided) {
            draw_clause(&d, i, clause);
        }
    }
    judge_exempt(map, verdict);
    return UP_OK;
}

#include "apps/cli/pinch_run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/base/up_math.h"
#include "io/pinch_number.h"

/* Tolerance of the integrator for the map; the worst closing is run again at 1e-8. The largest force on a stiff rod is off
 * by a few thousandths of a newton so, see docs/numerics.md. */
static const double map_tolerance = 1e-4;
static const double room = UP_ZERO_CELSIUS + 20;
/* Rounds in which the worst may still give way to a neighbour; four are seldom needed. */
enum { SETTLES = 10 };

const double up_pinch_stiffer_factor[UP_PINCH_STIFFER] = {1.5, 2, 4, 10};

static int out_of_memory(void) {
    fputs("upstop pinch: out of memory.\n", stderr);
    return UP_EXIT_INTERNAL;
}

static int complain(const char *what, up_status status) {
    fprintf(stderr, "upstop pinch: %s: %s.\n", what, up_status_text(status));
    return status == UP_BAD_GEOMETRY || status == UP_BAD_VALUE || status == UP_BAD_OPTION ? UP_EXIT_INPUT
                                                                                          : UP_EXIT_INTERNAL;
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* The asked range, within the rule's. Returns -1, or an exit status. */
static int set_ranges(const up_pinch_request *request, up_pinch_rule *rule) {
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        if (request->given[axis]) {
            rule->plan.range[axis] = request->range[axis];
        }
    }
    const up_rule *text = rule->study.rule;
    const double low = text->numbers[text->range_low].value;
    const double high = text->numbers[text->range_high].value;
    up_pinch_range *measure = &rule->plan.range[UP_PINCH_MEASURE];
    measure->low = measure->low < low ? low : measure->low;
    measure->high = measure->high > high ? high : measure->high;
    if (measure->low > measure->high) {
        char band[64];
        char found[80];
        char expected[96];
        const up_pinch_range *given = &request->range[UP_PINCH_MEASURE];
        snprintf(expected, sizeof expected, "%.4g to %.4g mm or a part of it, where the rule %s limits the force",
                 1e3 * low, 1e3 * high, text->name);
        snprintf(found, sizeof found, "%s mm",
                 up_number_band(1e3 * given->low, 1e3 * given->high, " to ", band, sizeof band));
        return up_cli_bad_option(
            "pinch", "opening", found, expected,
            "give a part of that, for example --opening 4..200mm; elsewhere try upstop move --rod");
    }
    if (request->given[UP_PINCH_MEASURE] &&
        (request->range[UP_PINCH_MEASURE].low < low || request->range[UP_PINCH_MEASURE].high > high)) {
        fprintf(stderr, "upstop pinch: --opening: cut to %.4g to %.4g mm, where the rule %s limits the force\n",
                1e3 * measure->low, 1e3 * measure->high, text->name);
    }
    return -1;
}

static int map_rule(const up_pinch_request *request, up_workers *workers, up_pinch_rule *rule) {
    up_pinch_plan_default(&rule->study, &rule->plan);
    const int status = set_ranges(request, rule);
    if (status >= 0) {
        return status;
    }
    rule->plan.settles = SETTLES;
    if (request->samples > 0) {
        rule->plan.samples[UP_PINCH_RUNNING] = request->samples;
        rule->plan.samples[UP_PINCH_FROM_REST] = (request->samples + 1) / 2;
    }
    const size_t size = up_pinch_map_memory(&rule->plan);
    rule->memory = malloc(size);
    if (!rule->memory) {
        return out_of_memory();
    }
    const up_status run = up_pinch_map_run(&rule->plan, workers, rule->memory, size, &rule->map);
    return run == UP_OK ? -1 : complain("the map failed", run);
}

static int judge_rule(const up_pinch_request *request, up_workers *workers, up_pinch_rule *rule) {
    const size_t size = up_pinch_verdict_memory(request->draws);
    void *memory = malloc(size);
    if (!memory) {
        return out_of_memory();
    }
    const up_status status = up_pinch_judge(&rule->map, request->draws, workers, memory, size, &rule->verdict);
    free(memory);
    rule->limit = up_pinch_force_limit(&rule->verdict);
    return status == UP_OK ? -1 : complain("the closings behind the intervals failed", status);
}

int up_pinch_worst_cell(const up_pinch_rule *rule) {
    return rule->map.worst[rule->worst];
}

static void explain_rule(const up_pinch_request *request, up_workers *workers, up_pinch_rule *rule) {
    const up_pinch_map *map = &rule->map;
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        const int cell = map->worst[start];
        rule->told[start] =
            cell < 0 ? UP_BAD_OPTION
                     : up_pinch_explain(&rule->study, &map->cell[cell].result.point, rule->limit, &rule->story[start]);
    }
    const int running = map->worst[UP_PINCH_RUNNING];
    const int rest = map->worst[UP_PINCH_FROM_REST];
    rule->worst = rest >= 0 && (running < 0 || map->cell[rest].result.force > map->cell[running].result.force)
                      ? UP_PINCH_FROM_REST
                      : UP_PINCH_RUNNING;
    const int worst = up_pinch_worst_cell(rule);
    rule->has_stiffer = worst >= 0 && rule->study.rule->stiffness_tolerance < 0;
    for (int i = 0; i < UP_PINCH_STIFFER && rule->has_stiffer; i++) {
        rule->stiffer[i] = up_pinch_stiffer_force(map, worst, up_pinch_stiffer_factor[i], workers);
    }
    rule->unprotected =
        rule->study.known->values.detect_off_after > 0 ? up_pinch_unprotected_force(map, worst, workers) : UP_ABSENT;
    rule->helps = up_pinch_try_helps(map, worst, workers, rule->help);
    up_pinch_table_make(map, request->across, 0, up_pinch_table_columns(map, request->across, UP_PINCH_COLUMNS_MOST),
                        UP_PINCH_STARTS, &rule->table);
}

static void choose_rules(const up_pinch_request *request, const up_sheet *sheet, up_pinch_answer *answer) {
    for (int i = 0; i < up_rule_count() && answer->rules < UP_PINCH_RULES_MAX; i++) {
        if (request->rule && request->rule != up_rule_at(i)) {
            continue;
        }
        answer->rule[answer->rules++].study = (up_pinch_study){.known = &sheet->known,
                                                               .rule = up_rule_at(i),
                                                               .facts = &request->facts,
                                                               .seed = request->seed,
                                                               .encoder_seed = (uint32_t)request->seed,
                                                               .tolerance = map_tolerance};
    }
}

/* ---- what squeezes harder still ---- */

const char *up_pinch_more_name(up_pinch_more_kind kind) {
    static const char *const names[] = {"stiffer_rod",     "drawn_door",      "unprotected_attempt",
                                        "from_fully_open", "finer_tolerance", "fault"};
    return names[kind];
}

/* Sorted in, when it is larger than the worst by more than the integrator's tolerance makes. */
static void add_more(up_pinch_rule *rule, up_pinch_more_kind kind, double force, double factor) {
    const double worst = rule->map.cell[up_pinch_worst_cell(rule)].result.force;
    if (!(force > worst + 0.1) || rule->more >= UP_PINCH_MORE_MAX) {
        return;
    }
    int place = rule->more++;
    for (; place > 0 && rule->larger[place - 1].force < force; place--) {
        rule->larger[place] = rule->larger[place - 1];
    }
    rule->larger[place] = (up_pinch_more){kind, force, factor};
}

static void find_larger(const up_pinch_answer *answer, up_pinch_rule *rule) {
    if (up_pinch_worst_cell(rule) < 0) {
        return;
    }
    for (int i = 0; i < UP_PINCH_STIFFER && rule->has_stiffer; i++) {
        add_more(rule, UP_PINCH_MORE_STIFFER, rule->stiffer[i], up_pinch_stiffer_factor[i]);
    }
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        add_more(rule, UP_PINCH_MORE_DRAWN, rule->verdict.force_most[start], UP_ABSENT);
        if (rule->told[start] == UP_OK) {
            const up_pinch_result *whole = &rule->story[start].whole;
            add_more(rule, UP_PINCH_MORE_FINE, rule->story[start].result.force, UP_ABSENT);
            add_more(rule, UP_PINCH_MORE_WHOLE, whole->status == UP_OK ? whole->force : UP_ABSENT, UP_ABSENT);
        }
    }
    add_more(rule, UP_PINCH_MORE_UNPROTECTED, rule->unprotected, UP_ABSENT);
    const up_fault_sum *broken = up_pinch_faults_of(&answer->faults, rule->study.rule);
    if (broken && broken->worst >= 0) {
        add_more(rule, UP_PINCH_MORE_FAULT, answer->faults.results[broken->worst].outcome.peak_rod_force, UP_ABSENT);
    }
}

static int break_things(up_workers *workers, up_pinch_answer *answer) {
    up_fault_request request;
    up_run_options *options = &answer->fault_options;
    up_run_options_default(options);
    options->temperature = room;
    options->tolerance = map_tolerance;
    options->seed = (uint32_t)answer->request->seed;
    options->switch_steps = 1;
    options->switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_TOUCH};
    up_fault_request_default(&answer->fault_door, options, answer->request->rule, &request);
    answer->has_faults = 1;
    return up_pinch_faults_run(&request, workers, &answer->faults);
}

int up_pinch_work_out(const up_pinch_request *request, const up_sheet *sheet, up_workers *workers,
                      up_pinch_answer *answer) {
    const double begin = now();
    int status = -1;
    answer->request = request;
    answer->sheet = sheet;
    const up_status prepared = up_door_prepare(&sheet->known.values, room, &answer->fault_door);
    if (prepared != UP_OK) {
        return complain("the door cannot be put together", prepared);
    }
    choose_rules(request, sheet, answer);
    for (int i = 0; i < answer->rules && status < 0; i++) {
        status = map_rule(request, workers, &answer->rule[i]);
    }
    for (int i = 0; i < answer->rules && status < 0; i++) {
        up_pinch_rule *rule = &answer->rule[i];
        status = judge_rule(request, workers, rule);
        explain_rule(request, workers, rule);
        answer->closings += rule->map.count[UP_PINCH_RUNNING].closings + rule->map.count[UP_PINCH_FROM_REST].closings;
    }
    answer->seconds = now() - begin;
    if (status < 0 && request->faults) {
        status = break_things(workers, answer);
    }
    for (int i = 0; i < answer->rules && status < 0; i++) {
        find_larger(answer, &answer->rule[i]);
    }
    return status;
}

void up_pinch_forget(up_pinch_answer *answer) {
    for (int i = 0; i < answer->rules; i++) {
        free(answer->rule[i].memory);
    }
    up_pinch_faults_forget(&answer->faults);
}

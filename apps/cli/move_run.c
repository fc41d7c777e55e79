#include "apps/cli/move_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "io/threads.h"
#include "io/trace_events.h"

/* Fine enough to show the rise on a stiff rod, which takes some 15 ms; coarser for very long runs, so that memory stays
 * below ten megabytes. */
static const double fine_interval = 1e-3;
static const double samples_most = 40000;

/* Integrator tolerance of the closings behind the intervals. They differ from one another by some ten per cent; at this
 * tolerance the largest force on a stiff rod is off by a few thousandths of a newton, and they take half the time. */
static const double draw_tolerance = 1e-4;

static int complain(const char *what, up_status status) {
    fprintf(stderr, "upstop move: %s: %s.\n", what, up_status_text(status));
    return status == UP_BAD_GEOMETRY || status == UP_BAD_VALUE || status == UP_BAD_OPTION ? UP_EXIT_INPUT
                                                                                          : UP_EXIT_INTERNAL;
}

static int out_of_memory(void) {
    fputs("upstop move: out of memory.\n", stderr);
    return UP_EXIT_INTERNAL;
}

/* Runs once, recording into `trace`. */
static int record(const up_move_answer *answer, const up_run_options *options, up_trace *trace, up_outcome *outcome,
                  up_run_counts *work) {
    up_run_options sampled = *options;
    sampled.sample_interval = fmax(fine_interval, options->time_limit / samples_most);
    up_sink sink = up_trace_sink(trace);
    up_status status = up_run(&answer->door, &sampled, &sink, outcome, work);
    if (trace->out_of_memory) {
        return out_of_memory();
    }
    return status == UP_OK ? -1 : complain("the run failed", status);
}

/* Time at which the glass first passes a place; NaN: never. */
static double passing_time(const up_trace *trace, double travel, int raising) {
    for (size_t i = 1; i < trace->samples; i++) {
        double before = trace->sample[i - 1].travel;
        double after = trace->sample[i].travel;
        if (raising ? before < travel && after >= travel : before > travel && after <= travel) {
            double share = (travel - before) / (after - before);
            return trace->sample[i - 1].time + share * (trace->sample[i].time - trace->sample[i - 1].time);
        }
    }
    return NAN;
}

/* --to: a first run with the switch held tells when to let go of it. */
static int find_release(const up_move *move, up_move_answer *answer) {
    up_trace trial;
    up_outcome outcome;
    up_trace_init(&trial);
    int status = record(answer, &answer->run, &trial, &outcome, NULL);
    double time = status < 0 ? passing_time(&trial, answer->door.travel - move->to_opening, move->raising) : NAN;
    up_trace_free(&trial);
    if (status >= 0) {
        return status;
    }
    if (isnan(time)) {
        char found[64];
        char expected[128];
        snprintf(found, sizeof found, "%.4g mm", 1e3 * move->to_opening);
        snprintf(expected, sizeof expected, "an opening that the glass passes on its way from %.4g to %.4g mm",
                 1e3 * (answer->door.travel - outcome.start_travel),
                 1e3 * (answer->door.travel - outcome.final_travel));
        return up_cli_bad_option("move", "to", found, expected, "give a place between the two, or leave --to out");
    }
    answer->run.switch_steps = 2;
    answer->run.switch_step[1] = (up_switch_step){time, UP_SWITCH_FREE};
    return -1;
}

static void tell_facts(const up_move *move, up_facts *facts) {
    up_facts_default(facts);
    facts->rod_diameter = move->rod_diameter;
    facts->place = UP_FROM_SWITCH;
    facts->way = move->one_touch ? UP_WAY_ONE_TOUCH : UP_WAY_HELD;
    facts->reversing = move->run.leads_direct || move->run.leads_open ? UP_ANSWER_NO : UP_ANSWER_YES;
}

static int spread_once(const up_move_answer *answer, const up_run_options *options, const up_rule *rule,
                       up_workers *workers, up_spread_result *result) {
    up_facts facts;
    tell_facts(answer->move, &facts);
    up_run_options drawn = *options;
    drawn.tolerance = answer->move->tolerance_given ? options->tolerance : draw_tolerance;
    const up_spread_request request = {.known = &answer->sheet->known,
                                       .options = &drawn,
                                       .facts = rule ? &facts : NULL,
                                       .rule = rule,
                                       .seed = options->seed,
                                       .sheet_tolerance = options->tolerance,
                                       .draws = answer->move->draws};
    size_t size = up_spread_memory(request.draws);
    void *memory = malloc(size);
    if (!memory) {
        return out_of_memory();
    }
    up_status status = up_spread_run(&request, workers, memory, size, result);
    free(memory);
    return status == UP_OK ? -1 : complain("the closings behind the intervals failed", status);
}

static int spread_all(up_move_answer *answer) {
    up_workers *workers = up_threads_start(up_threads_available());
    int status = -1;
    if (answer->rules == 0) {
        status = spread_once(answer, &answer->run, NULL, workers, &answer->spread);
    }
    for (int i = 0; i < answer->rules && status < 0; i++) {
        up_run_options options = answer->run;
        options.rod_stiffness = answer->rule[i].stiffness;
        status = spread_once(answer, &options, answer->rule[i].rule, workers, &answer->rule[i].spread);
    }
    if (answer->rules > 0) {
        answer->spread = answer->rule[0].spread;
    }
    up_threads_stop(workers);
    return status;
}

static void choose_rods(up_move_answer *answer) {
    const up_move *move = answer->move;
    if (!move->run.rod) {
        return;
    }
    for (int i = 0; i < up_rule_count() && answer->rules < UP_MOVE_RULES_MAX; i++) {
        up_move_rule *rule = &answer->rule[answer->rules++];
        rule->rule = up_rule_at(i);
        rule->stiffness = rule->rule->rod_stiffness(move->rod_diameter, &rule->number);
        if (move->rod_stiffness_given) {
            rule->stiffness = move->run.rod_stiffness;
        }
    }
    answer->run.rod_stiffness = answer->rule[0].stiffness;
}

int up_move_false_reversal(const up_move_answer *answer) {
    size_t seen = up_trace_find(&answer->trace, UP_EVENT_PINCH_SEEN, 0);
    size_t touched = up_trace_find(&answer->trace, UP_EVENT_ROD_TOUCHED, 0);
    return seen < answer->trace.events && seen < touched && answer->outcome.reversals > 0;
}

static int find_cause(up_move_answer *answer) {
    if (!up_move_false_reversal(answer)) {
        return -1;
    }
    up_run_options options = answer->run;
    options.sample_interval = fine_interval;
    const up_event *seen = &answer->trace.event[up_trace_find(&answer->trace, UP_EVENT_PINCH_SEEN, 0)];
    const up_cause_record made = {answer->trace.sample, answer->trace.samples, seen->time};
    up_sink sink = up_trace_sink(&answer->held_back);
    up_status status = up_cause_find(&answer->sheet->known.values, &options, &made, &sink, &answer->cause);
    if (answer->held_back.out_of_memory) {
        return out_of_memory();
    }
    answer->has_cause = status == UP_OK;
    return status == UP_OK ? -1 : complain("looking for the cause failed", status);
}

int up_move_run(const up_move *move, const up_sheet *sheet, up_move_answer *answer) {
    answer->move = move;
    answer->sheet = sheet;
    answer->run = move->run;
    up_trace_init(&answer->trace);
    up_trace_init(&answer->held_back);
    choose_rods(answer);
    up_status prepared = up_door_prepare(&sheet->known.values, move->run.temperature, &answer->door);
    if (prepared != UP_OK) {
        return complain("the door cannot be put together", prepared);
    }
    int status = isnan(move->to_opening) ? -1 : find_release(move, answer);
    if (status < 0) {
        status = record(answer, &answer->run, &answer->trace, &answer->outcome, &answer->work);
    }
    if (status < 0) {
        status = spread_all(answer);
    }
    if (status < 0) {
        status = find_cause(answer);
    }
    return status;
}

void up_move_forget(up_move_answer *answer) {
    up_trace_free(&answer->trace);
    up_trace_free(&answer->held_back);
}

#include "tests/support/recording.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void must(int holds, const recording *r, const char *what, double found) {
    if (!holds) {
        fprintf(stderr, "recording (family %d, start %.3f m): %s: %g\n", r->values.family, r->options.start_travel,
                what, found);
        abort();
    }
}

void recording_door(recording *r, up_family family) {
    up_values_fallback(family, &r->values);
    up_run_options_default(&r->options);
    r->options.sample_interval = 0.002;
}

void recording_hand(recording *r, up_switch position) {
    r->options.switch_steps = 1;
    r->options.switch_step[0] = (up_switch_step){0, position};
}

void recording_hand_then(recording *r, double time, up_switch position) {
    must(r->options.switch_steps < UP_SWITCH_STEPS_MAX, r, "too many switch steps", r->options.switch_steps);
    r->options.switch_step[r->options.switch_steps++] = (up_switch_step){time, position};
}

static void take_sample(void *context, const up_sample *sample) {
    recording *r = context;
    must(r->samples < RECORDING_SAMPLES, r, "too many samples", r->samples);
    r->sample[r->samples++] = *sample;
}

static void take_event(void *context, const up_event *event) {
    recording *r = context;
    must(r->events < RECORDING_EVENTS, r, "too many events", r->events);
    r->event[r->events++] = *event;
}

static void take_edge(void *context, double time, int level) {
    recording *r = context;
    (void)level;
    must(r->edges < RECORDING_EDGES, r, "too many edges", r->edges);
    r->edge[r->edges++] = time;
}

static void check_books(const recording *r) {
    double turned_over = 0;
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        turned_over = fmax(turned_over, fabs(r->outcome.ledger[i]));
    }
    must(fabs(r->outcome.ledger_gap) <= 1e-5 * turned_over + 1e-7, r, "the ledger does not close, J",
         r->outcome.ledger_gap);
    for (int i = UP_LEDGER_supply_heat; i < UP_LEDGER_shaken; i++) {
        must(r->outcome.ledger[i] >= -1e-7 * turned_over, r, up_ledger_name((up_ledger_account)i),
             r->outcome.ledger[i]);
    }
}

void recording_run(recording *r) {
    r->samples = r->events = r->edges = 0;
    const up_status prepared = up_door_prepare(&r->values, r->options.temperature, &r->door);
    must(prepared == UP_OK, r, up_status_text(prepared), prepared);
    const up_sink sink = {r, take_sample, take_event, take_edge, NULL};
    const up_status status = up_run(&r->door, &r->options, &sink, &r->outcome, &r->counts);
    must(status == UP_OK, r, up_status_text(status), status);
    check_books(r);
}

double recording_time(const recording *r, up_event_kind kind, int n) {
    for (int i = 0; i < r->events; i++) {
        if (r->event[i].kind == kind && n-- == 0) {
            return r->event[i].time;
        }
    }
    return NAN;
}

int recording_count(const recording *r, up_event_kind kind) {
    int count = 0;
    for (int i = 0; i < r->events; i++) {
        count += r->event[i].kind == kind;
    }
    return count;
}

const up_sample *recording_at(const recording *r, double time) {
    int i = 0;
    while (i + 1 < r->samples && r->sample[i + 1].time <= time) {
        i++;
    }
    return &r->sample[i];
}

const up_sample *recording_last(const recording *r) {
    return &r->sample[r->samples - 1];
}

/* What a bench starts from, and the instruments of a workshop. Sizes of errors: common practice, no source. */
#include <math.h>

#include "analysis/bench/virtual_bench.h"
#include "core/base/counter_random.h"

enum { STREAM_ERRORS = 2000 };

#define PULLED 0.4 /* s, a one-touch switch is pulled that long: without its position a controller stops there */

static const struct {
    const char *name, *text;
} instruments[UP_INSTRUMENT_COUNT] = {
#define UP_INSTRUMENT_ROW(id, name, text) {name, text},
    UP_INSTRUMENT_LIST(UP_INSTRUMENT_ROW)
#undef UP_INSTRUMENT_ROW
};

const char *up_instrument_name(up_instrument instrument) {
    return (unsigned)instrument < UP_INSTRUMENT_COUNT ? instruments[instrument].name : NULL;
}

const char *up_instrument_text(up_instrument instrument) {
    return (unsigned)instrument < UP_INSTRUMENT_COUNT ? instruments[instrument].text : NULL;
}

static void hold(up_bench *bench, double time, up_switch position) {
    up_run_options *run = &bench->run;
    if (run->switch_steps < UP_SWITCH_STEPS_MAX) {
        run->switch_step[run->switch_steps++] = (up_switch_step){time, position};
    }
}

void up_bench_default(up_bench *bench) {
    *bench = (up_bench){.zero_time = 0.2, .fine_rate_least = 10e3, .slip_travel = UP_ABSENT};
    up_run_options_default(&bench->run);
    bench->run.time_limit = 6;
    up_bench_one_touch(bench, 1, 0);
    bench->brushes = (up_brushes){
        .shaft_order = 0.015, .second_order = 0.008, .half_line = 0.006, .third_line = 0.003, .noise = 0.004};
    bench->line.bounce_time = 0.4e-3;
}

void up_bench_one_touch(up_bench *bench, int direction, double start_travel) {
    bench->run.leads_direct = 0;
    bench->run.start_travel = start_travel;
    bench->run.switch_steps = 0;
    up_bench_one_touch_then(bench, direction, bench->zero_time);
}

void up_bench_one_touch_then(up_bench *bench, int direction, double time) {
    hold(bench, time, direction > 0 ? UP_SWITCH_RAISE_TOUCH : UP_SWITCH_LOWER_TOUCH);
    hold(bench, time + PULLED, UP_SWITCH_FREE);
}

void up_bench_leads(up_bench *bench, int direction, double voltage, double time) {
    bench->run.leads_direct = 1;
    bench->run.open_voltage = voltage;
    bench->run.switch_steps = 0;
    hold(bench, bench->zero_time, direction > 0 ? UP_SWITCH_RAISE_HELD : UP_SWITCH_LOWER_HELD);
    hold(bench, bench->zero_time + time, UP_SWITCH_FREE);
}

void up_bench_leads_both(up_bench *bench, int direction, double voltage, double time, double pause) {
    up_bench_leads(bench, direction, voltage, time);
    hold(bench, bench->zero_time + time + pause, direction > 0 ? UP_SWITCH_LOWER_HELD : UP_SWITCH_RAISE_HELD);
    hold(bench, bench->zero_time + 2 * time + pause, UP_SWITCH_FREE);
}

up_channel *up_bench_add(up_bench *bench, up_signal signal, up_probe probe, double rate) {
    if (bench->channels >= UP_TRACKS_MAX) {
        return NULL;
    }
    up_channel *c = &bench->channel[bench->channels++];
    *c = (up_channel){.signal = signal, .probe = probe, .rate = rate, .level_high = 1};
    return c;
}

typedef struct up_maker {
    double rate, bandwidth_current, bandwidth_voltage, noise_current, noise_voltage, step_current, step_voltage;
    double range_current, range_voltage;
    double offset_current, gain_current; /* standard deviations of what is drawn: A, share */
    int averaged, pulses;
    double skew; /* s from channel to channel */
} up_maker;

static const up_maker makers[UP_INSTRUMENT_COUNT] = {
    [UP_INSTRUMENT_SCOPE] = {10e3, 20e3, 0, 0.06, 0.03, 0.2, 0.08, 25.6, 20.48, 0.15, 0.015, 0, 1, 0},
    [UP_INSTRUMENT_CARD] = {5e3, 2e3, 2e3, 0.01, 0.004, 1.5e-3, 6e-4, 50, 20, 0.01, 0.003, 0, 1, 30e-6},
    [UP_INSTRUMENT_LOGGER] = {500, 400, 0, 0.02, 0.01, 0.02, 0.01, 40.94, 20.47, 0.05, 0.01, 1, 0, 0},
};

static double normal_of(const up_bench *bench, uint64_t place) {
    return up_random_normal(bench->seed, STREAM_ERRORS, place);
}

void up_bench_connect(up_bench *bench, up_instrument instrument) {
    if ((unsigned)instrument >= UP_INSTRUMENT_COUNT) {
        return; /* nothing is connected, and up_bench_record says so */
    }
    const up_maker *m = &makers[instrument];
    up_channel *voltage = up_bench_add(bench, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, m->rate);
    up_channel *current = up_bench_add(bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, m->rate);
    up_channel *const lead[] = {m->pulses ? up_bench_add(bench, UP_SIGNAL_PULSES, UP_PROBE_ENCODER, m->rate) : NULL,
                                m->pulses ? up_bench_add(bench, UP_SIGNAL_PULSES, UP_PROBE_LIMIT, m->rate) : NULL};
    if (voltage != NULL) {
        voltage->bandwidth = m->bandwidth_voltage;
        voltage->averaged = m->averaged;
        voltage->noise = m->noise_voltage;
        voltage->step = m->step_voltage;
        voltage->low = -m->range_voltage;
        voltage->high = m->range_voltage;
        voltage->offset = m->step_voltage * normal_of(bench, 0);
        voltage->gain_error = 0.005 * normal_of(bench, 1);
    }
    if (current != NULL) {
        current->skew = m->skew;
        current->bandwidth = m->bandwidth_current;
        current->averaged = m->averaged;
        current->noise = m->noise_current;
        current->step = m->step_current;
        current->low = -m->range_current;
        current->high = m->range_current;
        current->offset = m->offset_current * normal_of(bench, 2);
        current->gain_error = m->gain_current * normal_of(bench, 3);
    }
    for (int i = 0; i < 2 && lead[i] != NULL; i++) { /* open collector, pulled up to 5 V through a long wire */
        up_channel *const pulses = lead[i];
        pulses->skew = (2 + i) * m->skew;
        pulses->bandwidth = 4e3;
        pulses->noise = 0.03;
        pulses->step = m->step_voltage;
        pulses->level_low = 0.25;
        pulses->level_high = 4.9;
    }
}

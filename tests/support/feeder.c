#include "tests/support/feeder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/counter_random.h"
#include "core/parts/worm.h"

void feeder_usual(feeder_wish *wish, double interval, uint64_t seed) {
    *wish = (feeder_wish){.interval = interval,
                          .volts_noise = 0.01,
                          .amps_noise = 0.02,
                          .volts_step = 0.01,
                          .amps_step = 0.02,
                          .seed = seed};
}

static double shown(const feeder *f, double value, double noise, double step, uint64_t stream) {
    value += noise * up_random_normal(f->wish.seed, stream, f->count);
    return step > 0 ? step * floor(value / step + 0.5) : value;
}

static void take(void *context, const up_sample *s) {
    feeder *const f = context;
    const feeder_wish *const w = &f->wish;
    const double current = w->with_ripple ? s->ripple_current : s->current;
    const double share = w->current_filter > 0 ? 1 - exp(-w->interval / w->current_filter) : 1;
    f->filtered += share * (current - f->filtered);
    if (s->time < w->from - 0.1 * w->interval) {
        return;
    }
    if (f->count >= FEEDER_SAMPLES) {
        fprintf(stderr, "feeder: too many samples\n");
        abort();
    }
    f->leads[f->count] = shown(f, s->motor_voltage, w->volts_noise, w->volts_step, 101);
    f->battery[f->count] = shown(f, s->battery_voltage, w->volts_noise, w->volts_step, 102);
    f->current[f->count] = shown(f, f->filtered, w->amps_noise, w->amps_step, 103);
    f->pulses[f->count] = s->encoder_level;
    f->count++;
}

static void add(feeder *f, up_signal signal, const double *value, double step) {
    f->recorded.track[f->recorded.tracks++] = (up_track){.signal = signal,
                                                         .count = f->count,
                                                         .start = f->wish.from,
                                                         .interval = f->wish.interval,
                                                         .value = value,
                                                         .low_clip = NAN,
                                                         .high_clip = NAN,
                                                         .step = step > 0 ? step : NAN};
}

static void hand_over(feeder *f) {
    const feeder_wish *const w = &f->wish;
    f->recorded.tracks = 0;
    add(f, UP_SIGNAL_CURRENT, f->current, w->amps_step);
    if (!w->without_volts) {
        add(f, UP_SIGNAL_VOLTAGE, f->leads, w->volts_step);
    }
    if (w->with_battery) {
        add(f, UP_SIGNAL_VOLTAGE, f->battery, w->volts_step);
    }
    if (!w->without_pulses) {
        add(f, UP_SIGNAL_PULSES, f->pulses, NAN);
    }
}

void feeder_run(feeder *f, const up_values *values, up_run_options *options) {
    up_door door;
    const up_sink sink = {.context = f, .sample = take};
    f->count = 0;
    f->filtered = 0;
    options->sample_interval = f->wish.interval;
    up_status status = up_door_prepare(values, options->temperature, &door);
    if (status == UP_OK) {
        status = up_run(&door, options, &sink, &f->outcome, NULL);
    }
    if (status != UP_OK) {
        fprintf(stderr, "feeder: %s\n", up_status_text(status));
        abort();
    }
    hand_over(f);
}

static double brush_volts(const up_values *v, double current) {
    return v->brush_drop * current / sqrt(current * current + 0.25);
}

void feeder_locked(feeder *f, const up_values *v, double off, double end) {
    up_door door;
    if (up_door_prepare(v, 293.15, &door) != UP_OK) {
        abort();
    }
    const double on = 0.002, step = fmin(f->wish.interval / 8, 5e-6);
    const double source = door.source_resistance + door.bridge_resistance;
    double current = 0, warm = 0;
    f->count = 0;
    f->filtered = 0;
    f->wish.without_pulses = 1;
    const long long steps = llround(end / step), every = llround(f->wish.interval / step);
    for (long long k = 0; k <= steps; k++) {
        const double time = (double)k * step;
        const int driven = time >= on && time < off;
        current = driven ? current : 0;
        if (k % every == 0) {
            const double posts = v->supply_voltage - v->supply_resistance * current;
            const up_sample s = {.time = time,
                                 .current = current,
                                 .ripple_current = current,
                                 .battery_voltage = posts,
                                 .motor_voltage = driven ? v->supply_voltage - source * current : 0};
            take(f, &s);
        }
        const double winding = v->winding_resistance * (1 + v->winding_coefficient * warm);
        const double resistance = source + winding + door.protector_resistance;
        double rate[2];
        for (int half = 0; half < 2 && driven; half++) {
            const double at = half == 0 ? current : current + 0.5 * step * rate[0];
            rate[half] = (v->supply_voltage - resistance * at - brush_volts(v, at)) / v->inductance;
        }
        warm += step * (winding * current * current + brush_volts(v, current) * current) / v->winding_capacity;
        current += driven ? step * rate[1] : 0;
    }
    hand_over(f);
}

void feeder_arrays(feeder *f, const double *leads, const double *current, size_t count, double interval) {
    memset(&f->wish, 0, sizeof f->wish);
    f->wish.interval = interval;
    f->wish.without_pulses = 1;
    f->count = count < FEEDER_SAMPLES ? count : FEEDER_SAMPLES;
    memcpy(f->leads, leads, f->count * sizeof *leads);
    memcpy(f->current, current, f->count * sizeof *current);
    hand_over(f);
}

void feeder_hand(up_run_options *o, double start_travel, double on, double off, double end) {
    up_run_options_default(o);
    o->leads_direct = 1;
    o->start_travel = start_travel;
    o->time_limit = end;
    o->rest_time = end;
    o->switch_steps = 3;
    o->switch_step[0] = (up_switch_step){0, UP_SWITCH_FREE};
    o->switch_step[1] = (up_switch_step){on, UP_SWITCH_RAISE_HELD};
    o->switch_step[2] = (up_switch_step){off, UP_SWITCH_FREE};
}

/* ---- the drive alone ------------------------------------------------------------------------------------------------------ */

typedef struct drive {
    const up_values *v;
    double source, lead, ratio, resistance; /* ohm, rad, 1, ohm warm with the protector */
    int driven;
} drive;

static void drive_rates(const drive *d, const double y[3], double rate[3]) {
    const up_values *const v = d->v;
    const double slide = up_worm_sliding_speed(y[1], v->worm_diameter, d->lead);
    const double mu = up_worm_friction_at(slide, v->worm_friction, v->worm_static_friction, v->worm_friction_speed);
    const double output = v->output_drag / d->ratio / up_worm_efficiency_driving(d->lead, v->worm_pressure_angle, mu);
    const double friction = v->motor_friction + output + v->motor_viscous * y[1];
    const double inertia = v->armature_inertia + v->wheel_inertia / (d->ratio * d->ratio);
    const double torque = v->torque_constant * y[0];
    const double volts = v->supply_voltage - (d->source + d->resistance) * y[0] - brush_volts(v, y[0]);
    rate[0] = d->driven ? (volts - v->torque_constant * y[1]) / v->inductance : 0;
    rate[1] = y[1] <= 0 && torque <= friction ? 0 : (torque - friction) / inertia;
    rate[2] = y[1];
}

static void drive_step(const drive *d, double y[3], double h) {
    double k[4][3], at[3];
    drive_rates(d, y, k[0]);
    for (int s = 1; s < 4; s++) {
        for (int i = 0; i < 3; i++) {
            at[i] = y[i] + (s == 3 ? h : 0.5 * h) * k[s - 1][i];
        }
        drive_rates(d, at, k[s]);
    }
    for (int i = 0; i < 3; i++) {
        y[i] += h / 6 * (k[0][i] + 2 * k[1][i] + 2 * k[2][i] + k[3][i]);
    }
    y[1] = y[1] < 0 ? 0 : y[1];
}

void feeder_free(feeder *f, const up_values *v, double off, double end) {
    up_door door;
    if (up_door_prepare(v, 293.15, &door) != UP_OK) {
        abort();
    }
    drive d = {.v = v, .ratio = v->wheel_teeth / v->worm_starts};
    d.source = door.source_resistance + door.bridge_resistance;
    d.lead = up_worm_lead_angle(v->worm_starts, v->worm_module, v->worm_diameter);
    double y[3] = {0, 0, 0.3}, warm = 0;
    f->count = 0;
    f->filtered = 0;
    const long long parts = (long long)ceil(f->wish.interval / 5e-5);
    const double step = f->wish.interval / (double)parts;
    const long long steps = llround(end / step);
    for (long long k = 0; k <= steps; k++) {
        const double time = (double)k * step;
        d.driven = time >= 0.002 - 1e-9 && time < off;
        y[0] = d.driven ? y[0] : 0;
        if (k % parts == 0) {
            const double leads = d.driven ? v->supply_voltage - d.source * y[0] : v->torque_constant * y[1];
            const up_sample s = {.time = time,
                                 .current = y[0],
                                 .ripple_current = y[0],
                                 .battery_voltage = v->supply_voltage - v->supply_resistance * y[0],
                                 .motor_voltage = leads,
                                 .encoder_level = fmod(floor(y[2] / door.edge_spacing), 2)};
            take(f, &s);
        }
        const double winding = v->winding_resistance * (1 + v->winding_coefficient * warm);
        d.resistance = winding + door.protector_resistance;
        warm += step * (winding * y[0] * y[0] + brush_volts(v, y[0]) * y[0] - warm / v->winding_to_case) /
                v->winding_capacity;
        drive_step(&d, y, step);
    }
    hand_over(f);
}

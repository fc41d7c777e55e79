#include "tests/detector/drive.h"

#include <math.h>
#include <stdlib.h>

#include "core/door/door.h"

static const double step_us = 40.0;

void drive_control_settings(int kind, up_control_settings *settings) {
    static up_door door;
    up_values values;
    up_values_fallback((up_family)(kind % DRIVE_DOORS), &values);
    values.detect_principle = kind / DRIVE_DOORS % 2 ? UP_BY_OBSERVER : UP_BY_PACE;
    values.detect_profile = kind / (2 * DRIVE_DOORS) ? UP_PROFILE_LEARNED : UP_PROFILE_NONE;
    if (up_door_prepare(&values, 293.15, &door) != UP_OK) {
        abort();
    }
    *settings = door.control;
}

void drive_settings(int kind, up_detector_settings *settings) {
    up_control_settings control;
    drive_control_settings(kind, &control);
    *settings = control.detector;
}

const char *drive_name(int kind) {
    static const char *const name[DRIVE_KINDS] = {"single arm, pace",
                                                  "crossed arms, pace",
                                                  "cable, pace",
                                                  "rack, pace",
                                                  "single arm, observer",
                                                  "crossed arms, observer",
                                                  "cable, observer",
                                                  "rack, observer",
                                                  "single arm, pace, learned",
                                                  "crossed arms, pace, learned",
                                                  "cable, pace, learned",
                                                  "rack, pace, learned",
                                                  "single arm, observer, learned",
                                                  "crossed arms, observer, learned",
                                                  "cable, observer, learned",
                                                  "rack, observer, learned"};
    return name[kind];
}

void drive_start(drive *d, const up_detector_settings *settings, double opening) {
    d->settings = settings;
    d->tick_us = 1000.0;
    d->next_tick_us = d->time_us + d->tick_us;
    d->speed = 0;
    d->angle = 0;
    d->current = 0;
    d->opening = opening;
    d->supply_mv = 12500;
    d->obstacle_at = -1;
    d->lose = 0;
    d->repeat = 0;
    d->edges = 0;
    d->seen = false;
    up_detector_start(&d->detector, (uint32_t)(uint64_t)d->time_us);
}

double drive_obstacle(const drive *d) {
    if (d->obstacle_at < 0 || d->opening > d->obstacle_at) {
        return 0;
    }
    return fmin((d->obstacle_at - d->opening) * d->obstacle_rise, d->obstacle_most);
}

/* Straight between knots or borders, in floating point. */
static double between(double here, double next, double share) {
    return here + (next - here) * share;
}

/* N for each rad/s of missing speed. */
static double gain_at(const up_detector_settings *s, double opening) {
    const double place = fmax(0, opening) / (double)(1U << s->zone_shift);
    const int zone = (int)place;
    if (zone >= UP_DETECTOR_ZONES) {
        return s->gain[UP_DETECTOR_ZONES] / 256.0;
    }
    return between(s->gain[zone], s->gain[zone + 1], place - zone) / 256.0;
}

/* The usual load, N: what the profile was set up with. */
static double usual_load(const up_detector_settings *s, double opening) {
    const double fine_end = UP_DETECTOR_FINE * (double)(1U << s->fine_shift);
    const double below = fmax(0, opening);
    double knot = below < fine_end ? below / (double)(1U << s->fine_shift)
                                   : UP_DETECTOR_FINE + (below - fine_end) / (double)(1U << s->coarse_shift);
    knot = fmin(knot, UP_DETECTOR_KNOTS - 1.001);
    const int k = (int)knot;
    return between(s->profile[k], s->profile[k + 1], knot - k) / 16.0;
}

static double free_speed_at(const up_detector_settings *s, double supply_mv) {
    return fmax(0, supply_mv - s->brush_mv) * s->free_speed_gain / 4096.0 / 64.0;
}

/* mA that cost that much speed. */
static double current_of(const up_detector_settings *s, double cost) {
    return cost * 64 * 65536 / s->current_gain;
}

double drive_spacing(const up_detector_settings *settings) {
    return settings->speed_numerator / 64e6 / settings->window;
}

double drive_usual_speed(const up_detector_settings *settings, double opening, double supply_mv, double *current_ma) {
    const double cost = usual_load(settings, opening) / gain_at(settings, opening);
    *current_ma = current_of(settings, cost);
    return free_speed_at(settings, supply_mv) - cost;
}

static up_detector_reading reading_of(const drive *d, double time_us) {
    return (up_detector_reading){.now_us = (uint32_t)(uint64_t)time_us,
                                 .supply_mv = (uint32_t)d->supply_mv,
                                 .current_ma = (int32_t)d->current,
                                 .opening_edges = (int32_t)floor(d->opening),
                                 .place_known = true};
}

static void hear_edge(drive *d, double time_us) {
    const up_detector_reading reading = reading_of(d, time_us);
    d->seen |= up_detector_edge(&d->detector, d->settings, &d->memory, &reading);
}

static void edge(drive *d, double time_us) {
    d->edges++;
    d->opening -= 1;
    if (d->lose > 0) {
        d->lose--;
        return;
    }
    hear_edge(d, time_us);
    if (d->repeat > 0) {
        d->repeat--;
        hear_edge(d, time_us + d->repeat_us);
    }
}

/* One small step of the armature and the current's filter: mechanical time constant and filter as in the settings. */
static void step(drive *d, double spacing) {
    const up_detector_settings *s = d->settings;
    const double free_speed = free_speed_at(s, d->supply_mv);
    const double missing = (usual_load(s, d->opening) + drive_obstacle(d)) / gain_at(s, d->opening);
    const double constant_us = 16777216.0 / s->per_acceleration;
    const double filter_us = 16777216.0 / s->per_filter;
    const double cost = free_speed - d->speed; /* rad/s that the current costs */
    d->speed = fmax(0, d->speed + step_us / constant_us * (cost - missing));
    d->current += fmin(1, step_us / filter_us) * (current_of(s, cost) - d->current);
    d->angle += d->speed * step_us * 1e-6;
    d->time_us += step_us;
    if (d->angle >= spacing) {
        d->angle -= spacing;
        edge(d, d->time_us - d->angle / fmax(d->speed, 1e-9) * 1e6);
    }
    if (d->time_us >= d->next_tick_us) {
        const up_detector_reading reading = reading_of(d, d->next_tick_us);
        d->next_tick_us += d->tick_us;
        d->seen |= up_detector_tick(&d->detector, s, &d->memory, &reading);
    }
}

uint32_t drive_run(drive *d, uint32_t edges, bool until_seen) {
    const double spacing = drive_spacing(d->settings);
    const uint32_t from = d->edges;
    const double end = d->time_us + 5e6;
    while (d->edges - from < edges && d->time_us < end && !(until_seen && d->seen)) {
        step(d, spacing);
    }
    return d->edges - from;
}

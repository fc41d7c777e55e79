/* Load by observer: speed and load from voltage and current, corrected by pulses.
 *
 * In units of speed the motor's equations are short. With the free speed w0 = (U - brushes) / K and the share of it that
 * the current costs, c = R i / K, the current tells the speed w = w0 - c. With the load, too, stated as the speed m it
 * would cost, the armature obeys T dw/dt = c - m, T = J R / K^2. The observer runs this equation and corrects speed and
 * load by what the speed told by the current differs from its own. */
#include "detector/parts.h"

enum {
    SPEED_MAX = 4000 * 64, /* 1/64 rad/s; with eight more bits still inside 32                */
    CURRENT_MAX = 200000,  /* mA                                                              */
    BIAS_EDGES = 16,       /* edges over which the pulses correct the speed                   */
    BELIEVED = 5           /* the pulses' correction is at most the free speed over this      */
};

static uint32_t step_of(up_detector *detector, const up_detector_settings *settings, uint32_t now_us) {
    const uint32_t step = now_us - detector->last_tick;
    detector->last_tick = now_us;
    return step < settings->step_max_us ? step : settings->step_max_us;
}

/* The voltage is delayed as the measured current is, so that the two belong together. */
static void follow_supply(up_detector *detector, const up_detector_settings *settings, uint32_t supply_mv,
                          uint32_t step) {
    const int32_t now = up_detector_supply(supply_mv);
    const uint64_t share = (uint64_t)step * settings->per_filter;
    if (detector->supply == 0 || share >= 1U << 24) {
        detector->supply = (uint32_t)now;
    } else {
        const int64_t way = (int64_t)now - (int64_t)detector->supply;
        const int64_t next = (int64_t)detector->supply + way * (int64_t)share / (1 << 24);
        detector->supply = (uint32_t)up_detector_clamp(next, 0, UP_DETECTOR_SUPPLY_MAX);
    }
}

/* Speed that the current costs, 1/64 rad/s. */
static int32_t cost_of(const up_detector_settings *settings, int32_t current_ma) {
    const int64_t current = up_detector_clamp(current_ma, -CURRENT_MAX, CURRENT_MAX);
    return up_detector_clamp(current * (int64_t)settings->current_gain / 65536, -SPEED_MAX, SPEED_MAX);
}

/* A gain over one step, times 2^24. Valid settings keep it below the bound by themselves. */
static int64_t over_step(uint32_t gain, int64_t step) {
    const int64_t most = 4 << 24;
    const int64_t share = (int64_t)gain * step;
    return share < most ? share : most;
}

void up_observer_tick(up_detector *detector, const up_detector_settings *settings, const up_detector_reading *reading) {
    const int64_t step = step_of(detector, settings, reading->now_us);
    follow_supply(detector, settings, reading->supply_mv, (uint32_t)step);
    const int32_t cost = cost_of(settings, reading->current_ma);
    const int64_t free_speed = up_detector_free_speed(settings, detector->supply);
    const int32_t told = up_detector_clamp(free_speed - cost, -SPEED_MAX, SPEED_MAX);
    const int64_t differs = (int64_t)told * 256 + detector->bias - detector->speed;
    const int64_t gains = (int64_t)cost * 256 - detector->missing;
    const int64_t unit = 1 << 24;
    const int64_t speed = detector->speed + gains * over_step(settings->per_acceleration, step) / unit +
                          differs * over_step(settings->speed_gain, step) / unit;
    const int64_t missing = detector->missing - differs * over_step(settings->load_gain, step) / unit;
    detector->speed = up_detector_clamp(speed, -SPEED_MAX * 256, SPEED_MAX * 256);
    detector->missing = up_detector_clamp(missing, -SPEED_MAX * 256, SPEED_MAX * 256);
}

bool up_observer_edge(up_detector *detector, const up_detector_settings *settings) {
    const uint32_t free_speed = up_detector_free_speed(settings, detector->supply);
    const int32_t pulses = up_detector_clamp(up_pace_speed(detector, settings), 0, SPEED_MAX);
    const int64_t differs = (int64_t)pulses * 256 - detector->speed;
    const int32_t most = SPEED_MAX * 256;
    detector->bias = up_detector_clamp(detector->bias + differs / BIAS_EDGES, -most, most);
    const uint32_t fastest = SPEED_MAX;
    const int32_t bound = (int32_t)(free_speed < fastest ? free_speed : fastest) * 256 / BELIEVED;
    const bool doubted = detector->bias > bound || detector->bias < -bound;
    const bool changed = doubted != detector->by_pulses;
    detector->by_pulses = doubted;
    return changed;
}

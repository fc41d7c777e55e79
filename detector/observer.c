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
    UNIT_SHIFT = 24,       /* of gains over a step                                        */
    UNIT = 1 << UNIT_SHIFT,
    FIFTH_SHIFT = 34
};

/* The pulses' correction is believed up to a fifth of the free speed. Times this over 2^34 is a fifth of any number of 32
 * bits, cut, and much cheaper than a division. */
static const uint32_t FIFTH = 0xCCCCCCCDU;

static uint32_t step_of(up_detector *detector, const up_detector_settings *settings, uint32_t now_us) {
    const uint32_t step = now_us - detector->last_tick;
    detector->last_tick = now_us;
    return step < settings->step_max_us ? step : settings->step_max_us;
}

/* A gain over one step, times 2^24. Valid settings keep all but the filter's below the bound by themselves. */
static uint32_t over_step(uint32_t gain, uint32_t step, uint32_t most) {
    const int32_t share = up_detector_scaled((int32_t)step, gain, 0);
    return (uint32_t)up_detector_clamp(share, 0, (int32_t)most);
}

/* The voltage is delayed as the measured current is, so that the two belong together. */
static void follow_supply(up_detector *detector, const up_detector_settings *settings, uint32_t supply_mv,
                          uint32_t step) {
    const int32_t now = up_detector_supply(supply_mv);
    const int32_t held = (int32_t)detector->supply;
    const uint32_t share = over_step(settings->per_filter, step, UNIT);
    const int32_t next = held == 0 ? now : held + up_detector_scaled(now - held, share, UNIT_SHIFT);
    detector->supply = (uint32_t)up_detector_clamp(next, 0, UP_DETECTOR_SUPPLY_MAX);
}

/* Speed that the current costs, 1/64 rad/s. */
static int32_t cost_of(const up_detector_settings *settings, int32_t current_ma) {
    const int32_t current = up_detector_clamp(current_ma, -CURRENT_MAX, CURRENT_MAX);
    return up_detector_clamp(up_detector_scaled(current, settings->current_gain, 16), -SPEED_MAX, SPEED_MAX);
}

void up_observer_tick(up_detector *detector, const up_detector_settings *settings, const up_detector_reading *reading) {
    const uint32_t step = step_of(detector, settings, reading->now_us);
    follow_supply(detector, settings, reading->supply_mv, step);
    const int32_t cost = cost_of(settings, reading->current_ma);
    const int32_t free_speed = (int32_t)up_detector_free_speed(settings, detector->supply);
    const int32_t told = up_detector_clamp(free_speed - cost, -SPEED_MAX, SPEED_MAX);
    const int32_t differs = told * 256 + detector->bias - detector->speed;
    const int32_t gains = cost * 256 - detector->missing;
    const int32_t speed = detector->speed +
                          up_detector_scaled(gains, over_step(settings->per_acceleration, step, 4 * UNIT), UNIT_SHIFT) +
                          up_detector_scaled(differs, over_step(settings->speed_gain, step, UNIT), UNIT_SHIFT);
    const int32_t missing =
        detector->missing - up_detector_scaled(differs, over_step(settings->load_gain, step, 4 * UNIT), UNIT_SHIFT);
    detector->speed = up_detector_clamp(speed, -SPEED_MAX * 256, SPEED_MAX * 256);
    detector->missing = up_detector_clamp(missing, -SPEED_MAX * 256, SPEED_MAX * 256);
}

bool up_observer_edge(up_detector *detector, int32_t free_speed, int32_t speed) {
    const int32_t pulses = up_detector_clamp(speed, 0, SPEED_MAX);
    const int32_t differs = pulses * 256 - detector->speed;
    const int32_t most = SPEED_MAX * 256;
    detector->bias = up_detector_clamp(detector->bias + differs / BIAS_EDGES, -most, most);
    const int32_t bound = up_detector_scaled(up_detector_clamp(free_speed, 0, SPEED_MAX) * 256, FIFTH, FIFTH_SHIFT);
    const bool doubted = detector->bias > bound || detector->bias < -bound;
    const bool changed = doubted != detector->by_pulses;
    detector->by_pulses = doubted;
    return changed;
}

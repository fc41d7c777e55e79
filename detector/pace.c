/* Load by pace: how far the speed, told by the periods between edges, falls short of the free speed. */
#include "detector/parts.h"

void up_pace_keep_period(up_detector *detector, uint32_t window, uint32_t now_us) {
    uint32_t period = now_us - detector->last_edge;
    if (period > UP_DETECTOR_SLOWEST_US / UP_DETECTOR_WINDOW_MAX) {
        period = UP_DETECTOR_SLOWEST_US / UP_DETECTOR_WINDOW_MAX;
    }
    detector->last_edge = now_us;
    detector->period[detector->next_period] = period;
    const uint32_t next = detector->next_period + 1U;
    detector->next_period = (uint8_t)(next < window ? next : 0);
    if (detector->edges < UINT32_MAX) {
        detector->edges++;
    }
}

/* The armature takes its time to follow the supply; so does what is expected of it. */
void up_pace_follow_supply(up_detector *detector, uint32_t supply_mv, uint32_t edges) {
    const int32_t now = up_detector_supply(supply_mv);
    const int32_t held = (int32_t)detector->supply;
    const int32_t next = held == 0 ? now : held + (now - held) / (int32_t)edges;
    detector->supply = (uint32_t)up_detector_clamp(next, 0, UP_DETECTOR_SUPPLY_MAX);
}

/* Time of the last `window` periods, us. */
static uint32_t window_time(const up_detector *detector, uint32_t window) {
    uint32_t sum = 0;
    for (uint32_t i = 0; i < window; i++) {
        sum += detector->period[i];
    }
    return sum;
}

uint32_t up_pace_speed(const up_detector *detector, const up_detector_settings *settings) {
    const uint32_t time = window_time(detector, settings->window);
    return time > 0 ? settings->speed_numerator / time : 0;
}

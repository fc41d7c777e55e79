/* Load by pace: how far the speed, told by the periods between edges, falls short of the free speed. */
#include "detector/parts.h"

void up_pace_keep_period(up_detector *detector, uint32_t window, uint32_t now_us) {
    uint32_t period = now_us - detector->last_edge;
    if (period > UP_DETECTOR_SLOWEST_US / UP_DETECTOR_WINDOW_MAX) {
        period = UP_DETECTOR_SLOWEST_US / UP_DETECTOR_WINDOW_MAX;
    }
    detector->last_edge = now_us;
    detector->period[detector->edges % window] = period;
    detector->edges++;
}

/* The armature takes its time to follow the supply; so does what is expected of it. */
void up_pace_follow_supply(up_detector *detector, uint32_t supply_mv, uint32_t edges) {
    const uint32_t highest = 65535; /* mV; keeps the sixteenfold far inside 32 bits */
    const uint32_t now = 16 * (supply_mv < highest ? supply_mv : highest);
    if (detector->supply == 0) {
        detector->supply = now;
    } else if (now > detector->supply) {
        detector->supply += (now - detector->supply) / edges;
    } else {
        detector->supply -= (detector->supply - now) / edges;
    }
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

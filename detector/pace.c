/* Load by pace: how far the speed, told by the periods between edges, falls short of the free speed. */
#include "detector/parts.h"

/* us, at most UP_DETECTOR_SLOWEST_US */
static uint32_t window_time(const up_detector *detector, uint32_t window) {
    uint32_t sum = 0;
    for (uint32_t i = 0; i < window; i++) {
        sum += detector->period[i];
    }
    return sum < UP_DETECTOR_SLOWEST_US ? sum : UP_DETECTOR_SLOWEST_US;
}

static void note_period(up_detector *detector, uint32_t window, uint32_t period) {
    detector->period[detector->next_period] = period;
    const uint32_t next = detector->next_period + 1U;
    detector->next_period = (uint8_t)(next < window ? next : 0);
}

/* Within one period a drive can neither come to half its speed nor to four times it: then an edge was lost, and the period
 * is two, or one came twice. Taken for lost only once in a row; a drive that really stops is not explained away. While
 * there is no usual period yet, an edge sooner than the motor can turn came twice. */
bool up_pace_keep_period(up_detector *detector, const up_detector_settings *settings, uint32_t now_us) {
    const uint32_t window = settings->window;
    const uint32_t longest = UP_DETECTOR_SLOWEST_US / UP_DETECTOR_WINDOW_MAX;
    const uint32_t since = now_us - detector->last_edge;
    const uint32_t period = since < longest ? since : longest;
    const uint32_t usual = detector->armed ? detector->window_time : 0; /* of `window` periods */
    if (4 * period * window < usual || (detector->edges > 0 && period < settings->soon_us)) {
        return false;
    }
    const bool lost = usual > 0 && 4 * period * window > 7 * usual && !detector->mended;
    detector->mended = lost;
    detector->last_edge = now_us;
    if (lost) {
        note_period(detector, window, period / 2);
    }
    note_period(detector, window, lost ? period / 2 : period);
    detector->window_time = window_time(detector, window);
    if (detector->edges < UINT32_MAX) {
        detector->edges++;
    }
    return true;
}

/* The armature takes its time to follow the supply; so does what is expected of it. */
bool up_pace_follow_supply(up_detector *detector, uint32_t supply_mv, uint32_t edges) {
    const int32_t now = up_detector_supply(supply_mv);
    const int32_t held = (int32_t)detector->supply;
    const int32_t next = held == 0 ? now : held + up_detector_divided(now - held, edges);
    detector->supply = (uint32_t)up_detector_clamp(next, 0, UP_DETECTOR_SUPPLY_MAX);
    const int32_t apart = now - (int32_t)detector->supply;
    return apart * 16 <= now && apart * 16 >= -now;
}

uint32_t up_pace_speed(const up_detector *detector, const up_detector_settings *settings) {
    const uint32_t time = detector->window_time;
    const uint32_t speed = time > 0 ? settings->speed_numerator / time : 0;
    return speed < INT32_MAX ? speed : INT32_MAX;
}

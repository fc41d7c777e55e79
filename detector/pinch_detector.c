#include "detector/pinch_detector.h"

enum {
    SLOWEST_WINDOW_US = 4000000, /* a longer window says no more than "standing"; keeps sums inside 32 bits */
    LOAD_MAX = 32000 * 16        /* N times 16; keeps the reference inside 32 bits                          */
};

void up_detector_start(up_detector *detector, uint32_t now_us) {
    for (uint32_t i = 0; i < UP_DETECTOR_WINDOW_MAX; i++) {
        detector->period[i] = 0;
    }
    detector->last_edge = now_us;
    detector->edges = 0;
    detector->supply = 0;
    detector->reference = 0;
    detector->excess = 0;
    detector->over = 0;
    detector->armed = false;
}

/* Time of the last `window` periods, us. */
static uint32_t window_time(const up_detector *detector, uint32_t window) {
    uint32_t sum = 0;
    for (uint32_t i = 0; i < window; i++) {
        sum += detector->period[i];
    }
    return sum;
}

static void keep_period(up_detector *detector, uint32_t window, uint32_t now_us) {
    uint32_t period = now_us - detector->last_edge;
    if (period > SLOWEST_WINDOW_US / UP_DETECTOR_WINDOW_MAX) {
        period = SLOWEST_WINDOW_US / UP_DETECTOR_WINDOW_MAX;
    }
    detector->last_edge = now_us;
    detector->period[detector->edges % window] = period;
    detector->edges++;
}

/* The armature takes its time to follow the supply; so does what is expected of it. */
static void follow_supply(up_detector *detector, uint32_t supply_mv, uint32_t edges) {
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

static int32_t gain_at(const up_detector_settings *settings, int32_t opening_edges) {
    const uint32_t below = opening_edges > 0 ? (uint32_t)opening_edges : 0;
    const uint32_t zone = below >> settings->zone_shift;
    if (zone >= UP_DETECTOR_ZONES) {
        return settings->gain[UP_DETECTOR_ZONES];
    }
    const int32_t length = (int32_t)(1U << settings->zone_shift);
    const int32_t into = (int32_t)(below - (zone << settings->zone_shift));
    const int32_t here = settings->gain[zone];
    const int32_t next = settings->gain[zone + 1];
    return here + (next - here) * into / length;
}

/* Load on the glass in N times 16, from the speed that is missing. */
static int32_t load_of(const up_detector *detector, const up_detector_settings *settings, int32_t opening_edges) {
    const uint32_t supply_mv = detector->supply / 16;
    const uint32_t time = window_time(detector, settings->window);
    const uint32_t speed = time > 0 ? settings->speed_numerator / time : 0;
    const uint32_t turning_mv = supply_mv > settings->brush_mv ? supply_mv - settings->brush_mv : 0;
    const uint32_t free_speed = (uint32_t)(((uint64_t)turning_mv * settings->free_speed_gain) >> 12);
    const int64_t missing = (int64_t)free_speed - (int64_t)speed;                         /* 1/64 rad/s  */
    const int64_t load = missing * (int64_t)gain_at(settings, opening_edges) / (64 * 16); /* N times 16  */
    if (load > LOAD_MAX) {
        return LOAD_MAX;
    }
    return load < -LOAD_MAX ? -LOAD_MAX : (int32_t)load;
}

bool up_detector_edge(up_detector *detector, const up_detector_settings *settings, uint32_t now_us, uint32_t supply_mv,
                      int32_t opening_edges) {
    keep_period(detector, settings->window, now_us);
    follow_supply(detector, supply_mv, settings->supply_edges);
    if (detector->edges <= settings->window) {
        return false;
    }
    const int32_t load = load_of(detector, settings, opening_edges);
    detector->armed = detector->edges > settings->mask_edges;
    if (!detector->armed) {
        detector->reference = load * 16;
        return false;
    }
    detector->excess = load - detector->reference / 16;
    const int32_t step = (load * 16 - detector->reference) / (int32_t)settings->learning_edges;
    if (detector->excess <= settings->threshold) {
        detector->over = 0;
        detector->reference += step;
        return false;
    }
    detector->reference += step / 8;
    detector->over++;
    return detector->over >= settings->confirm_edges;
}

void up_detector_moved(up_detector *detector, const up_detector_settings *settings, int32_t believed_edges,
                       int32_t true_edges) {
    if (detector->armed) {
        const int32_t believed = load_of(detector, settings, believed_edges);
        detector->reference += 16 * (load_of(detector, settings, true_edges) - believed);
    }
}

/* What both principles share: load at a place, reference, mask, decision. */
#include "detector/parts.h"

enum { SILENT_PERIODS = 6 /* usual periods without an edge */ };

bool up_detector_settings_are_valid(const up_detector_settings *s) {
    /* One condition after the other, not one sum of them: that is what a proof can follow. */
    if (s->window < 1 || s->window > UP_DETECTOR_WINDOW_MAX || s->zone_shift > 14 || s->confirm_edges < 1 ||
        s->mask_edges > UP_DETECTOR_MASK_MAX || s->supply_edges < 1 || s->learning_edges < 1 ||
        s->free_speed_gain > 1U << 24 || s->threshold < 1 || s->threshold > UP_DETECTOR_LOAD_MAX) {
        return false;
    }
    if (s->soon_us > 20000 || s->learns > 1 || s->stretch > 1U << 20 || s->taught_load < -UP_DETECTOR_LOAD_MAX ||
        s->taught_load > UP_DETECTOR_LOAD_MAX || s->fine_shift > 14 || s->coarse_shift > 14 || s->bound < 0 ||
        s->bound > UP_DETECTOR_LOAD_MAX || s->lag > 1024) {
        return false;
    }
    if (s->principle > UP_DETECTOR_BY_OBSERVER || s->step_max_us < 1 || s->step_max_us > 20000) {
        return false;
    }
    const uint64_t unit = 1U << 24;
    return (uint64_t)s->per_acceleration * s->step_max_us <= 4 * unit &&
           (uint64_t)s->speed_gain * s->step_max_us <= unit && (uint64_t)s->load_gain * s->step_max_us <= 4 * unit;
}

void up_detector_start(up_detector *detector, uint32_t now_us) {
    for (uint32_t i = 0; i < UP_DETECTOR_WINDOW_MAX; i++) {
        detector->period[i] = 0;
    }
    for (uint32_t knot = 0; knot < UP_DETECTOR_KNOTS; knot++) {
        detector->seen[knot] = 0;
    }
    detector->window_time = 0;
    detector->last_edge = now_us;
    detector->last_tick = now_us;
    detector->edges = 0;
    detector->next_period = 0;
    detector->supply = 0;
    detector->speed = 0;
    detector->missing = 0;
    detector->bias = 0;
    detector->load = 0;
    detector->reference = 0;
    detector->excess = 0;
    detector->over_place = 0;
    detector->over = 0;
    detector->armed = false;
    detector->by_pulses = false;
    detector->mended = false;
    detector->lost = false;
    detector->risen = false;
}

static uint32_t size_of(int32_t x) {
    return x < 0 ? (uint32_t) - (x + 1) + 1 : (uint32_t)x;
}

int32_t up_detector_scaled(int32_t x, uint32_t factor, uint32_t shift) {
    const uint32_t size = size_of(x);
    const uint64_t product = ((uint64_t)size * factor) >> shift;
    const int32_t most = product < INT32_MAX ? (int32_t)product : INT32_MAX;
    return x < 0 ? -most : most;
}

int32_t up_detector_divided(int32_t x, uint32_t by) {
    const uint32_t size = size_of(x);
    const uint32_t ratio = size / by;
    const int32_t most = ratio < INT32_MAX ? (int32_t)ratio : INT32_MAX;
    return x < 0 ? -most : most;
}

uint32_t up_detector_free_speed(const up_detector_settings *settings, uint32_t supply) {
    const uint32_t supply_mv = supply / 16, brush_mv = settings->brush_mv;
    const uint32_t turning_mv = supply_mv > brush_mv ? supply_mv - brush_mv : 0;
    return (uint32_t)up_detector_scaled((int32_t)turning_mv, settings->free_speed_gain, 12);
}

int32_t up_detector_between(int32_t here, int32_t next, uint32_t into, uint32_t shift) {
    const uint32_t apart = (uint32_t)(next > here ? next - here : here - next);
    const uint32_t way = (apart * into) >> shift;
    const int32_t at = next > here ? here + (int32_t)way : here - (int32_t)way;
    return up_detector_clamp(at, INT16_MIN, UINT16_MAX);
}

static uint32_t gain_at(const up_detector_settings *settings, int32_t opening_edges) {
    const uint32_t below = opening_edges > 0 ? (uint32_t)opening_edges : 0;
    const uint32_t zone = below >> settings->zone_shift;
    if (zone >= UP_DETECTOR_ZONES) {
        return settings->gain[UP_DETECTOR_ZONES];
    }
    const uint32_t into = below & ((1U << settings->zone_shift) - 1);
    const int32_t gain =
        up_detector_between(settings->gain[zone], settings->gain[zone + 1], into, settings->zone_shift);
    return (uint32_t)up_detector_clamp(gain, 0, UINT16_MAX);
}

int32_t up_detector_load(const up_detector_settings *settings, int32_t missing, int32_t opening_edges) {
    const int32_t load = up_detector_scaled(missing, gain_at(settings, opening_edges), 6 + 4);
    return up_detector_clamp(load, -UP_DETECTOR_LOAD_MAX, UP_DETECTOR_LOAD_MAX);
}

/* ---- reference and decision -------------------------------------------------------------------------------------- */

/* Speed that is missing, 1/64 rad/s: as pulses tell it. */
static int32_t missing_by_pulses(const up_detector *detector, const up_detector_settings *settings) {
    return (int32_t)up_detector_free_speed(settings, detector->supply) - (int32_t)up_pace_speed(detector, settings);
}

/* Does the current tell? */
static bool by_current(const up_detector *detector, const up_detector_settings *settings) {
    return settings->principle == UP_DETECTOR_BY_OBSERVER && !detector->by_pulses;
}

/* Load that is usual at a place. Who does not know the place has the running reference alone, once there is one; until
 * then the middle of the stroke stands for all of it. */
static int32_t usual_at(const up_detector *detector, const up_detector_settings *settings,
                        const up_detector_memory *memory, int32_t place) {
    return detector->lost && detector->armed ? 0 : up_profile_at(settings, memory, place);
}

/* N times 16, times 16. */
static int32_t within_bound(const up_detector *detector, const up_detector_settings *settings, int32_t reference) {
    const int32_t widest = UP_DETECTOR_LOAD_MAX * 32; /* load less profile, at most */
    const bool bounded = settings->learns && !(detector->lost && detector->armed);
    const int32_t most = bounded ? settings->bound * 16 : widest;
    return up_detector_clamp(reference, -most, most);
}

int32_t up_detector_glass_place(const up_detector_settings *settings, int32_t load, int32_t opening_edges) {
    const int32_t ahead = up_detector_scaled(load - settings->taught_load, settings->stretch, 16);
    const int32_t most = 1 << 30; /* edges; keeps the sum inside 32 bits */
    return up_detector_clamp(opening_edges, -most, most) + ahead;
}

/* The same for a load that was reckoned `lag` readings late: while it rises, the stretch has risen further. */
static int32_t place_now(const up_detector *detector, const up_detector_settings *settings, int32_t load,
                         int32_t counted) {
    const int32_t risen = load + (load - detector->load) * settings->lag;
    return up_detector_glass_place(settings, up_detector_clamp(risen, -UP_DETECTOR_LOAD_MAX, UP_DETECTOR_LOAD_MAX),
                                   counted);
}

/* One reading: load against what is expected; counts the row above the threshold. Nothing is over while the supply jumps:
 * speed and supply do not belong together then. */
static bool judge(up_detector *detector, const up_detector_settings *settings, int32_t load, int32_t usual,
                  int32_t counted, bool steady) {
    const int32_t place = place_now(detector, settings, load, counted);
    detector->load = load;
    detector->excess = load - usual - detector->reference / 16;
    /* without a profile the header seal is a rise of its own: then only the whole threshold counts */
    const int32_t rise = settings->threshold >> settings->learns;      /* learns is 0 or 1 */
    if (steady && detector->excess * (1 + settings->learns) <= rise) { /* with a profile not before half of that */
        detector->risen = false;
    } else if (detector->excess > rise && !detector->risen) {
        detector->risen = true;
        detector->over_place = place;
    }
    if (detector->excess <= settings->threshold) {
        detector->over = 0;
        return false;
    }
    if (detector->over < UINT16_MAX) {
        detector->over++;
    }
    return detector->over >= settings->confirm_edges;
}

/* The running reference follows over the learning length, and only creeps while something may be in the way. What the
 * pulses tell comes late; so with them, where a profile knows the places, a rise half as high already makes it slow: it
 * would go up with a soft obstacle. */
static void follow(up_detector *detector, const up_detector_settings *settings, int32_t load, int32_t usual,
                   bool late) {
    const int32_t step = up_detector_divided((load - usual) * 16 - detector->reference, settings->learning_edges);
    const bool over = detector->excess > settings->threshold;
    const bool slowly = late && detector->risen && settings->learns;
    const int32_t taken = over ? step / 8 : slowly ? step / 2 : step;
    detector->reference = within_bound(detector, settings, detector->reference + taken);
}

bool up_detector_edge(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                      const up_detector_reading *reading) {
    const bool observes = settings->principle == UP_DETECTOR_BY_OBSERVER;
    if (!up_pace_keep_period(detector, settings, reading->now_us)) {
        return false;
    }
    const bool steady = observes || up_pace_follow_supply(detector, reading->supply_mv, settings->supply_edges);
    if (detector->edges <= settings->window) {
        return false;
    }
    detector->lost = !reading->place_known;
    const int32_t counted = reading->opening_edges;
    const int32_t free_speed = (int32_t)up_detector_free_speed(settings, detector->supply);
    const int32_t speed = (int32_t)up_pace_speed(detector, settings);
    const bool changed = observes && up_observer_edge(detector, free_speed, speed);
    const int32_t pulses = free_speed - speed, current = detector->missing / 256; /* tell that so much is missing */
    const bool listens = by_current(detector, settings);
    const int32_t load = up_detector_load(settings, listens ? current : pulses, counted);
    const int32_t place = up_detector_glass_place(settings, load, counted);
    int32_t usual = usual_at(detector, settings, memory, place);
    if (changed) { /* another teller: what it says otherwise is no news of the glass */
        const int32_t before = up_detector_load(settings, listens ? pulses : current, counted);
        detector->reference = within_bound(detector, settings, detector->reference + 16 * (load - before));
    }
    const bool begins = !detector->armed && detector->edges > settings->mask_edges;
    detector->armed = detector->armed || begins;
    if (begins && detector->lost) { /* from here on the running reference alone */
        detector->reference = within_bound(detector, settings, detector->reference + 16 * usual);
        usual = 0;
    }
    if (!detector->armed) { /* whatever is there is taken as usual, but no more than the bound allows */
        detector->reference = within_bound(detector, settings, (load - usual) * 16);
        /* in the first half the motor gets up to speed, and its inertia looks like a load */
        return detector->edges > settings->mask_edges / 2U && judge(detector, settings, load, usual, counted, steady);
    }
    const bool seen = !listens && judge(detector, settings, load, usual, counted, steady);
    follow(detector, settings, load, usual, !listens);
    if (detector->excess < settings->threshold / 2 && !detector->lost) {
        up_profile_note(detector, settings, place, load - usual);
    }
    return seen;
}

/* Edges that came steadily have ceased. A drive that is braked by an obstacle slows down first; so silence from one edge
 * to the next is a dead encoder or a sudden stop. */
static bool fell_silent(up_detector *detector, const up_detector_settings *settings,
                        const up_detector_reading *reading) {
    const uint32_t shortest_us = 20000;
    const uint32_t silence = reading->now_us - detector->last_edge;
    if (!detector->armed || silence < shortest_us || silence >= 1U << 28 ||
        silence * settings->window < SILENT_PERIODS * detector->window_time) {
        return false;
    }
    if (!detector->risen) {
        detector->risen = true;
        detector->over_place = reading->opening_edges; /* no load has risen, so nothing is stretched */
    }
    if (detector->over == 0) {
        detector->over = 1;
    }
    return true;
}

bool up_detector_tick(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                      const up_detector_reading *reading) {
    const bool silent = fell_silent(detector, settings, reading);
    if (settings->principle != UP_DETECTOR_BY_OBSERVER) {
        return silent;
    }
    up_observer_tick(detector, settings, reading);
    if (!detector->armed || detector->by_pulses || silent) {
        return silent;
    }
    const int32_t load = up_detector_load(settings, detector->missing / 256, reading->opening_edges);
    const int32_t place = up_detector_glass_place(settings, load, reading->opening_edges);
    return judge(detector, settings, load, usual_at(detector, settings, memory, place), reading->opening_edges, true);
}

/* What the reference would have to be at a place for the present load to be no news. */
static int32_t above_usual(const up_detector *detector, const up_detector_settings *settings,
                           const up_detector_memory *memory, int32_t opening_edges) {
    const int32_t missing =
        by_current(detector, settings) ? detector->missing / 256 : missing_by_pulses(detector, settings);
    const int32_t load = up_detector_load(settings, missing, opening_edges);
    return load - usual_at(detector, settings, memory, up_detector_glass_place(settings, load, opening_edges));
}

void up_detector_moved(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                       int32_t believed_edges, int32_t true_edges) {
    if (!detector->armed) {
        return;
    }
    const int32_t believed = above_usual(detector, settings, memory, believed_edges);
    detector->lost = false;
    const int32_t now = above_usual(detector, settings, memory, true_edges);
    detector->reference = within_bound(detector, settings, detector->reference + 16 * (now - believed));
}

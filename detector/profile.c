/* The learned profile: what load is usual at each place of the stroke. */
#include "detector/parts.h"

enum {
    LEARNED_SHARE = 8,     /* of what a closing met, an eighth is learned                 */
    LEARNED_MOST = 2 * 16, /* N times 16, and at most that much at a knot in one closing  */
    SEEN_MOST = 100        /* N                                                           */
};

/* Place between two knots. */
typedef struct between {
    uint32_t knot; /* the one nearer to the top, at most UP_DETECTOR_KNOTS - 2 */
    uint32_t into, shift;
} between;

static between place_of(const up_detector_settings *settings, int32_t opening_edges) {
    const uint32_t below = opening_edges > 0 ? (uint32_t)opening_edges : 0;
    const uint32_t fine_end = (uint32_t)UP_DETECTOR_FINE << settings->fine_shift;
    const int fine = below < fine_end;
    const uint32_t shift = fine ? settings->fine_shift : settings->coarse_shift;
    const uint32_t from = fine ? below : below - fine_end;
    const uint32_t interval = from >> shift;
    const uint32_t last = (fine ? UP_DETECTOR_FINE : UP_DETECTOR_COARSE) - 1;
    const uint32_t first_knot = fine ? 0 : UP_DETECTOR_FINE;
    if (interval > last) {
        return (between){first_knot + last, 1U << shift, shift};
    }
    return (between){first_knot + interval, from & ((1U << shift) - 1), shift};
}

int32_t up_profile_at(const up_detector_settings *settings, const up_detector_memory *memory, int32_t opening_edges) {
    if (!settings->learns) {
        return 0;
    }
    const between b = place_of(settings, opening_edges);
    return up_detector_between(memory->profile[b.knot], memory->profile[b.knot + 1], b.into, b.shift);
}

/* Only near a knot: what is noted half way to the next would, learned again and again, build a saw over the knots. */
void up_profile_note(up_detector *detector, const up_detector_settings *settings, int32_t opening_edges,
                     int32_t above) {
    if (!settings->learns) {
        return;
    }
    const between b = place_of(settings, opening_edges);
    const uint32_t length = 1U << b.shift;
    if (4 * b.into > length && 4 * b.into < 3 * length) {
        return;
    }
    const uint32_t knot = 2 * b.into < length ? b.knot : b.knot + 1;
    const int32_t newton = up_detector_clamp(above / 16, -SEEN_MOST, SEEN_MOST);
    detector->seen[knot] = (int8_t)((detector->seen[knot] + newton) / 2);
}

/* The profile that a knot may have, N times 16. */
static int32_t within_bound(const up_detector_settings *settings, uint32_t knot, int32_t wanted) {
    const int32_t set_up = settings->profile[knot];
    const int32_t bounded = up_detector_clamp(wanted, set_up - settings->bound, set_up + settings->bound);
    return up_detector_clamp(bounded, INT16_MIN, INT16_MAX);
}

void up_detector_memory_start(up_detector_memory *memory, const up_detector_settings *settings) {
    for (uint32_t knot = 0; knot < UP_DETECTOR_KNOTS; knot++) {
        memory->profile[knot] = settings->profile[knot];
    }
}

void up_detector_closed(const up_detector *detector, const up_detector_settings *settings, up_detector_memory *memory) {
    if (!settings->learns) {
        return;
    }
    for (uint32_t knot = 0; knot < UP_DETECTOR_KNOTS; knot++) {
        const int32_t step = up_detector_clamp(detector->seen[knot] * 16 / LEARNED_SHARE, -LEARNED_MOST, LEARNED_MOST);
        memory->profile[knot] = (int16_t)within_bound(settings, knot, memory->profile[knot] + step);
    }
}

uint32_t up_detector_worn_knots(const up_detector_settings *settings, const up_detector_memory *memory) {
    uint32_t worn = 0;
    for (uint32_t knot = 0; knot < UP_DETECTOR_KNOTS; knot++) {
        const int32_t away = memory->profile[knot] - settings->profile[knot];
        worn += away >= settings->bound || away <= -settings->bound;
    }
    return settings->learns ? worn : 0;
}

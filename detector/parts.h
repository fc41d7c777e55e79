/* Inside of the detector: what its files share. Not for users of the detector. */
#ifndef UPSTOP_DETECTOR_PARTS_H
#define UPSTOP_DETECTOR_PARTS_H

#include "detector/pinch_detector.h"

enum {
    UP_DETECTOR_SLOWEST_US = 4000000,   /* a longer window says no more than "standing"; keeps sums inside 32 bits */
    UP_DETECTOR_LOAD_MAX = 32000 * 16,  /* N times 16; keeps the reference inside 32 bits                         */
    UP_DETECTOR_SUPPLY_MAX = 65535 * 16 /* mV times 16                                                           */
};

static inline int32_t up_detector_clamp(int32_t x, int32_t low, int32_t high) {
    if (x < low) {
        return low;
    }
    return x > high ? high : x;
}

/* x times factor over 1 << shift, cut towards zero; what 32 bits do not hold stays at their end. One function for all such
 * products: the small processors that this is for have no long multiplication of their own. */
int32_t up_detector_scaled(int32_t x, uint32_t factor, uint32_t shift);

/* x / by, cut towards zero; by at least 1. */
int32_t up_detector_divided(int32_t x, uint32_t by);

/* mV times 16 */
static inline int32_t up_detector_supply(uint32_t supply_mv) {
    const uint32_t highest = UP_DETECTOR_SUPPLY_MAX / 16;
    return 16 * (int32_t)(supply_mv < highest ? supply_mv : highest);
}

/* Straight between two 16-bit values that stand 1 << shift apart, `into` of it past `here`; cut towards `here`. */
int32_t up_detector_between(int32_t here, int32_t next, uint32_t into, uint32_t shift);

/* Free speed at a supply of `supply` mV times 16, 1/64 rad/s. */
uint32_t up_detector_free_speed(const up_detector_settings *settings, uint32_t supply);

/* Load in N times 16 from missing speed in 1/64 rad/s, at a place. */
int32_t up_detector_load(const up_detector_settings *settings, int32_t missing, int32_t opening_edges);

/* pace.c: periods and the speed they tell, 1/64 rad/s. */
/* Notes the period that ends now. false: there was none, the edge arrived twice. */
bool up_pace_keep_period(up_detector *detector, const up_detector_settings *settings, uint32_t now_us);
/* Returns false while the followed supply is more than a sixteenth away from the present one. */
bool up_pace_follow_supply(up_detector *detector, uint32_t supply_mv, uint32_t edges);
uint32_t up_pace_speed(const up_detector *detector, const up_detector_settings *settings);

/* observer.c */
void up_observer_tick(up_detector *detector, const up_detector_settings *settings, const up_detector_reading *reading);
/* Pulses' part: compares their speed with the current's; both in 1/64 rad/s. Returns true when the current ceased or began
 * to be believed. */
bool up_observer_edge(up_detector *detector, int32_t free_speed, int32_t speed);

/* profile.c: N times 16. */
int32_t up_profile_at(const up_detector_settings *settings, const up_detector_memory *memory, int32_t opening_edges);
/* Notes how much the load at a place is above the profile, N times 16: without the running reference, or a lasting
 * difference would be learned without end. */
void up_profile_note(up_detector *detector, const up_detector_settings *settings, int32_t opening_edges, int32_t above);

#endif

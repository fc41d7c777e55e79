/* Constants of the controller, as integers: what would be flashed. */
#ifndef UPSTOP_CONTROL_SETTINGS_H
#define UPSTOP_CONTROL_SETTINGS_H

#include <stdint.h>

#include "detector/pinch_detector.h"

typedef struct up_control_settings {
    uint32_t tick_us;
    uint32_t debounce_ticks;   /* equal readings in a row before an input counts          */
    uint32_t stall_us;         /* no edge for that long while driving: a stall            */
    uint32_t reverse_pause_us; /* braking between raising and backing off                 */
    int32_t end_zone_edges;    /* an obstacle first felt at or below this opening is the top   */
    int32_t top_band_edges;    /* a stall within this band of the top counts as the top   */
    uint32_t wound_edges;  /* by so many the drive is wound up after a stall at the bottom; they come before the glass
                                   moves                                                       */
    uint32_t weak_mv;      /* below that supply no stall counts as the top            */
    int32_t reverse_edges; /* how far it backs off                                    */
    int32_t limit_edges;   /* opening at which the limit contact opens                */
    int32_t stroke_edges;  /* edges from top to bottom                                */
    uint32_t two_channels; /* 1: the encoder tells the direction                      */
    uint32_t reversals_allowed; /* 0: any number                                           */
    uint32_t back_off_us;       /* backing off without an edge: for that long at the most          */
    uint32_t off_after;         /* reversals in a row after which it raises unprotected; 0: never */
    up_detector_settings detector;
} up_control_settings;

#endif

/* What a controller was told during one closing, kept so that other settings can be tried on it without closing again.
 *
 * Up to the moment at which a controller decides something, the glass moves as if it had decided nothing. So one closing
 * with the detector held back holds the answer for every setting of the detector: the controller itself, the same
 * function as in the simulation, is told again what was overheard, and decides at the same tick with the same bits
 * (tests/laws/overhear_test.c). */
#ifndef UPSTOP_ANALYSIS_OVERHEAR_H
#define UPSTOP_ANALYSIS_OVERHEAR_H

#include <stdint.h>

#include "core/sim/run.h"

enum {
    UP_OVERHEARD_MOST = 16384, /* words of one closing: 20 s at a tick of 2 ms and 300 edges a second */
    UP_OVERHEARD_EDGE = 1,     /* what: an edge, its direction in `value`; otherwise a tick           */
    UP_OVERHEARD_LIMIT = 2,    /* what: limit contact closed                                          */
    UP_OVERHEARD_POWERED = 4   /* what: powered                                                       */
};

typedef struct up_overheard_word {
    uint32_t now_us;
    int32_t value;      /* mA at a tick          */
    uint16_t supply_mv; /* at a tick             */
    uint8_t what;       /* UP_OVERHEARD_... bits */
    uint8_t hand;       /* UP_HAND_...           */
} up_overheard_word;

typedef struct up_overheard {
    int32_t opening; /* edges below the top, as the controller believed at the start */
    int position_lost, limit_closed;
    up_measured first;       /* before the first tick                                                      */
    int count, room;         /* words, and the room for them                                               */
    int cut;                 /* 1: there was no room for all of it; then a replay may end without an answer */
    int decided;             /* 1: it was done; nothing is kept after that                                 */
    up_overheard_word *word; /* the caller's */
} up_overheard;

void up_overheard_clear(up_overheard *kept, up_overheard_word *word, int room);

/* Give its address as up_run_options.listener; `kept` was cleared before. */
up_listener up_overhear(up_overheard *kept);

/* Settings with which the detector never decides anything: threshold and mask at their ends. */
void up_hold_back(up_control_settings *control);

typedef struct up_replay {
    unsigned told;  /* UP_TOLD_... bits of the tick that ended it; 0: what was overheard ended before   */
    int tick;       /* number of that tick from 0; -1: none                                             */
    double lasting; /* N, the largest excess that lasted for as many readings as a decision takes, above the end zone;
                       0: not asked for */
} up_replay;

enum { UP_REPLAY_READINGS_MAX = 32 };

/* memory: NULL: as set up; not changed. Ends at the first reversal, or when the controller is done. lasting: 1 to have it
 * reckoned, for settings with at most UP_REPLAY_READINGS_MAX readings to a decision; then the detector never decides. */
void up_replay_overheard(const up_overheard *kept, const up_control_settings *control, const up_detector_memory *memory,
                         int lasting, up_replay *replay);

/* The profile that a detector with these constants settles at on a door that it has closed many times as overheard: what a
 * closing notes at each knot is taken over whole, a few times, where a real one takes an eighth a closing. It notes nothing
 * where the load is news, as at the stop (threshold of 60 N). The bound is not looked at. memory: in what it begins with,
 * out what it ends with. Where nothing is noted, or the closing did not end at the top, it stays. */
void up_learn_overheard(const up_overheard *kept, const up_control_settings *control, up_detector_memory *memory);

static inline int up_replay_reversed(const up_replay *replay) {
    return (replay->told & UP_TOLD_REVERSAL) != 0;
}

#endif

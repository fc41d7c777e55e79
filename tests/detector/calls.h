/* Calls of the detector as plain words, so that the same ones can be made on the desktop and on the chip.
 *
 * A file of vectors: a call_file_head, then calls. A CALL_SETTINGS or CALL_MEMORY is followed by the thing itself, as it
 * lies in memory, filled up to whole calls. All words are little-endian 32-bit. Freestanding: used by the chip's harness as
 * it is. */
#ifndef UPSTOP_TESTS_DETECTOR_CALLS_H
#define UPSTOP_TESTS_DETECTOR_CALLS_H

#include <stdint.h>

#include "detector/pinch_detector.h"

enum { CALL_FILE_MAGIC = 0x54455055, CALL_NUMBERS = 6 };

typedef struct call_file_head {
    uint32_t magic;
    uint32_t settings_bytes, memory_bytes, detector_bytes; /* the layout has to be the same on both sides */
    uint32_t calls;                                        /* without what follows settings and memory    */
    uint32_t unused[3];
} call_file_head;

/* Kinds of call and what their numbers are; those not named are 0.
 *   nothing    what it costs to look at the clock
 *   settings   settings follow; said: are they valid
 *   memory     what outlives a closing follows
 *   set-up     memory of a window just built
 *   start      now_us
 *   edge       now_us, supply_mv, current_ma, opening_edges, place_known; said: is an obstacle seen
 *   tick       the same
 *   moved      believed_edges, true_edges
 *   closed
 *   worn       said: how many knots */
#define CALL_LIST(X)        \
    X(NOTHING, "nothing")   \
    X(SETTINGS, "settings") \
    X(MEMORY, "memory")     \
    X(SET_UP, "set-up")     \
    X(START, "start")       \
    X(EDGE, "edge")         \
    X(TICK, "tick")         \
    X(MOVED, "moved")       \
    X(CLOSED, "closed")     \
    X(WORN, "worn")

enum {
#define CALL_ENUM(id, name) CALL_##id,
    CALL_LIST(CALL_ENUM)
#undef CALL_ENUM
        CALL_KINDS
};

typedef struct call {
    uint32_t kind;
    uint32_t said; /* what the detector answered when the call was recorded; ANY_ANSWER: not known */
    uint32_t number[CALL_NUMBERS];
} call;

#define ANY_ANSWER 0xFFFFFFFFU

/* Something of that many bytes, filled up to whole calls. */
#define CALL_BLOCKS(bytes) (((bytes) + sizeof(call) - 1) / sizeof(call))
enum {
    CALL_SETTINGS_BLOCKS = CALL_BLOCKS(sizeof(up_detector_settings)),
    CALL_MEMORY_BLOCKS = CALL_BLOCKS(sizeof(up_detector_memory)),
    RIG_WORDS = (sizeof(up_detector) + 3) / 4 + CALL_MEMORY_BLOCKS * sizeof(call) / 4
};

/* What a call came to: its answer, and a digest of all that the detector keeps. */
typedef struct answer {
    uint32_t said;
    uint32_t state;
} answer;

typedef struct detector_rig {
    union {
        up_detector_settings settings;
        call settings_blocks[CALL_SETTINGS_BLOCKS];
    };
    union { /* what changes; the digest reads it as words */
        struct {
            union {
                up_detector_memory memory;
                call memory_blocks[CALL_MEMORY_BLOCKS];
            };
            up_detector detector;
        };
        uint32_t word[RIG_WORDS];
    };
} detector_rig;

/* All zero: must be done before the first call, so that holes between members have a value. */
void rig_clear(detector_rig *rig);

/* Where the blocks that follow a call belong, and how many there are; 0: none follow. */
uint32_t rig_blocks(detector_rig *rig, const call *what, call **place);

/* `before` and `after` are called right around the detector's own work. */
answer rig_perform(detector_rig *rig, const call *what, void (*before)(void), void (*after)(void));

#endif

/* What is known of a door: its numbers, how well each is known, and where it came from. */
#ifndef UPSTOP_ANALYSIS_KNOWN_H
#define UPSTOP_ANALYSIS_KNOWN_H

#include "core/door/values.h"

#define UP_MARK_LIST(X)                                   \
    X(ASSUMED, "assumed", "typical value, nobody looked") \
    X(MEASURED, "measured", "with a tool, on this door")  \
    X(COUNTED, "counted", "on this door")                 \
    X(READ_OFF, "read-off", "from a print or a plate")    \
    X(FITTED, "fitted", "worked out from a recording")

typedef enum up_mark {
#define UP_MARK_ENUM(id, word, text) UP_MARK_##id,
    UP_MARK_LIST(UP_MARK_ENUM)
#undef UP_MARK_ENUM
        UP_MARK_COUNT
} up_mark;

typedef struct up_known {
    up_values values;
    double spread[UP_NUMBER_COUNT]; /* SI units, half width of the 95 % interval; 0: exact      */
    up_mark mark[UP_NUMBER_COUNT];
    up_mark choice_mark[UP_CHOICE_COUNT];
} up_known;

#endif

/* Whether a sheet's numbers make a door that can be put together and moved. Finds every problem, not only the first. */
#ifndef UPSTOP_DOOR_CHECK_H
#define UPSTOP_DOOR_CHECK_H

#include "core/door/values.h"

/* Codes, with what is wrong; the numbers found and wanted are in the finding. Rows marked 1 make the door unusable, rows
 * marked 0 are worth a look. */
#define UP_DOOR_FINDING_LIST(X)                                                                              \
    X(MISSING, 1, "has no value and no typical value stands in for it")                                      \
    X(NOT_FINITE, 1, "is not a finite number")                                                               \
    X(OUT_OF_BOUNDS, 1, "lies outside what is possible")                                                     \
    X(NOT_WHOLE, 1, "is a count and must be a whole number")                                                 \
    X(UNKNOWN_WORD, 1, "is none of the words known here")                                                    \
    X(TOO_FEW_WHEEL_TEETH, 1, "must exceed the worm's starts")                                               \
    X(STATIC_BELOW_RUNNING, 1, "friction at rest cannot be below friction running")                          \
    X(LEAD_TOO_STEEP, 1, "starts, module and pitch diameter give a lead angle that no such worm has")        \
    X(PROTECTOR_ORDER, 1, "must lie below the trip temperature")                                             \
    X(SECTOR_SMALLER_THAN_PINION, 1, "must exceed the pinion's teeth")                                       \
    X(SECTOR_TOO_SHORT, 1, "the sector runs out of teeth before the stop: this many are needed")             \
    X(ARM_CANNOT_REACH, 1, "the arm cannot lift the glass that far from this start angle: largest travel")   \
    X(EQUALISER_CANNOT_REACH, 1,                                                                             \
      "the equaliser arm's lower part is too short to stay in the door rail: shortest length")               \
    X(RAIL_TILTS, 0, "the arms' lengths tilt the rail under the glass by this much, in rad")                 \
    X(RING_DOES_NOT_FIT, 1, "fixed ring teeth must be sun teeth plus twice the planet teeth")                \
    X(PLANETS_CANNOT_ASSEMBLE, 1, "sun and ring teeth together must divide evenly by the number of planets") \
    X(PLANETS_TOUCH, 1, "so many planets of that size touch each other")                                     \
    X(RING_TURNS_TOO_FAR, 1, "the limit ring turns more than once in a stroke; turns found")                 \
    X(LIMIT_OPENS_LATE, 1, "the limit contact would open beyond the up-stop; ring angle there")              \
    X(LIMIT_ZONE_TOO_LOW, 0,                                                                                 \
      "the limit contact opens far below the up-stop, so a position found again is coarse; ring angle")      \
    X(PLAY_BEYOND_LIMIT, 1, "wind-up limit must exceed half the free play")                                  \
    X(HEADER_TOO_DEEP, 1, "must be less than the travel")                                                    \
    X(DRAG_POINTS_NOT_RISING, 1, "positions of the drag points must rise; position found")                   \
    X(DRAG_BELOW_ZERO, 1, "drag points make the total drag negative; drag found, N")                         \
    X(TOO_MANY_EDGES, 1, "more encoder edges per turn than are kept apart")                                  \
    X(TOO_FEW_EDGES, 1, "too few encoder edges per stroke for any detector; edges found")                    \
    X(TOO_FAST_EDGES, 0, "more than ten encoder edges in a controller tick at full speed; edges per second") \
    X(ARM_PASSES_DEAD_CENTRE, 1,                                                                             \
      "stalled at the up-stop, the motor would bend this soft regulator past the arm's dead centre")         \
    X(GLASS_JAMS, 0, "the glass tilts and jams in its channels while raising; share of the lifting force lost")

typedef enum up_door_finding_code {
#define UP_DOOR_FINDING_ENUM(id, fatal, text) UP_FINDING_##id,
    UP_DOOR_FINDING_LIST(UP_DOOR_FINDING_ENUM)
#undef UP_DOOR_FINDING_ENUM
        UP_FINDING_COUNT
} up_door_finding_code;

enum { UP_DOOR_FINDINGS_MAX = 64 };

typedef struct up_door_finding {
    up_door_finding_code code;
    int number;       /* up_number it is about, or -1                              */
    int choice;       /* up_choice it is about, or -1                              */
    double found;     /* SI units                                                  */
    double low, high; /* SI units, wanted; NaN where there is no such limit        */
} up_door_finding;

const char *up_door_finding_text(up_door_finding_code code);
int up_door_finding_is_fatal(up_door_finding_code code);

/* Fills findings[] with at most max of them, returns how many there are (may exceed max). */
int up_door_check(const up_values *values, up_door_finding *findings, int max);

/* 1 when nothing fatal was found. */
int up_door_is_usable(const up_values *values);

#endif

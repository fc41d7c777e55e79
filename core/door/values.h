/* The numbers of one door, as the sheet gives them: SI units, no texts, no provenance. */
#ifndef UPSTOP_DOOR_VALUES_H
#define UPSTOP_DOOR_VALUES_H

#include "core/base/status.h"

/* An entry that nobody gave and that has no typical value: a NaN, test with up_is_absent. */
#define UP_ABSENT (__builtin_nan(""))

enum { UP_DRAG_POINTS_MAX = 16 };

typedef enum up_family {
    UP_FAMILY_SINGLE_ARM,
    UP_FAMILY_CROSSED_ARMS,
    UP_FAMILY_CABLE,
    UP_FAMILY_RACK,
    UP_FAMILY_COUNT
} up_family;
typedef enum up_protection { UP_PROTECTION_NONE, UP_PROTECTION_BIMETAL, UP_PROTECTION_PTC } up_protection;
typedef enum up_channel_state { UP_CHANNEL_DRY, UP_CHANNEL_WET, UP_CHANNEL_DIRTY } up_channel_state;
typedef enum up_detector_principle { UP_BY_PACE, UP_BY_OBSERVER } up_detector_principle;
typedef enum up_detector_profile { UP_PROFILE_NONE, UP_PROFILE_LEARNED } up_detector_profile;
typedef enum up_encoder_shaft { UP_ENCODER_ON_ARMATURE, UP_ENCODER_ON_PINION } up_encoder_shaft;

/* Bits for the `families` column of entries.def. */
enum {
    UP_FOR_SINGLE_ARM = 1 << UP_FAMILY_SINGLE_ARM,
    UP_FOR_CROSSED_ARMS = 1 << UP_FAMILY_CROSSED_ARMS,
    UP_FOR_CABLE = 1 << UP_FAMILY_CABLE,
    UP_FOR_RACK = 1 << UP_FAMILY_RACK,
    UP_ARMS = UP_FOR_SINGLE_ARM | UP_FOR_CROSSED_ARMS,
    UP_CROSSED = UP_FOR_CROSSED_ARMS,
    UP_CABLE = UP_FOR_CABLE,
    UP_ALL_BUT_CABLE = UP_ARMS | UP_FOR_RACK,
    UP_ALL = UP_ARMS | UP_FOR_CABLE | UP_FOR_RACK
};

/* Names of the numbers, UP_NUMBER_glass_mass and so on, in the order of entries.def. */
typedef enum up_number {
#define UP_NUMBER(id, ...) UP_NUMBER_##id,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    UP_NUMBER_COUNT
} up_number;

typedef enum up_choice {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...) UP_CHOICE_##id,
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    UP_CHOICE_COUNT
} up_choice;

/* Members are named after the ids of entries.def; unit and meaning stand there. All numbers first, in list order, so
 * that number[] names the same storage (tests/unit/values_test.c holds the compiler to it). */
typedef struct up_values {
    union {
        struct {
#define UP_NUMBER(id, ...) double id;
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
        };
        double number[UP_NUMBER_COUNT];
    };
    union {
        struct {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...) int id;
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
        };
        int choice[UP_CHOICE_COUNT];
    };
    /* seal.drag_points: extra drag at places along the travel; between two points it follows u*u*(3-2u), outside the
     * points it keeps the end value. No points: no extra drag. */
    int drag_count;                           /* 0..UP_DRAG_POINTS_MAX                       */
    double drag_position[UP_DRAG_POINTS_MAX]; /* m, glass travel from the down-stop, rising  */
    double drag_force[UP_DRAG_POINTS_MAX];    /* N, at 20 degC, running; may be negative     */
} up_values;

/* Typical values for a family: every entry that has one; the rest UP_ABSENT. */
void up_values_fallback(up_family family, up_values *values);

/* Half widths of the 95 % intervals of those typical values, SI units, same shape as up_values.number. */
void up_values_fallback_spread(up_family family, double spread[UP_NUMBER_COUNT]);

/* Lower and upper bound of a number, SI units, both included. */
void up_number_bounds(up_number number, double *low, double *high);

/* Bits UP_FOR_... of the families that use a number or a choice. */
int up_number_families(up_number number);

static inline int up_is_absent(double value) {
    return value != value;
}

#endif

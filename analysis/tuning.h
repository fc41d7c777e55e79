/* One setting of the pinch detector, as a sheet can say it, and what it becomes in a controller.
 *
 * Everything is rounded to what is written before it is judged, so nothing is judged that cannot be written. */
#ifndef UPSTOP_ANALYSIS_TUNING_H
#define UPSTOP_ANALYSIS_TUNING_H

#include "core/door/door.h"

/* What is tuned: X(number of the sheet, lowest, highest (SI), numerator and denominator of a step, used by).
 * Limits: assumption of this tool, practice. threshold: no rule lets a window squeeze with more than 100 N. end_zone: the
 * rules ask for reversal from 4 mm on. */
#define UP_TUNED_LIST(X)                                       \
    X(detect_force, 8, 100, 1, 2, UP_TUNED_ALWAYS)             \
    X(detect_edges, 1, 16, 1, 1, UP_TUNED_ALWAYS)              \
    X(detect_mask, 0.003, 0.030, 1, 2000, UP_TUNED_ALWAYS)     \
    X(detect_learning, 0.005, 0.120, 1, 1000, UP_TUNED_ALWAYS) \
    X(zone_low, 0.001, 0.004, 1, 4000, UP_TUNED_ALWAYS)        \
    X(detect_bandwidth, 30, 400, 5, 1, UP_TUNED_OBSERVER)      \
    X(detect_bound, 15, 200, 5, 1, UP_TUNED_LEARNED)

enum { UP_TUNED_ALWAYS, UP_TUNED_OBSERVER, UP_TUNED_LEARNED };

typedef enum up_tuned {
#define UP_TUNED_ENUM(number, ...) UP_TUNED_##number,
    UP_TUNED_LIST(UP_TUNED_ENUM)
#undef UP_TUNED_ENUM
        UP_TUNED_COUNT
} up_tuned;

typedef struct up_tuning {
    int principle;                /* up_detector_principle */
    int profile;                  /* up_detector_profile   */
    double value[UP_TUNED_COUNT]; /* SI */
} up_tuning;

int up_tuning_is_same(const up_tuning *a, const up_tuning *b);

up_number up_tuned_number(up_tuned what);
/* Whether a setting of this principle and profile uses it at all. */
int up_tuned_is_used(const up_tuning *tuning, up_tuned what);
void up_tuned_range(up_tuned what, double *low, double *high);

/* Rounded to whole steps and cut at the ends of the range. */
double up_tuned_rounded(up_tuned what, double value);

/* What a door's sheet says now, as it stands. */
void up_tuning_of(const up_values *door, up_tuning *tuning);
/* The sheet with this setting. Numbers that the setting does not use stay as they are. */
void up_tuning_into(const up_tuning *tuning, up_values *door);

/* The constants to be flashed: those that up_door_prepare makes of the sheet with this setting at 20 degC. UP_OK or what it
 * says. */
up_status up_tuning_control(const up_values *sheet, const up_tuning *tuning, up_control_settings *control);

/* What of these constants is the setting's own, into the controller of another door, drawn or worn, that keeps what its own
 * motor, gears and regulator ask for: as if it had been made ready for that door. This is how up_door_prepare, and with it
 * every other command, sees drawn doors. */
void up_set(const up_control_settings *tuned, up_control_settings *control);

/* All of it: puts these constants into the controller of another door: a drawn one, a worn one. Detector and end zone; what a door
 * teaches its own controller (stroke, limit contact, the load at which its top was found) stays. */
void up_flash(const up_control_settings *flashed, up_control_settings *control);

/* What is kept of a learned profile by a controller with these constants: no further from the profile they hold than the
 * bound lets. memory: in what was learned, out what is kept. */
void up_keep_bound(const up_detector_settings *flashed, up_detector_memory *memory);

#endif

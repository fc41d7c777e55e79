/* A drive for tests of the detector alone: a motor on a straight speed-torque line with an armature's inertia, raising a
 * glass against a load; encoder edges, ticks, a filtered current. Made from the detector's own settings, so that what it
 * reckons with is true of this drive, and a test sees the detector and not the mistakes of a model. */
#ifndef UPSTOP_TESTS_DETECTOR_DRIVE_H
#define UPSTOP_TESTS_DETECTOR_DRIVE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/control/settings.h"

enum { DRIVE_DOORS = 4, DRIVE_KINDS = 4 * DRIVE_DOORS };

/* Settings of a typical door of family `kind % 4`; by pace or observer, without and with a profile. */
void drive_settings(int kind, up_detector_settings *settings);
const char *drive_name(int kind);

/* The controller's, of which those are a part. */
void drive_control_settings(int kind, up_control_settings *settings);

/* Speed of the armature, rad/s, and current, mA, that go with the usual load at an opening in edges. */
double drive_usual_speed(const up_detector_settings *settings, double opening, double supply_mv, double *current_ma);

/* Angle between edges, rad of the armature. */
double drive_spacing(const up_detector_settings *settings);

typedef struct drive {
    const up_detector_settings *settings;
    up_detector detector;
    up_detector_memory memory;
    double time_us, next_tick_us, tick_us;
    double speed;         /* rad/s of the armature                                               */
    double angle;         /* rad since the last edge                                             */
    double current;       /* mA, as filtered                                                     */
    double opening;       /* edges, of the encoder                                               */
    double supply_mv;     /*                                                                     */
    double obstacle_at;   /* opening in edges where the glass meets an obstacle; negative: none   */
    double obstacle_rise; /* N an edge                                                           */
    double obstacle_most; /* N                                                                   */
    int lose, repeat;     /* edges from now: so many do not arrive; so many arrive twice         */
    double repeat_us;     /* so much later                                                       */
    uint32_t edges;       /* passed, arrived or not                                              */
    bool seen;            /* a reversal was commanded                                            */
} drive;

/* Running freely at `opening` edges, from standstill: begins a closing. Memory stays. */
void drive_start(drive *d, const up_detector_settings *settings, double opening);

/* Runs until `edges` more have passed, or the drive stands, or (until_seen) a reversal is commanded. Returns edges passed. */
uint32_t drive_run(drive *d, uint32_t edges, bool until_seen);

/* N: what the obstacle takes now. */
double drive_obstacle(const drive *d);

#endif

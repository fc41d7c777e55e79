/* What shakes one closing from outside: road, wind, a slammed door, other loads on the battery.
 *
 * An up_disturbance says what there is; up_disturbance_shaking turns it into forces on the glass (core/sim/run.h,
 * up_shaking) and up_disturbance_supply into steps of the supply. All randomness comes from standard normals handed
 * in. Figures are "practice" (common practice, no source) or "assumption of this tool"; docs/disturbances.md lists
 * them.
 *
 * Physics. The glass, of mass m, moves with the door; in the door's frame it feels -m a(t). Road and the travel part
 * of a slam give a push along the travel, -m a cos(lean). Wind and the sideways part of a slam press the glass into
 * its channels; the press becomes sliding drag through glass.channel_friction. */
#ifndef UPSTOP_ANALYSIS_DISTURBANCE_H
#define UPSTOP_ANALYSIS_DISTURBANCE_H

#include "analysis/road.h"
#include "core/sim/run.h"

#define UP_DISTURBANCE_SPACING 0.005 /* s between two values of the shaking: 200 Hz, wheel hop lies at 11 Hz */

enum { UP_DISTURBANCE_LOADS_MAX = UP_SUPPLY_STEPS_MAX };

/* Another user of the battery, switched on or off. */
typedef struct up_load_step {
    double time;    /* s after the start of the run                                 */
    double current; /* A more from the battery from then on; negative: switched off */
} up_load_step;

/* Start from up_disturbance_default (nothing shakes) and change what you need. */
typedef struct up_disturbance {
    double road_roughness; /* m3, Gd(n0) of ISO 8608; 0: no road                                  */
    double vehicle_speed;  /* m/s; 0: stands                                                      */
    up_vehicle vehicle;    /* up_vehicle_default                                                  */

    double wind_speed;           /* m/s, mean speed of the air past the glass; 0: no wind               */
    double gust_intensity;       /* standard deviation of that speed over its mean, 0..1                */
    double gust_length;          /* m, of the gusts, > 0: they last gust_length / wind_speed            */
    double pressure_coefficient; /* pressure on the glass over 0.5 rho v^2, magnitude                   */
    double exposed_share;        /* of travel x header_length that the wind finds, 0..1                 */

    double slam_peak;     /* m/s2, of a half-sine; 0: no slam                                    */
    double slam_time;     /* s after the start of the run, where the half-sine begins            */
    double slam_length;   /* s, > 0                                                              */
    double slam_along;    /* share of it along the travel, -1..1: positive throws the door up    */
    double slam_sideways; /* share of it square to the glass, -1..1                              */

    int loads; /* 0..UP_DISTURBANCE_LOADS_MAX */
    up_load_step load[UP_DISTURBANCE_LOADS_MAX];
} up_disturbance;

void up_disturbance_default(up_disturbance *what);

/* Whether there is any force on the glass; when not, leave up_run_options.shaking at NULL. */
int up_disturbance_shakes(const up_disturbance *what);

/* Values in each of push and press for a run of that duration, s: from one spacing before the start to one after its
 * end. 0 when the duration is not > 0 or too long for UP_SHAKING_MAX. */
int up_disturbance_values(double duration);

/* Standard normals needed: road 4 and one a value, gusts 1 and one each 8 values; 0 for what is not there. The first
 * are the road's. */
int up_disturbance_normals(const up_disturbance *what, double duration);

/* Fills push, press (N, `capacity` values each, the caller's, kept as long as *out is used) and *out, which points to
 * them. normals: at least up_disturbance_normals(what, duration).
 * UP_OK; UP_MEMORY_TOO_SMALL (capacity or normal_count); UP_BAD_OPTION (a member or the duration outside its bounds).
 * Unless UP_OK, *out is not to be used. */
up_status up_disturbance_shaking(const up_values *door, const up_disturbance *what, const double *normals,
                                 int normal_count, double duration, double *push, double *press, int capacity,
                                 up_shaking *out);

/* Steps of the battery's open-circuit voltage for the loads switched: each ampere takes supply.internal_resistance
 * off. open_voltage: V at the start, UP_ABSENT: the sheet's. step: at least UP_SUPPLY_STEPS_MAX. Returns how many
 * were written, times rising. Loads switched at or before 0 change *start_voltage instead, V, which becomes
 * up_run_options.open_voltage. */
int up_disturbance_supply(const up_values *door, const up_disturbance *what, double open_voltage, double *start_voltage,
                          up_supply_step step[UP_SUPPLY_STEPS_MAX]);

/* ---- loads on the battery --------------------------------------------------------------------------------------- */

/* X(id, word, A, text): common practice, no source. */
#define UP_LOAD_LIST(X)                                                  \
    X(HEADLAMPS, "headlamps", 10, "two dipped beams and the tail lamps") \
    X(BLOWER, "blower", 18, "heater blower on its highest step")         \
    X(REAR_HEATER, "rear-heater", 16, "heated rear window")              \
    X(COOLING_FAN, "cooling-fan", 30, "radiator fan, after its inrush")  \
    X(OTHER_WINDOW, "other-window", 25, "another window stalled at its top")

typedef enum up_load {
#define UP_LOAD_ENUM(id, word, current, text) UP_LOAD_##id,
    UP_LOAD_LIST(UP_LOAD_ENUM)
#undef UP_LOAD_ENUM
        UP_LOAD_COUNT
} up_load;

typedef struct up_load_row {
    const char *word; /* "headlamps" */
    double current;   /* A           */
    const char *text;
} up_load_row;

const up_load_row *up_load_at(int index); /* static storage; NULL outside */

/* ---- drawn surroundings ----------------------------------------------------------------------------------------- */

/* Ranges from which the disturbance of one closing is drawn. A range with low = high is fixed. */
typedef struct up_surroundings {
    double road_low, road_high;               /* m3, Gd(n0), evenly in its logarithm; both 0: no road */
    double speed_low, speed_high;             /* m/s, vehicle, evenly                                 */
    double wind_low, wind_high;               /* m/s, evenly; the vehicle's own speed comes on top    */
    double gust_intensity;                    /* 0..1                                                 */
    double slam_chance;                       /* 0..1, that a door is slammed during the run           */
    double slam_peak_low, slam_peak_high;     /* m/s2, evenly in its logarithm                        */
    double slam_length_low, slam_length_high; /* s, evenly                                          */
    double load_chance;                       /* 0..1, for each row of UP_LOAD_LIST but never more than
                                               UP_DISTURBANCE_LOADS_MAX of them                     */
} up_surroundings;

/* Nothing. */
void up_surroundings_none(up_surroundings *around);
/* A minibus in use: roads A to C, 0 to 25 m/s, wind 0 to 8 m/s with gusts of 0.2, one slam in 50 closings of 20 to 150
 * m/s2 over 8 to 25 ms, each load switched in one of 50. Assumption of this tool. */
void up_surroundings_default(up_surroundings *around);

enum { UP_SURROUNDINGS_NORMALS = 8 + 2 * UP_LOAD_COUNT };

/* One disturbance; normals are turned into even numbers by their distribution function. duration: s, within which slams
 * and loads fall. UP_OK or UP_BAD_OPTION (a range upside down, negative or not finite). */
up_status up_surroundings_draw(const up_surroundings *around, const double normals[UP_SURROUNDINGS_NORMALS],
                               double duration, up_disturbance *what);

#endif

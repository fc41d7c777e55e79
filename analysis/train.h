/* The power train of a door from the battery to the glass, worked out without simulating: steady running, stall,
 * holding, ratios, signals, strength; headline figures with the interval the sheet's tolerances allow; and where
 * entries of the sheet contradict each other.
 *
 * SI units throughout, kelvin, radian. Reads no file, prints nothing, allocates nothing: the caller hands in memory. */
#ifndef UPSTOP_ANALYSIS_TRAIN_H
#define UPSTOP_ANALYSIS_TRAIN_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/contradictions.h"
#include "analysis/known.h"
#include "analysis/train_steady.h"
#include "analysis/workers.h"

/* ---- stages ---- */

/* X(id, name, what its output is). Order of the power. */
#define UP_STAGE_LIST(X)                             \
    X(BATTERY, "battery", "at the posts")            \
    X(WIRE, "wire", "at the bridge, there and back") \
    X(BRIDGE, "bridge", "across the motor leads")    \
    X(MOTOR, "motor", "armature shaft to worm")      \
    X(WORM, "worm", "wheel to damper")               \
    X(DAMPER, "damper", "damper to pinion shaft")    \
    X(MESH, "mesh", "pinion or drum to regulator")   \
    X(REGULATOR, "regulator", "regulator to glass")  \
    X(GLASS, "glass", "weight lifted")

typedef enum up_stage {
#define UP_STAGE_ENUM(id, name, text) UP_STAGE_##id,
    UP_STAGE_LIST(UP_STAGE_ENUM)
#undef UP_STAGE_ENUM
        UP_STAGE_COUNT
} up_stage;

const char *up_stage_name(up_stage stage); /* static storage */
const char *up_stage_text(up_stage stage);

/* What the numbers of a stage's output are measured in. */
typedef enum up_stage_kind { UP_STAGE_ELECTRIC, UP_STAGE_TURNING, UP_STAGE_STRAIGHT } up_stage_kind;

/* The output side of a stage. Signs: raising and lifting positive; electric ones are magnitudes with the current
 * positive when the battery gives it. */
typedef struct up_stage_state {
    up_stage_kind kind;
    double ratio;    /* input speed over output speed: 1 (pure number), or rad per metre where turning becomes straight;
                          rad/s per volt has no use, so NaN for the electric stages and the motor */
    double speed;    /* V (electric), rad/s, m/s                                            */
    double effort;   /* A (electric), N m, N                                                */
    double power_in; /* W coming in from the battery's side; negative: goes out there       */
    double power_out;  /* W leaving to the glass's side; negative: comes in from there        */
    double efficiency; /* of the way the power goes; NaN where both sides feed the losses     */
    double forward;    /* efficiency if the battery's side drives, at this load and speed     */
    double backward; /* efficiency if the glass's side drives; negative: it cannot; NaN: not asked (electric stages) */
} up_stage_state;

enum { UP_TRAIN_PLACES = 3 }; /* bottom, middle, top: just below the header seal */

typedef struct up_train_place {
    up_place_on_travel place;
    up_steady raising, lowering;
    up_stage_state raise[UP_STAGE_COUNT], lower[UP_STAGE_COUNT];
} up_train_place;

/* ---- along the travel ---- */

enum {
    UP_TRAIN_POINTS = 12
}; /* the first 11 evenly from the down-stop to the header seal, the last one fully closed */

typedef struct up_train_point {
    double travel;           /* m                                                                    */
    double per_motor_turn;   /* m of glass per turn of the armature                                  */
    double per_output_turn;  /* m of glass per turn of pinion or drum                                */
    double pulses_per_metre; /* whole pulses, one channel                                            */
    double needed_lift;      /* N to get going upwards from rest                                     */
    double stall_lift;       /* N the regulator can give at stall                                    */
    double stall_squeeze;    /* N left for an obstacle at stall, steady: the moving parts' own energy comes on top */
    double raise_speed, lower_speed;     /* m/s, lowering negative; 0: stalls                             */
    double raise_current, lower_current; /* A                                                             */
    double tilt_share;                   /* 1                                                                    */
} up_train_point;

/* ---- headline figures ---- */

/* X(id, unit, text). Unit is SI. */
#define UP_TRAIN_FIGURE_LIST(X)                                                                                      \
    X(raise_time, "s", "raising, full stroke, steady speeds and start, without end-stop detection")                  \
    X(lower_time, "s", "lowering, full stroke")                                                                      \
    X(raise_speed, "m/s", "glass speed raising, halfway")                                                            \
    X(lower_speed, "m/s", "glass speed lowering, halfway")                                                           \
    X(raise_current, "A", "motor current raising, halfway")                                                          \
    X(lower_current, "A", "motor current lowering, halfway")                                                         \
    X(running_voltage, "V", "across the motor leads raising, halfway")                                               \
    X(wire_drop_running, "V", "lost in wires and plugs raising, halfway")                                            \
    X(wire_drop_stall, "V", "lost in wires and plugs at stall")                                                      \
    X(efficiency, "1", "lifting power over battery power raising, halfway")                                          \
    X(free_speed, "rad/s", "pinion or drum with the regulator off")                                                  \
    X(free_current, "A", "motor current with the regulator off")                                                     \
    X(stall_current, "A", "motor current at stall")                                                                  \
    X(stall_squeeze_least, "N", "steady force left for an obstacle at stall, least below the header seal")           \
    X(stall_squeeze_most, "N", "the same, most along the travel")                                                    \
    X(lift_reserve, "1", "lift at stall over lift needed from rest, least along the travel; below 1 it stops short") \
    X(lift_reserve_opening, "m", "opening left where that is")                                                       \
    X(worm_efficiency, "1", "worm driving the wheel, raising halfway")                                               \
    X(worm_efficiency_back, "1", "wheel driving the worm from rest; negative holds")                                 \
    X(hold_margin, "1", "worm friction at rest over the friction that just holds")                                   \
    X(hold_margin_shaking, "1", "the same with what vibration leaves of the friction")                               \
    X(hold_push, "N", "downward push on the glass that motor and worm withstand at rest")                            \
    X(hold_push_shaking, "N", "the same on a shaking door; below 0 the glass sinks by itself")                       \
    X(per_motor_turn, "m", "glass per turn of the armature, halfway")                                                \
    X(output_turns, "count", "turns of pinion or drum per stroke")                                                   \
    X(pulses_per_metre, "1/m", "encoder pulses per length of travel, halfway")                                       \
    X(pulses_per_stroke, "count", "encoder pulses per stroke")                                                       \
    X(limit_turns, "count", "turns of the limit ring per stroke")                                                    \
    X(limit_opening, "m", "opening left where the limit contact opens")                                              \
    X(windup_running, "rad", "damper wind-up raising, halfway, from the middle of its play")                         \
    X(windup_stall, "rad", "damper wind-up at stall, from the middle of its play")                                   \
    X(windup_stall_share, "1", "damper wind-up at stall over its limit; above 1 the dogs meet")                      \
    X(contact_ratio, "1", "tooth pairs in contact at the pinion, undercut counted")                                  \
    X(pinion_stress_running, "Pa", "root stress of the pinion raising, halfway")                                     \
    X(pinion_stress_stall, "Pa", "root stress of the pinion at stall")                                               \
    X(pinion_stress_share, "1", "root stress of the pinion at stall over its strength")                              \
    X(wheel_stress_running, "Pa", "root stress of the worm wheel raising, halfway")                                  \
    X(wheel_stress_stall, "Pa", "root stress of the worm wheel at stall")                                            \
    X(wheel_stress_share, "1", "root stress of the worm wheel at stall over its strength")                           \
    X(tilt_margin, "1", "tilting moment that jams the glass over the one there is, least along the travel")

typedef enum up_train_figure {
#define UP_TRAIN_FIGURE_ENUM(id, unit, text) UP_TRAIN_FIGURE_##id,
    UP_TRAIN_FIGURE_LIST(UP_TRAIN_FIGURE_ENUM)
#undef UP_TRAIN_FIGURE_ENUM
        UP_TRAIN_FIGURE_COUNT
} up_train_figure;

const char *up_train_figure_name(up_train_figure figure); /* static storage */
const char *up_train_figure_unit(up_train_figure figure);
const char *up_train_figure_text(up_train_figure figure);

/* Value and interval. NaN: does not exist for this door (a contact ratio without a pinion) or, for times and speeds, it
 * does not get there; +inf: no limit (a worm that holds any push). */
typedef struct up_train_answer {
    double value;     /* of the sheet as it stands                                                             */
    double low, high; /* 2.5 % and 97.5 % quantile of the draws in which it exists; both NaN when in fewer than half */
    int count;        /* draws in which it exists                                                              */
    up_number mostly; /* entry whose tolerance moves it most among the draws                                   */
    double mostly_share; /* squared correlation with that entry, 0..1; below 0.1 there is no clear one */
} up_train_answer;

/* ---- all together ---- */

typedef struct up_train {
    up_circuit circuit;
    up_train_place at[UP_TRAIN_PLACES];
    up_train_point point[UP_TRAIN_POINTS];
    up_stall stall[UP_TRAIN_PLACES];
    double worm_lead_angle;       /* rad                                                                         */
    double worm_locking_friction; /* friction that just holds                                                    */
    double worm_static_friction, worm_shaking_friction;
    double worm_ratio;          /* armature turns per wheel turn                                               */
    double mesh_ratio;          /* pinion turns per sector turn; NaN without a sector                          */
    double undercut_teeth;      /* fewest pinion teeth without undercut; NaN without a pinion                  */
    double contact_ratio_plain; /* contact ratio as if nothing were undercut                                   */
    double wheel_contact_ratio; /* wheel teeth in contact in the worm's middle plane, the worm taken as a rack  */
    double wheel_stress_shared; /* Pa, root stress of the worm wheel at stall if these share the load evenly    */
    double limit_open_angle;    /* rad of the ring                                                             */
    double holds_at_rest, holds_shaking; /* share of draws in which the worm alone holds any push, 0..1           */
    up_train_answer answer[UP_TRAIN_FIGURE_COUNT];
    up_contradiction contradiction[UP_PAIR_COUNT];
    double temperature; /* K                                                                           */
    int draws;          /* that gave a door                                                            */
} up_train;

typedef struct up_train_request {
    const up_known *known;
    double temperature;  /* K                                                              */
    double open_voltage; /* V; UP_ABSENT: the sheet's, with its tolerance                  */
    uint64_t seed;
    int draws; /* >= 20; 200 or more for answers worth printing                  */
} up_train_request;

/* Bytes of scratch memory for up_train_run. */
size_t up_train_memory(int draws);

/* Works it all out. workers may be NULL; the answer does not depend on them. memory: the caller's, aligned for double,
 * not kept. Returns UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL, or what up_door_prepare says of the sheet itself. */
up_status up_train_run(const up_train_request *request, up_workers *workers, void *memory, size_t memory_size,
                       up_train *train);

/* The figures of one prepared door, SI units; NaN and +inf as in up_train_answer. */
void up_train_figures(const up_door *door, double figures[UP_TRAIN_FIGURE_COUNT]);

#endif

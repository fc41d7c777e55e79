/* One closing or opening of a prepared door, simulated.
 *
 * SI units; raising is positive for the glass, closing current is positive; kelvin. The core does no input or output:
 * what happens is handed to the caller's sink, and the summary is returned in an up_outcome. Nothing is allocated. */
#ifndef UPSTOP_SIM_RUN_H
#define UPSTOP_SIM_RUN_H

#include <stdint.h>

#include "core/base/status.h"
#include "core/control/controller.h"
#include "core/door/door.h"

/* What the hand on the switch does. */
typedef enum up_switch {
    UP_SWITCH_FREE,        /* nobody touches it                        */
    UP_SWITCH_RAISE_HELD,  /* held up: runs while it is held           */
    UP_SWITCH_RAISE_TOUCH, /* pulled through once: one-touch raising   */
    UP_SWITCH_LOWER_HELD,
    UP_SWITCH_LOWER_TOUCH
} up_switch;

enum { UP_SWITCH_STEPS_MAX = 8, UP_SUPPLY_STEPS_MAX = 8 };

typedef struct up_switch_step {
    double time; /* s after the start of the run, rising */
    up_switch position;
} up_switch_step;

typedef struct up_supply_step {
    double time;         /* s after the start, rising                                    */
    double open_voltage; /* V, the battery's open-circuit voltage from then on           */
} up_supply_step;

/* What shakes the door while it runs: forces on the glass as uniform cubic B-splines over time. Value k of an array
 * weighs most at start + k * spacing, two thirds, and nothing from two spacings away on; a row of equal values is that
 * value. From two spacings before the first to two after the last; outside of that there is exactly nothing. */
typedef struct up_shaking {
    double start;        /* s after the start of the run, -1e6..1e6                               */
    double spacing;      /* s, UP_SHAKING_SPACING_LEAST..1e3                                      */
    int count;           /* values in each array, 1..UP_SHAKING_MAX                               */
    const double *push;  /* N along the travel, up positive, -1e5..1e5 (count)                    */
    const double *press; /* N of sliding drag more than usual, 0..1e5: glass pressed sideways (count) */
} up_shaking;

enum { UP_SHAKING_MAX = 65536 };
#define UP_SHAKING_SPACING_LEAST 1e-4 /* s */

/* What is broken while it runs. From up_run_options_default: nothing. */
typedef struct up_faults {
    uint64_t lost_edge;       /* number of the encoder edge that does not arrive, from 1; 0: none          */
    uint64_t doubled_edge;    /* number of the edge that arrives twice; 0: none                            */
    double encoder_dead_time; /* s, no edge arrives from then on; UP_ABSENT: never                         */
    int limit_stuck;          /* limit contact: 0 works, 1 always open, 2 always closed                    */
    double current_offset;    /* A added to every measured current, raising positive; -1000..1000          */
    double tick_jitter;       /* s, each tick comes up to that much late, evenly drawn; 0..0.9 of a tick   */
    double battery_lost_time; /* s, no supply from then on, the bridge's relays fall; UP_ABSENT: never     */
    double battery_back_time; /* s, supply back, the controller starts without its position; UP_ABSENT: never */
} up_faults;

/* Hears what the controller is told, as it is told: for who wants to know what another detector would have said. */
typedef struct up_listener {
    void *context;
    void (*start)(void *context, const up_controller *controller, const up_measured *measured); /* power comes on */
    void (*edge)(void *context, uint32_t now_us, int32_t direction);
    void (*tick)(void *context, const up_control_inputs *inputs, unsigned told); /* told: UP_TOLD_... bits it gave */
} up_listener;

/* Start from up_run_options_default and change what you need; a struct that was only zeroed is refused. */
typedef struct up_run_options {
    uint32_t cookie;     /* set by up_run_options_default                             */
    double start_travel; /* m, glass at rest there; 0 is the down-stop                */
    double temperature;  /* K, all parts and the air                                  */
    double open_voltage; /* V at the start; UP_ABSENT: the sheet's                    */
    int leads_direct; /* 1: battery straight on the motor leads, no controller: the switch is the hand that holds the leads */
    int leads_open;    /* 1: motor leads open, nothing drives: holding test         */
    double push_force; /* N on the glass, positive upwards, all the time            */
    int position_lost; /* 1: the controller has lost its position (battery was off) */
    int switch_steps;  /* 1..UP_SWITCH_STEPS_MAX                                     */
    up_switch_step switch_step[UP_SWITCH_STEPS_MAX];
    int supply_steps; /* 0..UP_SUPPLY_STEPS_MAX                                     */
    up_supply_step supply_step[UP_SUPPLY_STEPS_MAX];
    int rod;                   /* 1: a test rod stands in the way                           */
    double rod_opening;        /* m, opening at which the glass edge meets the rod          */
    double rod_stiffness;      /* N/m                                                        */
    double rod_tilt_share;     /* 0..2, sliding drag per newton on the rod, when it stands off the lifting force and
                                 tilts the glass in its channels; 0: in line               */
    const up_shaking *shaking; /* NULL: stands still; stays the caller's, unchanged while it runs */
    up_faults faults;
    up_detector_memory
        *memory; /* the detector's, as kept from closing to closing: read at the start, written at the end;
                                   NULL: as set up, and forgotten                              */
    const up_listener *listener; /* NULL: nobody; no pointer in it may be NULL; stays the caller's */
    double ignition_off_time;    /* s; UP_ABSENT: stays on                                    */
    uint32_t seed;               /* for encoder irregularities and lost edges                 */
    double tolerance;            /* of the integrator, 1e-12..1e-3; see docs/numerics.md          */
    double time_limit;           /* s, the run ends there at the latest                       */
    double sample_interval;      /* s, spacing of samples given to the sink; 0: none          */
    double rest_time;            /* s at complete rest after which the run ends               */
} up_run_options;

void up_run_options_default(up_run_options *options);

/* Where the energy went, J, since the start of the run. drawn + given_back = everything else together. */
#define UP_LEDGER_LIST(X)                                               \
    X(drawn, "taken from the battery's open-circuit source")            \
    X(supply_heat, "heat in battery, wires, plugs and bridge")          \
    X(winding_heat, "heat in the winding and its protector")            \
    X(brush_heat, "brush drop")                                         \
    X(switching, "lost in the arc when a current is cut")               \
    X(motor_friction, "bearings and brushes, Coulomb and viscous")      \
    X(worm_friction, "worm mesh")                                       \
    X(damper_heat, "rubber damper")                                     \
    X(mesh_friction, "pinion mesh, pivots, rollers, track, limit ring") \
    X(regulator_heat, "internal damping of regulator and panel")        \
    X(seal_friction, "run channels, belt and header seals")             \
    X(stop_heat, "internal damping of the stops")                       \
    X(shaken, "work done against what shakes the door")                 \
    X(kinetic, "gain of motion energy")                                 \
    X(magnetic, "gain of energy in the winding's field")                \
    X(potential, "gain of height of the glass")                         \
    X(spring_damper, "gain of energy in the rubber damper")             \
    X(spring_regulator, "gain of energy in arm, cable and panel")       \
    X(spring_balance, "gain of energy in the counterbalance spring")    \
    X(spring_stops, "gain of energy in stops and header seal")          \
    X(spring_rod, "gain of energy in the test rod")                     \
    X(pushed, "work done against what pushes the glass")

typedef enum up_ledger_account {
#define UP_LEDGER_ENUM(id, text) UP_LEDGER_##id,
    UP_LEDGER_LIST(UP_LEDGER_ENUM)
#undef UP_LEDGER_ENUM
        UP_LEDGER_COUNT
} up_ledger_account;

const char *up_ledger_name(up_ledger_account account); /* "winding_heat"                */
const char *up_ledger_text(up_ledger_account account); /* "heat in the winding and ..." */

/* Things that happen at an instant. */
#define UP_EVENT_LIST(X)                                         \
    X(SWITCH, "switch moved")                                    \
    X(BRIDGE_RAISE, "bridge drives up")                          \
    X(BRIDGE_LOWER, "bridge drives down")                        \
    X(BRIDGE_BRAKE, "bridge shorts the motor")                   \
    X(BRIDGE_OPEN, "motor leads open")                           \
    X(ARMATURE_STARTS, "armature starts to turn")                \
    X(ARMATURE_STOPS, "armature stands")                         \
    X(OUTPUT_STARTS, "pinion starts to turn")                    \
    X(OUTPUT_STOPS, "pinion stands")                             \
    X(GLASS_STARTS, "glass starts to move")                      \
    X(GLASS_STOPS, "glass stands")                               \
    X(GLASS_TURNS, "glass turns round")                          \
    X(DAMPER_TAKES, "damper takes the load")                     \
    X(DAMPER_FREE, "damper in its free play")                    \
    X(DAMPER_LIMIT, "damper fully wound up")                     \
    X(HEADER_TOUCHED, "glass enters the header seal")            \
    X(HEADER_LEFT, "glass leaves the header seal")               \
    X(ROD_TOUCHED, "glass meets the test rod")                   \
    X(ROD_LEFT, "glass leaves the test rod")                     \
    X(UP_STOP_TOUCHED, "glass on the up-stop")                   \
    X(UP_STOP_LEFT, "glass leaves the up-stop")                  \
    X(DOWN_STOP_TOUCHED, "glass on the down-stop")               \
    X(DOWN_STOP_LEFT, "glass leaves the down-stop")              \
    X(LIMIT_OPENED, "limit contact opens")                       \
    X(LIMIT_CLOSED, "limit contact closes")                      \
    X(PINCH_SEEN, "detector sees an obstacle")                   \
    X(REVERSAL, "controller reverses")                           \
    X(STALL_SEEN, "controller sees a stall")                     \
    X(TOP_FOUND, "controller takes this place as the top")       \
    X(BOTTOM_FOUND, "controller takes this place as the bottom") \
    X(CONTROLLER_RESTS, "controller is done")                    \
    X(ONE_TOUCH_REFUSED, "one-touch refused")                    \
    X(PROTECTOR_TRIPPED, "motor protector trips")                \
    X(PROTECTOR_RESET, "motor protector resets")                 \
    X(SUPPLY_STEP, "supply voltage steps")                       \
    X(POWER_LOST, "retained power ends")                         \
    X(RUN_ENDS, "end of the run")                                \
    X(EDGE_LOST, "encoder edge lost")                            \
    X(EDGE_DOUBLED, "encoder edge arrives twice")                \
    X(ENCODER_DEAD, "first edge of a dead encoder")              \
    X(BATTERY_LOST, "battery cut off")                           \
    X(BATTERY_BACK, "battery back")

typedef enum up_event_kind {
#define UP_EVENT_ENUM(id, text) UP_EVENT_##id,
    UP_EVENT_LIST(UP_EVENT_ENUM)
#undef UP_EVENT_ENUM
        UP_EVENT_COUNT
} up_event_kind;

const char *up_event_name(up_event_kind kind); /* "ROD_TOUCHED" */
const char *up_event_text(up_event_kind kind); /* "glass meets the test rod" */

typedef struct up_event {
    double time;    /* s                                   */
    double travel;  /* m, glass                            */
    double speed;   /* m/s, glass                          */
    double force;   /* N, squeezing force on the rod       */
    double current; /* A, motor                            */
    up_event_kind kind;
} up_event;

/* One row of the trace. */
#define UP_SAMPLE_LIST(X)                                                                     \
    X(time, "s", "time since the start of the run")                                           \
    X(battery_voltage, "V", "at the battery posts")                                           \
    X(motor_voltage, "V", "across the motor leads, positive raising")                         \
    X(current, "A", "motor current without ripple, positive raising")                         \
    X(ripple_current, "A", "motor current with commutation ripple, as a scope would show it") \
    X(filtered_current, "A", "as the controller sees it")                                     \
    X(armature_angle, "rad", "armature, raising positive")                                    \
    X(armature_speed, "rad/s", "")                                                            \
    X(output_angle, "rad", "pinion or drum")                                                  \
    X(output_speed, "rad/s", "")                                                              \
    X(damper_angle, "rad", "wind-up between worm wheel and pinion")                           \
    X(damper_torque, "N.m", "worm wheel to pinion, positive lifts")                           \
    X(travel, "m", "glass from the down-stop")                                                \
    X(speed, "m/s", "glass")                                                                  \
    X(lift_force, "N", "regulator on the glass, positive lifts")                              \
    X(friction_force, "N", "all seals and channels on the glass, against the motion")         \
    X(header_force, "N", "header seal pressed")                                               \
    X(rod_force, "N", "squeezing force")                                                      \
    X(stop_force, "N", "up-stop positive, down-stop negative")                                \
    X(winding_temperature, "K", "")                                                           \
    X(case_temperature, "K", "")                                                              \
    X(limit_contact, "1", "1 closed, 0 open")                                                 \
    X(encoder_level, "1", "0 or 1")                                                           \
    X(counted_opening, "m", "opening the controller believes in; NaN when lost")              \
    X(detector_excess, "N", "extra force the detector reckons with")                          \
    X(detector_threshold, "N", "extra force at which it counts an edge against")

typedef struct up_sample {
#define UP_SAMPLE_MEMBER(id, unit, text) double id;
    UP_SAMPLE_LIST(UP_SAMPLE_MEMBER)
#undef UP_SAMPLE_MEMBER
} up_sample;

/* Every pointer may be NULL. Calls come in order of time. `stop` is asked once a step. */
typedef struct up_sink {
    void *context;
    void (*sample)(void *context, const up_sample *sample);
    void (*event)(void *context, const up_event *event);
    void (*edge)(void *context, double time, int level); /* encoder edges, before any is lost */
    int (*stop)(void *context);
} up_sink;

/* How the run ended. */
#define UP_END_LIST(X)                                                \
    X(CLOSED, "closed: the controller found the top")                 \
    X(OPENED, "open: the controller found the bottom")                \
    X(REVERSED, "reversed and stopped")                               \
    X(RELEASED, "stopped where the switch was released")              \
    X(STOPPED_SHORT, "stopped on the way")                            \
    X(HELD, "stood still all the time")                               \
    X(STALLED, "still driven against a standstill at the time limit") \
    X(RUNNING, "still moving at the time limit")

typedef enum up_end {
#define UP_END_ENUM(id, text) UP_END_##id,
    UP_END_LIST(UP_END_ENUM)
#undef UP_END_ENUM
        UP_END_COUNT
} up_end;

const char *up_end_name(up_end end);
const char *up_end_text(up_end end);

typedef struct up_outcome {
    up_end end;
    double time;                       /* s, when the controller was done or the run ended            */
    double moving_time;                /* s, from the first bridge command to the glass's last visible motion */
    double start_travel, final_travel; /* m                                                      */
    double start_delay;                /* s, from the switch to the first motion of the glass; NaN: never */
    double peak_current;               /* A, magnitude                                                 */
    double running_current;            /* A, mean while the glass moved and the bridge drove, start excluded */
    double running_speed;              /* m/s, the same mean                                           */
    double peak_rod_force;             /* N                                                            */
    double peak_rod_time;              /* s                                                            */
    double rod_touch_time;             /* s; NaN: never                                                */
    double detection_time;             /* s; NaN: never                                                */
    double reversal_travel;            /* m, highest glass travel before it turned; NaN: no reversal   */
    double reversed_distance;          /* m, from there to the end; 0: no reversal                     */
    double peak_stop_force;            /* N on either stop                                             */
    double peak_winding_temperature;   /* K                                                        */
    double peak_detector_excess;       /* N, the detector's largest reckoned excess while armed        */
    double peak_excess_travel;         /* m, where that was                                            */
    double lasting_detector_excess;    /* N, the largest excess that lasted for as many readings in a row as a decision
                                          takes (at most 16): the detector reversed if it is above the threshold */
    double reversal_nearness; /* how near to a reversal the detector came: of rows of readings above the end zone
                                          their least excess over the threshold; of those in it no more than 1 less
                                          1/32 for every edge that they began too low. 0 at least              */
    uint64_t edges;           /* encoder edges passed                                         */
    int reversals;
    int protector_trips;
    double ledger[UP_LEDGER_COUNT]; /* J                                                         */
    double ledger_gap;              /* J, drawn less all the rest: what the books do not explain    */
} up_outcome;

/* Exact and repeatable counts of the work done. */
typedef struct up_run_counts {
    uint64_t steps, rejected_steps, locating_steps, derivative_calls, jacobian_calls, mode_changes, ticks, edges;
} up_run_counts;

/* Runs one closing or opening.
 * door: prepared, read-only, may be shared by threads. sink, counts: may be NULL.
 * Returns UP_OK, UP_BAD_OPTION, UP_STEP_LIMIT, UP_NOT_FINITE or UP_STOPPED; *outcome is filled as far as it got. */
up_status up_run(const up_door *door, const up_run_options *options, const up_sink *sink, up_outcome *outcome,
                 up_run_counts *counts);

#endif

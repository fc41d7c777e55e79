/* Steady running of a door at one place: the balance of torques with nothing speeding up, and the stall.
 *
 * The same laws as the simulation reads (core/door/door.h), without inertia, springs in motion and controller: worm
 * friction at the sliding speed, load-proportional mesh loss, seals with their excess at low speed, header seal, tilt.
 * SI units; raising is positive; opens no file, allocates nothing. */
#ifndef UPSTOP_ANALYSIS_TRAIN_STEADY_H
#define UPSTOP_ANALYSIS_TRAIN_STEADY_H

#include "core/door/door.h"

typedef enum up_travel_direction { UP_RAISING = 1, UP_LOWERING = -1 } up_travel_direction;

/* The electrical side at the door's temperature. */
typedef struct up_circuit {
    double open_voltage;      /* V                                              */
    double source_resistance; /* ohm: battery, wires there and back, plugs      */
    double bridge_resistance; /* ohm                                            */
    double motor_resistance;  /* ohm: winding at temperature, protector         */
    double brush_drop;        /* V                                              */
    double torque_constant;   /* N m/A = V s/rad, magnets at temperature        */
} up_circuit;

void up_circuit_of(const up_door *door, up_circuit *circuit);

/* Where on the travel, with everything that depends on the place alone. */
typedef struct up_place_on_travel {
    double travel;       /* m, glass                                            */
    double output_angle; /* rad, regulator end unloaded                         */
    double ratio;        /* m/rad, glass per output angle                       */
    double weight;       /* N along the travel                                  */
    double drag;         /* N, channels and belt at running level               */
    double header;       /* N, header seal pressed                              */
    double tilt_share;   /* 1, channel friction per lifting force, tilt         */
    double rail_tilt;    /* rad, tilt that the mechanism gives the glass        */
    double balance;      /* N m on the output shaft, helping to raise           */
} up_place_on_travel;

void up_place_at(const up_door *door, double travel, up_place_on_travel *place);

/* Glass alone at a speed: what the regulator has to lift with, and friction between. */
typedef struct up_glass_load {
    double lift;     /* N, regulator on the glass, positive lifts; +inf when the glass jams        */
    double friction; /* N, all friction on the glass, its magnitude                                */
} up_glass_load;

void up_glass_load_at(const up_door *door, const up_place_on_travel *place, int direction, double speed,
                      up_glass_load *load);

/* Everything between battery and glass. Speeds and powers carry the sign of raising; armature_torque and wheel_torque
 * are what the armature gives to the worm and the wheel to the damper, positive in the sense of raising. */
typedef struct up_steady {
    int runs;       /* 1: there is a steady speed; 0: stalled, all speeds 0, torques those of the stall     */
    int starts;     /* 1: also gets going from rest at this place                                           */
    double current; /* A, positive raising                                                                  */
    double post_voltage, bridge_voltage, motor_voltage; /* V: battery posts, at the bridge, across the motor leads;
                                                           magnitudes                                              */
    double armature_speed, output_speed, glass_speed;   /* rad/s, rad/s, m/s                                       */
    double electromagnetic_torque;                      /* N m, torque constant times current                      */
    double armature_torque, wheel_torque;               /* N m                                                     */
    double shaft_torque; /* N m, wheel_torque less drag and mesh loss: what passes on to the regulator; a counterbalance
                              spring's share is not in it                                                          */
    double worm_friction;  /* 1, at this sliding speed                                                             */
    double sliding_speed;  /* m/s                                                                                  */
    double lift, friction; /* N, as in up_glass_load                                                               */
} up_steady;

/* Efficiency of the worm driving the wheel; 0 where thread and friction are so steep that it jams. */
double up_worm_passes_driving(const up_door *door, double friction);

/* Torque that current has to give the armature for steady running at a speed >= 0 in that direction, N m, its own friction
 * included; +inf where the glass jams. place NULL: regulator off. */
double up_running_torque(const up_door *door, const up_place_on_travel *place, int direction, double armature_speed);

/* The fastest steady running at a place. direction: UP_RAISING or UP_LOWERING. free: 1: regulator taken off, the output
 * shaft turns with its own drag only; place is then not read and may be NULL. */
void up_steady_at(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                  int free, up_steady *steady);

/* Held still with full voltage raising. */
typedef struct up_stall {
    double current;       /* A                                                                                   */
    double motor_voltage; /* V                                                                                   */
    double wheel_torque;  /* N m                                                                                 */
    double lift;          /* N, regulator on the glass                                                           */
    double squeeze;       /* N, what is left for an obstacle on the glass edge after weight, seals, header, tilt */
    double needed;        /* N, lift that gets the glass going upwards here from rest; +inf: it jams             */
} up_stall;

void up_stall_at(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, up_stall *stall);

/* Largest downward push on the glass, N, beyond its own weight, that motor and worm withstand unpowered and at rest
 * with this worm friction, seals helping in nothing. +inf: any. Negative: sinks by itself. */
double up_holding_push(const up_door *door, const up_place_on_travel *place, double worm_friction);

#endif

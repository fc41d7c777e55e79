/* All that changes while a door moves, and the regime each set-valued or one-sided law is in.
 *
 * A copy of an up_motion is a snapshot. */
#ifndef UPSTOP_SIM_MOTION_H
#define UPSTOP_SIM_MOTION_H

#include "core/door/door.h"
#include "core/sim/run.h"

/* Continuous states, in the order of the vectors. */
enum {
    UP_CURRENT,        /* A, winding, closing positive           */
    UP_ARMATURE_SPEED, /* rad/s, raising positive                */
    UP_OUTPUT_SPEED,   /* rad/s, pinion or drum                  */
    UP_GLASS_SPEED,    /* m/s, up positive                       */
    UP_ARMATURE_ANGLE, /* rad, 0 where the output angle is 0     */
    UP_OUTPUT_ANGLE,   /* rad, 0 at the down-stop                */
    UP_TRAVEL,         /* m, glass, 0 at the down-stop           */
    UP_FILTERED,       /* A, current behind the controller's filter */
    UP_STATES
};

/* The three bodies that can stick. */
enum { UP_ARMATURE, UP_OUTPUT, UP_GLASS, UP_BODIES };

typedef enum up_bridge { UP_BRIDGE_BRAKE, UP_BRIDGE_RAISE, UP_BRIDGE_LOWER, UP_BRIDGE_OPEN } up_bridge;

typedef enum up_damper_regime {
    UP_DAMPER_FREE,
    UP_DAMPER_UP,       /* rubber carries the raising load        */
    UP_DAMPER_UP_LIMIT, /* and is fully wound up                  */
    UP_DAMPER_DOWN,     /* the other side carries                 */
    UP_DAMPER_DOWN_LIMIT
} up_damper_regime;

typedef enum up_limit_place { UP_LIMIT_BEFORE, UP_LIMIT_IN_GAP, UP_LIMIT_BEYOND } up_limit_place;

typedef struct up_modes {
    up_bridge bridge;
    int slip[UP_BODIES]; /* +1 raising, -1 lowering, 0 sticking                                    */
    up_damper_regime damper;
    int lift_sign;                       /* sign of the regulator's force on the glass, +1 or -1                   */
    int header, rod, up_stop, down_stop; /* 1 in contact                                            */
    up_limit_place limit;
    int tripped; /* 1: the protector has tripped                                           */
} up_modes;

typedef struct up_heat {
    double winding, box, protector; /* K, or K/s where it is a rate; box: the motor's case         */
} up_heat;

typedef struct up_motion {
    double time; /* s */
    double y[UP_STATES];
    up_heat heat;
    up_modes modes;
} up_motion;

/* What acts on the door from outside during one smooth piece. */
typedef struct up_world {
    double open_voltage;       /* V                                         */
    double push;               /* N on the glass, up positive               */
    double rod_travel;         /* m, glass travel at which it meets the rod */
    double rod_stiffness;      /* N/m, rod and frame in series              */
    double rod_tilt_share;     /* N of sliding drag per N on the rod        */
    const up_shaking *shaking; /* NULL: stands still                        */
    double per_shaking;        /* 1/s, 1 / its spacing                      */
    int rod;                   /* 1: there is one                           */
} up_world;

#endif

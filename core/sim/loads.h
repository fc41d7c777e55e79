/* Right-hand side of the equations of motion inside one regime, with the forces it is made of. */
#ifndef UPSTOP_SIM_LOADS_H
#define UPSTOP_SIM_LOADS_H

#include "core/sim/motion.h"
#include "core/sim/run.h"

/* Accounts of the ledger that are integrals of a power; the rest follow from the state. */
enum { UP_FLOWS = UP_LEDGER_kinetic };

typedef struct up_loads {
    double rate[UP_STATES]; /* d y / d t                                                              */
    up_heat heat_rate;      /* K/s                                                                    */
    /* electrical */
    double torque_constant; /* N m/A, at temperature                                                  */
    double winding;         /* ohm, winding and protector at temperature                              */
    double loop;            /* ohm outside the winding                                                */
    double brush_voltage;   /* V                                                                      */
    double brush_root;      /* A                                                                      */
    double source;          /* V across the loop, with the bridge's sign                              */
    /* damper */
    double windup;        /* rad                                                                    */
    double damper_torque; /* N m                                                                    */
    double damper_by_angle, damper_by_speed; /* partial derivatives                                    */
    /* worm */
    double worm_share;       /* T_worm = damper torque / ratio * (1 + worm_share); share has the sign of loss */
    double worm_share_slope; /* its derivative by armature speed                                       */
    /* regulator and glass */
    double ratio, ratio_slope;       /* m/rad, m/rad2                                                      */
    double lift_force;               /* N                                                                  */
    double lift_by_angle;            /* N/rad                                                              */
    double tilt, tilt_slope;         /* share, 1/rad                                                       */
    double weight, weight_slope;     /* N, N/m                                                             */
    double drag, drag_slope;         /* N, N/m, running, without Stribeck factor                           */
    double stribeck, stribeck_slope; /* factor, s/m                                                    */
    double header_force, rod_force, up_force, down_force; /* N, all positive                           */
    double glass_friction;      /* N, against the motion: its component along travel, sign included   */
    double push, force_by_time; /* N by what shakes the door, N/s of what that and its friction do to a sliding glass */
    /* margin before a sticking body slips, N m or N; only meaningful for a body that sticks */
    double net[UP_BODIES]; /* what wants to move it                                              */
    double hold_up[UP_BODIES], hold_down[UP_BODIES];
} up_loads;

/* heat: temperatures at the instant; time: s since the start of the run. Fills *loads. */
void up_loads_at(const up_door *door, const up_world *world, const up_modes *modes, const up_heat *heat, double time,
                 const double y[UP_STATES], up_loads *loads);

/* Powers of the flow accounts, W, from loads at the same instant. */
void up_flows_at(const up_door *door, const up_modes *modes, const double y[UP_STATES], const up_loads *loads,
                 double flow[UP_FLOWS]);

/* Energies of the stock accounts, J: UP_LEDGER_kinetic and all after it but `pushed`. */
void up_stocks_at(const up_door *door, const up_world *world, const double y[UP_STATES], double stock[UP_LEDGER_COUNT]);

#endif

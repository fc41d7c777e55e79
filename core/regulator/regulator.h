/* The regulator families: how far the glass goes for an angle of the output shaft (pinion or drum).
 *
 * A new family is one new file with one up_regulator, one row in regulator.c and one word in entries.def. All lengths in
 * metres, angles in radians. The output angle is 0 with the glass on its down-stop and grows while raising. */
#ifndef UPSTOP_REGULATOR_REGULATOR_H
#define UPSTOP_REGULATOR_REGULATOR_H

#include "core/door/values.h"

typedef struct up_lift_point {
    double travel;      /* m, regulator end, unloaded                                     */
    double ratio;       /* m/rad, d travel / d output angle                               */
    double ratio_slope; /* m/rad2, d ratio / d output angle                               */
    double lever;       /* m, lifting force in front of (plus) the glass's centre of mass */
    double rail_tilt;   /* rad, tilt that the mechanism itself gives the glass            */
} up_lift_point;

typedef struct up_regulator {
    up_family family;
    /* Closed forms. Defined for every output angle; outside `reach` the values mean nothing. */
    void (*lift)(const up_values *values, double output_angle, up_lift_point *point);
    /* Range of output angles in which the mechanism can move at all: arm short of the vertical, teeth in mesh. */
    void (*reach)(const up_values *values, double *low, double *high);
    /* Moving inertia referred to the output shaft, kg m2, glass excluded. */
    double (*inertia)(const up_values *values);
    /* Load-proportional loss between output shaft and glass, share of the load torque. */
    double (*loss)(const up_values *values);
    /* Stiffness between output shaft and glass, N/m at the glass. */
    double (*stiffness)(const up_values *values);
    /* Turns of the counterbalance's shaft for one turn of the output shaft. */
    double (*balance_gear)(const up_values *values);
} up_regulator;

extern const up_regulator up_regulator_single_arm;
extern const up_regulator up_regulator_crossed_arms;
extern const up_regulator up_regulator_cable;
extern const up_regulator up_regulator_rack;

/* NULL for a number that is no family. */
const up_regulator *up_regulator_of(int family);

/* Output angle at which the unloaded regulator end is at `travel`; bisection and Newton inside `reach`.
 * The nearer end of the reach when the travel cannot be had. */
double up_regulator_angle(const up_regulator *regulator, const up_values *values, double travel);

#endif

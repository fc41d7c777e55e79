/* Rubber damper at rest: wind-up over torque. */
#ifndef UPSTOP_PARTS_DAMPER_H
#define UPSTOP_PARTS_DAMPER_H

/* Angle beyond the free play, rad, for a steady torque (N m, its magnitude is taken). Up to `limit` (rad) the rubber
 * gives with `stiffness` (N m/rad); from there on the dogs lie on and `limit_stiffness` is added to it. Closed form;
 * the inverse of a spring with one kink. */
double up_damper_windup(double torque, double stiffness, double limit, double limit_stiffness);

#endif

/* What single and crossed arms share: an arm on a toothed sector. */
#ifndef UPSTOP_REGULATOR_ARMS_H
#define UPSTOP_REGULATOR_ARMS_H

#include "core/regulator/regulator.h"

/* Arm turns per output turn: pinion teeth over the sector's teeth as a full wheel. */
double up_arm_gear(const up_values *values);
/* Angle of the lift arm against the horizontal, rad. */
double up_arm_angle(const up_values *values, double output_angle);
void up_arm_reach(const up_values *values, double *low, double *high);
double up_arm_inertia(const up_values *values);
double up_arm_loss(const up_values *values);
double up_arm_stiffness(const up_values *values);
/* Travel, ratio and slope of a point that rises as `radius` times the sine of the arm angle. */
void up_arm_rise(const up_values *values, double radius, double output_angle, up_lift_point *point);

#endif

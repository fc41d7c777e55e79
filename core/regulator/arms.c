#include "core/regulator/arms.h"

#include "core/base/up_math.h"

/* Past this angle an arm pushes the glass against its channels rather than up; no regulator is built to go there. */
static const double STEEPEST = 1.45; /* rad, 83 degrees */

double up_arm_gear(const up_values *values) {
    return values->pinion_teeth / values->sector_teeth;
}

double up_arm_angle(const up_values *values, double output_angle) {
    return values->arm_start + up_arm_gear(values) * output_angle;
}

void up_arm_reach(const up_values *values, double *low, double *high) {
    const double gear = up_arm_gear(values);
    *low = (-STEEPEST - values->arm_start) / gear;
    *high = (STEEPEST - values->arm_start) / gear;
}

double up_arm_inertia(const up_values *values) {
    const double gear = up_arm_gear(values);
    return values->output_inertia + values->sector_inertia * gear * gear;
}

double up_arm_loss(const up_values *values) {
    return values->mesh_loss;
}

double up_arm_stiffness(const up_values *values) {
    return values->regulator_stiffness;
}

void up_arm_rise(const up_values *values, double radius, double output_angle, up_lift_point *point) {
    const double gear = up_arm_gear(values);
    const double angle = up_arm_angle(values, output_angle);
    const double sine = up_sin(angle);
    point->travel = radius * (sine - up_sin(values->arm_start));
    point->ratio = radius * gear * up_cos(angle);
    point->ratio_slope = -radius * gear * gear * sine;
}

/* The pinion drives a toothed rack or tape in a track. */
#include "core/regulator/straight.h"

static double radius(const up_values *values) {
    return 0.5 * values->pinion_module * values->pinion_teeth;
}

static void lift(const up_values *values, double output_angle, up_lift_point *point) {
    point->travel = radius(values) * output_angle;
    point->ratio = radius(values);
    point->ratio_slope = 0.0;
    point->lever = values->glass_offset;
    point->rail_tilt = 0.0;
}

static void reach(const up_values *values, double *low, double *high) {
    up_straight_reach(values, radius(values), low, high);
}

static double inertia(const up_values *values) {
    return values->output_inertia;
}

static double loss(const up_values *values) {
    return values->mesh_loss;
}

static double stiffness(const up_values *values) {
    return values->regulator_stiffness;
}

const up_regulator up_regulator_rack = {UP_FAMILY_RACK,          lift, reach, inertia, loss, stiffness,
                                        up_straight_balance_gear};

/* A drum winds the cable that pulls the glass carrier up one rail, or two. Guides and sleeves brake the pulling cable by
 * the capstan law, tension out = tension in times exp(friction times angle turned). */
#include "core/base/up_math.h"
#include "core/regulator/straight.h"

static double radius(const up_values *values) {
    return 0.5 * values->drum_diameter;
}

static void lift(const up_values *values, double output_angle, up_lift_point *point) {
    point->travel = radius(values) * output_angle;
    point->ratio = radius(values);
    point->ratio_slope = 0.0;
    point->lever = values->cable_rails == 0 ? values->glass_offset : 0.0;
    point->rail_tilt = 0.0;
}

static void reach(const up_values *values, double *low, double *high) {
    up_straight_reach(values, radius(values), low, high);
}

static double inertia(const up_values *values) {
    return values->output_inertia;
}

static double loss(const up_values *values) {
    return values->mesh_loss + (up_exp(values->cable_friction * values->cable_wrap) - 1.0);
}

static double stiffness(const up_values *values) {
    return 1.0 / (1.0 / values->regulator_stiffness + values->cable_length / values->cable_area_modulus);
}

const up_regulator up_regulator_cable = {UP_FAMILY_CABLE,         lift, reach, inertia, loss, stiffness,
                                         up_straight_balance_gear};

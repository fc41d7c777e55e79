/* One lift arm with a roller in a level slide on the glass; the channels keep the glass upright. The roller, and with it
 * the lifting force, wanders sideways as the arm turns. */
#include "core/base/up_math.h"
#include "core/regulator/arms.h"

static void lift(const up_values *values, double output_angle, up_lift_point *point) {
    up_arm_rise(values, values->arm_length, output_angle, point);
    const double middle =
        up_asin(up_clamp(up_sin(values->arm_start) + 0.5 * values->glass_travel / values->arm_length, -1.0, 1.0));
    point->lever =
        values->glass_offset + values->arm_length * (up_cos(up_arm_angle(values, output_angle)) - up_cos(middle));
    point->rail_tilt = 0.0;
}

const up_regulator up_regulator_single_arm = {
    UP_FAMILY_SINGLE_ARM, lift, up_arm_reach, up_arm_inertia, up_arm_loss, up_arm_stiffness, up_arm_gear};

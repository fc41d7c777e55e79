/* A lift arm and an equaliser arm bolted together where they cross. The equaliser's lower roller runs in a level rail on
 * the door, its upper roller in the rail under the glass, as the lift arm's does; the glass follows the mean of the two.
 *
 * Crossing bolt at height p sin(a) above the main pivot; lower roller level with the door rail, h below the pivot, so
 * sin(equaliser) = (p sin(a) + h) / lower; upper roller at p sin(a) + upper sin(equaliser). Both rises are multiples of
 * sin(a); a rail that is not cut to length tilts the glass. */
#include "core/base/up_math.h"
#include "core/regulator/arms.h"

static void lift(const up_values *values, double output_angle, up_lift_point *point) {
    const double share = values->equaliser_upper / values->equaliser_lower;
    const double equaliser_radius = values->equaliser_pivot * (1.0 + share);
    up_arm_rise(values, 0.5 * (values->arm_length + equaliser_radius), output_angle, point);

    const double angle = up_arm_angle(values, output_angle);
    const double sine = up_sin(angle);
    const double equaliser_sine =
        up_clamp((values->equaliser_pivot * sine + values->equaliser_rail) / values->equaliser_lower, -1.0, 1.0);
    const double lift_height = values->arm_length * sine;
    const double equaliser_height = values->equaliser_pivot * sine + values->equaliser_upper * equaliser_sine;
    const double cosine = up_cos(angle);
    const double equaliser_cosine = up_sqrt(1.0 - equaliser_sine * equaliser_sine);
    const double apart =
        (values->arm_length - values->equaliser_pivot) * cosine + values->equaliser_upper * equaliser_cosine;
    point->rail_tilt = up_atan2(lift_height - equaliser_height, apart);
    point->lever = values->glass_offset;
}

const up_regulator up_regulator_crossed_arms = {
    UP_FAMILY_CROSSED_ARMS, lift, up_arm_reach, up_arm_inertia, up_arm_loss, up_arm_stiffness, up_arm_gear};

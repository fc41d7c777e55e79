#include "core/parts/worm.h"

#include "core/base/up_math.h"

#define FEET_PER_MINUTE 196.85039370078740 /* in one m/s */

double up_worm_lead_angle(double starts, double axial_module, double pitch_diameter) {
    return up_atan(starts * axial_module / pitch_diameter);
}

/* Both efficiencies are written with tan(lambda) only, so that lambda = 0 gives 0 and not a division by zero. */
double up_worm_efficiency_driving(double lead_angle, double pressure_angle, double friction) {
    double slope = up_tan(lead_angle);
    double cosine = up_cos(pressure_angle);
    double lost = friction * slope;
    if (slope <= 0) {
        return 0;
    }
    return slope * (cosine - lost) / (cosine * slope + friction);
}

double up_worm_efficiency_driven(double lead_angle, double pressure_angle, double friction) {
    double slope = up_tan(lead_angle);
    double cosine = up_cos(pressure_angle);
    return (cosine * slope - friction) / (slope * (cosine + friction * slope));
}

double up_worm_locking_friction(double lead_angle, double pressure_angle) {
    return up_cos(pressure_angle) * up_tan(lead_angle);
}

double up_worm_locking_lead_angle(double pressure_angle, double friction) {
    return up_atan(friction / up_cos(pressure_angle));
}

double up_worm_largest_lead_angle(double pressure_angle) {
    const double degree = UP_PI / 180.0;
    const double angle = up_clamp(pressure_angle / degree, 14.5, 30.0);
    return degree * (angle < 20.0 ? 16.0 + 9.0 * (angle - 14.5) / 5.5 : 25.0 + 2.0 * (angle - 20.0));
}

double up_worm_sliding_speed(double worm_speed, double pitch_diameter, double lead_angle) {
    return up_abs(worm_speed) * 0.5 * pitch_diameter / up_cos(lead_angle);
}

double up_worm_friction_at(double sliding_speed, double running, double at_rest, double speed) {
    double share = sliding_speed / speed;
    return running + (at_rest - running) / (1.0 + share * share);
}

double up_worm_friction_steel_on_bronze(double sliding_speed) {
    double v = up_abs(sliding_speed) * FEET_PER_MINUTE;
    if (v <= 0) {
        return 0.150;
    }
    if (v <= 10.0) {
        return 0.124 * up_exp(-0.074 * up_pow(v, 0.645));
    }
    return 0.103 * up_exp(-0.110 * up_pow(v, 0.450)) + 0.012;
}

#include "core/parts/damper.h"

#include "core/base/up_math.h"

double up_damper_windup(double torque, double stiffness, double limit, double limit_stiffness) {
    const double load = up_abs(torque);
    const double at_limit = stiffness * limit;
    if (load <= at_limit) {
        return load / stiffness;
    }
    return limit + (load - at_limit) / (stiffness + limit_stiffness);
}

#include "core/regulator/regulator.h"

#include <stddef.h>

#include "core/base/up_math.h"

static const up_regulator *const families[UP_FAMILY_COUNT] = {&up_regulator_single_arm, &up_regulator_crossed_arms,
                                                              &up_regulator_cable, &up_regulator_rack};

const up_regulator *up_regulator_of(int family) {
    return family >= 0 && family < UP_FAMILY_COUNT ? families[family] : NULL;
}

double up_regulator_angle(const up_regulator *regulator, const up_values *values, double travel) {
    double low;
    double high;
    regulator->reach(values, &low, &high);
    double angle = 0.5 * (low + high);
    for (int i = 0; i < 200; i++) {
        up_lift_point point;
        regulator->lift(values, angle, &point);
        const double miss = travel - point.travel;
        if (miss > 0) {
            low = angle;
        } else {
            high = angle;
        }
        const double newton = angle + miss / point.ratio;
        if (up_abs(newton - angle) < 1e-14 * (1.0 + up_abs(angle))) {
            return newton; /* the last bit: between here and the next number, halving would wander fifty times */
        }
        const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
        if (next == angle || !(high > low)) {
            break;
        }
        angle = next;
    }
    return angle;
}

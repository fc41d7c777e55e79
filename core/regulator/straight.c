#include "core/regulator/straight.h"

void up_straight_reach(const up_values *values, double radius, double *low, double *high) {
    const double margin = 0.2; /* m, beyond either stop: nothing in the mechanism ends there */
    *low = -margin / radius;
    *high = (values->glass_travel + margin) / radius;
}

double up_straight_balance_gear(const up_values *values) {
    (void)values;
    return 1.0;
}

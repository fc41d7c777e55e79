#include "core/parts/wire.h"

#include "core/base/up_math.h"

double up_wire_resistance(double length, double area, double temperature) {
    return UP_COPPER_RESISTIVITY * length / area * up_copper_factor(temperature, UP_COPPER_COEFFICIENT);
}

double up_awg_area(double gauge) {
    double diameter = 0.127e-3 * up_pow(92.0, (36.0 - gauge) / 39.0);
    return 0.25 * UP_PI * diameter * diameter;
}

double up_copper_factor(double temperature, double coefficient) {
    return up_max(1.0 + coefficient * (temperature - UP_ROOM_TEMPERATURE), 0.0);
}

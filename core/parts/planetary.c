#include "core/parts/planetary.h"

#include <math.h>

#include "core/base/up_math.h"

double up_willis_speed(double ratio, double speed_b, double carrier_speed) {
    return carrier_speed + ratio * (speed_b - carrier_speed);
}

double up_planetary_carrier_turns(double sun_teeth, double ring_teeth) {
    return 1.0 / (1.0 + ring_teeth / sun_teeth);
}

int up_planetary_assembly(double sun_teeth, double planet_teeth, double ring_teeth, double planets) {
    int in_the_way = UP_PLANETARY_FITS;
    double share = (sun_teeth + ring_teeth) / planets;
    if (up_abs(ring_teeth - sun_teeth - 2.0 * planet_teeth) > 1e-9) {
        in_the_way |= UP_PLANETARY_RING_SIZE;
    }
    if (up_abs(share - floor(share + 0.5)) > 1e-9) {
        in_the_way |= UP_PLANETARY_SPACING;
    }
    /* In modules: planet axes lie (sun + planet) / 2 from the centre, tips reach (planet + 2) / 2 from their axis. */
    if (planets > 1.5 && (sun_teeth + planet_teeth) * up_sin(UP_PI / planets) <= planet_teeth + 2.0) {
        in_the_way |= UP_PLANETARY_CROWDED;
    }
    return in_the_way;
}

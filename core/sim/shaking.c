#include "core/sim/shaking.h"

#include <stddef.h>

static int between(double x, double low, double high) {
    return x >= low && x <= high;
}

int up_shaking_makes_sense(const up_shaking *s) {
    if (!(s->count >= 1 && s->count <= UP_SHAKING_MAX && between(s->spacing, UP_SHAKING_SPACING_LEAST, 1e3) &&
          between(s->start, -1e6, 1e6) && s->push != NULL && s->press != NULL)) {
        return 0;
    }
    int good = 1;
    for (int k = 0; k < s->count; k++) {
        good &= between(s->push[k], -1e5, 1e5) && between(s->press[k], 0.0, 1e5);
    }
    return good;
}

double up_shaking_longest_step(const up_world *world, double time) {
    const up_shaking *s = world->shaking;
    if (s == NULL || time >= s->start + (s->count + 1) * s->spacing) {
        return 1e300;
    }
    const double begins = s->start - 2.0 * s->spacing;
    return up_max(begins - time, 0.0) + UP_SHAKING_STEP * s->spacing;
}

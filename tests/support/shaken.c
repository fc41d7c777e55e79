#include "tests/support/shaken.h"

#include <math.h>
#include <stddef.h>

#include "core/base/counter_random.h"

static double unit(uint64_t seed, uint64_t index, uint64_t which) {
    return up_random_unit(seed ^ 0x5a4e, index, which);
}

void shaken_draw(shaken *s, uint64_t seed, uint64_t index) {
    const int count = 1 + (int)(SHAKEN_VALUES * unit(seed, index, 0));
    const double push = 50 * unit(seed, index, 1), press = 50 * unit(seed, index, 2);
    const double spacing = 0.002 * pow(30, unit(seed, index, 3));
    const double start = -0.1 + 2.1 * unit(seed, index, 4);
    s->shaking = (up_shaking){start, spacing, count, s->push, s->press};
    for (int k = 0; k < count; k++) {
        const uint64_t place = 10 + 2 * (uint64_t)k;
        s->push[k] = push * up_random_normal(seed ^ 0x5a4e, index, place);
        s->press[k] = press * fabs(up_random_normal(seed ^ 0x5a4e, index, place + 1));
    }
}

void shaken_draw_run(shaken *s, uint64_t seed, uint64_t index, up_run_options *options) {
    shaken_draw(s, seed, index);
    options->shaking = unit(seed, index, 5) < 1.0 / 7.0 ? NULL : &s->shaking;
    options->rod_tilt_share = fmax(0.0, 2.0 * unit(seed, index, 6) - 1.0);
}

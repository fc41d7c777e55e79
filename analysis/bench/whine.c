#include "analysis/bench/whine.h"

#include <math.h>

#include "analysis/bench/brushes.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"

enum { STREAM_HISS = 1300, STREAM_PHASE };

void up_whine_begin(up_whine *whine, const up_values *values, uint64_t seed) {
    *whine = (up_whine){.humps = up_ripple_humps(values),
                        .starts = values->worm_starts,
                        .full_speed = values->supply_voltage / values->torque_constant,
                        .seed = seed};
    up_noise_begin(&whine->hiss, seed, STREAM_HISS);
}

static double tone(const up_whine *whine, double orders, double turn, uint64_t place) {
    const double angle = orders * turn + up_random_unit(whine->seed, STREAM_PHASE, place);
    return up_sin(2 * UP_PI * (angle - floor(angle)));
}

void up_whine_at(up_whine *whine, double armature_angle, double armature_speed, double factor) {
    const double turns = armature_angle / (2 * UP_PI), turn = turns - floor(turns);
    const double pace = up_min(up_abs(armature_speed) / whine->full_speed, 1.5);
    double sum = 0.16 * tone(whine, whine->humps, turn, 0) + 0.06 * tone(whine, 2 * whine->humps, turn, 1);
    sum += 0.10 * tone(whine, whine->starts, turn, 2) + 0.05 * tone(whine, 2 * whine->starts, turn, 3);
    const double hiss = 0.02 * up_noise_next(&whine->hiss);
    whine->now = up_clamp(pace * factor * (sum + hiss) + 0.003 * hiss, -1, 1);
}

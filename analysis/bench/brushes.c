#include "analysis/bench/brushes.h"

#include <math.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* Streams of the recording's seed; instruments have theirs below these. */
enum { STREAM_CONTACT = 1000, STREAM_BOUNCE, STREAM_BOUNCE_PLACE, STREAM_BOUNCE_DEPTH, STREAM_PHASE };

#define CONTACT_CORNER 1000.0 /* Hz                                                                              */
#define FADE_SPEED 10.0       /* rad/s                                                                           */
#define BOUNCE_WIDTH 0.02     /* of a turn: 0.4 ms at 3000 rpm                                                     */
#define SECOND_BRUSH 0.6      /* a dead segment under the other brushes: they never bed alike                       */
#define BRUSH_COVER \
    0.75 /* of a segment's pitch on either side, from where the brush begins to touch it to its middle */

int up_ripple_humps(const up_values *values) {
    const int segments = (int)values->segments, poles = (int)values->poles;
    int a = segments, b = poles;
    while (b != 0) {
        const int rest = a % b;
        a = b;
        b = rest;
    }
    return a > 0 ? segments / a * poles : 0;
}

static double part_of_turn(double turns) {
    return turns - floor(turns);
}

static double line(double amplitude, double orders, double turn, double phase) {
    if (!(amplitude > 0)) {
        return 0;
    }
    return amplitude * up_sin(2 * UP_PI * part_of_turn(orders * turn + phase));
}

/* Half waves squared, one for each brush: 1 where the first brush stands in the middle of the dead segment. */
static double dead_pattern(const up_values *values, int segment, double turn) {
    const int brushes = (int)values->poles;
    const double half_width = BRUSH_COVER / values->segments;
    double sum = 0;
    for (int b = 0; b < brushes; b++) {
        const double place = part_of_turn(turn - segment / values->segments - (double)b / brushes + 0.5) - 0.5;
        if (place > -half_width && place < half_width) {
            const double wave = up_cos(0.5 * UP_PI * place / half_width);
            sum += (b == 0 ? 1 : SECOND_BRUSH) * wave * wave;
        }
    }
    return up_min(sum, 1);
}

double up_dead_share(const up_values *values) {
    enum { CELLS = 720 };
    double sum = 0;
    for (int i = 0; i < CELLS; i++) {
        sum += dead_pattern(values, 0, (i + 0.5) / CELLS);
    }
    return sum / CELLS;
}

/* At most one bounce a turn, anywhere in it. */
static double bounce(const up_brushes *brushes, double turns, uint64_t seed) {
    const double whole = floor(turns), into = turns - whole;
    const uint64_t number = (uint64_t)(int64_t)whole;
    if (!(up_random_unit(seed, STREAM_BOUNCE, number) < brushes->bounce_chance)) {
        return 0;
    }
    const double begins = up_random_unit(seed, STREAM_BOUNCE_PLACE, number) * (1 - BOUNCE_WIDTH);
    const double depth = 2 * brushes->bounce_depth * up_random_unit(seed, STREAM_BOUNCE_DEPTH, number);
    return into >= begins && into < begins + BOUNCE_WIDTH ? up_min(depth, 1) : 0;
}

static double contact_noise(up_brush_state *state) {
    const double fresh = up_noise_next(&state->fresh);
    state->noise = state->kept * state->noise + up_sqrt(1 - state->kept * state->kept) * fresh;
    return state->brushes->noise * state->noise;
}

void up_brushes_begin(up_brush_state *state, const up_brushes *brushes, const up_values *values, double interval,
                      uint64_t seed) {
    *state = (up_brush_state){.brushes = brushes, .values = values, .seed = seed};
    up_noise_begin(&state->fresh, seed, STREAM_CONTACT);
    state->humps = up_ripple_humps(values);
    for (uint64_t i = 0; i < 4; i++) {
        state->phase[i] = up_random_unit(seed, STREAM_PHASE, i);
    }
    state->kept = up_exp(-2 * UP_PI * CONTACT_CORNER * interval);
    state->dead_mean = brushes->dead_depth > 0 ? 1 - brushes->dead_depth * up_dead_share(values) : 1;
}

double up_ripple_left(double armature_speed) {
    const double pace = armature_speed * armature_speed;
    return pace / (pace + FADE_SPEED * FADE_SPEED);
}

double up_brush_factor(up_brush_state *state, double armature_angle, double left) {
    const up_brushes *brushes = state->brushes;
    const double turns = armature_angle / (2 * UP_PI), turn = part_of_turn(turns);
    const double humps = state->humps, *phase = state->phase;
    double lines = line(brushes->shaft_order, 1, turn, phase[0]);
    lines += line(brushes->second_order, 2, turn, phase[1]);
    /* half and third of the ripple need not be whole orders of the turn: two and three turns are one period of them */
    lines += line(brushes->half_line, humps, part_of_turn(turns / 2), phase[2]);
    lines += line(brushes->third_line, humps, part_of_turn(turns / 3), phase[3]);
    double factor = 1 + left * lines;
    if (brushes->noise > 0) {
        factor += contact_noise(state);
    }
    if (brushes->dead_depth > 0) {
        const double lost = brushes->dead_depth * dead_pattern(state->values, brushes->dead_segment, turn);
        factor *= (1 - lost) / state->dead_mean;
    }
    if (brushes->bounce_chance > 0) {
        factor *= 1 - bounce(brushes, turns, state->seed);
    }
    return up_max(factor, 0);
}

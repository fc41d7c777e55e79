/* No squeeze is softer than the motion energy allows.
 *
 * Lower bounds on the peak force on the rod, from mechanics alone: what moves when the glass meets the rod has to be taken
 * up by something. Where nothing eats it and one heavy mass moves, F = sqrt(2 E k), k of everything elastic in series.
 * With losses, what neither was eaten nor is stored elsewhere lies in the rod. The glass alone, pushed and not pulled by
 * the regulator, has to be stopped by rod, weight and friction. Random doors; they are invented. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/base/counter_random.h"
#include "core/sim/run_state.h"
#include "tests/support/workbench.h"

enum {
    SEED = 52,
#ifdef UPSTOP_SANITIZED
    DOORS = 40
#else
    DOORS = 150
#endif
};

/* ---- nothing eats it --------------------------------------------------------------------------------------------- */

static double log_between(double low, double high, uint64_t index, uint64_t place) {
    return low * pow(high / low, up_random_unit(SEED, index, place));
}

typedef struct coast {
    workbench bench;
    double peak; /* N */
} coast;

static void watch_rod(void *context, const up_run_state *run) {
    coast *c = context;
    c->peak = fmax(c->peak, fmax(run->span.middle.rod_force, run->span.loads1.rod_force));
}

/* Armature, drum and glass coast onto a rod through damper and regulator; all of it elastic. */
static void coasting_drives_squeeze_with_all_their_energy(void **state) {
    (void)state;
    for (uint64_t i = 0; i < 60; i++) {
        static coast c;
        memset(&c, 0, sizeof c);
        bare_door(&c.bench);
        up_door *d = &c.bench.door;
        const double ratio = bare_ratio(d), speed = log_between(0.03, 0.3, i, 0);
        const double rod = log_between(5e3, 1e5, i, 1), regulator = log_between(1e4, 1e6, i, 2);
        const double damper = log_between(1e4, 1e6, i, 3); /* N/m at the glass */
        const double gear = d->worm_ratio / ratio, armature = log_between(1e-6, 1e-4, i, 4);
        bare_glass(d, 0.01 * armature * gear * gear); /* light beside what drives it */
        bare_output(d, 1e-3 * armature * d->worm_ratio * d->worm_ratio);
        bare_motor(d, 1, 1e-3, 0.02, armature, 0);
        bare_regulator(d, regulator, 0);
        d->damper_half_play = 0;
        d->damper_limit = d->damper_down_stop = 1e6;
        d->damper_up = d->damper_down = damper * ratio * ratio;
        d->damper_damping = 0;
        up_run_state *run = &c.bench.run;
        double *y = run->motion.y;
        y[UP_GLASS_SPEED] = speed;
        y[UP_OUTPUT_SPEED] = speed / ratio;
        y[UP_ARMATURE_SPEED] = speed * gear;
        y[UP_OUTPUT_ANGLE] = y[UP_TRAVEL] / ratio;
        y[UP_ARMATURE_ANGLE] = y[UP_TRAVEL] * gear;
        for (int body = 0; body < UP_BODIES; body++) {
            run->motion.modes.slip[body] = 1;
        }
        run->motion.modes.damper = UP_DAMPER_UP;
        run->world.rod = 1;
        run->world.rod_travel = y[UP_TRAVEL] + 0.001;
        run->world.rod_stiffness = rod;
        const double energy =
            0.5 * (armature * gear * gear + d->output_inertia / (ratio * ratio) + d->mass) * speed * speed;
        const double series = 1 / (1 / rod + 1 / regulator + 1 / damper);
        const double least = sqrt(2 * energy * series);
        const double quarter = 0.5 * 3.14159265358979 * sqrt(2 * energy / (speed * speed) / series);
        c.bench.span = watch_rod;
        c.bench.context = &c;
        workbench_start(&c.bench, 1e-7);
        workbench_run(&c.bench, 0.001 / speed + 1.3 * quarter);
        if (!(c.peak >= 0.995 * least && c.peak <= 1.2 * least)) {
            fail_msg("drive %d: peak %.6g N, motion energy alone %.6g N", (int)i, c.peak, least);
        }
    }
}

/* ---- random doors -------------------------------------------------------------------------------------------------- */

typedef struct squeeze {
    up_values values;
    up_door door;
    up_run_options options;
    up_outcome outcome;
    double touch_speed; /* m/s */
} squeeze;

static void note_speed(void *context, const up_event *event) {
    squeeze *s = context;
    if (event->kind == UP_EVENT_ROD_TOUCHED && isnan(s->touch_speed)) {
        s->touch_speed = event->speed;
    }
}

/* 1: a raising that meets its rod. */
static int squeezed(uint64_t index, squeeze *s) {
    if (up_random_door(SEED, index, &s->values) != UP_OK || up_door_prepare(&s->values, 293.15, &s->door) != UP_OK) {
        return 0;
    }
    up_run_options_default(&s->options);
    s->options.rod = 1;
    s->options.rod_opening = log_between(0.004, 0.2, index, 5);
    s->options.rod_stiffness = log_between(5e3, 2e5, index, 6);
    s->options.tolerance = 1e-7;
    s->touch_speed = UP_ABSENT;
    const up_sink sink = {.context = s, .event = note_speed};
    assert_int_equal(up_run(&s->door, &s->options, &sink, &s->outcome, NULL), UP_OK);
    return !up_is_absent(s->outcome.rod_touch_time);
}

static double series_of(const squeeze *s) {
    return 1 / (1 / s->options.rod_stiffness + 1 / s->door.panel_stiffness);
}

/* The books when the clock stands at `time`. */
static void books_at(const squeeze *s, double time, double ledger[UP_LEDGER_COUNT]) {
    up_run_options o = s->options;
    up_outcome outcome;
    o.time_limit = time;
    assert_int_equal(up_run(&s->door, &o, NULL, &outcome, NULL), UP_OK);
    memcpy(ledger, outcome.ledger, sizeof outcome.ledger);
}

/* J: motion energy at contact and what was drawn since, less what was eaten, lifted or stored elsewhere by `time`. */
static double left_for_the_rod(const squeeze *s, double time) {
    double at_contact[UP_LEDGER_COUNT], then[UP_LEDGER_COUNT];
    books_at(s, s->outcome.rod_touch_time, at_contact);
    books_at(s, time, then);
    double left = then[UP_LEDGER_drawn] - at_contact[UP_LEDGER_drawn];
    for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_COUNT; n++) {
        left -= n == UP_LEDGER_spring_rod ? 0 : then[n] - at_contact[n];
    }
    return left;
}

static void what_is_not_eaten_squeezes(void **state) {
    (void)state;
    int tried = 0;
    double best = 0;
    for (uint64_t index = 0; tried < DOORS; index++) {
        static squeeze s;
        if (!squeezed(index, &s)) {
            continue;
        }
        tried++;
        const double share = up_random_unit(SEED, index, 7);
        const double time =
            s.outcome.rod_touch_time + (0.3 + share) * (s.outcome.peak_rod_time - s.outcome.rod_touch_time);
        const double left = left_for_the_rod(&s, time);
        const double least = left > 0 ? sqrt(2 * left * series_of(&s)) : 0;
        if (!(s.outcome.peak_rod_force >= 0.998 * least - 0.2)) {
            fail_msg("door %d: peak %.6g N, but %.6g J were left for the rod: %.6g N", (int)index,
                     s.outcome.peak_rod_force, left, least);
        }
        best = fmax(best, least / s.outcome.peak_rod_force);
    }
    assert_true(best > 0.99); /* and somewhere the bound is as good as reached */
}

static void the_glass_alone_squeezes(void **state) {
    (void)state;
    int tried = 0;
    double best = 0;
    for (uint64_t index = 0; tried < DOORS; index++) {
        static squeeze s;
        if (!squeezed(index, &s)) {
            continue;
        }
        tried++;
        const up_values *v = &s.values;
        const up_door *d = &s.door;
        double drag = 0;
        for (int i = 0; i <= 500; i++) {
            drag = fmax(drag, up_glass_drag(d, d->travel * i / 500, NULL));
        }
        const double header = d->header_stiffness * (v->header_depth + 0.01);
        const double against = 9.81 * d->mass + drag * (1 + d->static_extra) +
                               header * (1 + d->header_friction * (1 + d->static_extra)) + d->viscous * s.touch_speed;
        const double speed = s.touch_speed, k = series_of(&s);
        const double least = sqrt(against * against + d->mass * speed * speed * k) - against;
        if (!(s.outcome.peak_rod_force >= least)) {
            fail_msg("door %d: peak %.6g N, the glass alone %.6g N", (int)index, s.outcome.peak_rod_force, least);
        }
        best = fmax(best, least / s.outcome.peak_rod_force);
    }
    assert_true(best > 0.1);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(coasting_drives_squeeze_with_all_their_energy),
                                       cmocka_unit_test(what_is_not_eaten_squeezes),
                                       cmocka_unit_test(the_glass_alone_squeezes)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

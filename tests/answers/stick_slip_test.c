/* Friction that sticks and slips: the glass as a block on a spring whose other end is dragged at a constant speed.
 *
 * Exact solution, worked out here from Newton's law; m mass, k spring, V dragging speed, Fc friction while sliding, Fs at
 * rest, D = Fs - Fc, w = sqrt(k/m). The block breaks away when the spring pulls with Fs. With t from there, m x'' + k x = D
 * + k V t, so
 *
 *     x = V t - V/w sin wt + D/k (1 - cos wt),    v = V (1 - cos wt) + D w/k sin wt.
 *
 * v is zero again at wt = 2 (pi - atan a), a = D / (V sqrt(k m)); the spring then pulls with Fc - D, and the block rests for
 * 2 D / (k V) until it pulls with Fs again. Slip length V t_slip + 2 D/k, top speed V (1 + sqrt(1 + a^2)).
 *
 * The figures of the LuGre model at the end are not ours to reach: that model bends before it slips and remembers, ours
 * does not. They are compared where both must agree, and the differences are stated. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/support/workbench.h"

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

enum { SLIPS_MAX = 16 };

typedef struct drag {
    workbench bench;
    double mass, spring, speed, running, at_rest;
    double start[SLIPS_MAX], start_force[SLIPS_MAX], start_place[SLIPS_MAX];
    double stop[SLIPS_MAX], stop_force[SLIPS_MAX], stop_place[SLIPS_MAX];
    double top_speed, worst_place, worst_speed;
    int starts, stops;
} drag;

static double spring_force(const drag *d) {
    const double *y = d->bench.run.motion.y;
    return d->spring * (bare_ratio(&d->bench.door) * y[UP_OUTPUT_ANGLE] - y[UP_TRAVEL]);
}

static void note(void *context, up_event_kind kind) {
    drag *d = context;
    const up_motion *m = &d->bench.run.motion;
    if (kind == UP_EVENT_GLASS_STARTS && d->starts < SLIPS_MAX) {
        d->start[d->starts] = m->time;
        d->start_force[d->starts] = spring_force(d);
        d->start_place[d->starts] = m->y[UP_TRAVEL];
        d->starts++;
    } else if (kind == UP_EVENT_GLASS_STOPS && d->stops < SLIPS_MAX) {
        d->stop[d->stops] = m->time;
        d->stop_force[d->stops] = spring_force(d);
        d->stop_place[d->stops] = m->y[UP_TRAVEL];
        d->stops++;
    }
}

/* While it slides: how far the end of each span is off the exact curve. */
static void follow(void *context, const up_run_state *run) {
    drag *d = context;
    const double v = run->span.y1[UP_GLASS_SPEED];
    d->top_speed = fmax(d->top_speed, fmax(v, run->span.y_middle[UP_GLASS_SPEED]));
    if (run->motion.modes.slip[UP_GLASS] != 1 || d->starts == 0) {
        return;
    }
    const double excess = d->at_rest - d->running, w = sqrt(d->spring / d->mass);
    const double t = run->span.start + run->span.length - d->start[d->starts - 1];
    const double place = d->speed * t - d->speed / w * sin(w * t) + excess / d->spring * (1 - cos(w * t));
    const double speed = d->speed * (1 - cos(w * t)) + excess * w / d->spring * sin(w * t);
    d->worst_place = fmax(d->worst_place, fabs(run->span.y1[UP_TRAVEL] - d->start_place[d->starts - 1] - place));
    d->worst_speed = fmax(d->worst_speed, fabs(v - speed));
}

/* friction_speed: where half the static excess is gone; viscous in N s/m. */
static void put(drag *d, double friction_speed, double viscous) {
    workbench *bench = &d->bench;
    bare_door(bench);
    bare_glass(&bench->door, d->mass);
    bare_regulator(&bench->door, d->spring, 0);
    bare_output(&bench->door, 1e15); /* drags on whatever pulls at it */
    bare_glass_friction(&bench->door, d->running, d->at_rest / d->running - 1, friction_speed, viscous);
    double *y = bench->run.motion.y;
    y[UP_OUTPUT_ANGLE] = y[UP_TRAVEL] / bare_ratio(&bench->door);
    y[UP_OUTPUT_SPEED] = d->speed / bare_ratio(&bench->door);
    bench->run.motion.modes.slip[UP_OUTPUT] = 1;
    bench->told = note;
    bench->span = follow;
    bench->context = d;
    d->starts = d->stops = 0;
    d->top_speed = d->worst_place = d->worst_speed = 0;
}

static void check_against_the_exact_solution(drag *d) {
    const double excess = d->at_rest - d->running;
    const double w = sqrt(d->spring / d->mass), a = excess / (d->speed * sqrt(d->spring * d->mass));
    const double slip = 2 * (acos(-1) - atan(a)) / w, rest = 2 * excess / (d->spring * d->speed);
    /* Half the excess is gone at 0.1 um/s. Getting there takes some 1e-4 of a slip, longer as the power 2/3 of that speed
     * (measured: a start 4.7 times as late for ten times the speed), and that is how exact this can be. */
    put(d, 1e-7, 0);
    workbench_start(&d->bench, 1e-9);
    workbench_run(&d->bench, d->at_rest / (d->spring * d->speed) + 5.5 * (slip + rest));
    assert_true(d->starts >= 5 && d->stops >= 5);
    near(d->start[0], d->at_rest / (d->spring * d->speed), 1e-6 * (slip + rest));
    for (int i = 0; i < 5; i++) {
        near(d->start_force[i], d->at_rest, 1e-6 * d->at_rest);
        near(d->stop_force[i], d->running - excess, 2e-4 * d->at_rest);
        near(d->stop[i] - d->start[i], slip, 5e-4 * slip);
        near(d->stop_place[i] - d->start_place[i], d->speed * slip + 2 * excess / d->spring,
             5e-4 * (d->speed * slip + 2 * excess / d->spring));
        if (i > 0) {
            near(d->start[i] - d->start[i - 1], slip + rest, 1e-4 * (slip + rest));
        }
    }
    near(d->top_speed, d->speed * (1 + sqrt(1 + a * a)), 1e-3 * d->top_speed);
    near(d->worst_place, 0, 5e-4 * (d->speed * slip + 2 * excess / d->spring));
    near(d->worst_speed, 0, 2e-3 * d->top_speed);
}

static void a_dragged_block_follows_the_exact_solution(void **state) {
    (void)state;
    static drag d;
    /* a glass on a slack cable; the same ten times faster; barely more friction at rest; twice the friction at rest */
    static const double row[][5] = {
        {3.6, 3e3, 0.01, 40, 50}, {3.6, 3e3, 0.1, 40, 50}, {5, 2e4, 0.02, 60, 61}, {1, 400, 0.05, 5, 10}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        d.mass = row[i][0], d.spring = row[i][1], d.speed = row[i][2], d.running = row[i][3], d.at_rest = row[i][4];
        check_against_the_exact_solution(&d);
    }
}

/* Without excess at rest, the block slides on for good after one start: x and v from the same solution with D = 0, which
 * touches v = 0 once a period and never rests (the touching is where a finder of events could go wrong). */
static void without_excess_it_never_stops_for_long(void **state) {
    (void)state;
    static drag d;
    d.mass = 3.6, d.spring = 3e3, d.speed = 0.02, d.running = 40, d.at_rest = 40;
    put(&d, 1, 0);
    workbench_start(&d.bench, 1e-9);
    const double w = sqrt(d.spring / d.mass), t0 = 40 / (d.spring * d.speed);
    workbench_run(&d.bench, t0 + 5.3);
    const double x = d.speed * 5.3 - d.speed / w * sin(w * 5.3);
    near(d.bench.run.motion.y[UP_TRAVEL] - 1, x, 2e-6);
}

/* ---- at rest --------------------------------------------------------------------------------------------------------- */

/* Coulomb: a force below the friction at rest moves nothing, however long; one above it moves at once, either way. */
static void a_push_moves_it_exactly_from_the_static_force_on(void **state) {
    (void)state;
    for (int way = -1; way <= 1; way += 2) {
        for (int above = 0; above < 2; above++) {
            static workbench bench;
            bare_door(&bench);
            bare_glass(&bench.door, 3.6);
            bare_glass_friction(&bench.door, 40, 0.25, 0.008, 0);
            bench.run.world.push = way * 50 * (above ? 1 + 1e-6 : 1 - 1e-6);
            bench.run.motion.modes.slip[UP_GLASS] = 0;
            workbench_start(&bench, 1e-6);
            workbench_run(&bench, above ? 4 : 1000);
            const double moved = bench.run.motion.y[UP_TRAVEL] - 1;
            if (above) {
                assert_true(way * moved > 1e-4);
                near(workbench_ledger_gap(&bench) / bench.outcome.ledger[UP_LEDGER_pushed], 0, 1e-7);
            } else {
                assert_true(moved == 0 && bench.run.motion.y[UP_GLASS_SPEED] == 0);
            }
        }
    }
}

typedef struct armature_start {
    workbench bench;
    double time;
} armature_start;

static void note_armature(void *context, up_event_kind kind) {
    armature_start *a = context;
    if (kind == UP_EVENT_ARMATURE_STARTS) {
        a->time = a->bench.run.motion.time;
    }
}

/* A motor held by dry friction T while its current rises as V/R (1 - exp(-t R/L)) starts when K i = T, so after
 * -L/R ln(1 - T R / (K V)) (first-order circuit, any textbook). */
static void a_motor_breaks_away_when_its_current_suffices(void **state) {
    (void)state;
    const double r = 0.4, l = 0.35e-3, k = 0.024, volts = 12;
    for (int i = 1; i < 10; i++) {
        static armature_start a;
        const double friction = 0.1 * i * k * volts / r;
        bare_door(&a.bench);
        bare_motor(&a.bench.door, r, l, k, 1.5e-5, 0);
        a.bench.door.motor_friction = friction;
        a.bench.run.world.open_voltage = volts;
        a.bench.run.motion.modes.bridge = UP_BRIDGE_RAISE;
        a.bench.told = note_armature;
        a.bench.context = &a;
        a.time = -1;
        workbench_start(&a.bench, 1e-8);
        workbench_run(&a.bench, 0.01);
        near(a.time, -l / r * log(1 - 0.1 * i), 2e-7);
    }
}

/* ---- the published LuGre figures ---------------------------------------------------------------------------------------- */

/* C. Canudas de Wit, H. Olsson, K. J. Astrom, P. Lischinsky, "A new model for control of systems with friction", IEEE
 * Trans. Automatic Control 40 (1995) 419, Table I, as repeated in a public source file that names it (read): Fc 1 N, Fs
 * 1.5 N, vs 0.001 m/s, sigma2 0.4 N s/m, mass 1 kg; spring 2 N/m pulled at 0.1 m/s. The results beside them were computed
 * for that model outside this project. */
static const double LUGRE_FC = 1, LUGRE_FS = 1.5, LUGRE_VS = 0.001, LUGRE_SIGMA2 = 0.4;

static double our_steady_friction(double speed) {
    static workbench bench;
    up_loads loads;
    bare_door(&bench);
    bare_glass_friction(&bench.door, LUGRE_FC, LUGRE_FS / LUGRE_FC - 1, LUGRE_VS, LUGRE_SIGMA2);
    bench.run.motion.modes.slip[UP_GLASS] = 1;
    bench.run.motion.y[UP_GLASS_SPEED] = speed;
    up_loads_at(&bench.door, &bench.run.world, &bench.run.motion.modes, &bench.run.motion.heat, 0.0, bench.run.motion.y,
                &loads);
    return loads.glass_friction;
}

/* Steady friction over speed: both laws start at Fs and end at Fc + sigma2 v. Between, theirs falls as exp(-(v/vs)^2), ours
 * as 1 / (1 + (v/vs)^2), which is slower: at most 0.10 N of the 0.5 N apart, at 2 vs. */
static void steady_friction_agrees_slow_and_fast_and_differs_between(void **state) {
    (void)state;
    near(our_steady_friction(0.1), 1.040000, 1e-4);
    near(our_steady_friction(1e-4), 1.495065, 3e-5);
    near(our_steady_friction(5e-3), 1.002000, 0.02);
    near(our_steady_friction(1e-3), 1.184340 + 0.0661, 1e-3); /* a half of 0.5 N left, theirs 1/e */
    near(our_steady_friction(2e-3), 1.009958 + 0.0908, 1e-3); /* a fifth left, theirs exp(-4)     */
    for (double v = 1e-5; v < 0.1; v *= 1.1) {
        const double theirs =
            LUGRE_FC + (LUGRE_FS - LUGRE_FC) * exp(-(v / LUGRE_VS) * (v / LUGRE_VS)) + LUGRE_SIGMA2 * v;
        const double apart = our_steady_friction(v) - theirs;
        assert_true(apart > -1e-12 && apart < 0.102);
    }
}

/* Break-away under a ramp of 1 to 30 N/s. Theirs falls from 1.4324 to 1.0245 N as the ramp gets faster, since its bristles
 * have no time; ours is 1.5 N at every rate and cannot show that. Slow ramps are where both meet: 5 % apart at 1 N/s. */
static void break_away_does_not_know_the_rate(void **state) {
    (void)state;
    static const double rate[] = {1, 2, 5, 10, 30}, theirs[] = {1.4324, 1.3944, 1.3132, 1.2200, 1.0245};
    for (int i = 0; i < 5; i++) {
        static drag d;
        d.mass = 1, d.spring = 1e4, d.speed = rate[i] / 1e4, d.running = LUGRE_FC, d.at_rest = LUGRE_FS;
        put(&d, LUGRE_VS, LUGRE_SIGMA2);
        workbench_start(&d.bench, 1e-8);
        workbench_run(&d.bench, 1.6 / rate[i]);
        assert_true(d.starts >= 1);
        near(d.start_force[0], LUGRE_FS, 1e-6);
        assert_true(d.start_force[0] > theirs[i]);
        if (i == 0) {
            near(d.start_force[0], theirs[i], 0.05 * LUGRE_FS);
        }
    }
}

/* Stick-slip on the spring of 2 N/m at 0.1 m/s: theirs breaks away at 7.458 s and 1.4912 N; period 6.3627 s, slip 0.6361 m
 * in 2.805 s, top speed 0.3698 m/s, spring force after it 0.780 N. Ours, with the slower fall of the static excess, comes
 * within 3 % of all of them. (Its slips are counted from first to last motion, theirs between 0.01 and 0.001 m/s.) */
static void stick_slip_comes_close_to_the_lugre_model(void **state) {
    (void)state;
    static drag d;
    d.mass = 1, d.spring = 2, d.speed = 0.1, d.running = LUGRE_FC, d.at_rest = LUGRE_FS;
    put(&d, LUGRE_VS, LUGRE_SIGMA2);
    workbench_start(&d.bench, 1e-8);
    workbench_run(&d.bench, 40);
    assert_true(d.starts >= 5 && d.stops >= 5);
    print_message("start %.4f s at %.4f N, period %.4f s, slip %.4f m in %.4f s, top %.4f m/s, after %.4f N\n",
                  d.start[0], d.start_force[0], d.start[3] - d.start[2], d.stop_place[2] - d.start_place[2],
                  d.stop[2] - d.start[2], d.top_speed, d.stop_force[2]);
    near(d.start[0], 7.458, 0.03 * 7.458);
    near(d.start_force[0], 1.4912, 0.03 * 1.4912);
    near(d.start[3] - d.start[2], 6.3627, 0.03 * 6.3627);
    near(d.stop_place[2] - d.start_place[2], 0.6361, 0.03 * 0.6361);
    near(d.top_speed, 0.3698, 0.035 * 0.3698);
    near(d.stop_force[2], 0.780, 0.03 * 0.780);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dragged_block_follows_the_exact_solution),
        cmocka_unit_test(without_excess_it_never_stops_for_long),
        cmocka_unit_test(a_push_moves_it_exactly_from_the_static_force_on),
        cmocka_unit_test(a_motor_breaks_away_when_its_current_suffices),
        cmocka_unit_test(steady_friction_agrees_slow_and_fast_and_differs_between),
        cmocka_unit_test(break_away_does_not_know_the_rate),
        cmocka_unit_test(stick_slip_comes_close_to_the_lugre_model),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The integrator: its order measured, and the partial derivatives it uses against differences of the loads. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/base/counter_random.h"
#include "core/sim/run_state.h"
#include "tests/support/shaken.h"
#include "tests/support/workbench.h"

/* What counts as one in each state; order and slopes are judged in these units. */
static const double SCALE[UP_STATES] = {10, 300, 4, 0.1, 5, 0.05, 0.005, 10};

/* ---- order ----------------------------------------------------------------------------------------------------------- */

typedef struct scene {
    up_door door;
    up_world world;
    up_modes modes;
    up_heat heat, heat_rate;
    double time;
    double y[UP_STATES];
    shaken shaken;
} scene;

static void shake(scene *s, uint64_t index) {
    shaken_draw(&s->shaken, 31, index);
    s->world.shaking = &s->shaken.shaking;
    s->world.per_shaking = 1 / s->shaken.shaking.spacing;
}

/* A door in full motion: everything slides one way, the damper is wound up, nothing is near a change. */
static void put_in_motion(scene *s, up_family family) {
    up_values values;
    up_values_fallback(family, &values);
    assert_int_equal(up_door_prepare(&values, 293.15, &s->door), UP_OK);
    s->world = (up_world){.open_voltage = 12.6};
    s->modes = (up_modes){.bridge = UP_BRIDGE_RAISE, .slip = {1, 1, 1}, .damper = UP_DAMPER_UP, .lift_sign = 1};
    s->heat = (up_heat){330, 300, 310};
    s->heat_rate = (up_heat){40, 2, 5}; /* faster than real, so that the temperatures' share of the order shows */
    const double travel = 0.45 * values.glass_travel;
    const double angle = up_regulator_angle(s->door.regulator, &values, travel + 0.003);
    const double windup = s->door.damper_half_play + 1.5 / s->door.damper_up;
    const double armature_speed = 320, output_speed = armature_speed * s->door.per_worm_ratio;
    up_lift_point lift;
    up_lift(&s->door, angle, &lift);
    const double y[UP_STATES] = {8,
                                 armature_speed,
                                 output_speed * 1.02,
                                 output_speed * lift.ratio,
                                 (angle + windup) * s->door.worm_ratio,
                                 angle,
                                 travel,
                                 6};
    memcpy(s->y, y, sizeof y);
}

static void integrate(const scene *s, double length, int steps, double end[UP_STATES]) {
    const double h = length / steps;
    memcpy(end, s->y, sizeof s->y);
    for (int i = 0; i < steps; i++) {
        up_loads loads;
        up_slopes slopes;
        double y1[UP_STATES], error[UP_STATES];
        up_piece piece = {&s->door, &s->world, &s->modes, s->heat, s->heat_rate, s->time + i * h};
        piece.heat = up_heat_after(&piece, i * h);
        up_loads_at(&s->door, &s->world, &s->modes, &piece.heat, piece.time, end, &loads);
        up_slopes_at(&piece, end, &loads, &slopes);
        up_step(&piece, &slopes, end, &loads, h, y1, error);
        memcpy(end, y1, sizeof y1);
    }
}

static double distance(const double a[UP_STATES], const double b[UP_STATES]) {
    double sum = 0;
    for (int n = 0; n < UP_STATES; n++) {
        const double part = (a[n] - b[n]) / SCALE[n];
        sum += part * part;
    }
    return sqrt(sum / UP_STATES);
}

/* A method of order 4 loses a factor of 16 in error when the step is halved (definition of the order; Hairer, Norsett,
 * Wanner, Solving Ordinary Differential Equations I, II.3, from memory). Measured against the same method with steps 16
 * times shorter than the shortest compared. */
static void halving_the_step_divides_the_error_by_sixteen(void **state) {
    (void)state;
    /* Long enough that rounding does not show, short enough that the highest power of the step does not either. */
    static const int coarsest[UP_FAMILY_COUNT] = {50, 50, 100, 25};
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        static scene s;
        double exact[UP_STATES], coarse[UP_STATES], middle[UP_STATES], fine[UP_STATES];
        put_in_motion(&s, (up_family)family);
        const double length = 0.02;
        const int steps = coarsest[family];
        integrate(&s, length, 4 * 16 * steps, exact);
        integrate(&s, length, steps, coarse);
        integrate(&s, length, 2 * steps, middle);
        integrate(&s, length, 4 * steps, fine);
        const double order_1 = log2(distance(coarse, exact) / distance(middle, exact));
        const double order_2 = log2(distance(middle, exact) / distance(fine, exact));
        print_message("family %d: errors %.3g %.3g %.3g, order %.2f and %.2f\n", family, distance(coarse, exact),
                      distance(middle, exact), distance(fine, exact), order_1, order_2);
        assert_true(order_1 > 3.7 && order_1 < 4.5);
        assert_true(order_2 > 3.7 && order_2 < 4.5);
    }
}

/* ---- the coefficients, to rounding ------------------------------------------------------------------------------------ */

/* The current's filter is f' = -f/T when no current flows: one step multiplies by the method's stability function, which
 * for order 4 is exp(z) up to a multiple of z^5. A coefficient wrong in its tenth digit would show. */
static void the_stability_function_is_exp_to_fourth_order(void **state) {
    (void)state;
    static workbench bench;
    bare_door(&bench);
    bench.run.motion.y[UP_FILTERED] = 1;
    for (double z = 1e-4; z < 0.5; z *= 2) {
        up_loads loads;
        up_slopes slopes;
        double y1[UP_STATES], error[UP_STATES];
        const up_motion *m = &bench.run.motion;
        const up_piece piece = {&bench.door, &bench.run.world, &m->modes, m->heat, {0, 0, 0}, m->time};
        up_loads_at(&bench.door, &bench.run.world, &m->modes, &m->heat, m->time, m->y, &loads);
        up_slopes_at(&piece, m->y, &loads, &slopes);
        up_step(&piece, &slopes, m->y, &loads, z / bench.door.per_current_filter, y1, error);
        assert_true(fabs(y1[UP_FILTERED] - exp(-z)) < 2e-3 * pow(z, 5) + 1e-15);
    }
}

static void power_of_angle(const void *context, double at, up_table_point *point) {
    const double *p = context; /* exponent and scale */
    point->value = p[1] * pow(at, p[0]);
    point->slope = p[1] * (p[0] > 0 ? p[0] * pow(at, p[0] - 1) : 0);
    point->bend = p[1] * (p[0] > 1 ? p[0] * (p[0] - 1) * pow(at, p[0] - 2) : 0);
}

/* Output turning evenly, a regulator whose end moves as a power of its angle on a very soft spring: the glass is pushed by a
 * pure power of time, and its speed after one step is that power's integral by the method's quadrature, which for order 4
 * has to be exact up to the cube. It is so up to the fourth power, so no place of a stage is mistyped; the fifth is not. */
static void powers_of_time_up_to_the_fourth_are_integrated_exactly(void **state) {
    (void)state;
    for (int exponent = 0; exponent <= 5; exponent++) {
        static workbench bench;
        const double soft = 1e-13, law[2] = {exponent, 1 / soft};
        bare_door(&bench);
        bare_glass(&bench.door, 1);
        bare_regulator(&bench.door, soft, 0);
        bare_output(&bench.door, 1e30);
        up_table_make(&bench.door.lift, 0.5, 2.5, power_of_angle, law);
        up_motion *m = &bench.run.motion;
        m->modes.slip[UP_OUTPUT] = m->modes.slip[UP_GLASS] = 1;
        m->y[UP_OUTPUT_ANGLE] = 1;
        m->y[UP_OUTPUT_SPEED] = 1;
        m->y[UP_GLASS_SPEED] = 0;
        up_loads loads;
        up_slopes slopes;
        double y1[UP_STATES], error[UP_STATES];
        const up_piece piece = {&bench.door, &bench.run.world, &m->modes, m->heat, {0, 0, 0}, m->time};
        up_loads_at(&bench.door, &bench.run.world, &m->modes, &m->heat, m->time, m->y, &loads);
        up_slopes_at(&piece, m->y, &loads, &slopes);
        up_step(&piece, &slopes, m->y, &loads, 0.7, y1, error);
        const double exact = (pow(1.7, exponent + 1) - 1) / (exponent + 1);
        const double off = fabs(y1[UP_GLASS_SPEED] - exact);
        print_message("power %d: off by %.2g of %.3g\n", exponent, off, exact);
        assert_true(exponent < 5 ? off < 1e-12 * exact : off > 1e-6);
    }
}

/* The estimate beside each step is of the size of what the step really errs by, and shrinks as fast: the embedded method
 * has order 3, so halving the step divides it by 16. */
static void the_error_estimate_follows_the_error(void **state) {
    (void)state;
    static scene s;
    put_in_motion(&s, UP_FAMILY_CROSSED_ARMS);
    double estimate[2];
    for (int i = 0; i < 2; i++) {
        const double h = 2e-4 / (1 << i);
        double y1[UP_STATES], error[UP_STATES], exact[UP_STATES], zero[UP_STATES] = {0};
        up_loads loads;
        up_slopes slopes;
        const up_piece piece = {&s.door, &s.world, &s.modes, s.heat, s.heat_rate, s.time};
        up_loads_at(&s.door, &s.world, &s.modes, &s.heat, s.time, s.y, &loads);
        up_slopes_at(&piece, s.y, &loads, &slopes);
        up_step(&piece, &slopes, s.y, &loads, h, y1, error);
        integrate(&s, h, 256, exact);
        estimate[i] = distance(error, zero);
        assert_true(distance(y1, exact) < estimate[i]);
    }
    const double order = log2(estimate[0] / estimate[1]);
    assert_true(order > 3.3 && order < 4.7);
}

/* The adaptive stepper: a tolerance ten times smaller gives a smaller error, whatever it costs. */
static void a_smaller_tolerance_gives_a_smaller_error(void **state) {
    (void)state;
    up_values values;
    static up_door door;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &values);
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    double travel[6];
    uint64_t steps[6];
    for (int i = 0; i < 6; i++) {
        up_run_options options;
        up_outcome outcome;
        up_run_counts counts;
        up_run_options_default(&options);
        options.leads_direct = 1;
        options.switch_step[0].position = UP_SWITCH_RAISE_HELD;
        options.time_limit = 1.5;
        options.tolerance = pow(10, -4 - i);
        assert_int_equal(up_run(&door, &options, NULL, &outcome, &counts), UP_OK);
        travel[i] = outcome.final_travel;
        steps[i] = counts.steps;
    }
    for (int i = 0; i < 4; i++) {
        const double error = fabs(travel[i] - travel[5]);
        print_message("tolerance 1e%d: travel errs by %.3g m, %d steps\n", -4 - i, error, (int)steps[i]);
        assert_true(error < 2e-2 * pow(10, -4 - i));
        assert_true(steps[i + 1] > steps[i]);
    }
}

/* ---- partial derivatives ------------------------------------------------------------------------------------------------ */

static void matrix_of(const up_slopes *s, double m[UP_STATES][UP_STATES]) {
    memset(m, 0, sizeof(double[UP_STATES][UP_STATES]));
    m[UP_CURRENT][UP_CURRENT] = s->current_by_current;
    m[UP_CURRENT][UP_ARMATURE_SPEED] = s->current_by_armature;
    m[UP_ARMATURE_SPEED][UP_CURRENT] = s->armature_by_current;
    m[UP_ARMATURE_SPEED][UP_ARMATURE_SPEED] = s->armature_by_armature;
    m[UP_ARMATURE_SPEED][UP_OUTPUT_SPEED] = s->armature_by_output;
    m[UP_ARMATURE_SPEED][UP_ARMATURE_ANGLE] = s->armature_by_armature_angle;
    m[UP_ARMATURE_SPEED][UP_OUTPUT_ANGLE] = s->armature_by_output_angle;
    m[UP_OUTPUT_SPEED][UP_ARMATURE_SPEED] = s->output_by_armature;
    m[UP_OUTPUT_SPEED][UP_OUTPUT_SPEED] = s->output_by_output;
    m[UP_OUTPUT_SPEED][UP_GLASS_SPEED] = s->output_by_glass;
    m[UP_OUTPUT_SPEED][UP_ARMATURE_ANGLE] = s->output_by_armature_angle;
    m[UP_OUTPUT_SPEED][UP_OUTPUT_ANGLE] = s->output_by_output_angle;
    m[UP_OUTPUT_SPEED][UP_TRAVEL] = s->output_by_travel;
    m[UP_GLASS_SPEED][UP_OUTPUT_SPEED] = s->glass_by_output;
    m[UP_GLASS_SPEED][UP_GLASS_SPEED] = s->glass_by_glass;
    m[UP_GLASS_SPEED][UP_OUTPUT_ANGLE] = s->glass_by_output_angle;
    m[UP_GLASS_SPEED][UP_TRAVEL] = s->glass_by_travel;
    m[UP_ARMATURE_ANGLE][UP_ARMATURE_SPEED] = 1;
    m[UP_OUTPUT_ANGLE][UP_OUTPUT_SPEED] = 1;
    m[UP_TRAVEL][UP_GLASS_SPEED] = 1;
    m[UP_FILTERED][UP_CURRENT] = s->filter;
    m[UP_FILTERED][UP_FILTERED] = -s->filter;
}

static double unit(uint64_t index, uint64_t which, double low, double high) {
    return low + (high - low) * up_random_unit(31, which, index);
}

static int one_of(uint64_t index, uint64_t which, int count) {
    return (int)(up_random_unit(31, which, index) * count);
}

/* Any state in any combination of regimes, as far as the regimes fit together. */
static void random_scene(uint64_t index, scene *s) {
    up_values values;
    assert_int_equal(up_random_door(31, index, &values), UP_OK);
    const double temperature = unit(index, 1, 233, 343);
    assert_int_equal(up_door_prepare(&values, temperature, &s->door), UP_OK);
    s->world = (up_world){.open_voltage = unit(index, 2, 6, 15),
                          .push = unit(index, 3, -100, 100),
                          .rod_travel = 0.5 * values.glass_travel,
                          .rod_stiffness = 2e4,
                          .rod_tilt_share = unit(index, 28, 0, 1),
                          .rod = 1};
    shake(s, index);
    s->time = s->shaken.shaking.start + s->shaken.shaking.spacing * (one_of(index, 29, s->shaken.shaking.count + 5) -
                                                                     3 + unit(index, 30, 0.1, 0.9));
    s->heat = (up_heat){unit(index, 4, 250, 420), unit(index, 5, 250, 380), unit(index, 6, 250, 420)};
    s->heat_rate = (up_heat){unit(index, 7, -50, 50), unit(index, 8, -5, 5), unit(index, 9, -50, 50)};
    up_modes *m = &s->modes;
    m->bridge = (up_bridge)one_of(index, 10, 4);
    for (int body = 0; body < UP_BODIES; body++) {
        m->slip[body] = one_of(index, 11 + (uint64_t)body, 3) - 1;
    }
    m->damper = (up_damper_regime)one_of(index, 14, 5);
    m->header = one_of(index, 15, 2);
    m->rod = one_of(index, 16, 2);
    m->up_stop = one_of(index, 17, 2);
    m->down_stop = one_of(index, 18, 2);
    m->limit = UP_LIMIT_BEFORE;
    m->tripped = s->door.protection != UP_PROTECTION_NONE && one_of(index, 19, 4) == 0;

    const double travel = unit(index, 20, 0.02, 0.98) * values.glass_travel;
    const double angle = up_regulator_angle(s->door.regulator, &values, travel) + unit(index, 21, -0.02, 0.02);
    const double half_play = s->door.damper_half_play, limit = s->door.damper_limit;
    const double places[] = {0.5 * half_play, 0.5 * (half_play + limit), 1.1 * limit, -0.5 * (half_play + limit),
                             -1.1 * limit};
    const double windup = places[m->damper] * unit(index, 22, 0.9, 1.1);
    const double armature = unit(index, 23, 0.5, 400), output = unit(index, 24, 0.05, 6),
                 glass = unit(index, 25, 1e-3, 0.2);
    const double y[UP_STATES] = {unit(index, 26, -20, 20),
                                 m->slip[UP_ARMATURE] * armature,
                                 m->slip[UP_OUTPUT] * output,
                                 m->slip[UP_GLASS] * glass,
                                 (angle + windup) * s->door.worm_ratio,
                                 angle,
                                 travel,
                                 unit(index, 27, -20, 20)};
    memcpy(s->y, y, sizeof y);
    m->lift_sign = 1;
    up_loads loads;
    up_loads_at(&s->door, &s->world, m, &s->heat, s->time, s->y, &loads);
    m->lift_sign = loads.lift_force < 0 ? -1 : 1;
}

static void rates_at(const scene *s, int moved, double by, double rate[UP_STATES], up_loads *loads) {
    double y[UP_STATES];
    memcpy(y, s->y, sizeof y);
    y[moved] += by;
    up_loads_at(&s->door, &s->world, &s->modes, &s->heat, s->time, y, loads);
    memcpy(rate, loads->rate, sizeof loads->rate);
}

/* Central differences with two spacings, extrapolated (Richardson; any text on numerical differentiation). */
static int difference(const scene *s, int moved, double by, double slope[UP_STATES], double noise[UP_STATES]) {
    double up[UP_STATES], down[UP_STATES], near_up[UP_STATES], near_down[UP_STATES];
    up_loads above, below, between;
    rates_at(s, moved, by, up, &above);
    rates_at(s, moved, -by, down, &below);
    rates_at(s, moved, 0.5 * by, near_up, &between);
    rates_at(s, moved, -0.5 * by, near_down, &between);
    if (!(above.lift_force * below.lift_force > 0) || above.damper_torque * below.damper_torque < 0) {
        return 0; /* friction turns over where its load does: a change of regime, with no slope */
    }
    for (int n = 0; n < UP_STATES; n++) {
        const double wide = (up[n] - down[n]) / (2 * by), narrow = (near_up[n] - near_down[n]) / by;
        slope[n] = narrow + (narrow - wide) / 3;
        noise[n] = (fabs(up[n]) + fabs(down[n])) * 1e-14 / by + fabs(narrow - wide) * 0.1;
    }
    return 1;
}

static void check_scene(uint64_t index, double *worst, int *left_out) {
    static const double by[UP_STATES] = {1e-3, 1e-2, 1e-4, 1e-6, 1e-4, 1e-6, 1e-7, 1e-3};
    static scene s;
    random_scene(index, &s);
    up_loads loads;
    up_slopes slopes;
    double m[UP_STATES][UP_STATES];
    const up_piece piece = {&s.door, &s.world, &s.modes, s.heat, s.heat_rate, s.time};
    up_loads_at(&s.door, &s.world, &s.modes, &s.heat, s.time, s.y, &loads);
    up_slopes_at(&piece, s.y, &loads, &slopes);
    matrix_of(&slopes, m);
    for (int k = 0; k < UP_STATES; k++) {
        double slope[UP_STATES], noise[UP_STATES];
        if (!difference(&s, k, by[k], slope, noise)) {
            (*left_out)++;
            continue;
        }
        for (int n = 0; n < UP_STATES; n++) {
            const double miss = fabs(slope[n] - m[n][k]);
            const double within = 1e-6 * fabs(m[n][k]) + 1e-7 * SCALE[n] / SCALE[k] + noise[n];
            *worst = fmax(*worst, miss / within);
            if (miss > within) {
                fail_msg("state %d: d rate[%d] / d y[%d] is %.10g, differences give %.10g", (int)index, n, k, m[n][k],
                         slope[n]);
            }
        }
    }
}

/* Nothing outside is needed: a derivative is what differences tend to. 4000 random states of 4000 random doors, all
 * combinations of bridge, sticking, damper side, contacts and protector that come up. */
static void slopes_are_the_derivatives_of_the_loads_in_all_regimes(void **state) {
    (void)state;
    double worst = 0;
    int left_out = 0;
    for (uint64_t index = 0; index < 4000; index++) {
        check_scene(index, &worst, &left_out);
    }
    print_message("largest difference %.3g of what was allowed; %d columns of 32000 left out\n", worst, left_out);
    assert_true(left_out < 320);
}

/* The same for the change with time through the temperatures, which run on straight inside a step, and through what shakes
 * the door. */
static void slopes_by_time_are_those_of_temperatures_and_shaking(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 500; index++) {
        static scene s;
        random_scene(index, &s);
        up_loads loads, later, earlier;
        up_slopes slopes;
        const up_piece piece = {&s.door, &s.world, &s.modes, s.heat, s.heat_rate, s.time};
        up_loads_at(&s.door, &s.world, &s.modes, &s.heat, s.time, s.y, &loads);
        up_slopes_at(&piece, s.y, &loads, &slopes);
        const double by = 1e-2 * s.shaken.shaking.spacing; /* stays inside a cell */
        double found[2][UP_STATES];
        for (int half = 0; half < 2; half++) {
            const double apart = half ? 0.5 * by : by;
            const up_heat after = up_heat_after(&piece, apart), before = up_heat_after(&piece, -apart);
            up_loads_at(&s.door, &s.world, &s.modes, &after, s.time + apart, s.y, &later);
            up_loads_at(&s.door, &s.world, &s.modes, &before, s.time - apart, s.y, &earlier);
            for (int n = 0; n < UP_STATES; n++) {
                found[half][n] = (later.rate[n] - earlier.rate[n]) / (2 * apart);
            }
        }
        for (int n = 0; n < UP_STATES; n++) {
            const double wanted = n == UP_CURRENT          ? slopes.current_by_time
                                  : n == UP_ARMATURE_SPEED ? slopes.armature_by_time
                                  : n == UP_GLASS_SPEED    ? slopes.glass_by_time
                                                           : 0;
            const double slope = (4 * found[1][n] - found[0][n]) / 3;
            const double rounding = 1e-15 * (fabs(later.rate[n]) + 100 * fabs(s.time) / s.shaken.shaking.spacing) / by;
            const double within = 1e-7 * fabs(wanted) + 1e-10 * fabs(loads.rate[n]) + 1e-9 * SCALE[n] + 10 * rounding;
            if (!(fabs(slope - wanted) <= within)) {
                fail_msg("state %d: d rate[%d] / dt is %.10g, differences give %.10g", (int)index, n, wanted, slope);
            }
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(halving_the_step_divides_the_error_by_sixteen),
        cmocka_unit_test(the_stability_function_is_exp_to_fourth_order),
        cmocka_unit_test(powers_of_time_up_to_the_fourth_are_integrated_exactly),
        cmocka_unit_test(the_error_estimate_follows_the_error),
        cmocka_unit_test(a_smaller_tolerance_gives_a_smaller_error),
        cmocka_unit_test(slopes_are_the_derivatives_of_the_loads_in_all_regimes),
        cmocka_unit_test(slopes_by_time_are_those_of_temperatures_and_shaking),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Series of forces over time: the cubic basis, and what options are refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/sim/loads.h"
#include "core/sim/shaking.h"
#include "tests/support/shaken.h"

static shaken s;
static up_door door;
static up_world world;

/* Forces at a time as the equations of motion get them: push, and the extra drag of a glass that slides up. */
static void forces(double time, double *push, double *press, double *by_time) {
    const up_modes modes = {.bridge = UP_BRIDGE_OPEN, .slip = {0, 0, 1}, .lift_sign = 1};
    const up_heat heat = {293.15, 293.15, 293.15};
    double y[UP_STATES] = {0};
    y[UP_TRAVEL] = 0.1;
    up_loads loads, still;
    up_world quiet = world;
    quiet.shaking = NULL;
    up_loads_at(&door, &world, &modes, &heat, time, y, &loads);
    up_loads_at(&door, &quiet, &modes, &heat, time, y, &still);
    *push = loads.push;
    *press = loads.drag - still.drag;
    *by_time = loads.force_by_time;
}

static void prepare(void) {
    up_values values;
    up_values_fallback(UP_FAMILY_RACK, &values);
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    world = (up_world){.open_voltage = 12.0, .shaking = &s.shaking, .per_shaking = 1 / s.shaking.spacing};
}

/* The basis by its recursion (de Boor's and Cox's; C. de Boor, A Practical Guide to Splines, from memory), knots at whole
 * numbers from -2. */
static double recursion(int order, double first, double at) {
    if (order == 1) {
        return at >= first && at < first + 1;
    }
    return ((at - first) * recursion(order - 1, first, at) +
            (first + order - at) * recursion(order - 1, first + 1, at)) /
           (order - 1);
}

static void it_is_the_sum_of_the_basis_by_its_recursion(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 60; index++) {
        shaken_draw(&s, 3, index);
        s.shaking.count = s.shaking.count % 7 + 1;
        prepare();
        for (int i = -4; i < 60; i++) {
            const double at = -2.5 + 0.21 * i, time = s.shaking.start + at * s.shaking.spacing;
            double push = 0, press = 0, got_push, got_press, by_time;
            for (int k = 0; k < s.shaking.count; k++) {
                push += s.push[k] * recursion(4, k - 2, at);
                press += s.press[k] * recursion(4, k - 2, at);
            }
            forces(time, &got_push, &got_press, &by_time);
            assert_true(fabs(got_push - push) < 1e-10 && fabs(got_press - press) < 1e-10);
            assert_true(got_press >= 0);
        }
    }
}

static void outside_there_is_exactly_nothing(void **state) {
    (void)state;
    shaken_draw(&s, 3, 1);
    prepare();
    const double h = s.shaking.spacing, begins = s.shaking.start - 2 * h, ends = begins + (s.shaking.count + 3) * h;
    const double quiet[] = {begins - 1e6, begins - 10, begins - 1e-9, ends + 1e-9, ends + 10, ends + 1e6};
    for (int i = 0; i < 6; i++) {
        double push, press, by_time;
        forces(quiet[i], &push, &press, &by_time);
        assert_true(push == 0 && press == 0 && by_time == 0);
    }
    double push, press, by_time;
    forces(begins + 0.1 * h, &push, &press, &by_time);
    assert_true(push != 0);
    forces(ends - 0.1 * h, &push, &press, &by_time);
    assert_true(push != 0);
}

/* The derivative by time is what differences tend to, cell borders included, where a cubic of one cell goes over into the
 * next: the second derivative does not jump there. */
static void it_is_smooth_and_its_derivative_is_right(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 60; index++) {
        shaken_draw(&s, 5, index);
        prepare();
        const double h = s.shaking.spacing, by = 1e-3 * h;
        for (int i = -3; i < 30; i++) {
            const double time = s.shaking.start + 0.5 * i * h; /* every second one a border */
            double push[3], press[3], slope[3];
            for (int k = 0; k < 3; k++) {
                forces(time + (k - 1) * by, &push[k], &press[k], &slope[k]);
            }
            const double stribeck = 1 + door.static_extra;
            const double wanted = (push[2] - push[0] - stribeck * (press[2] - press[0])) / (2 * by);
            assert_true(fabs(slope[1] - wanted) < 1e-5 * 500 / h);
            assert_true(fabs(slope[2] - 2 * slope[1] + slope[0]) < 1e-3 * 500 / h * 10); /* no jump of the second */
        }
    }
}

static up_status run_with(const up_shaking *shaking, double share) {
    up_run_options options;
    up_outcome outcome;
    up_run_options_default(&options);
    options.time_limit = 0.01;
    options.shaking = shaking;
    options.rod_tilt_share = share;
    return up_run(&door, &options, NULL, &outcome, NULL);
}

static void nonsense_is_refused(void **state) {
    (void)state;
    shaken_draw(&s, 3, 2);
    prepare();
    const double inf = (double)INFINITY, nan = (double)NAN;
    const up_shaking good = s.shaking;
    assert_int_equal(run_with(&good, 0), UP_OK);
    assert_int_equal(run_with(NULL, 2), UP_OK);
    static const double bad_share[] = {-1e-9, 2.000001, (double)INFINITY, (double)NAN};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(run_with(NULL, bad_share[i]), UP_BAD_OPTION);
    }
    const up_shaking bad[] = {
        {good.start, good.spacing, 0, good.push, good.press},
        {good.start, good.spacing, -1, good.push, good.press},
        {good.start, good.spacing, UP_SHAKING_MAX + 1, good.push, good.press},
        {good.start, 0, 1, good.push, good.press},
        {good.start, 0.99e-4, 1, good.push, good.press},
        {good.start, -0.01, 1, good.push, good.press},
        {good.start, nan, 1, good.push, good.press},
        {good.start, inf, 1, good.push, good.press},
        {nan, good.spacing, 1, good.push, good.press},
        {-inf, good.spacing, 1, good.push, good.press},
        {good.start, good.spacing, 1, NULL, good.press},
        {good.start, good.spacing, 1, good.push, NULL},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(run_with(&bad[i], 0), UP_BAD_OPTION);
    }
    double *const where[] = {&s.push[good.count - 1], &s.press[good.count / 2], &s.press[0], &s.push[0]};
    const double what[] = {nan, -1e-300, inf, 1.1e5};
    for (int i = 0; i < 4; i++) {
        const double before = *where[i];
        *where[i] = what[i];
        assert_int_equal(run_with(&good, 0), UP_BAD_OPTION);
        *where[i] = before;
        assert_int_equal(run_with(&good, 0), UP_OK);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_the_sum_of_the_basis_by_its_recursion),
        cmocka_unit_test(outside_there_is_exactly_nothing),
        cmocka_unit_test(it_is_smooth_and_its_derivative_is_right),
        cmocka_unit_test(nonsense_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

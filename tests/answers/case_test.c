/* How numbers are drawn for a campaign: against closed forms, and against the draws of spread.h. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/case.h"
#include "analysis/normals.h"
#include "analysis/spread.h"
#include "core/base/counter_random.h"

static up_known typical(up_family family) {
    up_known known;
    memset(&known, 0, sizeof known);
    up_values_fallback(family, &known.values);
    up_values_fallback_spread(family, known.spread);
    return known;
}

/* Source: a normal distribution cut off on both sides at a standard deviations has the variance
 * 1 - 2 a f(a) / (2 F(a) - 1), f and F its density and distribution (NIST/SEMATECH e-Handbook gives the density of the cut-off
 * normal; the integral is elementary). */
static void cut_off_draws_have_the_variance_of_the_cut_off_normal(void **state) {
    (void)state;
    const up_known known = typical(UP_FAMILY_CROSSED_ARMS);
    up_draw draw;
    assert_true(up_draw_prepare(&known, UP_NUMBER_torque_constant, &draw));
    const double a = 1.5 * 1.96;
    const double density = exp(-0.5 * a * a) / sqrt(2 * acos(-1)), inside = erf(a / sqrt(2));
    const double variance = 1 - 2 * a * density / inside;
    double square = 0;
    const int points = 100000; /* middle points of even parts of the distribution */
    for (int i = 0; i < points; i++) {
        const double z = (up_draw_value(&draw, (i + 0.5) / points) - draw.value) / draw.deviation;
        square += z * z / points;
        assert_true(fabs(z) <= a + 1e-12);
    }
    assert_true(fabs(square - variance) < 1e-4 * variance);
    assert_true(fabs(draw.deviation - known.spread[UP_NUMBER_torque_constant] / 1.96) < 1e-15);
    assert_true(fabs(up_draw_value(&draw, 0.5) - draw.value) < 1e-12 * draw.value);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The same distribution as up_known_draw's, which throws away and draws anew. Source of the bound: Smirnov's two-sample
 * statistic passes c sqrt(2 / n) with a chance of 2 exp(-2 c^2): c = 2.2 for 1 in 8000. */
static void draws_are_those_of_the_spread(void **state) {
    (void)state;
    enum { DRAWS = 4000 };
    static double here[DRAWS], there[DRAWS];
    static const up_number numbers[] = {UP_NUMBER_torque_constant, UP_NUMBER_worm_friction, UP_NUMBER_sector_teeth,
                                        UP_NUMBER_regulator_damping, UP_NUMBER_motor_viscous};
    const up_known known = typical(UP_FAMILY_CROSSED_ARMS);
    for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++) {
        up_draw draw;
        assert_true(up_draw_prepare(&known, numbers[k], &draw));
        for (int i = 0; i < DRAWS; i++) {
            up_values door;
            here[i] = up_draw_value(&draw, up_normal_below(up_random_normal(5, 1, (uint64_t)i)));
            assert_int_equal(up_known_draw(&known, 9, (uint64_t)i + 1, &door), UP_OK);
            there[i] = door.number[numbers[k]];
        }
        qsort(here, DRAWS, sizeof *here, by_size);
        qsort(there, DRAWS, sizeof *there, by_size);
        double apart = 0;
        for (int i = 0, j = 0; i < DRAWS && j < DRAWS;) {
            const double x = here[i] < there[j] ? here[i] : there[j];
            while (i < DRAWS && here[i] <= x) {
                i++;
            }
            while (j < DRAWS && there[j] <= x) {
                j++;
            }
            apart = fmax(apart, fabs((double)(i - j)) / DRAWS);
        }
        assert_true(apart < 2.2 * sqrt(2.0 / DRAWS));
    }
}

static void a_draw_rises_with_its_number_and_counts_are_whole(void **state) {
    (void)state;
    const up_known known = typical(UP_FAMILY_SINGLE_ARM);
    int varying = 0;
    for (int n = 0; n < UP_CASE_ENTRIES_MAX; n++) {
        up_draw draw;
        if (!up_draw_prepare(&known, (up_number)n, &draw)) {
            continue;
        }
        double low, high, before = -INFINITY;
        varying++;
        up_number_bounds((up_number)n, &low, &high);
        for (int i = 0; i <= 200; i++) {
            const double value = up_draw_value(&draw, up_normal_below(-8 + 0.08 * i));
            assert_true(value >= before && value >= low && value <= high);
            assert_true(!draw.whole || value == floor(value));
            before = value;
        }
        assert_true(before > up_draw_value(&draw, 1e-9)); /* it does move */
    }
    assert_true(varying > 30);
}

/* What is fixed in the plan is fixed in the case, what is drawn lies in its range, evenly. */
static void the_plan_holds(void **state) {
    (void)state;
    enum { CASES = 2000 };
    static up_case made;
    static up_case_maker maker;
    const up_known known = typical(UP_FAMILY_CABLE);
    up_plan plan;
    up_plan_default(&plan);
    plan.temperature_low = 260;
    plan.temperature_high = 300;
    plan.wear_low = plan.wear_high = 0.25;
    plan.driving_share = 0.3;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_OK);
    double *const z = malloc((size_t)maker.numbers * sizeof *z);
    assert_non_null(z);
    double sum = 0;
    int driving = 0, slammed = 0;
    for (int i = 0; i < CASES; i++) {
        assert_int_equal(up_case_draw(&maker, 3, (uint64_t)i + 1, NULL, z, &made), UP_OK);
        const double temperature = made.drawn[UP_DRAWN_temperature];
        assert_true(temperature >= 260 && temperature <= 300 && temperature == made.options.temperature);
        assert_true(made.drawn[UP_DRAWN_wear] == 0.25);
        assert_true(made.options.rod == 0);
        sum += temperature;
        driving += !up_is_absent(made.drawn[UP_DRAWN_vehicle_speed]);
        slammed += !up_is_absent(made.drawn[UP_DRAWN_slam_peak]);
    }
    free(z);
    /* Even over 40 K: standard deviation 40 / sqrt(12); a binomial share: sqrt(p (1 - p) / n); four of them. */
    assert_true(fabs(sum / CASES - 280) < 4 * 40 / sqrt(12.0 * CASES));
    assert_true(fabs((double)driving / CASES - 0.3) < 4 * sqrt(0.3 * 0.7 / CASES));
    assert_true(fabs((double)slammed / CASES - 0.02) < 4 * sqrt(0.02 * 0.98 / CASES));
}

static void a_case_is_a_function_of_its_vector(void **state) {
    (void)state;
    static up_case one, other;
    static up_case_maker maker;
    const up_known known = typical(UP_FAMILY_CROSSED_ARMS);
    up_plan plan;
    up_plan_default(&plan);
    plan.driving_share = 1;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_OK);
    double *const z = calloc((size_t)maker.numbers, sizeof *z);
    assert_non_null(z);
    for (uint64_t i = 1; i <= 20; i++) {
        assert_int_equal(up_case_draw(&maker, 7, i, NULL, z, &one), UP_OK);
        assert_int_equal(up_case_make(&maker, z, &other), UP_OK);
        assert_memory_equal(&one.values, &other.values, sizeof one.values);
        assert_memory_equal(one.drawn, other.drawn, sizeof one.drawn);
        assert_int_equal(one.shaking.count, other.shaking.count);
        assert_memory_equal(one.push, other.push, (size_t)one.shaking.count * sizeof one.push[0]);
        assert_memory_equal(one.press, other.press, (size_t)one.shaking.count * sizeof one.press[0]);
    }
    free(z);
}

static void plans_without_sense_are_refused(void **state) {
    (void)state;
    static up_case_maker maker;
    const up_known known = typical(UP_FAMILY_RACK);
    up_plan plan;
    up_plan_default(&plan);
    plan.temperature_high = plan.temperature_low - 1;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_BAD_OPTION);
    up_plan_default(&plan);
    plan.rod = 1;
    plan.rod_opening = 5;
    plan.rod_stiffness = 1e4;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_BAD_OPTION);
    up_plan_default(&plan);
    plan.driving_share = 1.1;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_BAD_OPTION);
    up_plan_default(&plan);
    plan.around.speed_low = 50;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_BAD_OPTION);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cut_off_draws_have_the_variance_of_the_cut_off_normal),
        cmocka_unit_test(draws_are_those_of_the_spread),
        cmocka_unit_test(a_draw_rises_with_its_number_and_counts_are_whole),
        cmocka_unit_test(the_plan_holds),
        cmocka_unit_test(a_case_is_a_function_of_its_vector),
        cmocka_unit_test(plans_without_sense_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

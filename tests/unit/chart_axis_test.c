/* Axes show round numbers, and say them right. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <math.h>
#include <string.h>
#include <cmocka.h>

#include "io/chart_axis.h"

static void assert_marks(up_axis axis, int count, const char *const *words) {
    char mark[32];
    assert_int_equal(axis.marks, count);
    for (int i = 0; i < count; i++) {
        assert_string_equal(up_axis_mark(&axis, i, mark, sizeof mark), words[i]);
    }
}

static void tenths_are_shown_without_rounding_noise(void **state) {
    (void)state;
    static const char *const words[] = {"0.0", "0.2", "0.4", "0.6"};
    assert_marks(up_axis_over(0, 0.7, 4, 0), 4, words);
}

static void negative_marks_carry_a_true_minus_and_zero_none(void **state) {
    (void)state;
    static const char *const words[] = {"\u221220", "0", "20", "40"};
    assert_marks(up_axis_over(-17, 33, 3, 1), 4, words);
}

static void widened_axis_holds_all_values(void **state) {
    (void)state;
    for (double low = -1e3; low < 1e3; low += 37.7) {
        for (double size = 1e-6; size < 1e6; size *= 3.3) {
            up_axis axis = up_axis_over(low, low + size, 5, 1);
            assert_true(axis.low <= low + 1e-6 * size && axis.high >= low + size - 1e-6 * size);
            assert_true(axis.marks >= 2 && axis.marks <= 16);
            double power = pow(10, floor(log10(axis.step) + 1e-9));
            double lead = axis.step / power;
            assert_true(fabs(lead - 1) < 1e-6 || fabs(lead - 2) < 1e-6 || fabs(lead - 5) < 1e-6);
        }
    }
}

static void nonsense_becomes_an_axis_all_the_same(void **state) {
    (void)state;
    assert_true(up_axis_over(NAN, 1, 5, 1).high > up_axis_over(NAN, 1, 5, 1).low);
    assert_true(up_axis_over(3, 3, 5, 0).high == 4);
    assert_true(up_axis_over(0, INFINITY, 5, 0).high == 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tenths_are_shown_without_rounding_noise),
        cmocka_unit_test(negative_marks_carry_a_true_minus_and_zero_none),
        cmocka_unit_test(widened_axis_holds_all_values),
        cmocka_unit_test(nonsense_becomes_an_axis_all_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The middle 95 % of drawn numbers.
 *
 * Source of the numbers: the definition itself worked out by hand, straight lines between sorted values at (n - 1) p; of the
 * definitions in use the seventh in R. Hyndman, Y. Fan, Sample quantiles in statistical packages, 1996 (from memory). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/middle.h"

static double low, high;

static void places_fall_on_values_and_between_them(void **state) {
    (void)state;
    double forty_one[41], three[3] = {30, 10, 20};
    for (int i = 0; i < 41; i++) {
        forty_one[i] = (i * 7 % 41) + 1; /* 1 to 41, mixed */
    }
    up_middle_95(forty_one, 41, &low, &high);
    assert_true(low == 2 && high == 40);
    up_middle_95(three, 3, &low, &high);
    assert_true(fabs(low - 10.5) < 1e-12 && fabs(high - 29.5) < 1e-12);
}

static void one_value_is_its_own_interval_and_none_has_none(void **state) {
    (void)state;
    double one = 5;
    up_middle_95(&one, 1, &low, &high);
    assert_true(low == 5 && high == 5);
    up_middle_95(&one, 0, &low, &high);
    assert_true(isnan(low) && isnan(high));
}

/* "No limit" in most of the doors is no limit, and no NaN. */
static void infinite_ones_stay_infinite(void **state) {
    (void)state;
    double some[6] = {INFINITY, 3, INFINITY, INFINITY, 1, INFINITY};
    up_middle_95(some, 6, &low, &high);
    assert_true(fabs(low - 1.25) < 1e-12);
    assert_true(isinf(high) && high > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(places_fall_on_values_and_between_them),
                                       cmocka_unit_test(one_value_is_its_own_interval_and_none_has_none),
                                       cmocka_unit_test(infinite_ones_stay_infinite)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Intervals of counted shares against closed forms and a published example. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/share.h"

/* Source: with no hit the upper bound p solves (1 - p)^n = 0.025, with one hit the lower one (1 - p)^n = 0.975; by
 * symmetry the same for misses. Plain probability, no table. */
static void none_one_all_and_all_but_one_have_closed_forms(void **state) {
    (void)state;
    static const int sizes[] = {1, 2, 10, 200, 1000, 10000};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        const int n = sizes[i];
        const double upper_of_none = 1 - pow(0.025, 1.0 / n), lower_of_one = 1 - pow(0.975, 1.0 / n);
        const up_share none = up_share_of(0, n), all = up_share_of(n, n), one = up_share_of(1, n);
        assert_true(none.low == 0 && fabs(none.high - upper_of_none) < 1e-10);
        assert_true(all.high == 1 && fabs(all.low - (1 - upper_of_none)) < 1e-10);
        assert_true(fabs(one.low - lower_of_one) < 1e-10);
        const up_share all_but_one = up_share_of(n - 1, n);
        if (n > 1) {
            assert_true(fabs(all_but_one.high - (1 - lower_of_one)) < 1e-10);
        }
    }
}

/* Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.4.1, example of the exact interval: 4 of 20,
 * 90 % two-sided, 0.071354 to 0.401029 (from memory). */
static void the_handbook_example_comes_out(void **state) {
    (void)state;
    double low, high;
    up_share_interval(4, 20, 0.90, &low, &high);
    assert_true(fabs(low - 0.071354) < 1e-6);
    assert_true(fabs(high - 0.401029) < 1e-6);
}

/* Source: definition of the interval; the tail sums are worked out here by the recurrence of binomial terms. */
static void each_bound_leaves_a_fortieth_in_its_tail(void **state) {
    (void)state;
    for (int n = 3; n <= 60; n += 19) {
        for (int k = 1; k < n; k++) {
            const up_share share = up_share_of(k, n);
            double term_low = pow(1 - share.low, n), term_high = pow(1 - share.high, n), below = 0, up_to = 0;
            for (int i = 0; i <= k; i++) {
                below += i < k ? term_low : 0;
                up_to += term_high;
                term_low *= (double)(n - i) / (i + 1) * share.low / (1 - share.low);
                term_high *= (double)(n - i) / (i + 1) * share.high / (1 - share.high);
            }
            assert_true(fabs(1 - below - 0.025) < 1e-9);
            assert_true(fabs(up_to - 0.025) < 1e-9);
            assert_true(share.low < share.share && share.share < share.high);
        }
    }
}

static void nothing_counted_says_nothing(void **state) {
    (void)state;
    const up_share share = up_share_of(0, 0);
    assert_true(isnan(share.share) && share.low == 0 && share.high == 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(none_one_all_and_all_but_one_have_closed_forms),
        cmocka_unit_test(the_handbook_example_comes_out),
        cmocka_unit_test(each_bound_leaves_a_fortieth_in_its_tail),
        cmocka_unit_test(nothing_counted_says_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The core's own elementary functions against the C library's in 80-bit long double, which is a general library and exact
 * enough to count units in the last place (ulp). */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* How many ulp of the true value the result is off. */
static double ulps(double got, long double exact) {
    const double rounded = (double)exact;
    const double ulp = nextafter(fabs(rounded), INFINITY) - fabs(rounded);
    return (double)fabsl(((long double)got - exact) / (long double)ulp);
}

static double spread(uint64_t index, double low, double high) {
    return low + (high - low) * up_random_unit(5, 0, index);
}

enum { TRIES = 300000 };

typedef struct claim {
    const char *name;
    double (*own)(double);
    long double (*library)(long double);
    double low, high;
    double allowed; /* ulp, as core/base/up_math.h claims */
} claim;

/* The figures in the header are what is measured here, rounded up. */
static void errors_stay_below_what_the_header_claims(void **state) {
    (void)state;
    static const claim claims[] = {
        {"sin", up_sin, sinl, -10, 10, 1.5},     {"sin, large", up_sin, sinl, -1e5, 1e5, 2.5},
        {"cos", up_cos, cosl, -10, 10, 1.5},     {"cos, large", up_cos, cosl, -1e5, 1e5, 2.5},
        {"tan", up_tan, tanl, -1.57, 1.57, 3},   {"tan, large", up_tan, tanl, -1e3, 1e3, 3.5},
        {"atan", up_atan, atanl, -3, 3, 2},      {"atan, large", up_atan, atanl, -1e6, 1e6, 2},
        {"asin", up_asin, asinl, -1, 1, 3},      {"acos", up_acos, acosl, -1, 1, 3},
        {"exp", up_exp, expl, -5, 5, 1},         {"exp, all", up_exp, expl, -700, 709, 1},
        {"log", up_log, logl, 0.01, 10, 1},      {"log, large", up_log, logl, 1e-300, 1e300, 1},
        {"sqrt", up_sqrt, sqrtl, 0, 1e6, 0.5001}};
    for (size_t c = 0; c < sizeof claims / sizeof claims[0]; c++) {
        double worst = 0, at = 0;
        for (uint64_t i = 0; i < TRIES; i++) {
            const double x = spread(i, claims[c].low, claims[c].high);
            const double off = ulps(claims[c].own(x), claims[c].library(x));
            if (!(off <= worst)) {
                worst = off;
                at = x;
            }
        }
        print_message("%-12s %.2f ulp at %.17g\n", claims[c].name, worst, at);
        if (!(worst <= claims[c].allowed)) {
            fail_msg("%s is %.2f ulp off at %.17g, %.1f claimed", claims[c].name, worst, at, claims[c].allowed);
        }
    }
}

/* The logarithm of what lies near 1 and of numbers of every size. */
static void logarithms_of_all_sizes(void **state) {
    (void)state;
    for (uint64_t i = 0; i < TRIES; i++) {
        const double close = 1 + spread(i, -1e-3, 1e-3);
        assert_true(ulps(up_log(close), logl(close)) <= 1);
        const double any = ldexp(spread(i, 1, 2), (int)spread(i + TRIES, -1074, 1023));
        assert_true(ulps(up_log(any), logl(any)) <= 1);
    }
}

static void powers(void **state) {
    (void)state;
    for (uint64_t i = 0; i < TRIES; i++) {
        const double base = spread(2 * i, 0.01, 100), exponent = spread(2 * i + 1, -20, 20);
        const long double exact = powl(base, exponent);
        assert_true(fabsl((up_pow(base, exponent) - exact) / exact) < 4e-14L);
    }
    assert_true(up_pow(92, 0) == 1);
}

static void two_argument_arc_in_all_quadrants(void **state) {
    (void)state;
    for (uint64_t i = 0; i < TRIES; i++) {
        const double y = spread(2 * i, -2, 2), x = spread(2 * i + 1, -2, 2);
        assert_true(fabs(up_atan2(y, x) - atan2(y, x)) <= 5e-16);
    }
    assert_true(up_atan2(0, 1) == 0 && up_atan2(1, 0) == UP_PI / 2 && up_atan2(-1, 0) == -UP_PI / 2);
    assert_true(up_atan2(0, -1) == UP_PI && up_atan2(0, 0) == 0);
}

/* Where results end: signs, infinities, what is no number. C17 annex F, where it says anything. */
static void edges_of_the_ranges(void **state) {
    (void)state;
    const double nan = NAN, inf = INFINITY;
    assert_true(isnan(up_sin(nan)) && isnan(up_sin(inf)) && isnan(up_sin(1.1e5)) && isnan(up_cos(-inf)));
    assert_true(up_sin(0) == 0 && up_cos(0) == 1 && up_tan(0) == 0 && up_atan(0) == 0 && up_asin(0) == 0);
    assert_true(up_exp(0) == 1 && up_log(1) == 0);
    assert_true(up_exp(710) == inf && up_exp(inf) == inf && up_exp(-709) == 0 && up_exp(-inf) == 0 &&
                isnan(up_exp(nan)));
    assert_true(up_log(0) == -inf && isnan(up_log(-1)) && up_log(inf) == inf && isnan(up_log(nan)));
    assert_true(isnan(up_asin(1.0000001)) && isnan(up_acos(-1.0000001)) && isnan(up_atan(nan)));
    assert_true(up_asin(1) == UP_PI / 2 && up_asin(-1) == -UP_PI / 2 && up_acos(1) == 0 && up_acos(-1) == UP_PI);
    assert_true(fabs(up_atan(inf) - UP_PI / 2) < 3e-16 && fabs(up_atan(-1e300) + UP_PI / 2) < 3e-16);
}

static void small_helpers(void **state) {
    (void)state;
    assert_true(up_abs(-2) == 2 && up_abs(3) == 3 && up_abs(0) == 0 && !signbit(up_abs(-0.0)));
    assert_true(up_min(1, 2) == 1 && up_max(1, 2) == 2 && up_min(-1, -1) == -1);
    assert_true(up_clamp(5, 0, 3) == 3 && up_clamp(-5, 0, 3) == 0 && up_clamp(2, 0, 3) == 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(errors_stay_below_what_the_header_claims),
        cmocka_unit_test(logarithms_of_all_sizes),
        cmocka_unit_test(powers),
        cmocka_unit_test(two_argument_arc_in_all_quadrants),
        cmocka_unit_test(edges_of_the_ranges),
        cmocka_unit_test(small_helpers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

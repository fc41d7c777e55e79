/* Normals in bulk against the C library's erfc and against each other. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/normals.h"

enum { N = 400000 };
static double z[N];

/* Source: erfc of the C library. What an error of x does to the tail, tail' / tail = density / tail, is taken off;
 * the tail itself is known to two roundings. */
static void the_inverse_undoes_the_distribution_function(void **state) {
    (void)state;
    double worst = 0;
    for (double x = -37; x < 8; x += 0.00137) {
        const double p = 0.5 * erfc(-x * sqrt(0.5));
        if (p > 0 && p < 1) {
            const double slope = exp(-0.5 * x * x) / sqrt(2 * acos(-1)), own = 4e-16 * p / slope; /* of p as a double */
            worst = fmax(worst, fmax(fabs(up_normal_inverse(p) - x) - own, 0) / fmax(fabs(x), 1));
        }
    }
    print_message("largest relative error %.1e\n", worst);
    assert_true(worst < 2e-15);
}

/* Published points, e.g. NIST/SEMATECH e-Handbook 1.3.6.7.1 (from memory). */
static void published_points_come_out(void **state) {
    (void)state;
    assert_true(fabs(up_normal_inverse(0.975) - 1.959963984540054) < 1e-14);
    assert_true(fabs(up_normal_inverse(0.995) - 2.575829303548901) < 1e-14);
    assert_true(fabs(up_normal_inverse(1e-9) + 5.997807015007687) < 1e-13);
    assert_true(up_normal_inverse(0.5) == 0);
    assert_true(up_normal_inverse(0) == -(double)INFINITY && up_normal_inverse(1) == (double)INFINITY);
    assert_true(isnan(up_normal_inverse(-0.1)) && isnan(up_normal_inverse(1.1)) &&
                isnan(up_normal_inverse((double)NAN)));
    assert_true(fabs(up_normal_below(1.959963984540054) - 0.975) < 1e-15);
    assert_true(fabs(up_normal_below(-5.997807015007687) / 1e-9 - 1) < 1e-13);
}

static void any_range_gives_the_same_numbers(void **state) {
    (void)state;
    double part[50];
    up_normals_fill(3, 4, 0, 1000, z);
    for (uint64_t first = 0; first < 900; first += 7) {
        for (int count = 0; count < 50; count++) {
            memset(part, 0, sizeof part);
            up_normals_fill(3, 4, first, count, part);
            assert_memory_equal(part, z + first, (size_t)count * sizeof *part);
            assert_true(part[count < 49 ? count : 49] == 0 || count == 50);
        }
    }
    up_normals_fill(3, 5, 0, 50, part);
    assert_true(part[0] != z[0] && part[1] != z[1]);
}

/* Moments 0, 1, 0, 3 of the standard normal, shares by erfc, and no correlation of neighbours: within five standard
 * errors. */
static void numbers_follow_the_normal_distribution(void **state) {
    (void)state;
    double moment[5] = {0}, neighbour = 0;
    int beyond[5] = {0};
    up_normals_fill(11, 2, 12345, N, z);
    for (int i = 0; i < N; i++) {
        double power = 1;
        for (int k = 1; k < 5; k++) {
            power *= z[i];
            moment[k] += power / N;
        }
        neighbour += i ? z[i] * z[i - 1] : 0;
        for (int k = 0; k < 5; k++) {
            beyond[k] += z[i] > k - 1.0;
        }
    }
    assert_true(fabs(moment[1]) < 5 / sqrt(N) && fabs(moment[2] - 1) < 5 * sqrt(2.0 / N));
    assert_true(fabs(moment[3]) < 5 * sqrt(15.0 / N) && fabs(moment[4] - 3) < 5 * sqrt(96.0 / N));
    assert_true(fabs(neighbour) < 5 * sqrt(N));
    for (int k = 0; k < 5; k++) {
        const double share = 0.5 * erfc((k - 1.0) * sqrt(0.5));
        assert_true(fabs((double)beyond[k] / N - share) < 5 * sqrt(share * (1 - share) / N));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_inverse_undoes_the_distribution_function),
        cmocka_unit_test(published_points_come_out),
        cmocka_unit_test(any_range_gives_the_same_numbers),
        cmocka_unit_test(numbers_follow_the_normal_distribution),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

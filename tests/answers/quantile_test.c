/* Streaming quantiles, mean and variance against sorted data and exact arithmetic; the same bits whatever the order. */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/quantile.h"
#include "core/base/counter_random.h"

__extension__ typedef __int128 wide; /* exact for the whole numbers below */

enum { N = 20000 };
static double data[N], sorted[N];
static up_quantile whole, part[4];

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Some unlike distributions. */
static double number(int kind, uint64_t i) {
    const double z = up_random_normal(5, (uint64_t)kind, i);
    switch (kind) {
    case 0:
        return z;
    case 1:
        return 80 + 15 * z; /* a force */
    case 2:
        return exp(4 * z); /* many octaves */
    case 3:
        return -exp(z);
    case 4:
        return floor(3 * z); /* many equal ones, many zeros */
    default:
        return 3.9 + 1e-6 * z; /* all in one bin */
    }
}
enum { KINDS = 6 };

static void fill(int kind) {
    up_quantile_clear(&whole);
    for (int i = 0; i < N; i++) {
        sorted[i] = data[i] = number(kind, (uint64_t)i);
        up_quantile_add(&whole, data[i]);
    }
    qsort(sorted, N, sizeof *sorted, by_size);
}

/* Source: the sorted data themselves (C library's qsort); definition: the ceil(p n)-th smallest. */
static void quantiles_are_those_of_sorted_data_to_a_thousandth(void **state) {
    (void)state;
    for (int kind = 0; kind < KINDS; kind++) {
        fill(kind);
        for (int p = 0; p <= 1000; p++) {
            const int rank = (p * N + 999) / 1000; /* p N / 1000 is whole */
            const double exact = sorted[rank > 0 ? rank - 1 : 0];
            const double found = up_quantile_at(&whole, p / 1000.0);
            assert_true(fabs(found - exact) <= 0.001 * fabs(exact) + 1e-9);
        }
        assert_true(up_quantile_at(&whole, 0) == sorted[0] && up_quantile_at(&whole, 1) == sorted[N - 1]);
    }
}

static void share_below_is_the_counted_one(void **state) {
    (void)state;
    for (int kind = 0; kind < KINDS - 1; kind++) {
        fill(kind);
        for (int i = 50; i < N; i += 97) {
            const double x = 0.5 * (sorted[i] + sorted[i - 1]), reach = 0.002 * fabs(x) + 1e-9;
            double low = 0, high = 0;
            for (int j = 0; j < N; j++) {
                low += data[j] < x - reach;
                high += data[j] < x + reach;
            }
            const double share = up_quantile_share_below(&whole, x) * N;
            assert_true(share >= low - 1e-6 && share <= high + 1e-6);
        }
    }
}

/* Source: arithmetic of 128-bit integers, exact for data that are whole numbers. */
static void mean_and_variance_are_those_of_exact_arithmetic(void **state) {
    (void)state;
    static const double offsets[] = {0, 1000, 1e6, -4e9};
    for (size_t o = 0; o < sizeof offsets / sizeof offsets[0]; o++) {
        wide sum = 0, square = 0;
        up_quantile_clear(&whole);
        for (int i = 0; i < N; i++) {
            const double x = offsets[o] + (double)(up_random_u64(9, o, (uint64_t)i) % 1000);
            sum += (wide)x;
            square += (wide)x * (wide)x;
            up_quantile_add(&whole, x);
        }
        const wide top = square * N - sum * sum; /* n (n - 1) times the variance */
        const double variance = (double)top / ((double)N * (N - 1));
        assert_true(fabs(up_quantile_mean(&whole) / ((double)sum / N) - 1) < 1e-15);
        assert_true(fabs(up_quantile_variance(&whole) / variance - 1) < 1e-14);
    }
}

static void order_and_grouping_change_no_bit(void **state) {
    (void)state;
    for (int kind = 0; kind < KINDS; kind++) {
        fill(kind);
        for (int way = 0; way < 4; way++) {
            const int parts = way + 1;
            for (int p = 0; p < 4; p++) {
                up_quantile_clear(&part[p]);
            }
            for (int i = 0; i < N; i++) {
                const int j =
                    way % 2 ? N - 1 - i : (int)((uint64_t)i * 7919 % N); /* 7919 and 20000 have no common factor */
                up_quantile_add(&part[up_random_u64(1, (uint64_t)way, (uint64_t)i) % (uint64_t)parts], data[j]);
            }
            for (int p = 1; p < parts; p++) {
                up_quantile_merge(&part[way % 2 ? 0 : p], &part[way % 2 ? p : p - 1]);
            }
            up_quantile *const all = &part[way % 2 ? 0 : parts - 1];
            const double ours[] = {up_quantile_mean(all), up_quantile_variance(all), up_quantile_at(all, 0.31)};
            const double theirs[] = {up_quantile_mean(&whole), up_quantile_variance(&whole),
                                     up_quantile_at(&whole, 0.31)};
            assert_memory_equal(ours, theirs, sizeof ours);
            up_exact_sum_tidy(&all->sum);
            up_exact_sum_tidy(&all->square);
            up_exact_sum_tidy(&whole.sum);
            up_exact_sum_tidy(&whole.square);
            assert_memory_equal(all, &whole, sizeof whole);
        }
    }
}

static void bins_are_in_order_without_gaps_and_hold_their_numbers(void **state) {
    (void)state;
    double low, middle, high, end = -INFINITY;
    for (int b = 0; b < UP_QUANTILE_BINS; b++) {
        up_quantile_edges(b, &low, &middle, &high);
        assert_true(b == 0 || low == end);
        assert_true(low < middle && middle < high);
        assert_true(b == UP_QUANTILE_SIDE || (high - low) / 2 <= 0.001 * fmin(fabs(low), fabs(high)));
        assert_int_equal(up_quantile_bin(middle), b);
        assert_int_equal(up_quantile_bin(b < UP_QUANTILE_SIDE ? high : low),
                         b == UP_QUANTILE_SIDE ? UP_QUANTILE_SIDE - 1 : b);
        end = high;
    }
    assert_int_equal(up_quantile_bin(DBL_MAX), UP_QUANTILE_BINS - 1);
    assert_int_equal(up_quantile_bin(-DBL_MAX), 0);
    assert_int_equal(up_quantile_bin(DBL_TRUE_MIN), UP_QUANTILE_SIDE);
    assert_int_equal(up_quantile_bin(-0.0), UP_QUANTILE_SIDE);
}

static void nothing_says_nothing_and_what_is_no_number_is_counted_apart(void **state) {
    (void)state;
    up_quantile_clear(&whole);
    assert_true(isnan(up_quantile_at(&whole, 0.5)) && isnan(up_quantile_mean(&whole)));
    assert_true(isnan(up_quantile_variance(&whole)) && isnan(up_quantile_share_below(&whole, 1)));
    up_quantile_add(&whole, (double)NAN);
    up_quantile_add(&whole, (double)INFINITY);
    up_quantile_add(&whole, 7);
    assert_true(whole.count == 1 && whole.missing == 2);
    assert_true(up_quantile_at(&whole, 0.5) == 7 && up_quantile_mean(&whole) == 7);
    assert_true(isnan(up_quantile_variance(&whole)) && isnan(up_quantile_at(&whole, 1.5)));
}

/* ---- exact sums ------------------------------------------------------------------------------------------------- */

static double sum_of(const double *x, int count) {
    up_exact_sum sum;
    memset(&sum, 0, sizeof sum);
    for (int i = 0; i < count; i++) {
        up_exact_sum_add(&sum, x[i]);
    }
    return up_exact_sum_value(&sum);
}

/* Sums that can be told by looking. */
static void sums_that_rounding_would_spoil_come_out(void **state) {
    (void)state;
    const double spoilt[] = {1e308, 1, -1e308, DBL_TRUE_MIN, 1e300, -1e300};
    assert_true(sum_of(spoilt, 6) == 1);
    const double tiny[] = {1e308, DBL_TRUE_MIN, -1e308, DBL_TRUE_MIN};
    assert_true(sum_of(tiny, 4) == 2 * DBL_TRUE_MIN);
    const double beyond[] = {DBL_MAX, DBL_MAX, -DBL_MAX, -DBL_MAX, -3};
    assert_true(sum_of(beyond, 5) == -3);
    assert_true(sum_of(beyond, 2) == (double)INFINITY);
    const double away[] = {0.1, -0.1, -0.0};
    assert_true(sum_of(away, 3) == 0);
    assert_true(sum_of(NULL, 0) == 0);
}

/* Source: sums in 128-bit integers of whole multiples of 2^-40. */
static void random_sums_are_those_of_long_integers(void **state) {
    (void)state;
    for (int run = 0; run < 200; run++) {
        up_exact_sum sum, other;
        memset(&sum, 0, sizeof sum);
        memset(&other, 0, sizeof other);
        wide exact = 0;
        for (uint64_t i = 0; i < 300; i++) {
            const int64_t whole_number = (int64_t)up_random_u64(3, (uint64_t)run, i) >> (i % 50 + 11);
            exact += whole_number;
            up_exact_sum_add(i % 3 ? &sum : &other, ldexp((double)whole_number, -40));
        }
        up_exact_sum_merge(&sum, &other);
        const double value = up_exact_sum_value(&sum), expected = ldexp((double)exact, -40);
        assert_true(fabs(value - expected) <= DBL_EPSILON * fabs(expected));
        const double rest = up_exact_sum_less(&sum, value);
        assert_true(fabs(rest) <= DBL_EPSILON * fabs(value));
        assert_true(ldexp((double)exact, -40) == value || rest != 0);
    }
}

/* (a + b)^2 - a^2 - 2 a b - b^2 = 0 without any rounding, for whole a and b whose products need 100 bits. */
static void products_are_added_without_rounding(void **state) {
    (void)state;
    for (uint64_t i = 0; i < 1000; i++) {
        const double a = (double)(up_random_u64(4, 0, i) >> 13), b = -(double)(up_random_u64(4, 1, i) >> 13);
        up_exact_sum sum;
        memset(&sum, 0, sizeof sum);
        up_exact_sum_add_product(&sum, a + b, a + b);
        up_exact_sum_add_product(&sum, -a, a);
        up_exact_sum_add_product(&sum, -2 * a, b);
        up_exact_sum_add_product(&sum, -b, b);
        assert_true(up_exact_sum_value(&sum) == 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles_are_those_of_sorted_data_to_a_thousandth),
        cmocka_unit_test(share_below_is_the_counted_one),
        cmocka_unit_test(mean_and_variance_are_those_of_exact_arithmetic),
        cmocka_unit_test(order_and_grouping_change_no_bit),
        cmocka_unit_test(bins_are_in_order_without_gaps_and_hold_their_numbers),
        cmocka_unit_test(nothing_says_nothing_and_what_is_no_number_is_counted_apart),
        cmocka_unit_test(sums_that_rounding_would_spoil_come_out),
        cmocka_unit_test(random_sums_are_those_of_long_integers),
        cmocka_unit_test(products_are_added_without_rounding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

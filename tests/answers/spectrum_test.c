/* Spectra against what theory says of tones and noise. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/fit/spectrum.h"
#include "core/base/counter_random.h"

enum { N = 1024, BINS = N + 1 };

static const double pi = 3.14159265358979323846;
static float sample[N], power[BINS];

static up_spectrum *prepare(int length) {
    static double memory[8000]; /* one at a time */
    const size_t size = up_spectrum_memory(length);
    assert_true(size <= sizeof memory);
    up_spectrum *s = up_spectrum_prepare(length, memory, size);
    assert_non_null(s);
    assert_int_equal(up_spectrum_bins(s), length + 1);
    return s;
}

static void noise(double size, uint64_t stream) {
    for (int i = 0; i < N; i++) {
        sample[i] = (float)(size * up_random_normal(3, stream, (uint64_t)i));
    }
}

static void tone(double amplitude, double place, double phase) {
    for (int i = 0; i < N; i++) {
        sample[i] += (float)(amplitude * sin(2 * pi * place * i / N + phase));
    }
}

/* Parseval: white noise has its variance in every bin; over its floor it is 1 in the mean. */
static void noise_has_its_variance_in_every_bin(void **state) {
    (void)state;
    up_spectrum *s = prepare(N);
    double sum = 0, over = 0, count = 0;
    for (uint64_t k = 0; k < 200; k++) {
        noise(0.3, k);
        up_spectrum_power(s, sample, power);
        for (int b = 8; b < N - 8; b++) {
            sum += power[b];
        }
        up_spectrum_over_floor(s, power, 0);
        for (int b = 8; b < N - 8; b++) {
            over += power[b];
            count++;
        }
    }
    assert_true(fabs(sum / count / 0.09 - 1) < 0.01);
    /* the quantile of 32 dependent bins is a little off */
    assert_true(fabs(over / count - 1) < 0.12);
}

/* Definition of the Hann window: height A^2 n / (6 s^2), for a tone amid bins. */
static void a_tone_stands_as_high_as_it_should(void **state) {
    (void)state;
    up_spectrum *s = prepare(N);
    for (int k = 0; k < 20; k++) {
        for (int i = 0; i < N; i++) {
            sample[i] = 0;
        }
        tone(0.2, 200 + k / 20.0, k);
        up_spectrum_power(s, sample, power);
        double height;
        const double at = up_spectrum_peak(power, BINS, 300, 500, &height);
        assert_true(fabs(at / 2 - 200 - k / 20.0) < 0.003);
        assert_true(fabs(height / (0.2 * 0.2 * N / 6) - 1) < 0.02);
    }
}

/* The bound of Cramer and Rao for the frequency of a tone in white noise, 24 s^2 / (A^2 n^3) rad^2 (D. C. Rife and
 * R. R. Boorstyn, IEEE Trans. Information Theory 20 (1974) 591; from memory), times 2.34 for the window. */
static void places_scatter_as_theory_says(void **state) {
    (void)state;
    up_spectrum *s = prepare(N);
    const double amplitude = 0.2, size = 0.4;
    double squares = 0;
    enum { TRIES = 1500 };
    for (uint64_t k = 0; k < TRIES; k++) {
        const double place = 200 + up_random_unit(8, 1, k);
        noise(size, 1000 + k);
        tone(amplitude, place, 6 * up_random_unit(8, 2, k));
        up_spectrum_power(s, sample, power);
        double height;
        const double off = up_spectrum_peak(power, BINS, 390, 412, &height) / 2 - place;
        squares += off * off;
    }
    const double bound = sqrt(24 * size * size / (amplitude * amplitude * pow(N, 3))) * N / (2 * pi);
    const double scatter = sqrt(squares / TRIES);
    assert_true(fabs(scatter / (bound * sqrt(2.34)) - 1) < 0.08);
    const double ratio = amplitude * amplitude * N / (6 * size * size);
    assert_true(fabs(up_spectrum_place_error(ratio) / (bound * sqrt(2.34)) - 1) < 0.01);
}

/* What the power was divided by is what up_spectrum_floor says. */
static void the_floor_told_is_the_floor_taken(void **state) {
    (void)state;
    static float before[BINS];
    up_spectrum *s = prepare(N);
    noise(0.3, 5);
    tone(0.4, 130, 0);
    up_spectrum_power(s, sample, power);
    for (int b = 0; b < BINS; b++) {
        before[b] = power[b];
    }
    up_spectrum_over_floor(s, power, 0);
    for (int b = 1; b < BINS; b++) {
        assert_true(fabs(before[b] / up_spectrum_floor(s, b) / power[b] - 1) < 1e-4);
    }
}

static void mean_and_slope_are_no_lines(void **state) {
    (void)state;
    up_spectrum *s = prepare(N);
    for (int i = 0; i < N; i++) {
        sample[i] = 1000 + 3.0F * (float)i;
    }
    up_spectrum_power(s, sample, power);
    for (int b = 0; b < BINS; b++) {
        assert_true(power[b] < 1e-4);
    }
}

static void odd_lengths_and_little_memory_are_refused(void **state) {
    (void)state;
    char little[256];
    assert_int_equal(up_spectrum_memory(1000), 0);
    assert_int_equal(up_spectrum_memory(8), 0);
    assert_null(up_spectrum_prepare(1000, little, sizeof little));
    assert_null(up_spectrum_prepare(1024, little, sizeof little));
    assert_null(up_spectrum_prepare(1024, NULL, 1 << 20));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_has_its_variance_in_every_bin),
        cmocka_unit_test(a_tone_stands_as_high_as_it_should),
        cmocka_unit_test(places_scatter_as_theory_says),
        cmocka_unit_test(the_floor_told_is_the_floor_taken),
        cmocka_unit_test(mean_and_slope_are_no_lines),
        cmocka_unit_test(odd_lengths_and_little_memory_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

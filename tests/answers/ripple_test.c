/* Speed from commutation ripple, against recordings whose speed is known (ripple_bench.c). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "analysis/fit/commutation.h"
#include "analysis/fit/ripple.h"
#include "tests/support/ripple_bench.h"

static const double pi = 3.14159265358979323846;

/* Amplitude 0.1 A of ripple of order n, noise so many decibels above it (over the whole band). */
static bench ripple_in_noise(double order, double decibels) {
    bench b = bench_default();
    b.line[0] = (bench_line){order, 0.1};
    b.noise = 0.1 / sqrt(2) * pow(10, -decibels / 20);
    return b;
}

static up_ripple_request nine_bars(int guided) {
    up_ripple_request q = bench_request();
    q.segments = 9;
    q.poles = 2;
    q.voltage = guided ? q.voltage : NULL;
    return q;
}

static int none_told(const up_ripple_result *r) {
    for (size_t f = 0; f < r->count; f++) {
        if (isfinite(r->speed[f].speed)) {
            return 0;
        }
    }
    return 1;
}

/* Where the true reading stands among those given, -1 when it is not. */
static int place_of(const up_ripple_result *r, int line) {
    for (int i = 0; i < r->readings; i++) {
        if (r->reading[i].line == line) {
            return i;
        }
    }
    return -1;
}

/* Counts a turn: that an odd number of bars doubles with 2 poles is what makers of commutators publish (why DC motors use
 * odd numbers of segments); the general form lcm(S, 2p) and its figures for 4 poles are from memory, for lap windings. */
static void the_law_gives_the_published_counts(void **state) {
    (void)state;
    static const struct {
        int bars, two, four;
    } row[] = {{3, 6, 12}, {5, 10, 20}, {7, 14, 28}, {9, 18, 36}, {8, 8, 8}, {10, 10, 20}, {12, 12, 12}, {14, 14, 28}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        assert_int_equal(up_commutations(row[i].bars, 2), row[i].two);
        assert_int_equal(up_commutations(row[i].bars, 4), row[i].four);
    }
    /* Worked example of a motor driver's data sheet (section on ripple speed): 3000 turns a minute, 2 poles. */
    const double speed = 3000.0 / 60 * 2 * pi;
    assert_true(fabs(up_commutation_frequency(up_commutations(10, 2), speed) - 500) < 1e-9);
    assert_true(fabs(up_commutation_frequency(up_commutations(9, 2), speed) - 900) < 1e-9);
    assert_int_equal(up_commutations(0, 2), 0);
    assert_int_equal(up_commutations(9, 1), 0);
}

/* Noise 15 dB above the ripple (20 kHz sampling, all of it): at least 4 of 5 speeds told, each within 0.5 % (1 in 500
 * may miss), 93 % of the intervals right. At 12 dB all but a few are told. */
static void speeds_are_within_half_a_per_cent_down_to_minus_15_decibels(void **state) {
    (void)state;
    static const double level[] = {12, 0, -9, -12, -15};
    for (int guided = 0; guided < 2; guided++) {
        for (size_t k = 0; k < sizeof level / sizeof *level; k++) {
            const double decibels = level[k];
            bench_score all = {0};
            for (uint64_t seed = 1; seed <= 4; seed++) {
                bench b = ripple_in_noise(18, decibels);
                b.seed = seed;
                bench_make(&b);
                const up_ripple_request q = nine_bars(guided);
                up_ripple_result r;
                bench_find(&q, &r);
                assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
                assert_int_equal(r.reading[0].per_turn, 18);
                const bench_score s = bench_judge(&b, &r, 0.005);
                all.frames += s.frames;
                all.told += s.told;
                all.within += s.within;
                all.covered += s.covered;
            }
            const double told = (double)all.told / all.frames;
            assert_true(told > (decibels > -11 ? 0.995 : decibels > -14 ? 0.98 : 0.8));
            assert_true((double)all.within >= 0.998 * all.told);
            assert_true((double)all.covered >= 0.93 * all.told);
        }
    }
}

/* Lower down numbers end; they do not become wrong. */
static void in_more_noise_nothing_is_told_rather_than_something_wrong(void **state) {
    (void)state;
    static const double level[] = {-18, -21, -24, -32, -40};
    for (int guided = 0; guided < 2; guided++) {
        for (size_t k = 0; k < sizeof level / sizeof *level; k++) {
            const double decibels = level[k];
            for (uint64_t seed = 1; seed <= 4; seed++) {
                bench b = ripple_in_noise(18, decibels);
                b.seed = seed;
                bench_make(&b);
                const up_ripple_request q = nine_bars(guided);
                up_ripple_result r;
                bench_find(&q, &r);
                const bench_score s = bench_judge(&b, &r, 0.005);
                assert_int_equal(s.wrong, 0);
                if (decibels < -22) {
                    assert_int_equal(r.verdict, UP_RIPPLE_NONE);
                    assert_true(none_told(&r));
                }
            }
        }
    }
}

/* A shaft order three times and a half-line one and a half times as strong as the ripple. */
static void stronger_shaft_orders_and_sub_lines_do_not_mislead(void **state) {
    (void)state;
    static const double sub[] = {9, 6};
    for (int k = 0; k < 2; k++) {
        bench b = ripple_in_noise(18, 3);
        b.line[1] = (bench_line){1, 0.3};
        b.line[2] = (bench_line){2, 0.1};
        b.line[3] = (bench_line){sub[k], 0.15};
        bench_make(&b);
        for (int known = 0; known < 2; known++) {
            up_ripple_request q = nine_bars(1);
            q.segments = known ? 9 : 0;
            up_ripple_result r;
            bench_find(&q, &r);
            assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
            const bench_score s = bench_judge(&b, &r, 0.005);
            assert_true(s.told == s.frames && s.within == s.frames);
        }
    }
}

/* A switching supply's line four times as strong as the ripple, which crosses it. */
static void a_line_that_does_not_move_is_taken_out(void **state) {
    (void)state;
    for (int guided = 0; guided < 2; guided++) {
        bench b = ripple_in_noise(18, 3);
        b.fixed_frequency = 1040;
        b.fixed_size = 0.4;
        bench_make(&b);
        const up_ripple_request q = nine_bars(guided);
        up_ripple_result r;
        bench_find(&q, &r);
        assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
        assert_true(r.artefacts >= 1);
        double nearest = INFINITY;
        for (int i = 0; i < r.artefacts; i++) {
            nearest = fmin(nearest, fabs(r.artefact[i] - 1040));
        }
        assert_true(nearest < 0.5);
        const bench_score s = bench_judge(&b, &r, 0.005);
        assert_true(s.told > 0.95 * s.frames && s.within == s.told && s.wrong == 0);
    }
}

static void a_line_that_does_not_move_alone_is_no_speed(void **state) {
    (void)state;
    bench b = bench_default();
    b.noise = 0.3;
    b.fixed_frequency = 1040;
    b.fixed_size = 0.4;
    bench_make(&b);
    for (int guided = 0; guided < 2; guided++) {
        const up_ripple_request q = nine_bars(guided);
        up_ripple_result r;
        bench_find(&q, &r);
        assert_int_equal(r.verdict, UP_RIPPLE_ARTEFACT);
        assert_true(none_told(&r));
    }
}

/* With a once-per-turn line and the guide, the count comes out for every number of bars. */
static void counts_are_found_for_odd_and_even_numbers_of_bars(void **state) {
    (void)state;
    for (int bars = 7; bars <= 14; bars++) {
        const int n = up_commutations(bars, 2);
        bench b = ripple_in_noise(n, 6);
        b.line[1] = (bench_line){1, 0.05};
        bench_make(&b);
        up_ripple_request q = bench_request();
        q.poles = 2;
        up_ripple_result r;
        bench_find(&q, &r);
        assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
        assert_int_equal(r.reading[0].per_turn, n);
        assert_int_equal(r.per_turn_told, 1);
        int named = 0;
        for (int i = 0; i < r.segment_choices; i++) {
            named = named || r.segment_choice[i] == bars;
            assert_int_equal(up_commutations(r.segment_choice[i], 2), n);
        }
        assert_true(named);
        /* 2 poles: an odd number and its double look the same, and are both named. */
        assert_int_equal(r.segment_choices, bars % 2 || bars / 2 % 2 ? 2 : 1);
        const bench_score s = bench_judge(&b, &r, 0.005);
        assert_true(s.within == s.frames);
    }
}

/* One line and twice the line: ripple and harmonic, or half-line and ripple. Without guide or shaft order nobody knows. */
static void a_twofold_ambiguity_is_told_and_resolved_by_the_guide(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    b.line[1] = (bench_line){9, 0.15};
    bench_make(&b);
    up_ripple_result r;
    up_ripple_request q = nine_bars(0);
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_AMBIGUOUS);
    assert_true(r.readings >= 2);
    assert_true(fabs(r.reading[1].factor - 2) < 1e-9 || fabs(r.reading[1].factor - 0.5) < 1e-9);
    assert_true(r.reading[0].likelihood + r.reading[1].likelihood > 0.95);
    q = nine_bars(1);
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    const bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.within == s.frames);
}

/* A single line and a guide of 20 %: counts of 16, 18 and 20 are all possible, and are all named. */
static void a_count_that_the_guide_cannot_settle_is_left_open(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    bench_make(&b);
    up_ripple_request q = bench_request();
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_AMBIGUOUS);
    assert_true(place_of(&r, 18) >= 0 && place_of(&r, 16) >= 0 && place_of(&r, 20) >= 0);
    const up_ripple_reading *truth = &r.reading[place_of(&r, 18)];
    /* The factor of a reading is what makes its speed of the one given. */
    for (size_t f = 0; f < r.count; f++) {
        const up_ripple_speed *v = &r.speed[f];
        if (v->time > 1 && v->time < 5) {
            assert_true(fabs(v->speed * truth->factor / bench_speed(v->time) - 1) < 0.005);
        }
    }
    q.guide_tolerance = 0.06; /* a guide this good settles it */
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    assert_int_equal(r.reading[0].line, 18);
}

/* Worn brushes and a wrong constant put the guide 15 % off: known bars still give the speed, and how far it is off. */
static void a_guide_that_is_off_is_corrected(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 3);
    b.line[1] = (bench_line){9, 0.15};
    bench_make(&b);
    up_ripple_request q = nine_bars(1);
    q.constant *= 1.15;
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    assert_true(fabs(r.guide_ratio - 1.15) < 0.005);
    const bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.within == s.frames);
}

static void sampling_too_slow_is_said_with_the_rate_that_would_do(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    b.rate = 1000; /* the ripple lies at 1050 Hz */
    bench_make(&b);
    up_ripple_result r;
    up_ripple_request q = nine_bars(1);
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOO_SLOW);
    assert_true(none_told(&r));
    assert_true(r.rate_wanted > 2.2 * 1050 && r.rate_wanted < 4 * 1050);
    q = nine_bars(0); /* nobody sees that 50 Hz are 1050 folded: not told either */
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOO_SLOW);
    assert_true(none_told(&r));
    b.rate = 1500; /* folded to 450 Hz, falling when the speed rises; bars not known */
    bench_make(&b);
    q = bench_request();
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOO_SLOW);
    assert_true(none_told(&r));
    b.rate = 4000; /* enough for these speeds, and with a guide seen to be */
    bench_make(&b);
    q = nine_bars(1);
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    const bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.within == s.frames);
    b.rate = 10; /* a logger */
    bench_make(&b);
    bench_find(&q, &r);
    assert_true(r.verdict == UP_RIPPLE_TOO_SHORT || r.verdict == UP_RIPPLE_TOO_SLOW);
}

static void a_filtered_current_is_said_to_be_filtered(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    b.noise = 0;
    b.filter = 30;
    b.step = 0.001;
    bench_make(&b);
    const up_ripple_request q = nine_bars(1);
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_FILTERED);
    assert_true(none_told(&r) && r.smallest_seen < 0.003);
}

/* An 8 bit oscilloscope on a 20 A range: steps of 0.16 A, more than the ripple. Its own noise makes up for it. */
static void coarse_steps_are_survived(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 3);
    b.step = 40.0 / 256;
    bench_make(&b);
    const up_ripple_request q = nine_bars(1);
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    const bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.told > 0.98 * s.frames && s.within == s.told);
}

static void lowering_gives_the_same_speeds(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    b.lowering = 1;
    bench_make(&b);
    const up_ripple_request q = nine_bars(1);
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    const bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.within == s.frames && fabs(r.guide_ratio - 1) < 0.01);
}

/* Missing samples, times of their own, and speeds that are not told where they cannot be. */
static void holes_become_gaps_and_times_are_honoured(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    bench_make(&b);
    const size_t n = bench_current.count;
    double *value = malloc(n * sizeof *value), *time_of = malloc(n * sizeof *time_of);
    for (size_t i = 0; i < n; i++) {
        const double t = (double)i / b.rate;
        value[i] = t > 2 && t < 2.5 ? NAN : i % 1000 == 0 ? NAN : bench_current.value[i];
        time_of[i] = 100 + t;
    }
    up_track holed = bench_current, volts = bench_voltage;
    holed.value = value;
    holed.time = time_of;
    holed.interval = NAN;
    volts.start = 100;
    up_ripple_request q = nine_bars(1);
    q.track = &holed;
    q.voltage = &volts;
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    int gaps = 0, told = 0;
    for (size_t f = 0; f < r.count; f++) {
        const double t = r.speed[f].time - 100, v = r.speed[f].speed;
        if (t > 2.05 && t < 2.45) {
            assert_true(isnan(v));
            gaps++;
        } else if ((t > 0.7 && t < 1.9) || (t > 2.6 && t < 5.1)) {
            assert_true(fabs(v / bench_speed(t) - 1) < 0.005);
            told++;
        }
    }
    assert_true(gaps > 10 && told > 100);
    free(value);
    free(time_of);
}

/* Nothing is told while the motor rests, and the start is followed from three quarters of full speed on. */
static void rest_is_a_gap_and_the_start_is_followed(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 6);
    bench_make(&b);
    const up_ripple_request q = nine_bars(1);
    up_ripple_result r;
    bench_find(&q, &r);
    double first = INFINITY;
    for (size_t f = 0; f < r.count; f++) {
        const up_ripple_speed *v = &r.speed[f];
        if (isfinite(v->speed)) {
            first = fmin(first, v->time);
            assert_true(v->time > b.on && v->time < b.off + 0.06);
        }
    }
    assert_true(first < b.on + 0.1);
}

/* Sound: no current to load it, a guide from elsewhere. */
static void the_whine_gives_the_same_speeds(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 0);
    b.line[1] = (bench_line){1, 0.1};
    b.rate = 44100;
    bench_make(&b);
    const size_t n = bench_current.count;
    double *sound = malloc(n * sizeof *sound), mean = 0;
    for (size_t i = 0; i < n; i++) { /* what a microphone hears: no steady part */
        mean += 0.002 * (bench_current.value[i] - mean);
        sound[i] = bench_current.value[i] - mean;
    }
    up_track heard = bench_current;
    heard.signal = UP_SIGNAL_SOUND;
    heard.value = sound;
    up_ripple_request q = nine_bars(1);
    q.track = &heard;
    q.current = &bench_current;
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    bench_score s = bench_judge(&b, &r, 0.005);
    assert_true(s.told > 0.98 * s.frames && s.within == s.told);
    q = nine_bars(0);
    q.track = &heard;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    s = bench_judge(&b, &r, 0.005);
    assert_true(s.told > 0.98 * s.frames && s.within == s.told);
    free(sound);
}

static void ten_seconds_take_well_under_half_a_second(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 0);
    b.line[1] = (bench_line){1, 0.3};
    b.seconds = 10;
    b.off = 9.5;
    bench_make(&b);
    const up_ripple_request q = bench_request();
    const size_t size = up_ripple_memory(&q);
    void *memory = malloc(size);
    up_ripple_result r;
    const clock_t before = clock();
    assert_int_equal(up_ripple_find(&q, memory, size, &r), UP_OK);
    const double seconds = (double)(clock() - before) / CLOCKS_PER_SEC;
    print_message("10 s at 20 kHz: %.3f s, %.2f bytes for each of the track\n", seconds,
                  (double)size / (double)(bench_current.count * sizeof(double)));
    assert_true(size < 3 * bench_current.count * sizeof(double));
#ifndef UPSTOP_SANITIZED
    assert_true(seconds < 0.5);
#endif
    free(memory);
}

/* A logger of 200 a second, which averages nothing: the ripple folds, the once-per-turn line does not. */
static void a_slow_recording_is_told_by_its_shaft_order_when_a_guide_moves(void **state) {
    (void)state;
    bench b = ripple_in_noise(18, 12);
    b.rate = 200;
    b.seconds = 30;
    b.off = 29;
    b.wander = 0.6;
    b.line[1] = (bench_line){1, 0.2};
    bench_make(&b);
    up_ripple_request q = nine_bars(1);
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
    assert_int_equal(r.reading[0].line, 1);
    assert_true(r.rate_wanted > 2000);
    const bench_score s = bench_judge(&b, &r, 0.01);
    assert_true(s.told > 0.8 * s.frames && s.within > 0.9 * s.told && s.covered > 0.9 * s.told);
    b.line[1].size = 0; /* without it nothing is left but folded lines */
    bench_make(&b);
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_TOO_SLOW);
    assert_true(none_told(&r));
}

static void a_motor_held_is_said_to_stand(void **state) {
    (void)state;
    bench b = bench_default();
    b.noise = 0.05;
    bench_make(&b);
    const size_t n = bench_current.count;
    double *value = malloc(n * sizeof *value);
    for (size_t i = 0; i < n; i++) { /* 22.4 A through 0.5 ohm and 0.8 V: no voltage left for turning */
        value[i] = fabs(bench_voltage.value[i]) > 1 ? 22.4 + bench_current.value[i] - floor(bench_current.value[i]) : 0;
    }
    up_track held = bench_current;
    held.value = value;
    up_ripple_request q = nine_bars(1);
    q.track = &held;
    up_ripple_result r;
    bench_find(&q, &r);
    assert_int_equal(r.verdict, UP_RIPPLE_AT_REST);
    assert_true(none_told(&r));
    free(value);
}

static void bad_requests_are_refused(void **state) {
    (void)state;
    const bench b = ripple_in_noise(18, 6);
    bench_make(&b);
    up_ripple_result r;
    up_ripple_request q;
    up_ripple_request_default(&q);
    assert_int_equal(up_ripple_memory(&q), 0);
    assert_int_equal(up_ripple_find(&q, NULL, 0, &r), UP_BAD_OPTION);
    q = nine_bars(1);
    q.poles = 3;
    assert_int_equal(up_ripple_find(&q, NULL, 0, &r), UP_BAD_OPTION);
    q = nine_bars(1);
    q.track = &bench_voltage;
    assert_int_equal(up_ripple_find(&q, NULL, 0, &r), UP_BAD_OPTION);
    q = nine_bars(1);
    q.fastest = q.slowest;
    assert_int_equal(up_ripple_find(&q, NULL, 0, &r), UP_BAD_OPTION);
    q = nine_bars(1);
    char little[1000];
    assert_int_equal(up_ripple_find(&q, little, sizeof little, &r), UP_MEMORY_TOO_SMALL);
    up_track shortest = bench_current;
    shortest.count = 100;
    q.track = &shortest;
    assert_int_equal(up_ripple_find(&q, little, sizeof little, &r), UP_OK);
    assert_int_equal(r.verdict, UP_RIPPLE_TOO_SHORT);
    shortest.interval = 0;
    assert_int_equal(up_ripple_find(&q, little, sizeof little, &r), UP_BAD_OPTION);
    for (int v = -1; v <= UP_RIPPLE_VERDICTS; v++) {
        assert_true(strlen(up_ripple_verdict_text((up_ripple_verdict)v)) > 5);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_law_gives_the_published_counts),
        cmocka_unit_test(speeds_are_within_half_a_per_cent_down_to_minus_15_decibels),
        cmocka_unit_test(in_more_noise_nothing_is_told_rather_than_something_wrong),
        cmocka_unit_test(stronger_shaft_orders_and_sub_lines_do_not_mislead),
        cmocka_unit_test(a_line_that_does_not_move_is_taken_out),
        cmocka_unit_test(a_line_that_does_not_move_alone_is_no_speed),
        cmocka_unit_test(counts_are_found_for_odd_and_even_numbers_of_bars),
        cmocka_unit_test(a_twofold_ambiguity_is_told_and_resolved_by_the_guide),
        cmocka_unit_test(a_count_that_the_guide_cannot_settle_is_left_open),
        cmocka_unit_test(a_guide_that_is_off_is_corrected),
        cmocka_unit_test(sampling_too_slow_is_said_with_the_rate_that_would_do),
        cmocka_unit_test(a_filtered_current_is_said_to_be_filtered),
        cmocka_unit_test(coarse_steps_are_survived),
        cmocka_unit_test(lowering_gives_the_same_speeds),
        cmocka_unit_test(holes_become_gaps_and_times_are_honoured),
        cmocka_unit_test(rest_is_a_gap_and_the_start_is_followed),
        cmocka_unit_test(the_whine_gives_the_same_speeds),
        cmocka_unit_test(ten_seconds_take_well_under_half_a_second),
        cmocka_unit_test(a_slow_recording_is_told_by_its_shaft_order_when_a_guide_moves),
        cmocka_unit_test(a_motor_held_is_said_to_stand),
        cmocka_unit_test(bad_requests_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Pulses of an encoder whose every edge is known: counted, timed, lost and doubled ones found. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/fit/pulses.h"
#include "core/base/counter_random.h"

enum { SAMPLES_MOST = 400000, PULSES_MOST = 4000 };

static const double pi = 3.14159265358979323846;

/* One stroke: up to speed in 80 ms, running with a slow swing, down in 60 ms. */
typedef struct shaft {
    double rate, seconds, on, off; /* Hz, s        */
    int per_turn, strokes;         /* one after the other, 1 s apart */
    double uneven;                 /* magnets off their places by up to this share of a period */
    double lost, doubled;          /* chance of each pulse */
    double noise;                  /* V of 5 V */
    double slope;                  /* s, time constant of the lead; 0: steps from sample to sample */
    uint64_t seed;
} shaft;

static double level[SAMPLES_MOST];
static up_track lead;
static size_t true_count, true_lost, true_doubled;
static double speed_at[SAMPLES_MOST];

static double course(const shaft *s, double t) {
    const double length = s->off - s->on, since = fmod(t - s->on, length + 1);
    if (t < s->on || t > s->on + s->strokes * (length + 1) - 1 || since > length) {
        return 0;
    }
    const double up = fmin(since / 0.08, 1), down = fmin((length - since) / 0.06, 1);
    return 370 * up * down * (1 + 0.06 * sin(2 * pi * 0.4 * t) + 0.02 * sin(2 * pi * 3 * t));
}

/* What the pulse at a turn's place does in this turn: 0 comes, 1 lost, 2 doubled. Never at the ends of a stroke. */
static int fate(const shaft *s, uint64_t pulse) {
    const double u = up_random_unit(s->seed, 11, pulse);
    return u < s->lost ? 1 : u < s->lost + s->doubled ? 2 : 0;
}

static void make(const shaft *s) {
    const size_t n = (size_t)(s->rate * s->seconds);
    assert_true(n <= SAMPLES_MOST);
    double angle = 0.3, lag = 0, place[UP_PULSES_PER_TURN];
    for (int k = 0; k < s->per_turn; k++) {
        place[k] = k + s->uneven * (2 * up_random_unit(s->seed, 12, (uint64_t)k) - 1);
    }
    true_count = true_lost = true_doubled = 0;
    int before = -1;
    for (size_t i = 0; i < n; i++) {
        double v = 0;
        for (int fine = 0; fine < 10; fine++) {
            const double t = ((double)i + fine / 10.0) / s->rate;
            angle += course(s, t) / s->rate / 10;
            const double turn = angle / (2 * pi) * s->per_turn;
            /* The pulse whose window this is: its edges stand at its magnet's place and half a period behind. */
            double in = 0;
            int now = 0;
            for (long back = 0; back < 2; back++) {
                const long pulse = (long)floor(turn) - back + 1;
                const long k = ((pulse % s->per_turn) + s->per_turn) % s->per_turn;
                const double since = turn - ((double)pulse - (double)k + place[k]);
                if (since >= 0 && since < 0.5) {
                    const int what = fate(s, (uint64_t)pulse);
                    in = what == 1 ? 0 : what == 2 && since > 0.2 && since < 0.3 ? 0 : 5;
                    now = 1;
                    if (before == 0) {
                        true_count++;
                        true_lost += what == 1;
                        true_doubled += what == 2;
                    }
                }
            }
            before = now;
            lag += s->slope > 0 ? (in - lag) * (1 - exp(-1 / (s->rate * 10 * s->slope))) : in - lag;
            v = lag;
        }
        level[i] = v + s->noise * up_random_normal(s->seed, 13, i);
        speed_at[i] = course(s, ((double)i + 0.9) / s->rate);
    }
    lead = (up_track){.signal = UP_SIGNAL_PULSES,
                      .count = n,
                      .interval = 1 / s->rate,
                      .value = level,
                      .low_clip = NAN,
                      .high_clip = NAN,
                      .step = NAN};
}

static void find(const up_pulses_request *q, up_pulses_result *r) {
    static void *memory;
    free(memory);
    const size_t size = up_pulses_memory(q);
    memory = malloc(size);
    assert_non_null(memory);
    assert_int_equal(up_pulses_find(q, memory, size, r), UP_OK);
}

static up_pulses_request ask(int per_turn) {
    up_pulses_request q;
    up_pulses_request_default(&q);
    q.track = &lead;
    q.per_turn = per_turn;
    return q;
}

static shaft usual(int per_turn) {
    return (shaft){
        .rate = 20000, .seconds = 6, .on = 0.3, .off = 5, .per_turn = per_turn, .strokes = 1, .noise = 0.05, .seed = 4};
}

/* True mean speed over a time, from the course itself. */
static double mean_speed(const up_pulse *p, double rate) {
    double sum = 0;
    int steps = 0;
    while (steps < p->period * rate * 4) {
        sum += speed_at[(size_t)(p->time * rate + 0.25 * steps)];
        steps++;
    }
    return sum / steps;
}

static void every_pulse_of_a_clean_lead_is_counted(void **state) {
    (void)state;
    for (int per_turn = 1; per_turn <= 4; per_turn++) {
        const shaft s = usual(per_turn);
        make(&s);
        const up_pulses_request q = ask(per_turn);
        up_pulses_result r;
        find(&q, &r);
        assert_int_equal(r.verdict, UP_PULSES_TOLD);
        assert_int_equal(r.strokes, 1);
        assert_int_equal(r.stroke[0].count, true_count);
        assert_int_equal(r.stroke[0].lost, 0);
        assert_int_equal(r.stroke[0].doubled, 0);
        assert_true(fabs(r.low) < 0.1 && fabs(r.high - 5) < 0.1);
    }
}

/* Of 2 % lost and 1 % doubled pulses, 98 % of the lost ones (the rest fell into starting and stopping) and 99 % of the
 * doubled ones are found; the count of the stroke comes
 * out within two pulses of the truth. */
static void lost_and_doubled_pulses_are_found(void **state) {
    (void)state;
    size_t lost = 0, doubled = 0, found_lost = 0, found_doubled = 0;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        shaft s = usual(4);
        s.lost = 0.02;
        s.doubled = 0.01;
        s.uneven = 0.05;
        s.seed = seed;
        make(&s);
        const up_pulses_request q = ask(4);
        up_pulses_result r;
        find(&q, &r);
        assert_int_equal(r.verdict, UP_PULSES_TOLD);
        const double off = (double)r.stroke[0].count - (double)true_count;
        if (fabs(off) > 2) {
            fail_msg("seed %d: %zu pulses for %zu", (int)seed, r.stroke[0].count, true_count);
        }
        lost += true_lost;
        doubled += true_doubled;
        found_lost += r.stroke[0].lost;
        found_doubled += r.stroke[0].doubled;
    }
    print_message("lost %zu of %zu, doubled %zu of %zu\n", found_lost, lost, found_doubled, doubled);
    assert_true(lost > 300 && doubled > 150);
    assert_true((double)found_lost > 0.98 * (double)lost && (double)found_lost < 1.01 * (double)lost);
    assert_true((double)found_doubled > 0.99 * (double)doubled && (double)found_doubled < 1.01 * (double)doubled);
}

/* Speeds in spite of 2 % lost edges: every one of the running part within 1.5 %, 95 % of the intervals right. */
static void speeds_survive_lost_pulses_and_uneven_magnets(void **state) {
    (void)state;
    size_t told = 0, covered = 0;
    double squares = 0, worst = 0;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        shaft s = usual(4);
        s.lost = 0.02;
        s.uneven = 0.08;
        s.slope = 3e-5;
        s.seed = seed;
        make(&s);
        const up_pulses_request q = ask(4);
        up_pulses_result r;
        find(&q, &r);
        assert_int_equal(r.shares_learned, 1);
        for (size_t i = 0; i < r.count; i++) {
            const up_pulse *p = &r.pulse[i];
            if (p->time < s.on + 0.15 || p->time > s.off - 0.15 || isnan(p->speed)) {
                continue;
            }
            const double truth = mean_speed(p, s.rate), off = p->speed / truth - 1;
            told++;
            squares += off * off;
            worst = fmax(worst, fabs(off));
            covered += fabs(p->speed - truth) <= p->half;
        }
    }
    print_message("rms %.3f %%, worst %.3f %%, covered %.3f of %zu\n", 100 * sqrt(squares / (double)told), 100 * worst,
                  (double)covered / (double)told, told);
    assert_true(told > 5000);
    assert_true(worst < 0.015);
    assert_true((double)covered > 0.93 * (double)told);
}

/* Without the shares the same magnets would put speeds off by their unevenness: the learning does something. */
static void shares_are_those_of_the_magnets(void **state) {
    (void)state;
    shaft s = usual(4);
    s.uneven = 0.08;
    make(&s);
    const up_pulses_request q = ask(4);
    up_pulses_result r;
    find(&q, &r);
    assert_int_equal(r.shares_learned, 1);
    /* Place 0 of the result is whatever came first: compare the set, turned. */
    double best = INFINITY;
    for (int by = 0; by < 4; by++) {
        double worst = 0;
        for (int k = 0; k < 4; k++) {
            const double here =
                (k + by) % 4 + s.uneven * (2 * up_random_unit(s.seed, 12, (uint64_t)((k + by) % 4)) - 1);
            double next =
                (k + by + 1) % 4 + s.uneven * (2 * up_random_unit(s.seed, 12, (uint64_t)((k + by + 1) % 4)) - 1);
            next += next < here ? 4 : 0;
            worst = fmax(worst, fabs(r.share[k] - (next - here)));
        }
        best = fmin(best, worst);
    }
    assert_true(best < 0.003);
    double spread = 0;
    for (int k = 0; k < 4; k++) {
        spread = fmax(spread, fabs(r.share[k] - 1));
    }
    assert_true(spread > 0.03);
}

static void strokes_are_told_apart_and_counted_each(void **state) {
    (void)state;
    shaft s = usual(2);
    s.strokes = 3;
    s.off = 3;
    s.seconds = 12;
    make(&s);
    const up_pulses_request q = ask(2);
    up_pulses_result r;
    find(&q, &r);
    assert_int_equal(r.strokes, 3);
    assert_int_equal(r.stroke[0].count + r.stroke[1].count + r.stroke[2].count, true_count);
}

/* A motor that turns round within a few periods leaves a gap like lost pulses: the voltage tells the two apart. */
static void a_turn_round_is_no_loss_when_the_voltage_is_known(void **state) {
    (void)state;
    const shaft s = usual(2);
    make(&s);
    static double gapped[SAMPLES_MOST], volts[SAMPLES_MOST];
    const size_t from = (size_t)(2.5 * s.rate), gap = (size_t)(0.034 * s.rate);
    for (size_t i = 0; i < lead.count; i++) {
        gapped[i] = i >= from && i < from + gap ? 0 : level[i];
        volts[i] = i < from + gap / 3 ? 12 : -12;
    }
    up_track turned = lead, voltage = lead;
    turned.value = gapped;
    voltage.signal = UP_SIGNAL_VOLTAGE;
    voltage.value = volts;
    up_pulses_request q = ask(2);
    q.track = &turned;
    up_pulses_result r;
    find(&q, &r);
    assert_int_equal(r.strokes, 1);
    assert_true(r.stroke[0].lost >= 2); /* nobody can know */
    q.voltage = &voltage;
    find(&q, &r);
    assert_int_equal(r.strokes, 2);
    assert_int_equal(r.stroke[0].lost + r.stroke[1].lost, 0);
}

static void a_lead_at_rest_or_in_noise_has_no_levels(void **state) {
    (void)state;
    shaft s = usual(1);
    s.strokes = 0;
    make(&s);
    const up_pulses_request q = ask(1);
    up_pulses_result r;
    find(&q, &r);
    assert_int_equal(r.verdict, UP_PULSES_NO_LEVELS);
    assert_int_equal(r.count, 0);
}

static void a_sampling_too_slow_is_said(void **state) {
    (void)state;
    shaft s = usual(4);
    s.rate = 700; /* 3 samples a pulse */
    make(&s);
    const up_pulses_request q = ask(4);
    up_pulses_result r;
    find(&q, &r);
    assert_int_equal(r.verdict, UP_PULSES_TOO_SLOW);
}

static void a_bad_request_is_refused(void **state) {
    (void)state;
    up_pulses_request q;
    up_pulses_request_default(&q);
    up_pulses_result r;
    assert_int_equal(up_pulses_memory(&q), 0);
    assert_int_equal(up_pulses_find(&q, NULL, 0, &r), UP_BAD_OPTION);
    const shaft s = usual(1);
    make(&s);
    q = ask(1);
    char little[64];
    assert_int_equal(up_pulses_find(&q, little, sizeof little, &r), UP_MEMORY_TOO_SMALL);
    q.per_turn = UP_PULSES_PER_TURN + 1;
    assert_int_equal(up_pulses_find(&q, NULL, 0, &r), UP_BAD_OPTION);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pulse_of_a_clean_lead_is_counted),
        cmocka_unit_test(lost_and_doubled_pulses_are_found),
        cmocka_unit_test(speeds_survive_lost_pulses_and_uneven_magnets),
        cmocka_unit_test(shares_are_those_of_the_magnets),
        cmocka_unit_test(strokes_are_told_apart_and_counted_each),
        cmocka_unit_test(a_turn_round_is_no_loss_when_the_voltage_is_known),
        cmocka_unit_test(a_lead_at_rest_or_in_noise_has_no_levels),
        cmocka_unit_test(a_sampling_too_slow_is_said),
        cmocka_unit_test(a_bad_request_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Speed without a sensor, from whole simulated closings: the core's armature speed is what ripple and pulses must give
 * again, though nothing of analysis/fit knows how the core makes them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/fit/pulses.h"
#include "analysis/fit/ripple.h"
#include "core/base/counter_random.h"
#include "tests/support/recording.h"

static const double pi = 3.14159265358979323846;
static recording run;
static double current[RECORDING_SAMPLES], voltage[RECORDING_SAMPLES], level[RECORDING_SAMPLES];
static up_track amperes, volts, lead;

/* A closing of a typical door, written down every 0.1 ms with 0.1 A of noise in steps of 0.02 A. */
static void record(up_family family) {
    run = (recording){0};
    recording_door(&run, family);
    run.options.sample_interval = 1e-4;
    run.options.time_limit = 3.8;
    recording_run(&run);
    for (int i = 0; i < run.samples; i++) {
        const up_sample *s = &run.sample[i];
        const double noisy = s->ripple_current + 0.1 * up_random_normal(6, (uint64_t)family, (uint64_t)i);
        current[i] = 0.02 * floor(noisy / 0.02 + 0.5);
        voltage[i] = s->motor_voltage;
        level[i] = 5 * s->encoder_level;
    }
    amperes = (up_track){.signal = UP_SIGNAL_CURRENT,
                         .count = (size_t)run.samples,
                         .start = run.sample[0].time,
                         .interval = 1e-4,
                         .value = current,
                         .low_clip = NAN,
                         .high_clip = NAN,
                         .step = 0.02};
    volts = lead = amperes;
    volts.signal = UP_SIGNAL_VOLTAGE;
    volts.value = voltage;
    lead.signal = UP_SIGNAL_PULSES;
    lead.value = level;
}

/* Largest relative change of the true speed within 0.15 s round a time. */
static double change_round(double time) {
    const double low = recording_at(&run, time - 0.075)->armature_speed;
    const double middle = recording_at(&run, time)->armature_speed;
    const double high = recording_at(&run, time + 0.075)->armature_speed;
    return fmax(fabs(low - middle), fabs(high - middle)) / fabs(middle);
}

static void ripple_gives_the_armature_speed_of_every_family(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        record((up_family)family);
        up_ripple_request q;
        up_ripple_request_default(&q);
        q.track = &amperes;
        q.voltage = &volts;
        q.segments = (int)run.values.segments;
        q.poles = (int)run.values.poles;
        q.resistance = run.values.winding_resistance;
        q.constant = run.values.torque_constant;
        q.brush_drop = run.values.brush_drop;
        const size_t size = up_ripple_memory(&q);
        void *memory = malloc(size);
        up_ripple_result r;
        assert_int_equal(up_ripple_find(&q, memory, size, &r), UP_OK);
        assert_int_equal(r.verdict, UP_RIPPLE_TOLD);
        int steady = 0, told = 0, covered = 0;
        for (size_t f = 0; f < r.count; f++) {
            const up_ripple_speed *v = &r.speed[f];
            const double truth = fabs(recording_at(&run, v->time)->armature_speed);
            if (truth < 100 || change_round(v->time) > 0.05) {
                continue;
            }
            steady++;
            told += isfinite(v->speed);
            covered += fabs(v->speed - truth) <= v->half;
            if (isfinite(v->speed) && fabs(v->speed / truth - 1) > 0.005) {
                fail_msg("family %d at %.3f s: %.2f rad/s instead of %.2f", family, v->time, v->speed, truth);
            }
        }
        print_message("family %d: %d of %d told, %d covered, guide off by %.3f\n", family, told, steady, covered,
                      r.guide_ratio);
        assert_true(steady > 60 && told > 0.97 * steady && covered > 0.9 * told);
        free(memory);
    }
}

static void pulses_give_the_count_and_the_turn(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        record((up_family)family);
        up_pulses_request q;
        up_pulses_request_default(&q);
        q.track = &lead;
        q.per_turn = (int)run.values.encoder_pulses;
        const size_t size = up_pulses_memory(&q);
        void *memory = malloc(size);
        up_pulses_result r;
        assert_int_equal(up_pulses_find(&q, memory, size, &r), UP_OK);
        assert_int_equal(r.verdict, UP_PULSES_TOLD);
        assert_int_equal(r.strokes, 1);
        assert_int_equal(r.stroke[0].lost, 0);
        assert_int_equal(r.stroke[0].doubled, 0);
        const double turned = recording_at(&run, r.stroke[0].finish)->armature_angle -
                              recording_at(&run, r.stroke[0].start)->armature_angle;
        assert_true(fabs((double)(r.stroke[0].count - 1) / q.per_turn - fabs(turned) / (2 * pi)) < 1.0 / q.per_turn);
        free(memory);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ripple_gives_the_armature_speed_of_every_family),
        cmocka_unit_test(pulses_give_the_count_and_the_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

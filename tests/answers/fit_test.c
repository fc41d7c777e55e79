/* The fit against a published motor, and against drives of which the truth is known. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/fit/fit.h"
#include "core/base/counter_random.h"
#include "tests/support/feeder.h"

static void typical(up_known *known) {
    memset(known, 0, sizeof *known);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known->values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, known->spread);
}

static int within(const up_fit_result *result, up_fit_quantity quantity, double truth) {
    return fabs(result->value[quantity].value - truth) <= result->value[quantity].spread;
}

static int advises(const up_fit_result *result, up_fit_advice advice) {
    return (int)(result->advice >> advice & 1);
}

static up_fit_verdict verdict(const up_fit_result *result, up_fit_quantity quantity) {
    return result->value[quantity].verdict;
}

/* ---- a published worked example -------------------------------------------------------------------------------------------- */

/* Worked example "DC Motor Speed" of the Control Tutorials for Matlab and Simulink, University of Michigan
 * (ctms.engin.umich.edu): J = 0.01 kg m2, b = 0.1 N m s, K = 0.01, R = 1 ohm, L = 0.5 H, step of 1 V: 0.1 rad/s, settled in
 * 2.07 s. Its closed form, with both poles. */
typedef struct example {
    double current, speed; /* A, rad/s */
} example;

static example published_motor(double t) {
    const double j = 0.01, b = 0.1, k = 0.01, r = 1, l = 0.5;
    const double half = 0.5 * (r / l + b / j), root = sqrt(half * half - (r * b + k * k) / (l * j));
    const double p1 = -half + root, p2 = -half - root;
    const double w = k / (r * b + k * k), i = b / (r * b + k * k);
    const double slope = 1 / l; /* of the current at 0; that of the speed is 0 */
    const double ic = (p2 * i + slope) / (p1 - p2), wc = p2 * w / (p1 - p2);
    return (example){i + ic * exp(p1 * t) + (-i - ic) * exp(p2 * t), w + wc * exp(p1 * t) + (-w - wc) * exp(p2 * t)};
}

static void example_is_the_published_one(void **state) {
    (void)state;
    assert_true(fabs(published_motor(30).speed - 0.1) < 1.1e-4);                              /* 0.1 rad/s as printed */
    assert_true(fabs(published_motor(2.07).speed / published_motor(30).speed - 0.98) < 5e-4); /* settled to 2 % */
}

enum { STEP_REST = 400, STEP_SAMPLES = 4400 };

/* A sheet's bounds are those of door motors, so the example is told in other units: the second is a millisecond (L and J a
 * thousandth), the radian a fifth of one (K a fifth, J and b a twenty-fifth). Every ratio stays. */
static void published_motor_is_recovered(void **state) {
    (void)state;
    static double leads[STEP_SAMPLES], current[STEP_SAMPLES], speed[STEP_SAMPLES];
    static feeder f;
    up_known known;
    typical(&known);
    for (int k = 0; k < STEP_SAMPLES; k++) {
        const double t = 1e-3 * (k - STEP_REST);
        const example e = k >= STEP_REST ? published_motor(t) : (example){0, 0};
        leads[k] = k >= STEP_REST ? 1 : 0;
        current[k] = e.current + 1e-4 * up_random_normal(5, 1, (uint64_t)k);
        speed[k] = 5 * e.speed + 1e-5 * up_random_normal(5, 2, (uint64_t)k);
    }
    memset(known.spread, 0, sizeof known.spread);
    up_values *const v = &known.values;
    v->brush_drop = v->motor_friction = v->output_drag = v->wheel_inertia = 0;
    v->protection = UP_PROTECTION_NONE;
    v->winding_capacity = 5000;
    v->torque_constant = 0.002;
    v->armature_inertia = 4e-7;
    v->motor_viscous = 4e-3;
    v->winding_resistance = 1.3;
    v->inductance = 0.8e-3;
    known.spread[UP_NUMBER_winding_resistance] = 1;
    known.spread[UP_NUMBER_inductance] = 0.8e-3;
    known.spread[UP_NUMBER_torque_constant] = 2e-4;
    feeder_arrays(&f, leads, current, STEP_SAMPLES, 1e-6);
    f.recorded.track[f.recorded.tracks++] = (up_track){.signal = UP_SIGNAL_SPEED,
                                                       .count = STEP_SAMPLES,
                                                       .interval = 1e-6,
                                                       .value = speed,
                                                       .low_clip = NAN,
                                                       .high_clip = NAN,
                                                       .step = NAN};
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_LOCKED, 1}}};
    static up_fit_result result;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(fabs(result.value[UP_FIT_winding_resistance].value - 1) < 0.003);
    assert_true(fabs(result.value[UP_FIT_inductance].value - 0.5e-3) < 0.003 * 0.5e-3);
    assert_int_equal(verdict(&result, UP_FIT_winding_resistance), UP_FIT_TOLD);
    assert_int_equal(verdict(&result, UP_FIT_inductance), UP_FIT_TOLD);
}

/* ---- drives with known truth ------------------------------------------------------------------------------------------------- */

static void changed_motor(const up_known *known, up_values *truth) {
    *truth = known->values;
    truth->winding_resistance = 0.44;
    truth->brush_drop = 1.0;
    truth->torque_constant = 0.0228;
    truth->inductance = 0.45e-3;
    truth->armature_inertia = 1.8e-5;
    truth->motor_friction = 0.010;
}

/* Brush drop and resistance come apart with two voltages; one alone says so. A line forced through zero would read 0.44 ohm
 * plus 1 V over some 20 A, a tenth too much. */
static void two_voltages_part_brushes_from_winding(void **state) {
    (void)state;
    static feeder f[2];
    up_known known;
    up_values truth;
    typical(&known);
    changed_motor(&known, &truth);
    feeder_usual(&f[0].wish, 5e-5, 1);
    feeder_locked(&f[0], &truth, 0.2, 0.22);
    truth.supply_voltage = 5;
    feeder_usual(&f[1].wish, 5e-5, 2);
    feeder_locked(&f[1], &truth, 0.2, 0.22);
    up_fit_request request = {.known = &known,
                              .temperature = 293.15,
                              .recordings = 1,
                              .recording = {{&f[0].recorded, UP_FIT_LOCKED, 1}, {&f[1].recorded, UP_FIT_LOCKED, 1}}};
    static up_fit_result result;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_int_not_equal(verdict(&result, UP_FIT_brush_drop), UP_FIT_TOLD);
    assert_true(advises(&result, UP_FIT_ADVICE_TWO_VOLTAGES));
    request.recordings = 2;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_int_equal(verdict(&result, UP_FIT_brush_drop), UP_FIT_TOLD);
    assert_int_equal(verdict(&result, UP_FIT_winding_resistance), UP_FIT_TOLD);
    assert_int_equal(verdict(&result, UP_FIT_inductance), UP_FIT_TOLD);
    assert_true(within(&result, UP_FIT_winding_resistance, 0.44) && within(&result, UP_FIT_brush_drop, 1.0));
    assert_true(within(&result, UP_FIT_inductance, 0.45e-3));
    assert_true(result.value[UP_FIT_winding_resistance].spread < 0.01);
    assert_int_equal(verdict(&result, UP_FIT_torque_constant), UP_FIT_UNTOUCHED);
    assert_int_equal(verdict(&result, UP_FIT_armature_inertia), UP_FIT_UNTOUCHED);
}

static void filtered_or_slow_current_tells_no_inductance(void **state) {
    (void)state;
    static feeder f;
    up_known known;
    up_values truth;
    typical(&known);
    changed_motor(&known, &truth);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_LOCKED, 1}}};
    static up_fit_result result;
    feeder_usual(&f.wish, 5e-5, 1);
    f.wish.current_filter = 1e-3;
    feeder_locked(&f, &truth, 0.2, 0.22);
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_FILTERED_CURRENT));
    assert_int_not_equal(verdict(&result, UP_FIT_inductance), UP_FIT_TOLD);
    feeder_usual(&f.wish, 1e-3, 1);
    feeder_locked(&f, &truth, 0.4, 0.42);
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_SLOW_SAMPLES));
    assert_int_not_equal(verdict(&result, UP_FIT_inductance), UP_FIT_TOLD);
}

static void a_run_alone_tells_inertia_and_friction(void **state) {
    (void)state;
    static feeder f;
    up_known known;
    up_values truth;
    typical(&known);
    changed_motor(&known, &truth);
    feeder_usual(&f.wish, 1e-4, 3);
    feeder_free(&f, &truth, 1.0, 2.0);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_FREE, 0}}};
    static up_fit_result result;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_int_equal(verdict(&result, UP_FIT_armature_inertia), UP_FIT_TOLD);
    assert_int_equal(verdict(&result, UP_FIT_motor_friction), UP_FIT_TOLD);
    assert_int_equal(verdict(&result, UP_FIT_torque_constant), UP_FIT_TOLD);
    assert_true(within(&result, UP_FIT_armature_inertia, 1.8e-5) && within(&result, UP_FIT_torque_constant, 0.0228));
    assert_true(within(&result, UP_FIT_motor_friction, 0.010));
    assert_int_equal(verdict(&result, UP_FIT_belt_drag), UP_FIT_UNTOUCHED);
}

/* A ring counted with half of its pulses: the voltage contradicts. */
static void a_wrong_count_is_contradicted(void **state) {
    (void)state;
    static feeder f;
    up_known known;
    typical(&known);
    feeder_usual(&f.wish, 1e-4, 3);
    feeder_free(&f, &known.values, 1.0, 2.0);
    known.values.encoder_pulses = 1;
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_FREE, 0}}};
    static up_fit_result result;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_WRONG_COUNT));
    assert_true(fabs(result.course[0].pulses_by_constant - 2) < 0.1);
}

/* Up and down from stop to stop: the pulses of a stroke and their count a turn, and drag by place. */
static void a_stroke_counts_itself(void **state) {
    (void)state;
    static feeder f;
    up_known known;
    up_values truth;
    up_run_options options;
    typical(&known);
    truth = known.values;
    truth.belt_drag += 8;
    feeder_usual(&f.wish, 5e-4, 7);
    feeder_hand(&options, 0.0, 0.05, 4.5, 11);
    options.switch_steps = 5;
    options.switch_step[3] = (up_switch_step){5.0, UP_SWITCH_LOWER_HELD};
    options.switch_step[4] = (up_switch_step){10.0, UP_SWITCH_FREE};
    feeder_run(&f, &truth, &options);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_WITH_GLASS, 0}}};
    static up_fit_result result;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(fabs(result.course[0].pulses_a_turn - 2) < 0.1);
    assert_true(result.course[0].place_known && result.places >= 20);
    assert_false(advises(&result, UP_FIT_ADVICE_BOTH_WAYS));
    for (int i = 0; i < result.places; i++) {
        const up_fit_place *const p = &result.place[i];
        if (p->to < 0.35) {
            assert_true(fabs(p->drag - (p->sheet + 8)) <= 1.3 * p->spread);
        }
    }
    /* Without the pulses nothing of this can be told, and that is said. */
    f.recorded.tracks = 2;
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_NO_MOTION));
    assert_int_not_equal(verdict(&result, UP_FIT_torque_constant), UP_FIT_TOLD);
    assert_int_equal(result.places, 0);
}

enum { ODD_SAMPLES = 20000 };

/* A laboratory supply set to 10 A: at the leads there stands what the motor needs, which says nothing of the battery. */
static void a_supply_that_limits_says_nothing_of_the_battery(void **state) {
    (void)state;
    static double leads[ODD_SAMPLES], current[ODD_SAMPLES];
    static feeder f;
    static up_fit_result result;
    up_known known;
    typical(&known);
    for (int k = 0; k < ODD_SAMPLES; k++) {
        const double t = 5e-5 * (k - 1000), amps = t < 0 ? 0 : 10 * (1 - exp(-t / 1e-3));
        const double drop = 0.8 * amps / sqrt(amps * amps + 0.25);
        leads[k] = (t < 0 ? 0 : 0.44 * amps + drop) + 0.01 * up_random_normal(6, 1, (uint64_t)k);
        current[k] = amps + 0.02 * up_random_normal(6, 2, (uint64_t)k);
    }
    feeder_arrays(&f, leads, current, ODD_SAMPLES, 5e-5);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_LOCKED, 0}}};
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_CURRENT_LIMIT));
    assert_int_equal(verdict(&result, UP_FIT_supply_voltage), UP_FIT_UNTOUCHED);
    assert_int_equal(verdict(&result, UP_FIT_contact_resistance), UP_FIT_UNTOUCHED);
}

/* A voltage chopped between two samples: half of the supply in the mean, but the samples show one or the other. */
static void a_chopped_voltage_is_not_trusted(void **state) {
    (void)state;
    static double leads[ODD_SAMPLES], current[ODD_SAMPLES];
    static feeder f;
    static up_fit_result result;
    up_known known;
    typical(&known);
    for (int k = 0; k < ODD_SAMPLES; k++) {
        leads[k] = k < 1000 ? 0 : up_random_unit(7, 1, (uint64_t)k) < 0.5 ? 12 : 0;
        current[k] = (k < 1000 ? 0 : 3) + 0.02 * up_random_normal(7, 2, (uint64_t)k);
    }
    feeder_arrays(&f, leads, current, ODD_SAMPLES, 5e-5);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_WITH_GLASS, 0}}};
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(advises(&result, UP_FIT_ADVICE_CHOPPED));
    assert_false(advises(&result, UP_FIT_ADVICE_CLIPPED));
}

/* A clamp that stands at 0.3 A: taken off, and the fit is what it is without it. */
static void a_clamp_that_was_not_set_to_zero(void **state) {
    (void)state;
    static feeder f;
    static up_fit_result result;
    up_known known;
    up_values truth;
    typical(&known);
    changed_motor(&known, &truth);
    feeder_usual(&f.wish, 1e-4, 3);
    feeder_free(&f, &truth, 1.0, 2.0);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&f.recorded, UP_FIT_FREE, 0}}};
    assert_int_equal(up_fit(&request, &result), UP_OK);
    const up_fit_value resistance = result.value[UP_FIT_winding_resistance];
    const double constant = result.value[UP_FIT_torque_constant].value;
    for (size_t k = 0; k < f.count; k++) {
        f.current[k] += 0.3;
    }
    assert_int_equal(up_fit(&request, &result), UP_OK);
    assert_true(fabs(result.course[0].zero - 0.3) < 0.005);
    assert_true(fabs(result.value[UP_FIT_winding_resistance].value - resistance.value) < 0.1 * resistance.spread);
    assert_true(fabs(result.value[UP_FIT_torque_constant].value - constant) < 1e-3 * constant);
}

static void what_is_no_recording_is_refused(void **state) {
    (void)state;
    static up_recorded nothing;
    static up_fit_result result;
    up_known known;
    typical(&known);
    up_fit_request request = {.known = &known, .temperature = 293.15, .recordings = 0};
    assert_int_equal(up_fit(&request, &result), UP_BAD_OPTION);
    request.recordings = 1;
    request.recording[0] = (up_fit_recording){&nothing, UP_FIT_FREE, 0};
    assert_int_equal(up_fit(&request, &result), UP_BAD_OPTION);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(example_is_the_published_one),
                                       cmocka_unit_test(published_motor_is_recovered),
                                       cmocka_unit_test(two_voltages_part_brushes_from_winding),
                                       cmocka_unit_test(filtered_or_slow_current_tells_no_inductance),
                                       cmocka_unit_test(a_run_alone_tells_inertia_and_friction),
                                       cmocka_unit_test(a_wrong_count_is_contradicted),
                                       cmocka_unit_test(a_stroke_counts_itself),
                                       cmocka_unit_test(a_supply_that_limits_says_nothing_of_the_battery),
                                       cmocka_unit_test(a_chopped_voltage_is_not_trusted),
                                       cmocka_unit_test(a_clamp_that_was_not_set_to_zero),
                                       cmocka_unit_test(what_is_no_recording_is_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

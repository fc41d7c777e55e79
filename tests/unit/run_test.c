/* One run: what its options refuse, what it tells and in which order, how it ends. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/recording.h"
#include "tests/support/traces_digest.h"

static recording r;

/* ---- options --------------------------------------------------------------------------------------------------------- */

static up_status try(const up_run_options *options) {
    up_outcome outcome;
    memset(&outcome, 0x55, sizeof outcome);
    const up_status status = up_run(&r.door, options, NULL, &outcome, NULL);
    if (status == UP_BAD_OPTION) {
        assert_true(outcome.edges == 0 && outcome.ledger[UP_LEDGER_drawn] == 0); /* filled as far as it got */
    }
    return status;
}

/* Each change alone makes the options refused; the same options without it run. */
static void nonsense_options_are_refused(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    assert_int_equal(up_door_prepare(&r.values, 293.15, &r.door), UP_OK);
    up_run_options good, zeroed;
    up_run_options_default(&good);
    good.time_limit = 0.01;
    assert_int_equal(try(&good), UP_OK);
    memset(&zeroed, 0, sizeof zeroed);
    zeroed.time_limit = 1;
    assert_int_equal(try(&zeroed), UP_BAD_OPTION);
#define REFUSES(change)                           \
    do {                                          \
        up_run_options o = good;                  \
        change;                                   \
        if (try(&o) != UP_BAD_OPTION) {           \
            fail_msg("not refused: %s", #change); \
        }                                         \
    } while (0)
    REFUSES(o.cookie = 0);
    REFUSES(o.start_travel = -1e-9);
    REFUSES(o.start_travel = r.door.travel + 1e-9);
    REFUSES(o.start_travel = NAN);
    REFUSES(o.temperature = 300);
    REFUSES(o.temperature = NAN);
    REFUSES(o.open_voltage = -1);
    REFUSES(o.open_voltage = 61);
    REFUSES(o.push_force = INFINITY);
    REFUSES(o.push_force = 2e5);
    REFUSES(o.switch_steps = 0);
    REFUSES(o.switch_steps = UP_SWITCH_STEPS_MAX + 1);
    REFUSES(o.switch_step[0].time = -1);
    REFUSES(o.switch_step[0].time = NAN);
    REFUSES(o.switch_step[0].position = (up_switch)7);
    REFUSES(o.switch_steps = 2; o.switch_step[0].time = 1; o.switch_step[1].time = 0.5);
    REFUSES(o.supply_steps = -1);
    REFUSES(o.supply_steps = UP_SUPPLY_STEPS_MAX + 1);
    REFUSES(o.supply_steps = 1; o.supply_step[0].open_voltage = 70);
    REFUSES(o.supply_steps = 2; o.supply_step[0].time = 1);
    REFUSES(o.rod = 1; o.rod_opening = -0.001; o.rod_stiffness = 1e4);
    REFUSES(o.rod = 1; o.rod_opening = r.door.travel + 0.001; o.rod_stiffness = 1e4);
    REFUSES(o.rod = 1; o.rod_opening = 0.1; o.rod_stiffness = 0);
    REFUSES(o.rod = 1; o.start_travel = 0.3; o.rod_opening = r.door.travel - 0.2; o.rod_stiffness = 1e4);
    REFUSES(o.ignition_off_time = -1);
    REFUSES(o.tolerance = 0);
    REFUSES(o.tolerance = 0.1);
    REFUSES(o.tolerance = NAN);
    REFUSES(o.time_limit = 0);
    REFUSES(o.time_limit = 1e9);
    REFUSES(o.sample_interval = -1);
    REFUSES(o.sample_interval = NAN);
    REFUSES(o.rest_time = -1);
#undef REFUSES
}

/* ---- what is told ------------------------------------------------------------------------------------------------------- */

static void samples_come_at_their_spacing_and_events_in_order(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        r.options.sample_interval = 0.005;
        r.options.rod = 1;
        r.options.rod_opening = 0.1;
        r.options.rod_stiffness = 2e4;
        recording_run(&r);
        assert_true(r.samples > 100 && r.events > 10 && r.edges > 100);
        for (int i = 0; i < r.samples; i++) {
            assert_true(fabs(r.sample[i].time - 0.005 * i) < 1e-9);
        }
        for (int i = 1; i < r.events; i++) {
            assert_true(r.event[i].time >= r.event[i - 1].time);
        }
        for (int i = 1; i < r.edges; i++) {
            assert_true(r.edge[i] > r.edge[i - 1]);
        }
        assert_int_equal(r.event[r.events - 1].kind, UP_EVENT_RUN_ENDS);
        assert_int_equal(recording_count(&r, UP_EVENT_RUN_ENDS), 1);
        assert_true(r.outcome.edges == (uint64_t)r.edges && r.counts.edges == r.outcome.edges);
        assert_int_equal(recording_count(&r, UP_EVENT_REVERSAL), r.outcome.reversals);
    }
}

/* Events carry the state at their instant. */
static void an_event_shows_the_state_of_its_instant(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CROSSED_ARMS);
    r.options.sample_interval = 1e-3;
    r.options.rod = 1;
    r.options.rod_opening = 0.1;
    r.options.rod_stiffness = 2e4;
    recording_run(&r);
    for (int i = 0; i < r.events; i++) {
        const up_sample *s = recording_at(&r, r.event[i].time);
        assert_true(fabs(r.event[i].travel - s->travel) < 4e-4);
        assert_true(fabs(r.event[i].force - s->rod_force) < 10);
        if (r.event[i].kind == UP_EVENT_ROD_TOUCHED) {
            assert_true(fabs(r.event[i].travel - (r.values.glass_travel - 0.1)) < 1e-7);
            assert_true(r.event[i].time == r.outcome.rod_touch_time || recording_count(&r, UP_EVENT_ROD_TOUCHED) > 1);
        }
    }
}

/* The trace shows what the sums in the outcome say. */
static void peaks_in_the_outcome_are_peaks_of_the_trace(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CABLE);
    r.options.sample_interval = 2.5e-4;
    r.options.rod = 1;
    r.options.rod_opening = 0.15;
    r.options.rod_stiffness = 1e4;
    recording_run(&r);
    double force = 0, current = 0, highest = 0;
    for (int i = 0; i < r.samples; i++) {
        force = fmax(force, r.sample[i].rod_force);
        current = fmax(current, fabs(r.sample[i].current));
        highest = fmax(highest, r.sample[i].travel);
    }
    assert_true(fabs(force - r.outcome.peak_rod_force) < 0.005 * force);
    assert_true(fabs(current - r.outcome.peak_current) < 0.01 * current);
    assert_true(fabs(highest - r.outcome.reversal_travel) < 1e-5);
    assert_true(fabs(r.outcome.reversed_distance - (r.outcome.reversal_travel - r.outcome.final_travel)) < 1e-12);
    assert_true(fabs(recording_last(&r)->travel - r.outcome.final_travel) < 1e-9);
}

/* Kirchhoff, in mid-run where the current hardly changes: battery posts, motor leads, winding. */
static void voltages_add_up_around_the_loop(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    r.values.magnet_coefficient = r.values.winding_coefficient = 0;
    recording_run(&r);
    const up_sample *s = recording_at(&r, 2.0);
    const double outside = r.door.source_resistance + r.door.bridge_resistance;
    assert_true(fabs(s->battery_voltage - (r.values.supply_voltage - r.values.supply_resistance * s->current)) < 1e-9);
    assert_true(fabs(s->motor_voltage - (r.values.supply_voltage - outside * s->current)) < 1e-9);
    const double brush = r.values.brush_drop * s->current / sqrt(s->current * s->current + 0.25);
    const double inside = (r.door.winding_resistance + r.door.protector_resistance) * s->current + brush +
                          r.values.torque_constant * s->armature_speed;
    assert_true(fabs(s->motor_voltage - inside) < 0.005);
}

/* Means over the running part: from 0.15 s after the glass started to the header seal. */
static void running_figures_are_means_of_the_trace(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        r.options.sample_interval = 5e-4;
        recording_run(&r);
        const double from = recording_time(&r, UP_EVENT_GLASS_STARTS, 0) + 0.15;
        const double until = recording_time(&r, UP_EVENT_HEADER_TOUCHED, 0);
        double current = 0;
        int count = 0;
        for (int i = 0; i < r.samples; i++) {
            if (r.sample[i].time >= from && r.sample[i].time <= until) {
                current += r.sample[i].current;
                count++;
            }
        }
        current /= count;
        const double distance = recording_at(&r, until)->travel - recording_at(&r, from)->travel;
        assert_true(fabs(r.outcome.running_current / current - 1) < 0.001);
        assert_true(fabs(r.outcome.running_speed / (distance / (until - from)) - 1) < 0.001);
    }
}

/* Ripple rides on the current, lcm(segments, poles) humps a turn (from memory; lap windings). 8 bars and 2 poles: 8. */
static void ripple_has_as_many_humps_as_bars_and_poles_give(void **state) {
    (void)state;
    static const struct {
        double segments, poles;
        int humps;
    } row[] = {{8, 2, 8}, {9, 2, 18}, {10, 4, 20}, {12, 4, 12}, {7, 4, 28}};
    for (size_t k = 0; k < sizeof row / sizeof row[0]; k++) {
        recording_door(&r, UP_FAMILY_RACK);
        r.values.segments = row[k].segments;
        r.values.poles = row[k].poles;
        r.values.ripple = 0.05;
        r.options.sample_interval = 5e-5;
        r.options.time_limit = 1;
        recording_run(&r);
        int crossings = 0;
        const up_sample *from = recording_at(&r, 0.5);
        for (const up_sample *s = from; s < &r.sample[r.samples - 1]; s++) {
            crossings += s[0].ripple_current < s[0].current && s[1].ripple_current >= s[1].current;
            assert_true(fabs(s->ripple_current / s->current - 1) < 0.0501);
        }
        const double turns = (recording_last(&r)->armature_angle - from->armature_angle) / (2 * 3.14159265358979323846);
        assert_true(fabs(crossings - turns * row[k].humps) < 2);
    }
}

static int stop_after_100(void *context) {
    int *const asked = context;
    return ++*asked >= 100;
}

static void the_caller_may_stop_it(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    assert_int_equal(up_door_prepare(&r.values, 293.15, &r.door), UP_OK);
    int asked = 0;
    const up_sink sink = {&asked, NULL, NULL, NULL, stop_after_100};
    up_outcome outcome;
    up_run_counts counts;
    assert_int_equal(up_run(&r.door, &r.options, &sink, &outcome, &counts), UP_STOPPED);
    assert_int_equal(asked, 100);
    assert_true(counts.steps >= 99 && counts.steps <= 101);
    assert_true(outcome.final_travel >= 0 && outcome.final_travel < 0.2);
    assert_true(fabs(outcome.ledger_gap) < 1e-3 * outcome.ledger[UP_LEDGER_drawn]);
}

static void the_same_run_gives_the_same_bits_and_watching_changes_nothing(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CROSSED_ARMS);
    recording_run(&r);
    const uint64_t watched = up_digest_outcome(UP_DIGEST_START, &r.outcome);
    up_outcome outcome;
    assert_int_equal(up_run(&r.door, &r.options, NULL, &outcome, NULL), UP_OK);
    assert_true(up_digest_outcome(UP_DIGEST_START, &outcome) == watched);
    r.options.sample_interval = 1e-4;
    recording_run(&r);
    assert_true(up_digest_outcome(UP_DIGEST_START, &r.outcome) == watched);
    assert_true(r.samples > 10000);
}

/* The seed matters only where something is random. */
static void the_seed_decides_which_edges_are_lost(void **state) {
    (void)state;
    uint64_t digest[4];
    for (int i = 0; i < 4; i++) {
        recording_door(&r, UP_FAMILY_RACK);
        r.values.encoder_missed = i < 2 ? 0 : 0.05;
        r.values.detect_force = 1500;
        r.options.seed = (uint32_t)i;
        recording_run(&r);
        digest[i] = UP_DIGEST_START;
        for (int k = 0; k < r.samples; k++) {
            digest[i] = up_digest_double(digest[i], r.sample[k].detector_excess);
        }
    }
    assert_true(digest[0] == digest[1] && digest[1] != digest[2] && digest[2] != digest[3]);
}

/* ---- endings ------------------------------------------------------------------------------------------------------------ */

static void each_ending_has_its_run(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_CLOSED);

    recording_hand(&r, UP_SWITCH_LOWER_TOUCH);
    r.options.start_travel = r.values.glass_travel;
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_OPENED);

    recording_hand(&r, UP_SWITCH_FREE);
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_HELD);
    assert_true(isnan(r.outcome.start_delay) && r.outcome.edges == 0 && r.outcome.moving_time == 0);
    assert_true(r.outcome.time < 1); /* it does not wait for the time limit */

    recording_door(&r, UP_FAMILY_RACK);
    r.options.time_limit = 0.5;
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_RUNNING);
    assert_true(fabs(r.outcome.time - 0.5) < 1e-9);

    recording_door(&r, UP_FAMILY_RACK);
    r.options.leads_direct = 1;
    r.options.time_limit = 8;
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_STALLED);

    recording_hand_then(&r, 1, UP_SWITCH_FREE);
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_STOPPED_SHORT);
}

static void names_and_texts_are_there_and_differ(void **state) {
    (void)state;
    for (int i = 0; i < UP_EVENT_COUNT; i++) {
        assert_true(strlen(up_event_name((up_event_kind)i)) > 3 && strlen(up_event_text((up_event_kind)i)) > 5);
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(up_event_name((up_event_kind)i), up_event_name((up_event_kind)k));
        }
    }
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        assert_true(strlen(up_ledger_name((up_ledger_account)i)) > 3 &&
                    strlen(up_ledger_text((up_ledger_account)i)) > 5);
    }
    for (int i = 0; i < UP_END_COUNT; i++) {
        assert_true(strlen(up_end_name((up_end)i)) > 3 && strlen(up_end_text((up_end)i)) > 5);
    }
    assert_string_equal(up_event_name((up_event_kind)999), "unknown");
    assert_string_equal(up_event_text((up_event_kind)999), "unknown");
    assert_string_equal(up_ledger_name((up_ledger_account)999), "unknown");
    assert_string_equal(up_ledger_text((up_ledger_account)999), "unknown");
    assert_string_equal(up_end_name((up_end)999), "unknown");
    assert_string_equal(up_end_text((up_end)999), "unknown");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nonsense_options_are_refused),
        cmocka_unit_test(samples_come_at_their_spacing_and_events_in_order),
        cmocka_unit_test(an_event_shows_the_state_of_its_instant),
        cmocka_unit_test(peaks_in_the_outcome_are_peaks_of_the_trace),
        cmocka_unit_test(voltages_add_up_around_the_loop),
        cmocka_unit_test(running_figures_are_means_of_the_trace),
        cmocka_unit_test(ripple_has_as_many_humps_as_bars_and_poles_give),
        cmocka_unit_test(the_caller_may_stop_it),
        cmocka_unit_test(the_same_run_gives_the_same_bits_and_watching_changes_nothing),
        cmocka_unit_test(the_seed_decides_which_edges_are_lost),
        cmocka_unit_test(each_ending_has_its_run),
        cmocka_unit_test(names_and_texts_are_there_and_differ),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

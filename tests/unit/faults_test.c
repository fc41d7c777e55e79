/* Broken parts of a run: each fault does what docs/model.md section 11.1 says, at its instant and not elsewhere.
 *
 * No outside reference: the contract of run.h. Random numbers are recomputed from core/base/counter_random.h, whose
 * own test holds it to the published vectors. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/base/counter_random.h"
#include "core/sim/run_state.h"
#include "tests/support/recording.h"

static recording r;

static void near(double value, double expected, double within) {
    if (!(fabs(value - expected) <= within)) {
        fail_msg("%.12g is not within %g of %.12g", value, within, expected);
    }
}

/* A closing by one-touch, the hand let go after 0.3 s. */
static void closing(up_family family) {
    recording_door(&r, family);
    recording_hand(&r, UP_SWITCH_RAISE_TOUCH);
    recording_hand_then(&r, 0.3, UP_SWITCH_FREE);
}

/* Opening that the controller counts, less the opening there is, at a time; m. */
static double counted_too_much(double time) {
    const up_sample *s = recording_at(&r, time);
    return s->counted_opening - (r.door.travel - s->travel);
}

/* ---- edges ------------------------------------------------------------------------------------------------------- */

static double sound_count_at_one_second(void) {
    closing(UP_FAMILY_CABLE);
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_CLOSED);
    return counted_too_much(1.0);
}

/* Opening counted too much for the edge that was lost, or too little for the one that came twice, in edges. */
static double miscounted(uint64_t lost, uint64_t doubled) {
    const double sound = sound_count_at_one_second();
    const uint64_t number = lost > 0 ? lost : doubled;
    const up_event_kind told = lost > 0 ? UP_EVENT_EDGE_LOST : UP_EVENT_EDGE_DOUBLED;
    const double then = r.edge[number - 1], spacing = 0.35 / r.edges; /* m an edge, about: travel over edges */
    closing(UP_FAMILY_CABLE);
    r.values.detect_force = 2000; /* the detector would reverse */
    r.options.faults.lost_edge = lost;
    r.options.faults.doubled_edge = doubled;
    recording_run(&r);
    assert_int_equal(recording_count(&r, told), 1);
    near(recording_time(&r, told, 0), then, 1e-6);
    assert_true(r.outcome.edges == (uint64_t)r.edges); /* passed all the same */
    return (counted_too_much(1.0) - sound) / spacing;
}

/* In the start mask there are no usual periods yet, and a lost edge is missing; afterwards it is made up for. */
static void a_lost_edge_is_missing_from_the_count_of_the_start_alone(void **state) {
    (void)state;
    const double at_start = miscounted(4, 0), later = miscounted(60, 0);
    assert_true(at_start > 0.5 && at_start < 2.0);
    assert_true(fabs(later) < 0.5);
}

static void a_doubled_edge_is_not_counted_twice(void **state) {
    (void)state;
    assert_true(fabs(miscounted(0, 1)) < 0.5);
    assert_true(fabs(miscounted(0, 4)) < 0.5);
    assert_true(fabs(miscounted(0, 60)) < 0.5);
}

/* No edge for the stall time: at the latest then the controller turns round. */
static void a_dead_encoder_is_a_stall_at_the_latest(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        closing((up_family)family);
        r.options.faults.encoder_dead_time = 1.0;
        recording_run(&r);
        assert_int_equal(recording_count(&r, UP_EVENT_ENCODER_DEAD), 1);
        const double dead = recording_time(&r, UP_EVENT_ENCODER_DEAD, 0);
        const double turned = recording_time(&r, UP_EVENT_REVERSAL, 0);
        double last = 0;
        for (int i = 0; i < r.edges && r.edge[i] < 1.0; i++) {
            last = r.edge[i];
        }
        assert_true(dead >= 1.0 && dead < 1.1);
        assert_true(turned > 1.0 && turned <= last + r.values.stall_time + r.values.tick + 1e-6);
    }
}

static void an_encoder_dead_from_the_start_lets_nothing_run_on(void **state) {
    (void)state;
    closing(UP_FAMILY_SINGLE_ARM);
    r.options.faults.encoder_dead_time = 0;
    recording_run(&r);
    assert_true(r.outcome.final_travel < 0.05); /* never far up */
    assert_int_not_equal(r.outcome.end, UP_END_RUNNING);
    assert_int_not_equal(r.outcome.end, UP_END_STALLED);
}

/* ---- limit contact, ticks, current ------------------------------------------------------------------------------- */

/* With its position lost the controller finds it again at the limit contact; with the contact stuck it never does. */
static void a_stuck_limit_contact_gives_no_position(void **state) {
    (void)state;
    for (int stuck = 0; stuck <= 2; stuck++) {
        recording_door(&r, UP_FAMILY_CROSSED_ARMS);
        recording_hand(&r, UP_SWITCH_RAISE_HELD);
        r.options.position_lost = 1;
        r.options.faults.limit_stuck = stuck;
        recording_run(&r);
        assert_int_equal(recording_count(&r, UP_EVENT_LIMIT_OPENED) > 0, 1); /* the contact itself does open */
        int known = 0;
        for (int i = 0; i < r.samples; i++) {
            known += !isnan(r.sample[i].counted_opening);
        }
        assert_int_equal(known > 0, stuck == 0);
        assert_int_equal(recording_count(&r, UP_EVENT_TOP_FOUND), stuck == 0);
    }
}

/* A switch step is read at the first tick that comes at or after it; ticks come at n tick + j unit(seed, 13, n). */
static void late_ticks_come_when_the_random_numbers_say(void **state) {
    (void)state;
    closing(UP_FAMILY_CABLE);
    const double tick = r.values.tick, late = 0.9 * tick;
    r.options.seed = 4711;
    r.options.faults.tick_jitter = late;
    r.options.switch_steps = UP_SWITCH_STEPS_MAX;
    for (int i = 0; i < UP_SWITCH_STEPS_MAX; i++) {
        r.options.switch_step[i] = (up_switch_step){0.0137 + 0.0311 * i, i % 2 ? UP_SWITCH_FREE : UP_SWITCH_RAISE_HELD};
    }
    recording_run(&r);
    for (int i = 0; i < UP_SWITCH_STEPS_MAX; i++) {
        const double step = r.options.switch_step[i].time;
        double expected = 0;
        for (uint64_t n = 0; expected < step; n++) {
            expected = (double)n * tick + late * up_random_unit(4711, 13, n);
        }
        near(recording_time(&r, UP_EVENT_SWITCH, i), expected, 1e-12);
    }
}

static void the_measured_current_has_its_offset(void **state) {
    (void)state;
    static up_run_options options;
    static up_run_state run;
    up_run_options_default(&options);
    memset(&run, 0, sizeof run);
    run.options = &options;
    run.span.length = 0.001;
    run.span.y0[UP_FILTERED] = run.span.y1[UP_FILTERED] = 3.0;
    assert_int_equal(up_run_measured_ma(&run, 0.0005), 3000);
    options.faults.current_offset = -5.25;
    assert_int_equal(up_run_measured_ma(&run, 0.0005), -2250);
    options.faults.current_offset = 1000;
    run.span.y0[UP_FILTERED] = run.span.y1[UP_FILTERED] = 1e9;
    assert_int_equal(up_run_measured_ma(&run, 0), 2000000);
}

/* ---- battery ----------------------------------------------------------------------------------------------------- */

static void without_its_battery_the_window_stops_and_stays(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        closing((up_family)family);
        r.options.faults.battery_lost_time = 1.2345;
        recording_run(&r);
        near(recording_time(&r, UP_EVENT_BATTERY_LOST, 0), 1.2345, 1e-12);
        near(recording_time(&r, UP_EVENT_BRIDGE_OPEN, 0), 1.2345, 1e-12);
        near(recording_time(&r, UP_EVENT_BRIDGE_BRAKE, 0), 1.2345 + r.values.bridge_delay, 1e-9);
        assert_int_equal(recording_count(&r, UP_EVENT_CONTROLLER_RESTS), 0);
        assert_int_equal(recording_count(&r, UP_EVENT_BATTERY_BACK), 0);
        assert_int_equal(r.outcome.end, UP_END_STOPPED_SHORT);
        near(r.outcome.time, 1.2345, 1e-12);
        const double drawn = r.outcome.ledger[UP_LEDGER_drawn];
        const up_sample *cut = recording_at(&r, 1.2345);
        assert_true(r.outcome.final_travel - cut->travel < 0.02);
        closing((up_family)family);
        r.options.faults.battery_lost_time = 1.2345;
        r.options.supply_steps = 1;
        r.options.supply_step[0] = (up_supply_step){1.3, 16.0}; /* nobody is connected to it */
        recording_run(&r);
        near(r.outcome.ledger[UP_LEDGER_drawn], drawn, 1e-9 * drawn);
    }
}

/* Back, it does nothing by itself, knows no place, refuses one-touch, and runs while the switch is held. */
static void with_its_battery_back_the_controller_starts_anew(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    recording_hand(&r, UP_SWITCH_RAISE_HELD); /* held all the while */
    r.options.faults.battery_lost_time = 1.0;
    r.options.faults.battery_back_time = 1.5;
    recording_hand_then(&r, 3.0, UP_SWITCH_FREE);
    recording_hand_then(&r, 3.5, UP_SWITCH_RAISE_TOUCH);
    recording_hand_then(&r, 4.0, UP_SWITCH_FREE);
    recording_run(&r);
    near(recording_time(&r, UP_EVENT_BATTERY_BACK, 0), 1.5, 1e-12);
    assert_int_equal(recording_count(&r, UP_EVENT_BRIDGE_RAISE), 2);
    assert_true(recording_time(&r, UP_EVENT_BRIDGE_RAISE, 1) > 3.5); /* not at 1.5, and not at 3.0 */
    assert_int_equal(recording_count(&r, UP_EVENT_ONE_TOUCH_REFUSED), 1);
    assert_true(isnan(recording_at(&r, 1.6)->counted_opening) != 0);
    assert_true(isnan(recording_at(&r, 0.9)->counted_opening) == 0);
    assert_int_equal(r.outcome.end, UP_END_RELEASED);
}

/* Whatever is still to come keeps the run from ending; what lies beyond the time limit does not. */
static void a_run_waits_for_the_battery(void **state) {
    (void)state;
    closing(UP_FAMILY_CABLE);
    r.options.faults.battery_lost_time = 9.0;
    r.options.faults.battery_back_time = 11.0;
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_CLOSED);
    assert_int_equal(recording_count(&r, UP_EVENT_BATTERY_BACK), 1);
    const double end = recording_time(&r, UP_EVENT_RUN_ENDS, 0);
    assert_true(end > 11.0 && end < 12.0);
    near(r.outcome.time, recording_time(&r, UP_EVENT_CONTROLLER_RESTS, 0), 1e-12);
    closing(UP_FAMILY_CABLE);
    r.options.faults.battery_lost_time = 90.0;
    recording_run(&r);
    assert_true(recording_time(&r, UP_EVENT_RUN_ENDS, 0) < 9.0);
}

static void leads_held_to_a_battery_that_is_taken_away(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CABLE);
    recording_hand(&r, UP_SWITCH_RAISE_HELD);
    recording_hand_then(&r, 1.8, UP_SWITCH_LOWER_HELD);
    recording_hand_then(&r, 3.0, UP_SWITCH_FREE);
    r.options.leads_direct = 1;
    r.options.faults.battery_lost_time = 1.0;
    r.options.faults.battery_back_time = 2.0;
    recording_run(&r);
    near(recording_time(&r, UP_EVENT_BRIDGE_OPEN, 0), 1.0, 1e-12);
    assert_int_equal(recording_count(&r, UP_EVENT_BRIDGE_RAISE), 1);
    assert_int_equal(recording_count(&r, UP_EVENT_BRIDGE_BRAKE), 0);
    near(recording_time(&r, UP_EVENT_BRIDGE_LOWER, 0), 2.0, 1e-12); /* turned round meanwhile */
    assert_true(fabs(recording_at(&r, 1.5)->current) < 1e-12);
}

/* ---- options ------------------------------------------------------------------------------------------------------ */

static void nonsense_faults_are_refused(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    assert_int_equal(up_door_prepare(&r.values, 293.15, &r.door), UP_OK);
    up_run_options good;
    up_run_options_default(&good);
    good.time_limit = 0.01;
    up_outcome outcome;
    assert_int_equal(up_run(&r.door, &good, NULL, &outcome, NULL), UP_OK);
#define REFUSES(change)                                                   \
    do {                                                                  \
        up_run_options o = good;                                          \
        up_faults *f = &o.faults;                                         \
        change;                                                           \
        if (up_run(&r.door, &o, NULL, &outcome, NULL) != UP_BAD_OPTION) { \
            fail_msg("not refused: %s", #change);                         \
        }                                                                 \
    } while (0)
    REFUSES(f->encoder_dead_time = -1);
    REFUSES(f->encoder_dead_time = 2e6);
    REFUSES(f->limit_stuck = 3);
    REFUSES(f->limit_stuck = -1);
    REFUSES(f->current_offset = NAN);
    REFUSES(f->current_offset = 1001);
    REFUSES(f->tick_jitter = -1e-6);
    REFUSES(f->tick_jitter = NAN);
    REFUSES(f->tick_jitter = 0.91 * r.door.tick);
    REFUSES(f->battery_lost_time = -1);
    REFUSES(f->battery_lost_time = INFINITY);
    REFUSES(f->battery_back_time = 1); /* and never lost */
    REFUSES(f->battery_lost_time = f->battery_back_time = 1);
#undef REFUSES
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_lost_edge_is_missing_from_the_count_of_the_start_alone),
                                       cmocka_unit_test(a_doubled_edge_is_not_counted_twice),
                                       cmocka_unit_test(a_dead_encoder_is_a_stall_at_the_latest),
                                       cmocka_unit_test(an_encoder_dead_from_the_start_lets_nothing_run_on),
                                       cmocka_unit_test(a_stuck_limit_contact_gives_no_position),
                                       cmocka_unit_test(late_ticks_come_when_the_random_numbers_say),
                                       cmocka_unit_test(the_measured_current_has_its_offset),
                                       cmocka_unit_test(without_its_battery_the_window_stops_and_stays),
                                       cmocka_unit_test(with_its_battery_back_the_controller_starts_anew),
                                       cmocka_unit_test(a_run_waits_for_the_battery),
                                       cmocka_unit_test(leads_held_to_a_battery_that_is_taken_away),
                                       cmocka_unit_test(nonsense_faults_are_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The controller alone: every transition, with ticks and edges given by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/control/controller.h"

enum { TICK = 2000, DEBOUNCE = 5 };

typedef struct bench {
    up_controller controller;
    up_control_settings settings;
    up_control_inputs inputs;
    unsigned told; /* by all ticks since the last start or look */
} bench;

static void put(bench *b, int32_t opening, bool lost) {
    b->settings = (up_control_settings){.tick_us = TICK,
                                        .debounce_ticks = DEBOUNCE,
                                        .stall_us = 150000,
                                        .reverse_pause_us = 30000,
                                        .end_zone_edges = 10,
                                        .top_band_edges = 25,
                                        .reverse_edges = 300,
                                        .limit_edges = 30,
                                        .stroke_edges = 800,
                                        .two_channels = 0,
                                        .reversals_allowed = 2};
    up_detector_settings *d = &b->settings.detector;
    *d = (up_detector_settings){.speed_numerator = 4000000,
                                .free_speed_gain = 4096,
                                .zone_shift = 6,
                                .window = 4,
                                .confirm_edges = 3,
                                .mask_edges = 20,
                                .supply_edges = 1,
                                .learning_edges = 32000,
                                .threshold = 50 * 16};
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        d->gain[i] = 64 * 256;
    }
    b->inputs = (up_control_inputs){.now_us = 1000000, .hand = UP_HAND_FREE, .limit_closed = true, .powered = true};
    b->told = 0;
    up_controller_start(&b->controller, &b->settings, NULL, opening, lost, true);
}

static unsigned ticks(bench *b, int count) {
    unsigned told = 0;
    for (int i = 0; i < count; i++) {
        b->inputs.now_us += TICK;
        told |= up_controller_tick(&b->controller, &b->settings, &b->inputs);
    }
    b->told |= told;
    return told;
}

static unsigned hand(bench *b, int position) {
    b->inputs.hand = position;
    return ticks(b, DEBOUNCE);
}

static void edge(bench *b, uint32_t supply_mv) {
    const up_measured measured = {.supply_mv = supply_mv};
    up_controller_edge(&b->controller, &b->settings, b->inputs.now_us, &measured, b->controller.counting);
}

/* Runs on with one edge in the middle of every tick: 2000 us, a speed of 500. */
static unsigned run(bench *b, int edges, uint32_t supply_mv) {
    unsigned told = 0;
    for (int i = 0; i < edges; i++) {
        b->inputs.now_us += TICK / 2;
        edge(b, supply_mv);
        b->inputs.now_us += TICK / 2;
        told |= up_controller_tick(&b->controller, &b->settings, &b->inputs);
    }
    b->told |= told;
    return told;
}

static void it_rests_until_someone_asks(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, false);
    assert_int_equal(ticks(&b, 1000), 0);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    assert_true(b.controller.position_known);
    assert_int_equal(b.controller.opening, 400);
}

/* An input counts after so many equal readings in a row: not one tick sooner, and bounces start the count anew. */
static void the_switch_is_debounced(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, false);
    b.inputs.hand = UP_HAND_RAISE;
    ticks(&b, DEBOUNCE - 1);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    b.inputs.hand = UP_HAND_FREE;
    ticks(&b, 1);
    b.inputs.hand = UP_HAND_RAISE;
    ticks(&b, DEBOUNCE - 1);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    ticks(&b, 1);
    assert_int_equal(b.controller.drive, UP_DRIVE_RAISE);
    assert_int_equal(b.controller.duty, UP_DUTY_RAISE);
}

static void held_it_runs_and_let_go_it_stops(void **state) {
    (void)state;
    for (int lower = 0; lower < 2; lower++) {
        static bench b;
        put(&b, 400, false);
        hand(&b, lower ? UP_HAND_LOWER : UP_HAND_RAISE);
        assert_int_equal(b.controller.drive, lower ? UP_DRIVE_LOWER : UP_DRIVE_RAISE);
        run(&b, 100, 1500);
        assert_int_equal(b.controller.opening, lower ? 500 : 300);
        const unsigned told = hand(&b, UP_HAND_FREE);
        assert_int_equal(told, UP_TOLD_RELEASED | UP_TOLD_REST);
        assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
        assert_int_equal(b.controller.duty, UP_DUTY_REST);
    }
}

static void one_touch_runs_on_and_any_press_stops_it(void **state) {
    (void)state;
    static const int start[] = {UP_HAND_RAISE_TOUCH, UP_HAND_LOWER_TOUCH};
    static const int press[] = {UP_HAND_RAISE, UP_HAND_LOWER, UP_HAND_RAISE_TOUCH, UP_HAND_LOWER_TOUCH};
    for (int s = 0; s < 2; s++) {
        for (int p = 0; p < 4; p++) {
            static bench b;
            put(&b, 400, false);
            hand(&b, start[s]);
            hand(&b, UP_HAND_FREE);
            run(&b, 50, 1500);
            assert_true(b.controller.duty == (s ? UP_DUTY_LOWER : UP_DUTY_RAISE) && b.controller.touch);
            const unsigned told = hand(&b, press[p]);
            assert_int_equal(told, UP_TOLD_RELEASED | UP_TOLD_REST);
            assert_int_equal(b.controller.duty, UP_DUTY_REST);
            /* The finger still on the switch starts nothing new. */
            assert_int_equal(ticks(&b, 100), 0);
        }
    }
}

static void no_edge_for_the_stall_time_near_the_top_is_the_top(void **state) {
    (void)state;
    static bench b;
    put(&b, 100, false);
    b.settings.detector.mask_edges = 1000; /* nothing but the stall time sees it */
    hand(&b, UP_HAND_RAISE_TOUCH);
    hand(&b, UP_HAND_FREE);
    run(&b, 75, 1500); /* 25 edges left: just inside the band of 25 */
    b.controller.reversals = 1;
    assert_int_equal(ticks(&b, 74), 0); /* 149 ms since the last edge */
    const unsigned told = ticks(&b, 1); /* 151 ms */
    assert_int_equal(told, UP_TOLD_STALL | UP_TOLD_TOP | UP_TOLD_REST);
    assert_int_equal(b.controller.opening, 0);
    assert_int_equal(b.controller.reversals, 0);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
}

/* A drive that a low supply has brought to a stand proves no top. */
static void a_stall_on_a_weak_supply_is_no_top(void **state) {
    (void)state;
    for (uint32_t supply_mv = 5999; supply_mv <= 6000; supply_mv++) {
        static bench b;
        put(&b, 400, false);
        b.settings.weak_mv = 6000;
        b.inputs.supply_mv = supply_mv;
        hand(&b, UP_HAND_RAISE);
        run(&b, 390, 1500);
        b.told = 0;
        ticks(&b, 80);
        const bool weak = supply_mv < 6000;
        assert_int_equal(b.told & UP_TOLD_TOP, weak ? 0 : UP_TOLD_TOP);
        assert_int_equal(b.told & UP_TOLD_REVERSAL, weak ? UP_TOLD_REVERSAL : 0);
    }
}

/* What the current sensor shows at rest is its zero; not what it shows while the glass still coasts. */
static void the_sensors_zero_is_taken_at_rest(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, false);
    b.inputs.current_ma = -3000;
    hand(&b, UP_HAND_RAISE);
    assert_int_equal(b.controller.zero_ma, -3000);
    run(&b, 20, 1500);
    hand(&b, UP_HAND_FREE);
    b.inputs.current_ma = 9000;
    b.inputs.hand = UP_HAND_RAISE;
    run(&b, DEBOUNCE, 1500); /* it coasts: edges come all the time */
    assert_int_equal(b.controller.duty, UP_DUTY_RAISE);
    assert_int_equal(b.controller.zero_ma, -3000);
    hand(&b, UP_HAND_FREE);
    b.inputs.current_ma = INT32_MAX;
    hand(&b, UP_HAND_RAISE);
    assert_int_equal(b.controller.zero_ma, 100000); /* bounded; nothing runs over */
}

/* Stalled at the bottom the drive is wound up: so many edges are not listened to, in one go or in several. Further up it is
 * at once. */
static void unwinding_from_the_bottom_is_not_listened_to(void **state) {
    (void)state;
    for (int opening = 300; opening <= 500; opening += 200) {
        static bench b;
        put(&b, opening, false);
        b.settings.wound_edges = 50;
        hand(&b, UP_HAND_LOWER);
        ticks(&b, 80);
        assert_int_equal(b.told & UP_TOLD_BOTTOM, UP_TOLD_BOTTOM);
        const uint32_t wound = opening > 400 ? 50 : 0;
        assert_int_equal(b.controller.wound, wound);
        hand(&b, UP_HAND_FREE);
        hand(&b, UP_HAND_RAISE);
        run(&b, 30, 1500);
        assert_int_equal(b.controller.wound, wound > 0 ? wound - 30 : 0);
        assert_int_equal(b.controller.detector.edges, wound > 0 ? 0 : 30);
        hand(&b, UP_HAND_FREE);
        hand(&b, UP_HAND_RAISE);
        run(&b, 30, 1500);
        assert_int_equal(b.controller.wound, 0);
        assert_int_equal(b.controller.detector.edges, wound > 0 ? 10 : 30);
    }
}

static void a_stall_further_down_is_an_obstacle(void **state) {
    (void)state;
    static bench b;
    put(&b, 106, false);
    b.settings.detector.mask_edges = 1000; /* nothing but the stall time sees it */
    hand(&b, UP_HAND_RAISE);
    run(&b, 80, 1500); /* 26 edges left: just outside the band */
    const unsigned told = ticks(&b, 80);
    assert_int_equal(told, UP_TOLD_STALL | UP_TOLD_REVERSAL);
    assert_int_equal(b.controller.duty, UP_DUTY_PAUSE);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
}

static void a_stall_while_lowering_is_the_bottom(void **state) {
    (void)state;
    static bench b;
    put(&b, 700, false);
    hand(&b, UP_HAND_LOWER_TOUCH);
    hand(&b, UP_HAND_FREE);
    run(&b, 100, 1500);
    const unsigned told = ticks(&b, 80);
    assert_int_equal(told, UP_TOLD_STALL | UP_TOLD_BOTTOM | UP_TOLD_REST);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
}

/* Up to speed, then 100 N too much: seen on the third edge, told on the tick after. */
static unsigned run_into_something(bench *b) {
    hand(b, UP_HAND_RAISE_TOUCH);
    hand(b, UP_HAND_FREE);
    run(b, 100, 1500);
    const unsigned told = run(b, 3, 1600);
    return told;
}

static void a_pinch_brakes_waits_lowers_and_rests(void **state) {
    (void)state;
    static bench b;
    put(&b, 600, false);
    assert_int_equal(run_into_something(&b), UP_TOLD_PINCH | UP_TOLD_REVERSAL);
    assert_int_equal(b.controller.duty, UP_DUTY_PAUSE);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    const int32_t reversed_at = b.controller.opening;
    ticks(&b, 14);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    ticks(&b, 1); /* 30 ms */
    assert_int_equal(b.controller.drive, UP_DRIVE_LOWER);
    assert_int_equal(b.controller.duty, UP_DUTY_BACK_OFF);
    assert_int_equal(run(&b, 299, 1500), 0);
    assert_int_equal(run(&b, 1, 1500), UP_TOLD_REST);
    assert_int_equal(b.controller.opening, reversed_at + 300);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
    assert_int_equal(b.controller.reversals, 1);
    assert_false(b.controller.touch);
}

/* A reversal cannot be stopped or turned by the switch: what was in the way comes free first. */
static void the_switch_does_not_stop_a_reversal(void **state) {
    (void)state;
    static bench b;
    put(&b, 600, false);
    run_into_something(&b);
    hand(&b, UP_HAND_RAISE);
    ticks(&b, 15);
    assert_int_equal(b.controller.duty, UP_DUTY_BACK_OFF);
    run(&b, 100, 1500);
    hand(&b, UP_HAND_FREE);
    assert_int_equal(b.controller.duty, UP_DUTY_BACK_OFF);
    run(&b, 250, 1500);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
}

static void backing_off_into_the_bottom_ends_it(void **state) {
    (void)state;
    static bench b;
    put(&b, 600, false);
    run_into_something(&b);
    ticks(&b, 15);
    run(&b, 100, 1500);
    assert_int_equal(ticks(&b, 80), UP_TOLD_STALL | UP_TOLD_BOTTOM | UP_TOLD_REST);
}

/* In the zone next to the header the seal itself is an obstacle: nothing reverses there. */
static void next_to_the_header_it_does_not_reverse(void **state) {
    (void)state;
    for (int inside = 0; inside < 2; inside++) {
        static bench b;
        put(&b, inside ? 111 : 112, false); /* first too high after 101 edges: 10 or 11 below the top, zone up to 10 */
        const unsigned told = run_into_something(&b);
        assert_int_equal(told, inside ? 0 : UP_TOLD_PINCH | UP_TOLD_REVERSAL);
    }
}

/* Lowering is not watched: there is nothing to squeeze against. */
static void lowering_is_not_watched(void **state) {
    (void)state;
    static bench b;
    put(&b, 100, false);
    hand(&b, UP_HAND_LOWER);
    run(&b, 100, 1500);
    assert_int_equal(run(&b, 50, 3000), 0);
    assert_int_equal(b.controller.duty, UP_DUTY_LOWER);
}

static void after_so_many_reversals_one_touch_is_refused_until_the_top_was_found(void **state) {
    (void)state;
    static bench b;
    put(&b, 700, false);
    for (int i = 0; i < 2; i++) {
        run_into_something(&b);
        ticks(&b, 15);
        run(&b, 300, 1500);
        ticks(&b, 10);
        assert_int_equal(b.controller.duty, UP_DUTY_REST);
        b.controller.opening = 700;
    }
    assert_int_equal(b.controller.reversals, 2);
    assert_int_equal(hand(&b, UP_HAND_RAISE_TOUCH), UP_TOLD_TOUCH_REFUSED);
    assert_int_equal(b.controller.duty, UP_DUTY_RAISE); /* it goes while it is held */
    hand(&b, UP_HAND_FREE);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
    b.controller.opening = 20;
    hand(&b, UP_HAND_RAISE);
    ticks(&b, 100);
    assert_int_equal(b.controller.reversals, 0);
    hand(&b, UP_HAND_FREE);
    b.controller.opening = 700;
    assert_int_equal(hand(&b, UP_HAND_RAISE_TOUCH), 0);
    hand(&b, UP_HAND_FREE);
    assert_int_equal(b.controller.duty, UP_DUTY_RAISE);
    b.settings.reversals_allowed = 0; /* any number */
    hand(&b, UP_HAND_LOWER);
    hand(&b, UP_HAND_FREE);
    b.controller.reversals = 1000;
    assert_int_equal(hand(&b, UP_HAND_RAISE_TOUCH), 0);
}

/* ---- lost position ---------------------------------------------------------------------------------------------------- */

static void lost_it_refuses_one_touch_and_finds_itself_at_the_limit_contact(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, true);
    assert_false(b.controller.position_known);
    assert_int_equal(hand(&b, UP_HAND_RAISE_TOUCH), UP_TOLD_TOUCH_REFUSED);
    hand(&b, UP_HAND_FREE);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
    hand(&b, UP_HAND_RAISE);
    run(&b, 200, 1500);
    assert_false(b.controller.position_known);
    b.inputs.limit_closed = false;
    run(&b, DEBOUNCE - 1, 1500);
    assert_false(b.controller.position_known);
    run(&b, 1, 1500);
    assert_true(b.controller.position_known);
    assert_int_equal(b.controller.opening, 30);
    run(&b, 20, 1500);
    assert_int_equal(ticks(&b, 80), UP_TOLD_STALL | UP_TOLD_TOP | UP_TOLD_REST);
    assert_int_equal(b.controller.opening, 0);
}

static void the_limit_contact_says_nothing_while_lowering_or_when_the_position_is_known(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, true);
    hand(&b, UP_HAND_LOWER);
    run(&b, 50, 1500);
    b.inputs.limit_closed = false;
    run(&b, 20, 1500);
    assert_false(b.controller.position_known);
    put(&b, 400, false);
    hand(&b, UP_HAND_RAISE);
    run(&b, 50, 1500);
    b.inputs.limit_closed = false;
    run(&b, 20, 1500);
    assert_int_equal(b.controller.opening, 330);
}

/* Lost, a stall could be anything: it reverses rather than take the place for the top. */
static void lost_a_stall_is_not_taken_for_the_top(void **state) {
    (void)state;
    static bench b;
    put(&b, 0, true);
    b.settings.detector.mask_edges = 1000; /* nothing but the stall time sees it */
    hand(&b, UP_HAND_RAISE);
    run(&b, 50, 1500);
    assert_int_equal(ticks(&b, 80), UP_TOLD_STALL | UP_TOLD_REVERSAL);
    assert_false(b.controller.position_known);
}

static void lost_it_still_sees_a_pinch(void **state) {
    (void)state;
    static bench b;
    put(&b, 0, true);
    hand(&b, UP_HAND_RAISE);
    run(&b, 100, 1500);
    assert_int_equal(run(&b, 3, 1600), UP_TOLD_PINCH | UP_TOLD_REVERSAL);
}

/* Where it does not know, it reckons with the gain in the middle of the stroke: 400 edges down here, border 6.25. */
static void lost_it_reckons_with_the_middle_of_the_stroke(void **state) {
    (void)state;
    static bench b;
    put(&b, 0, true);
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        b.settings.detector.gain[i] = (uint16_t)(1024 * i);
    }
    hand(&b, UP_HAND_RAISE);
    run(&b, 10, 1500);
    assert_int_equal(b.controller.detector.reference / 16, 1000 * 6400 / 1024); /* 1500 mV free, 500 real */
}

/* Exactly the stall time counts as a stall. */
static void the_stall_time_is_where_it_is_set(void **state) {
    (void)state;
    for (int late = 0; late < 2; late++) {
        static bench b;
        put(&b, 20, false);
        b.settings.stall_us = 150000 + (uint32_t)late;
        hand(&b, UP_HAND_RAISE); /* the watch starts with the drive */
        assert_int_equal(ticks(&b, 74), 0);
        assert_int_equal(ticks(&b, 1) != 0, !late);
    }
}

/* ---- the rest ------------------------------------------------------------------------------------------------------------ */

static void without_power_it_lets_go_and_starts_nothing(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, false);
    hand(&b, UP_HAND_RAISE_TOUCH);
    run(&b, 50, 1500);
    b.inputs.powered = false;
    assert_int_equal(ticks(&b, 1), UP_TOLD_REST);
    assert_int_equal(b.controller.drive, UP_DRIVE_BRAKE);
    b.inputs.hand = UP_HAND_LOWER;
    assert_int_equal(ticks(&b, 100), 0);
    assert_int_equal(b.controller.duty, UP_DUTY_REST);
}

/* With one channel an edge counts the way the bridge last drove, coasting included; two channels tell it themselves. */
static void edges_count_by_the_drive_or_by_the_second_channel(void **state) {
    (void)state;
    static bench b;
    put(&b, 400, false);
    hand(&b, UP_HAND_RAISE);
    run(&b, 10, 1500);
    hand(&b, UP_HAND_FREE);
    const up_measured measured = {.supply_mv = 1500};
    up_controller_edge(&b.controller, &b.settings, b.inputs.now_us, &measured, +1); /* one channel: not believed */
    assert_int_equal(b.controller.opening, 389);
    b.settings.two_channels = 1;
    up_controller_edge(&b.controller, &b.settings, b.inputs.now_us, &measured, +1);
    assert_int_equal(b.controller.opening, 390);
    up_controller_edge(&b.controller, &b.settings, b.inputs.now_us, &measured, -1);
    assert_int_equal(b.controller.opening, 389);
}

/* Microseconds in 32 bits wrap after 71 minutes: nothing notices. */
static void time_may_wrap_anywhere(void **state) {
    (void)state;
    for (uint32_t before = 1; before < 400; before += 3) {
        static bench b, same;
        put(&b, 600, false);
        put(&same, 600, false);
        b.inputs.now_us = UINT32_MAX - before * TICK;
        up_detector_start(&b.controller.detector, b.inputs.now_us);
        assert_int_equal(run_into_something(&b), run_into_something(&same));
        assert_int_equal(ticks(&b, 16), ticks(&same, 16));
        assert_int_equal(run(&b, 350, 1500), run(&same, 350, 1500));
        assert_int_equal(b.controller.duty, same.controller.duty);
        assert_int_equal(b.controller.opening, same.controller.opening);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_rests_until_someone_asks),
        cmocka_unit_test(the_switch_is_debounced),
        cmocka_unit_test(held_it_runs_and_let_go_it_stops),
        cmocka_unit_test(one_touch_runs_on_and_any_press_stops_it),
        cmocka_unit_test(no_edge_for_the_stall_time_near_the_top_is_the_top),
        cmocka_unit_test(a_stall_on_a_weak_supply_is_no_top),
        cmocka_unit_test(the_sensors_zero_is_taken_at_rest),
        cmocka_unit_test(unwinding_from_the_bottom_is_not_listened_to),
        cmocka_unit_test(a_stall_further_down_is_an_obstacle),
        cmocka_unit_test(a_stall_while_lowering_is_the_bottom),
        cmocka_unit_test(a_pinch_brakes_waits_lowers_and_rests),
        cmocka_unit_test(the_switch_does_not_stop_a_reversal),
        cmocka_unit_test(backing_off_into_the_bottom_ends_it),
        cmocka_unit_test(next_to_the_header_it_does_not_reverse),
        cmocka_unit_test(lowering_is_not_watched),
        cmocka_unit_test(after_so_many_reversals_one_touch_is_refused_until_the_top_was_found),
        cmocka_unit_test(lost_it_refuses_one_touch_and_finds_itself_at_the_limit_contact),
        cmocka_unit_test(the_limit_contact_says_nothing_while_lowering_or_when_the_position_is_known),
        cmocka_unit_test(lost_a_stall_is_not_taken_for_the_top),
        cmocka_unit_test(lost_it_still_sees_a_pinch),
        cmocka_unit_test(lost_it_reckons_with_the_middle_of_the_stroke),
        cmocka_unit_test(the_stall_time_is_where_it_is_set),
        cmocka_unit_test(without_power_it_lets_go_and_starts_nothing),
        cmocka_unit_test(edges_count_by_the_drive_or_by_the_second_channel),
        cmocka_unit_test(time_may_wrap_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* A dead encoder leads to a stop: the controller hears no edge from some edge on, while its ticks go on. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/control/controller.h"
#include "tests/detector/drive.h"

enum { SUPPLY = 12500 };

typedef struct window {
    up_control_settings settings;
    up_controller controller;
    up_control_inputs inputs;
    double time_us, next_edge_us, last_edge_us, next_tick_us, current;
    unsigned told;
    int edges;
} window;

static void start(window *w, int kind, int two_channels) {
    *w = (window){.time_us = 4294e6}; /* the 32 bits of the clock run over a second later */
    drive_control_settings(kind, &w->settings);
    w->settings.two_channels = (uint32_t)two_channels;
    w->inputs = (up_control_inputs){.limit_closed = true, .powered = true, .supply_mv = SUPPLY};
    w->next_tick_us = w->time_us;
    up_controller_start(&w->controller, &w->settings, NULL, w->settings.stroke_edges / 2, false, true);
}

static void tick(window *w) {
    w->time_us = w->next_tick_us;
    w->next_tick_us += w->settings.tick_us;
    w->inputs.now_us = (uint32_t)(uint64_t)w->time_us;
    w->inputs.current_ma = (int32_t)w->current;
    w->told |= up_controller_tick(&w->controller, &w->settings, &w->inputs);
}

/* One-touch raising, the hand gone. */
static void ask_to_raise(window *w) {
    w->inputs.hand = UP_HAND_RAISE_TOUCH;
    for (uint32_t i = 0; i < w->settings.debounce_ticks + 2; i++) {
        tick(w);
    }
    w->inputs.hand = UP_HAND_FREE;
    assert_int_equal(w->controller.drive, UP_DRIVE_RAISE);
    w->next_edge_us = w->last_edge_us = w->time_us;
}

/* Raises with the usual load for so many edges. */
static void raise_for(window *w, int edges) {
    const up_detector_settings *s = &w->settings.detector;
    while (w->edges < edges) {
        const double speed = drive_usual_speed(s, w->controller.opening, SUPPLY, &w->current);
        w->next_edge_us += drive_spacing(s) / speed * 1e6;
        while (w->next_tick_us < w->next_edge_us) {
            tick(w);
        }
        const up_measured measured = {SUPPLY, (int32_t)w->current};
        up_controller_edge(&w->controller, &w->settings, (uint32_t)(uint64_t)w->next_edge_us, &measured, -1);
        w->last_edge_us = w->next_edge_us;
        w->edges++;
        assert_int_equal(w->controller.drive, UP_DRIVE_RAISE); /* not for another reason */
    }
}

/* How long it goes on raising without an edge, us. */
static double raises_on_for(window *w) {
    while (w->controller.drive == UP_DRIVE_RAISE) {
        tick(w);
        assert_true(w->time_us - w->last_edge_us < 2e6);
    }
    return w->time_us - w->last_edge_us;
}

/* It may lower to free what may be in the way, and ends at rest; it never raises by itself again. */
static void ends_at_rest(window *w) {
    const double end = w->time_us + 10e6;
    while (w->time_us < end) {
        tick(w);
        assert_int_not_equal(w->controller.drive, UP_DRIVE_RAISE);
    }
    assert_int_equal(w->controller.duty, UP_DUTY_REST);
    assert_int_equal(w->controller.drive, UP_DRIVE_BRAKE);
}

/* Past the mask: six usual periods, at least 20 ms, and a tick. Before it: the stall time and a tick. */
static void a_dead_encoder_leads_to_a_stop(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        for (int edges = 0; edges < 250; edges += edges < 45 ? 1 : 20) {
            static window w;
            start(&w, kind, edges % 2);
            ask_to_raise(&w);
            raise_for(&w, edges);
            const double period = 1e6 * drive_spacing(&w.settings.detector) /
                                  drive_usual_speed(&w.settings.detector, w.controller.opening, SUPPLY, &w.current);
            const bool armed = w.controller.detector.armed;
            const double silence = raises_on_for(&w);
            const double soon = 1.1 * 6 * period > 20e3 ? 1.1 * 6 * period : 20e3;
            const double most = armed && soon < w.settings.stall_us ? soon : w.settings.stall_us;
            if (silence > most + 2.0 * w.settings.tick_us) {
                print_error("%s: dead after %d edges, raised on for %.1f ms\n", drive_name(kind), edges, silence / 1e3);
                fail();
            }
            assert_true(w.told & UP_TOLD_REVERSAL); /* half way up it is an obstacle, not the top */
            ends_at_rest(&w);
        }
    }
}

/* Dead from the start, with the hand on the switch all the time: the same, and again at every new pull. */
static void with_the_hand_on_the_switch_it_stops_as_well(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        static window w;
        start(&w, kind, 0);
        for (int pull = 0; pull < 5; pull++) {
            w.inputs.hand = UP_HAND_RAISE;
            double raising_since = 0, longest = 0;
            for (int i = 0; i < 5000; i++) {
                tick(&w);
                const bool raises = w.controller.drive == UP_DRIVE_RAISE;
                raising_since = raises ? raising_since + w.settings.tick_us : 0;
                longest = raising_since > longest ? raising_since : longest;
            }
            assert_true(longest <= w.settings.stall_us + 2.0 * w.settings.tick_us);
            assert_int_equal(w.controller.drive, UP_DRIVE_BRAKE);
            w.inputs.hand = UP_HAND_FREE;
            for (int i = 0; i < 100; i++) {
                tick(&w);
            }
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dead_encoder_leads_to_a_stop),
        cmocka_unit_test(with_the_hand_on_the_switch_it_stops_as_well),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The contracts of detector/pinch_detector.h on millions of random calls: what the proof shows once for all numbers
 * (ranges, no overflow: the sanitizer build looks on), and what it cannot (rows, mask, memory, bounds), against plain
 * counting. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/control/controller.h"
#include "core/door/door.h"
#include "tests/detector/any_settings.h"
#include "tests/detector/drive.h"

#ifdef UPSTOP_SANITIZED
enum { WINDOWS = 1500, CALLS = 400 };
#else
enum { WINDOWS = 6000, CALLS = 600 };
#endif

static void in_between(int64_t low, int64_t x, int64_t high) {
    assert_true(low <= x && x <= high);
}

/* The predicate up_in_range of the header. */
static void assert_state_in_range(const up_detector *d) {
    const int64_t load = 32000 * 16, speed = 4000 * 64 * 256;
    in_between(0, d->supply, 65535 * 16);
    in_between(0, d->next_period, UP_DETECTOR_WINDOW_MAX - 1);
    in_between(-load, d->load, load);
    in_between(-speed, d->speed, speed);
    in_between(-speed, d->missing, speed);
    in_between(-speed, d->bias, speed);
    in_between(-32 * load, d->reference, 32 * load);
    in_between(-1601536, d->excess, 1601536);
}

typedef struct window {
    up_detector_settings settings;
    up_detector_memory memory;
    up_detector detector;
    any_drive drive;
} window;

static uint64_t place_of(int number) {
    return (uint64_t)number << 20;
}

static void new_window(window *w, int number) {
    any_settings(place_of(number), &w->settings);
    assert_true(up_detector_settings_are_valid(&w->settings));
    any_memory(place_of(number), &w->settings, &w->memory);
    w->drive = any_drive_of(place_of(number));
    up_detector_start(&w->detector, w->drive.now_us);
    assert_state_in_range(&w->detector);
    assert_false(w->detector.armed);
}

static void ranges_hold_whatever_comes_in(void **state) {
    (void)state;
    for (int number = 0; number < WINDOWS; number++) {
        static window w;
        new_window(&w, number);
        for (uint64_t i = 0; i < CALLS; i++) {
            const any_call what = any_call_of(&w.drive, place_of(number) + i);
            (void)up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            assert_state_in_range(&w.detector);
            (void)up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick);
            assert_state_in_range(&w.detector);
            if (what.moved) {
                up_detector_moved(&w.detector, &w.settings, &w.memory, what.edge.opening_edges, what.true_edges);
                assert_state_in_range(&w.detector);
            }
        }
        up_detector_closed(&w.detector, &w.settings, &w.memory);
        assert_true(up_detector_worn_knots(&w.settings, &w.memory) <= UP_DETECTOR_KNOTS);
    }
}

/* By pace: the answer is "so many edges in a row above the threshold", no more and no less, counted here by hand. An edge
 * that came twice is not there at all: it changes nothing. Nothing is judged before a window is full and half of the mask
 * is over. */
static void so_many_edges_above_always_command_a_reversal(void **state) {
    (void)state;
    uint64_t commands = 0, twice = 0;
    for (int number = 0; number < WINDOWS; number++) {
        static window w;
        new_window(&w, number);
        w.settings.principle = UP_DETECTOR_BY_PACE;
        uint32_t row = 0;
        for (uint64_t i = 0; i < CALLS; i++) {
            const up_detector before = w.detector;
            const any_call what = any_call_of(&w.drive, place_of(number) + i);
            const bool said = up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            if (w.detector.edges == before.edges) {
                assert_memory_equal(&w.detector, &before, sizeof before);
                assert_false(said);
                twice++;
            } else if (w.detector.edges > w.settings.window && w.detector.edges > w.settings.mask_edges / 2U) {
                row = w.detector.excess > w.settings.threshold ? row + 1 : 0;
                assert_int_equal(said, row >= w.settings.confirm_edges);
                commands += said;
            } else {
                assert_false(said);
            }
        }
    }
    assert_true(commands > WINDOWS && twice > 1000); /* the test has seen what it is about */
}

/* By observer: the same with ticks, while the current is believed. */
static void so_many_ticks_above_always_command_a_reversal(void **state) {
    (void)state;
    uint64_t commands = 0;
    for (int number = 0; number < WINDOWS; number++) {
        static window w;
        new_window(&w, number);
        w.settings.principle = UP_DETECTOR_BY_OBSERVER;
        for (uint64_t i = 0; i < CALLS; i++) {
            const any_call what = any_call_of(&w.drive, place_of(number) + i);
            const bool edge_said = up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            assert_true(!edge_said || w.detector.over >= w.settings.confirm_edges);
            const uint32_t row = w.detector.over;
            const bool judges = w.detector.armed && !w.detector.by_pulses;
            const bool said = up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick);
            if (judges && w.detector.excess > w.settings.threshold && row + 1 >= w.settings.confirm_edges) {
                assert_true(said);
                commands++;
            }
        }
    }
    assert_true(commands > WINDOWS);
}

/* Whatever edges bring, as long as a motor could bring them, after so many of them it is on guard. UP_DETECTOR_MASK_MAX
 * bounds that for every window. */
static void the_mask_ends_after_its_edges(void **state) {
    (void)state;
    for (int number = 0; number < WINDOWS / 10; number++) {
        static window w;
        new_window(&w, number);
        const uint32_t mask = w.settings.mask_edges > w.settings.window ? w.settings.mask_edges : w.settings.window;
        assert_true(mask <= UP_DETECTOR_MASK_MAX);
        for (uint32_t i = 0; i <= mask; i++) {
            assert_false(w.detector.armed);
            any_call what = any_call_of(&w.drive, place_of(number) + i);
            what.edge.now_us = w.detector.last_edge + w.settings.soon_us + what.edge.now_us % 500000;
            (void)up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            (void)up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick);
        }
        assert_true(w.detector.armed);
    }
}

static void assert_within_bound(const window *w) {
    for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
        const int32_t away = w->memory.profile[k] - w->settings.profile[k];
        assert_true(away <= w->settings.bound && away >= -w->settings.bound);
    }
}

/* Any number of closings of any kind: the profile stays as near to what it was set up with as the bound says, and moves by
 * at most 2 N in one closing. What a worn store gave back comes inside with the first call, be it of a detector just
 * started. */
static void the_profile_never_leaves_its_bound(void **state) {
    (void)state;
    for (int number = 0; number < WINDOWS / 10; number++) {
        static window w;
        new_window(&w, number);
        w.settings.learns = 1;
        up_detector_closed(&w.detector, &w.settings, &w.memory);
        assert_within_bound(&w);
        for (uint64_t closing = 0; closing < 20; closing++) {
            up_detector_start(&w.detector, w.drive.now_us);
            for (uint64_t i = 0; i < 100; i++) {
                const any_call what = any_call_of(&w.drive, place_of(number) + 1000 * closing + i);
                (void)up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            }
            const up_detector_memory before = w.memory;
            up_detector_closed(&w.detector, &w.settings, &w.memory);
            assert_within_bound(&w);
            for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
                in_between(-2 * 16, w.memory.profile[k] - before.profile[k], 2 * 16);
            }
        }
        const up_detector_memory before = w.memory;
        w.settings.learns = 0;
        up_detector_closed(&w.detector, &w.settings, &w.memory);
        assert_memory_equal(&w.memory, &before, sizeof before);
    }
}

/* The controller does that when power comes on. */
static void a_worn_store_hides_nothing_from_the_controller(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        up_control_settings settings;
        up_detector_memory store;
        up_controller controller;
        drive_control_settings(kind, &settings);
        const up_detector_settings *s = &settings.detector;
        for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
            store.profile[k] = k % 2 ? INT16_MAX : INT16_MIN;
        }
        up_controller_start(&controller, &settings, &store, 100, false, true);
        for (int k = 0; k < UP_DETECTOR_KNOTS && s->learns; k++) {
            in_between(-s->bound, controller.memory.profile[k] - s->profile[k], s->bound);
        }
    }
}

/* Within one closing the reference stays within its bound of the profile. */
static void the_reference_never_leaves_its_bound(void **state) {
    (void)state;
    for (int number = 0; number < WINDOWS; number++) {
        static window w;
        new_window(&w, number);
        w.settings.learns = 1;
        for (uint64_t i = 0; i < CALLS / 4; i++) {
            any_call what = any_call_of(&w.drive, place_of(number) + i);
            what.edge.place_known = true; /* else there is no profile to keep to */
            (void)up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            (void)up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick);
            if (what.moved) {
                up_detector_moved(&w.detector, &w.settings, &w.memory, what.edge.opening_edges, what.true_edges);
            }
            in_between(-16 * (int64_t)w.settings.bound, w.detector.reference, 16 * (int64_t)w.settings.bound);
        }
    }
}

/* What is left over from before says nothing about the next closing. */
static void a_start_forgets_everything(void **state) {
    (void)state;
    for (int number = 0; number < WINDOWS / 10; number++) {
        static window w, fresh;
        memset(&w, 0, sizeof w);
        memset(&fresh, 0xA5, sizeof fresh);
        new_window(&w, number);
        for (uint64_t i = 0; i < 200; i++) {
            const any_call what = any_call_of(&w.drive, place_of(number) + i);
            (void)up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge);
            (void)up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick);
        }
        up_detector_start(&w.detector, w.drive.now_us);
        up_detector_start(&fresh.detector, w.drive.now_us);
        for (uint64_t i = 0; i < 200; i++) {
            const any_call what = any_call_of(&w.drive, place_of(number) + 1000 + i);
            assert_int_equal(up_detector_edge(&w.detector, &w.settings, &w.memory, &what.edge),
                             up_detector_edge(&fresh.detector, &w.settings, &w.memory, &what.edge));
            assert_int_equal(up_detector_tick(&w.detector, &w.settings, &w.memory, &what.tick),
                             up_detector_tick(&fresh.detector, &w.settings, &w.memory, &what.tick));
            assert_int_equal(w.detector.excess, fresh.detector.excess);
            assert_int_equal(w.detector.reference, fresh.detector.reference);
        }
    }
}

/* The load by pace is gain times missing speed: here in floating point, from the periods and the voltage alone. What the
 * integers cut off: a unit of each speed, a unit of the gain, a sixteenth of a newton. */
static void the_load_is_gain_times_missing_speed(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_DOORS; kind++) {
        up_detector_settings s;
        drive_settings(kind, &s);
        const up_detector_memory memory = {{0}};
        for (uint64_t round = 0; round < 500; round++) {
            up_detector d;
            uint32_t now = any_number(round, 90, 0, UINT32_MAX), period[UP_DETECTOR_WINDOW_MAX] = {0};
            const uint32_t supply = any_number(round, 91, 8000, 16000);
            const uint32_t opening = any_number(round, 92, 100, 16U << s.zone_shift);
            const uint32_t usual = any_number(round, 93, 600, 5000) + s.soon_us;
            up_detector_start(&d, now);
            for (uint32_t i = 0; i < 100; i++) {
                period[i % s.window] = usual + any_number(100 * round + i, 94, 0, usual / 5);
                now += period[i % s.window];
                const up_detector_reading reading = {now, supply, 0, (int32_t)(opening - i), true};
                (void)up_detector_edge(&d, &s, &memory, &reading);
            }
            double time = 0;
            for (uint32_t i = 0; i < s.window; i++) {
                time += period[i];
            }
            const double place = (opening - 99) / (double)(1U << s.zone_shift);
            const int zone = place < UP_DETECTOR_ZONES ? (int)place : UP_DETECTOR_ZONES - 1;
            const double gain = s.gain[zone] + (s.gain[zone + 1] - s.gain[zone]) * (place - zone);
            const double missing = (supply - (double)s.brush_mv) * s.free_speed_gain / 4096 - s.speed_numerator / time;
            const double cut = 2 + (2 * gain + fabs(missing)) / 1024;
            assert_true(fabs(d.load - missing * gain / 1024) <= cut);
        }
    }
}

/* Each end of each range is allowed, one beyond it is not. */
#define REFUSED(member, value)                             \
    do {                                                   \
        up_detector_settings s_ = good;                    \
        s_.member = (value);                               \
        assert_false(up_detector_settings_are_valid(&s_)); \
    } while (0)
#define TAKEN(member, value)                              \
    do {                                                  \
        up_detector_settings s_ = good;                   \
        s_.member = (value);                              \
        assert_true(up_detector_settings_are_valid(&s_)); \
    } while (0)

static void settings_outside_their_ranges_are_refused(void **state) {
    (void)state;
    const up_detector_settings good = {
        .window = 1, .confirm_edges = 1, .supply_edges = 1, .learning_edges = 1, .threshold = 1, .step_max_us = 1};
    assert_true(up_detector_settings_are_valid(&good));
    REFUSED(window, 0);
    TAKEN(window, 8);
    REFUSED(window, 9);
    TAKEN(zone_shift, 14);
    REFUSED(zone_shift, 15);
    REFUSED(confirm_edges, 0);
    TAKEN(confirm_edges, UINT16_MAX);
    TAKEN(mask_edges, UP_DETECTOR_MASK_MAX);
    REFUSED(mask_edges, UP_DETECTOR_MASK_MAX + 1);
    REFUSED(supply_edges, 0);
    REFUSED(learning_edges, 0);
    TAKEN(free_speed_gain, 1U << 24);
    REFUSED(free_speed_gain, (1U << 24) + 1);
    REFUSED(threshold, 0);
    TAKEN(threshold, 32000 * 16);
    REFUSED(threshold, 32000 * 16 + 1);
    TAKEN(learns, 1);
    REFUSED(learns, 2);
    TAKEN(fine_shift, 14);
    REFUSED(fine_shift, 15);
    TAKEN(coarse_shift, 14);
    REFUSED(coarse_shift, 15);
    REFUSED(bound, -1);
    TAKEN(bound, 32000 * 16);
    REFUSED(bound, 32000 * 16 + 1);
    TAKEN(stretch, 1U << 20);
    REFUSED(stretch, (1U << 20) + 1);
    TAKEN(taught_load, -32000 * 16);
    REFUSED(taught_load, -32000 * 16 - 1);
    REFUSED(taught_load, 32000 * 16 + 1);
    TAKEN(soon_us, 20000);
    REFUSED(soon_us, 20001);
    TAKEN(lag, 1024);
    REFUSED(lag, 1025);
    TAKEN(principle, UP_DETECTOR_BY_OBSERVER);
    REFUSED(principle, 2);
    REFUSED(step_max_us, 0);
    TAKEN(step_max_us, 20000);
    REFUSED(step_max_us, 20001);
    TAKEN(per_acceleration, 4U << 24);
    REFUSED(per_acceleration, (4U << 24) + 1);
    TAKEN(speed_gain, 1U << 24);
    REFUSED(speed_gain, (1U << 24) + 1);
    TAKEN(load_gain, 4U << 24);
    REFUSED(load_gain, (4U << 24) + 1);
}

/* What a sheet can ask for is always inside the ranges. */
static void every_door_gives_valid_settings(void **state) {
    (void)state;
    static up_door door;
    int doors = 0;
    for (uint64_t index = 0; index < 3000; index++) {
        up_values values;
        if (up_random_door(5, index, &values) != UP_OK) {
            continue;
        }
        values.detect_principle = index % 2 ? UP_BY_OBSERVER : UP_BY_PACE;
        values.detect_profile = index / 2 % 2 ? UP_PROFILE_LEARNED : UP_PROFILE_NONE;
        if (up_door_prepare(&values, 233.15 + (double)(index % 110), &door) != UP_OK) {
            continue;
        }
        doors++;
        assert_true(up_detector_settings_are_valid(&door.control.detector));
    }
    assert_true(doors > 2000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ranges_hold_whatever_comes_in),
        cmocka_unit_test(so_many_edges_above_always_command_a_reversal),
        cmocka_unit_test(so_many_ticks_above_always_command_a_reversal),
        cmocka_unit_test(the_mask_ends_after_its_edges),
        cmocka_unit_test(the_profile_never_leaves_its_bound),
        cmocka_unit_test(a_worn_store_hides_nothing_from_the_controller),
        cmocka_unit_test(the_reference_never_leaves_its_bound),
        cmocka_unit_test(a_start_forgets_everything),
        cmocka_unit_test(the_load_is_gain_times_missing_speed),
        cmocka_unit_test(settings_outside_their_ranges_are_refused),
        cmocka_unit_test(every_door_gives_valid_settings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

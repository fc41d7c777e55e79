/* Promises of docs/detector.md ("Contracts") on a drive: an obstacle is seen whatever came before it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "core/base/counter_random.h"
#include "tests/detector/any_settings.h"
#include "tests/detector/drive.h"

enum {
    OPENING = 300,      /* edges below the top at the start                                            */
    FREE = 120,         /* edges before the obstacle                                                   */
    STEEP = 10,         /* N an edge                                                                   */
    STALL = 10000,      /* N, more than any drive has                                                  */
    STAMMER_LATER = 20, /* edges that an encoder with one bad edge in eight may cost                   */
    SETTLE = 40,        /* edges after garbage                                                         */
    GARBAGE_LATER = 30, /* edges that garbage may cost after that                                      */
    MASK_MORE = 100,    /* N above bound and threshold, for an obstacle that rises 10 N an edge        */
#ifdef UPSTOP_SANITIZED /* slow; the same code, fewer places                                           */
    STRIDE = 7,
    GARBAGE_ROUNDS = 40,
    CLOSINGS = 50,
#else
    STRIDE = 1,
    GARBAGE_ROUNDS = 200,
    CLOSINGS = 1000,
#endif
};

static up_detector_settings settings[DRIVE_KINDS];

static int make_settings(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        drive_settings(kind, &settings[kind]);
        if (!up_detector_settings_are_valid(&settings[kind])) {
            return -1;
        }
    }
    return 0;
}

static void start(drive *d, int kind) {
    *d = (drive){.time_us = 5e5};
    up_detector_memory_start(&d->memory, &settings[kind]);
    drive_start(d, &settings[kind], OPENING);
}

/* Runs freely, and says where something was seen that was not there. */
static void run_free(drive *d, int kind, uint32_t edges, const char *what) {
    drive_run(d, edges, true);
    if (d->seen) {
        print_error("%s: false reversal %s, at edge %u, excess %.1f N\n", drive_name(kind), what, d->edges,
                    d->detector.excess / 16.0);
        fail();
    }
}

/* Edges from the first touch to the command, for an obstacle rising `rise` N an edge up to `most` N; -1: not seen. */
static int edges_to_command(drive *d, double rise, double most) {
    d->obstacle_at = d->opening - 1;
    d->obstacle_rise = rise;
    d->obstacle_most = most;
    const uint32_t passed = drive_run(d, 250, true);
    return d->seen ? (int)passed : -1;
}

/* Edges it takes without any disturbance. */
static int undisturbed(int kind, double rise, double most) {
    static drive d;
    start(&d, kind);
    run_free(&d, kind, FREE, "of nothing");
    const int edges = edges_to_command(&d, rise, most);
    assert_true(edges > 0);
    return edges;
}

static void an_obstacle_is_seen(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        (void)undisturbed(kind, STEEP, STALL);
        (void)undisturbed(kind, 4, STALL);
        (void)undisturbed(kind, 100, STALL);
    }
}

/* ---- edges that do not arrive, edges that arrive twice ------------------------------------------------------------- */

typedef struct disturbance {
    int lost, repeated;
    double repeat_us;
} disturbance;

static void disturb(drive *d, const disturbance *what) {
    d->lose = what->lost;
    d->repeat = what->repeated;
    d->repeat_us = what->repeat_us;
}

/* A disturbance `before` edges before the obstacle, or that many after the first touch (negative). Returns the edges that
 * the command comes later than without; INT32_MIN: it came before the obstacle did. */
static int later_by(int kind, const disturbance *what, int before, int without) {
    static drive d;
    start(&d, kind);
    if (before >= 0) {
        run_free(&d, kind, (uint32_t)(FREE - before), "of nothing");
        disturb(&d, what);
        drive_run(&d, (uint32_t)before, true);
        return d.seen ? INT32_MIN : edges_to_command(&d, STEEP, STALL) - without;
    }
    run_free(&d, kind, FREE, "of nothing");
    d.obstacle_at = d.opening - 1;
    d.obstacle_rise = STEEP;
    d.obstacle_most = STALL;
    uint32_t passed = drive_run(&d, (uint32_t)-before, true);
    disturb(&d, what);
    passed += drive_run(&d, 250, true);
    assert_true(d.seen);
    return (int)passed - without;
}

/* At every place around the obstacle. most_later: edges that it may cost. harmless: it may not be taken for an obstacle. */
static void everywhere(const disturbance *what, int most_later, bool harmless) {
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        const int without = undisturbed(kind, STEEP, STALL);
        for (int before = 60; before > -without; before -= STRIDE) {
            const int later = later_by(kind, what, before, without);
            if (later > most_later || (harmless && later == INT32_MIN)) {
                print_error("%s: %d lost, %d twice after %.0f us, %d edges before the obstacle: ", drive_name(kind),
                            what->lost, what->repeated, what->repeat_us, before);
                print_error(later == INT32_MIN ? "taken for an obstacle\n" : "seen %d edges later\n", later);
                fail();
            }
        }
    }
}

static void a_lost_edge_is_no_obstacle_and_costs_an_edge(void **state) {
    (void)state;
    everywhere(&(disturbance){.lost = 1}, 1, true);
}

/* Several in a row may well be taken for a standstill; that is the safe side. They never hide an obstacle. */
static void lost_edges_hide_no_obstacle(void **state) {
    (void)state;
    for (int lost = 2; lost <= 6; lost++) {
        everywhere(&(disturbance){.lost = lost}, lost, false);
    }
}

static void edges_that_arrive_twice_are_neither_obstacle_nor_cost_anything(void **state) {
    (void)state;
    static const double later_us[] = {0, 1, 30, 130};
    for (int i = 0; i < 4; i++) {
        everywhere(&(disturbance){.repeated = 1, .repeat_us = later_us[i]}, 1, true);
        everywhere(&(disturbance){.repeated = 5, .repeat_us = later_us[i]}, 1, true);
    }
}

/* Half the speed from one edge on, for good, is taken for one lost edge and then for what it is. By pace; no tick helps. */
static void half_the_speed_for_good_is_no_lost_edge(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        if (settings[kind].principle != UP_DETECTOR_BY_PACE) {
            continue;
        }
        static drive d;
        start(&d, kind);
        run_free(&d, kind, FREE, "of nothing");
        double current;
        const double speed = drive_usual_speed(d.settings, d.opening, d.supply_mv, &current);
        const double period_us = 2e6 * drive_spacing(d.settings) / speed;
        int edges = 0;
        bool seen = false;
        while (!seen && edges < 100) {
            d.time_us += period_us;
            d.opening -= 1;
            edges++;
            const up_detector_reading reading = {.now_us = (uint32_t)(uint64_t)d.time_us,
                                                 .supply_mv = (uint32_t)d.supply_mv,
                                                 .current_ma = (int32_t)current,
                                                 .opening_edges = (int32_t)d.opening,
                                                 .place_known = true};
            seen = up_detector_edge(&d.detector, d.settings, &d.memory, &reading);
        }
        assert_true(seen && edges <= d.settings->window + d.settings->confirm_edges + 1);
    }
}

/* One edge in eight is lost or arrives twice, all the time: it may reverse for that, but an obstacle is always seen. */
static void an_encoder_that_stammers_hides_no_obstacle(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        const int without = undisturbed(kind, STEEP, STALL);
        for (uint64_t round = 0; round < 40; round++) {
            static drive d;
            start(&d, kind);
            drive_run(&d, FREE, false);
            d.seen = false;
            d.obstacle_at = d.opening - 1;
            d.obstacle_rise = STEEP;
            d.obstacle_most = STALL;
            int edges = 0;
            while (!d.seen && edges <= without + STAMMER_LATER) {
                const uint64_t draw = up_random_u64(9, (uint64_t)kind, 1000 * round + (uint64_t)edges) % 16;
                d.lose = draw == 0;
                d.repeat = draw == 1;
                d.repeat_us = 100;
                edges += (int)drive_run(&d, 1, true);
            }
            assert_true(d.seen);
        }
    }
}

/* ---- garbage ------------------------------------------------------------------------------------------------------- */

static void feed_garbage(drive *d, uint64_t round) {
    any_drive wild = any_drive_of(round);
    wild.wild = 1;
    for (uint64_t i = 0; i < 1 + round % 40; i++) {
        const any_call what = any_call_of(&wild, 100 * round + i);
        (void)up_detector_edge(&d->detector, d->settings, &d->memory, &what.edge);
        (void)up_detector_tick(&d->detector, d->settings, &d->memory, &what.tick);
        if (what.moved) {
            up_detector_moved(&d->detector, d->settings, &d->memory, what.edge.opening_edges, what.true_edges);
        }
    }
}

/* Readings from anywhere in their ranges in among the real ones; then real ones alone, then an obstacle. With a profile
 * the reference cannot have gone far. Without one it has to be learned anew: ten learning lengths bring any error below a
 * newton, and before that an obstacle is seen at the latest when the drive stands. */
static void garbage_before_hides_no_obstacle(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        const int without = undisturbed(kind, STEEP, STALL);
        const up_detector_settings *s = &settings[kind];
        for (uint64_t round = 0; round < GARBAGE_ROUNDS; round++) {
            for (int patient = 0; patient < 2; patient++) {
                static drive d;
                start(&d, kind);
                d.opening += patient && !s->learns ? 10.0 * s->learning_edges : 0;
                drive_run(&d, 5 + (uint32_t)(round % 60), false);
                feed_garbage(&d, round);
                drive_run(&d, patient && !s->learns ? 10U * s->learning_edges : SETTLE, false);
                d.seen = false;
                const int edges = edges_to_command(&d, STEEP, STALL);
                const int most = patient || s->learns ? GARBAGE_LATER : 250;
                if (edges < 0 || edges > without + most) {
                    print_error("%s, round %d: after %d edges, %d without\n", drive_name(kind), (int)round, edges,
                                without);
                    fail();
                }
            }
        }
    }
}

/* ---- what may be learned -------------------------------------------------------------------------------------------- */

/* Closes to the top; the controller tells the detector when nothing was in the way. */
static bool closes_fully(drive *d, int kind, double soft, double soft_at) {
    drive_start(d, &settings[kind], OPENING);
    d->obstacle_at = soft > 0 ? soft_at : -1;
    d->obstacle_rise = soft / 20;
    d->obstacle_most = soft;
    drive_run(d, OPENING, true);
    if (!d->seen) {
        up_detector_closed(&d->detector, d->settings, &d->memory);
    }
    return !d->seen;
}

static int pinch_at(drive *d, int kind, double place) {
    drive_start(d, &settings[kind], OPENING);
    drive_run(d, (uint32_t)(OPENING - place), true);
    assert_false(d->seen);
    return edges_to_command(d, STEEP, STALL);
}

/* The same pinch a thousand times: seen after the same edges as at first, and nothing is learned of it. */
static void a_pinch_cannot_be_learned(void **state) {
    (void)state;
    for (int kind = 0; kind < DRIVE_KINDS; kind++) {
        static drive d;
        start(&d, kind);
        const int first = pinch_at(&d, kind, 100);
        for (int closing = 0; closing < CLOSINGS; closing++) {
            assert_int_equal(pinch_at(&d, kind, 100), first);
        }
        assert_memory_equal(d.memory.profile, settings[kind].profile, sizeof d.memory.profile);
    }
}

/* Something soft in the same place in a thousand closings, below the threshold: what is seen of a pinch there afterwards
 * comes at most as much later as the soft thing was strong. Neither do the thousand closings reverse for nothing, nor does a
 * closing without the soft thing. */
static void a_soft_thing_is_learned_no_further_than_it_is_strong(void **state) {
    (void)state;
    for (int kind = DRIVE_KINDS / 2; kind < DRIVE_KINDS; kind++) {
        static drive d;
        start(&d, kind);
        const int first = pinch_at(&d, kind, 80);
        const double soft = settings[kind].threshold / 16.0 * 0.8;
        for (int closing = 0; closing < CLOSINGS; closing++) {
            assert_true(closes_fully(&d, kind, soft, 100));
        }
        const up_detector_memory settled = d.memory;
        for (int closing = 0; closing < 20; closing++) {
            assert_true(closes_fully(&d, kind, soft, 100));
        }
        if (CLOSINGS >= 1000) { /* it has settled */
            assert_memory_equal(&d.memory, &settled, sizeof settled);
        }
        const int now = pinch_at(&d, kind, 80);
        assert_true(now > 0 && now <= first + (int)(soft / STEEP) + 2);
        assert_true(closes_fully(&d, kind, 0, 0));
    }
}

/* However slowly a load comes, whatever was learned before: above the profile as set up by both bounds and the threshold it
 * is an obstacle. The memory is at its bound everywhere, as a worn door could have made it at the very worst. */
static void no_load_beyond_the_bounds_goes_unnoticed(void **state) {
    (void)state;
    for (int kind = DRIVE_KINDS / 2; kind < DRIVE_KINDS; kind++) {
        const up_detector_settings *s = &settings[kind];
        static drive d;
        start(&d, kind);
        for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
            d.memory.profile[k] = (int16_t)(s->profile[k] + s->bound);
        }
        drive_run(&d, 40, true);
        assert_false(d.seen);
        const double most = (2.0 * s->bound + s->threshold) / 16.0 + 10.0;
        assert_true(edges_to_command(&d, most / 200, most) > 0);
    }
}

/* An obstacle that is there when it starts: a start is watched with the profile, so the mask does not hide it. Who has no
 * profile takes it for the load. */
static void the_mask_hides_no_obstacle_from_a_profile(void **state) {
    (void)state;
    for (int kind = DRIVE_KINDS / 2; kind < DRIVE_KINDS; kind++) {
        const up_detector_settings *s = &settings[kind];
        static drive d;
        start(&d, kind);
        d.obstacle_at = OPENING;
        d.obstacle_rise = STEEP;
        d.obstacle_most = STALL;
        drive_run(&d, 250, true);
        assert_true(d.seen);
        const double squeezed = drive_obstacle(&d);
        if (squeezed > (s->bound + s->threshold) / 16.0 + MASK_MORE) {
            print_error("%s: %.0f N\n", drive_name(kind), squeezed);
            fail();
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_obstacle_is_seen),
        cmocka_unit_test(a_lost_edge_is_no_obstacle_and_costs_an_edge),
        cmocka_unit_test(lost_edges_hide_no_obstacle),
        cmocka_unit_test(edges_that_arrive_twice_are_neither_obstacle_nor_cost_anything),
        cmocka_unit_test(half_the_speed_for_good_is_no_lost_edge),
        cmocka_unit_test(an_encoder_that_stammers_hides_no_obstacle),
        cmocka_unit_test(garbage_before_hides_no_obstacle),
        cmocka_unit_test(a_pinch_cannot_be_learned),
        cmocka_unit_test(a_soft_thing_is_learned_no_further_than_it_is_strong),
        cmocka_unit_test(no_load_beyond_the_bounds_goes_unnoticed),
        cmocka_unit_test(the_mask_hides_no_obstacle_from_a_profile),
    };
    return cmocka_run_group_tests(tests, make_settings, NULL);
}

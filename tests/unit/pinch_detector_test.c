/* The pinch detector alone: every rule of its header, with settings whose arithmetic can be done by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/base/counter_random.h"
#include "detector/pinch_detector.h"

/* An edge spacing of 1/64 rad times a window of 4: speed in 1/64 rad/s is 4e6 / (time of the window in us), so at a period
 * of 1000 us it is 1000. Free speed: one 1/64 rad/s per mV. Gain: 64 N per rad/s, that is 1 N for each 1/64 rad/s. */
static up_detector_settings plain_settings(void) {
    up_detector_settings s = {.speed_numerator = 4000000,
                              .free_speed_gain = 4096,
                              .brush_mv = 0,
                              .zone_shift = 6,
                              .window = 4,
                              .confirm_edges = 3,
                              .mask_edges = 20,
                              .supply_edges = 1,
                              .learning_edges = 32000,
                              .threshold = 50 * 16,
                              .step_max_us = 1};
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        s.gain[i] = 64 * 256;
    }
    return s;
}

typedef struct drive {
    up_detector detector;
    up_detector_settings settings;
    up_detector_memory memory;
    uint32_t now;
    uint32_t supply;
    int32_t opening;
} drive;

static void start(drive *d, uint32_t now) {
    d->settings = plain_settings();
    d->now = now;
    d->supply = 1500;
    d->opening = 500;
    up_detector_start(&d->detector, now);
}

static int edge(drive *d, uint32_t period) {
    d->now += period;
    const up_detector_reading reading = {d->now, d->supply, 0, d->opening, true};
    return up_detector_edge(&d->detector, &d->settings, &d->memory, &reading);
}

/* Edges until it sees something; 0 when it does not within `most`. */
static int edges_until_seen(drive *d, uint32_t period, int most) {
    for (int i = 1; i <= most; i++) {
        if (edge(d, period)) {
            return i;
        }
    }
    return 0;
}

static void load_is_gain_times_missing_speed(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.mask_edges = 0;
    d.settings.learning_edges = 1;
    d.settings.threshold = 32000;
    assert_int_equal(edges_until_seen(&d, 1000, 5), 0);
    assert_int_equal(d.detector.excess, (1500 - 1000) * 16); /* the reference started at nothing */
    assert_int_equal(d.detector.reference / 16, (1500 - 1000) * 16);
}

static void nothing_is_seen_at_a_steady_speed(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    assert_int_equal(edges_until_seen(&d, 1000, 5000), 0);
    assert_int_equal(d.detector.excess, 0);
}

/* 51 N too much are seen, 50 N are not. At 1000 us the speed is 1000; 50 less is a period of 1000/0.950 us. */
static void the_threshold_is_where_it_is_set(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        static drive d;
        start(&d, 0);
        assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
        d.supply += 50 + (uint32_t)more; /* faster free speed with unchanged real speed is the same as that much load */
        const int seen = edges_until_seen(&d, 1000, 10);
        assert_int_equal(seen, more ? 3 : 0);
    }
}

static void so_many_edges_in_a_row_have_to_agree(void **state) {
    (void)state;
    for (int confirm = 1; confirm < 12; confirm++) {
        static drive d;
        start(&d, 0);
        d.settings.confirm_edges = (uint16_t)confirm;
        assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
        d.supply += 60;
        assert_int_equal(edges_until_seen(&d, 1000, 20), confirm);
    }
}

static void one_edge_below_starts_the_count_anew(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    for (int i = 0; i < 30; i++) {
        d.supply = i % 3 == 2 ? 1500 : 1560; /* two over, one not */
        assert_false(edge(&d, 1000));
    }
}

/* Right after a start the armature is still gaining speed: whatever it does then is not judged. */
static void the_mask_only_watches(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    for (int i = 0; i < 20; i++) {
        assert_false(edge(&d, 20000 / (uint32_t)(i + 1))); /* from standstill up to 1000 us */
        assert_false(d.detector.armed);
    }
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    assert_true(d.detector.armed);
    d.supply += 200; /* the window still held slower edges when the mask ended, so the reference is 78 N too high */
    assert_int_equal(edges_until_seen(&d, 1000, 5), 3);
}

/* Nothing can be said before the window is full, mask or not. */
static void the_window_has_to_be_full(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.mask_edges = 0;
    d.settings.confirm_edges = 1;
    for (int i = 0; i < 4; i++) {
        assert_false(edge(&d, 100000));
        assert_false(d.detector.armed);
    }
    assert_true(edge(&d, 100000));
}

/* The mean over one turn of the ring does not see how unevenly its borders are spaced. */
static void an_uneven_ring_is_averaged_out(void **state) {
    (void)state;
    static drive d;
    static const uint32_t period[4] = {700, 1300, 900, 1100};
    start(&d, 0);
    for (int i = 0; i < 1000; i++) {
        assert_false(edge(&d, period[i % 4]));
        assert_true(i < 30 || d.detector.excess == 0);
    }
}

/* Slow changes, a channel that tightens over decimetres, are learned; the same change at once is an obstacle. */
static void slow_changes_are_learned_and_fast_ones_are_not(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.learning_edges = 20;
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    for (int i = 0; i < 400; i++) {
        d.supply = 1500 + (uint32_t)i; /* 1 N more each edge: 20 N behind after 20 edges, never 50 */
        assert_false(edge(&d, 1000));
    }
    d.supply += 100;
    assert_int_equal(edges_until_seen(&d, 1000, 10), 3);
}

/* While it is judging, the reference creeps at an eighth of its pace, so an obstacle is not learned away. */
static void an_obstacle_is_not_learned_while_it_is_judged(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.learning_edges = 10; /* at its full pace the reference would be 33 N up after five edges: 47 N left */
    d.settings.confirm_edges = 10;
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    d.supply += 80;
    assert_int_equal(edges_until_seen(&d, 1000, 50), 10);
}

/* A supply that rises by 2 V makes the motor faster, not the load larger: when speed follows at once so does the reckoned
 * free speed, and nothing is seen. With the brush drop taken off first. */
static void a_supply_step_is_compensated(void **state) {
    (void)state;
    for (int up = -1; up <= 1; up += 2) {
        static drive d;
        start(&d, 0);
        d.settings.brush_mv = 500;
        d.supply = 10500; /* turns 10000/64 rad/s */
        assert_int_equal(edges_until_seen(&d, 105, 200), 0);
        const int32_t before = d.detector.reference / 16 / 16;
        d.supply = (uint32_t)(10500 + 2000 * up);
        const uint32_t speed = (uint32_t)(10000 + 2000 * up - before);
        for (int i = 0; i < 200; i++) {
            (void)edge(&d, 1000000 / speed);
        }
        /* A period is rounded to 1 us, worth 116 N here; uncompensated it would be 2000 N. */
        assert_in_range(d.detector.excess / 16 + 500, 500 - 120, 500 + 120);
    }
}

/* The armature takes some edges to follow the supply; so does the free speed it is compared with. */
static void the_supply_is_followed_as_slowly_as_the_armature_follows(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.supply_edges = 10;
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    d.supply = 2500;
    (void)edge(&d, 1000);
    assert_int_equal(d.detector.supply, 16 * 1600);
    for (int i = 1; i < 10; i++) {
        (void)edge(&d, 1000);
    }
    /* 1 - 0.9^10 of the step: first-order lag, any textbook of control */
    assert_in_range(d.detector.supply / 16, 1500 + 645, 1500 + 660);
    d.supply = 1000;
    (void)edge(&d, 1000);
    assert_in_range(d.detector.supply / 16, 2030, 2040);
}

/* No drive comes to half its speed from one edge to the next, so a period twice as long is two with an edge lost between;
 * not so twice in a row: then the drive does stop. */
static void a_missed_edge_alone_is_no_obstacle(void **state) {
    (void)state;
    for (int confirm = 1; confirm < 7; confirm++) {
        static drive d;
        start(&d, 0);
        d.settings.confirm_edges = (uint16_t)confirm;
        assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
        assert_int_equal(edge(&d, 2000) || edges_until_seen(&d, 1000, 50) > 0, 0);
        const int seen = edges_until_seen(&d, 2000, 50);
        assert_in_range(seen, 2, confirm + 2);
    }
}

/* An edge that comes twice is no edge, wherever in the run it happens. */
static void a_doubled_edge_changes_nothing(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    const int32_t before = d.detector.excess;
    (void)edge(&d, 20);
    (void)edge(&d, 980);
    assert_in_range(d.detector.excess + 16 * 16, before, before + 32 * 16);
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
}

/* Between two borders of zones the gain goes on in a straight line; beyond the last it stays; above the top it is the
 * first. */
static void the_gain_runs_straight_between_borders(void **state) {
    (void)state;
    static const struct {
        int32_t opening, gain;
    } row[] = {{-5, 1000}, {0, 1000},   {32, 1500},      {64, 2000},    {65, 2000 - 1000 / 64},
               {96, 1500}, {128, 1000}, {64 * 16, 7000}, {100000, 7000}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        static drive d;
        start(&d, 0);
        d.settings.mask_edges = 0;
        d.settings.learning_edges = 1;
        d.settings.threshold = 1 << 20;
        for (int k = 0; k <= UP_DETECTOR_ZONES; k++) {
            d.settings.gain[k] = 1000;
        }
        d.settings.gain[1] = 2000;
        d.settings.gain[UP_DETECTOR_ZONES] = 7000;
        d.opening = row[i].opening;
        (void)edges_until_seen(&d, 1000, 5);
        assert_int_equal(d.detector.reference / 16, 500 * row[i].gain / 1024);
    }
}

/* Found again at another place, the reference is restated with the gain there. */
static void a_new_position_does_not_look_like_an_obstacle(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    d.settings.gain[0] = 3 * 64 * 256 / 2;
    d.settings.gain[1] = 3 * 64 * 256 / 2;
    d.opening = 600;
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    up_detector_moved(&d.detector, &d.settings, &d.memory, 600, 30);
    d.opening = 30;
    assert_int_equal(edges_until_seen(&d, 1000, 100), 0);
    assert_int_equal(d.detector.excess, 0);
    d.supply += 40; /* 60 N with the gain up here */
    assert_int_equal(edges_until_seen(&d, 1000, 10), 3);
}

static void microseconds_may_wrap(void **state) {
    (void)state;
    for (uint32_t before = 0; before < 300; before += 37) {
        static drive d;
        start(&d, UINT32_MAX - 1000 * before);
        assert_int_equal(edges_until_seen(&d, 1000, 400), 0);
        assert_int_equal(d.detector.excess, 0);
        d.supply += 60;
        assert_int_equal(edges_until_seen(&d, 1000, 10), 3);
    }
}

static void a_start_forgets_everything(void **state) {
    (void)state;
    static drive d;
    start(&d, 0);
    (void)edges_until_seen(&d, 1000, 100);
    d.supply += 1000;
    (void)edges_until_seen(&d, 1000, 100);
    up_detector_start(&d.detector, d.now);
    static drive fresh;
    start(&fresh, d.now);
    fresh.supply = d.supply;
    for (int i = 0; i < 200; i++) {
        const uint32_t period = 1000 + (uint32_t)(i % 7);
        assert_int_equal(edge(&d, period), edge(&fresh, period));
        assert_int_equal(d.detector.excess, fresh.detector.excess);
    }
}

/* Any settings within their stated ranges, any inputs: no overflow (the sanitizer build looks on), and what comes out stays
 * in the ranges the comments give. */
static void anything_may_come_in(void **state) {
    (void)state;
    uint64_t k = 0;
    for (int round = 0; round < 2000; round++) {
        up_detector_settings s = {.step_max_us = 1};
        up_detector_memory memory = {{0}};
        up_detector d;
        s.speed_numerator = (uint32_t)up_random_u64(3, 1, k);
        s.free_speed_gain = (uint32_t)up_random_u64(3, 2, k) >> 8;
        s.brush_mv = (uint32_t)(up_random_u64(3, 3, k) % 4000);
        for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
            s.gain[i] = (uint16_t)up_random_u64(3, 10 + (uint64_t)i, k);
        }
        s.zone_shift = (uint16_t)(up_random_u64(3, 4, k) % 15);
        s.window = (uint16_t)(1 + up_random_u64(3, 5, k) % UP_DETECTOR_WINDOW_MAX);
        s.confirm_edges = (uint16_t)(1 + up_random_u64(3, 6, k) % 100);
        s.mask_edges = (uint16_t)(up_random_u64(3, 7, k) % 100);
        s.supply_edges = (uint16_t)(1 + up_random_u64(3, 8, k) % 4096);
        s.learning_edges = (uint16_t)(1 + up_random_u64(3, 9, k) % 65535);
        s.threshold = 1 + (int32_t)(up_random_u64(3, 30, k) % 32000);
        assert_true(up_detector_settings_are_valid(&s));
        up_detector_start(&d, (uint32_t)up_random_u64(3, 31, k));
        for (int i = 0; i < 300; i++, k++) {
            const up_detector_reading reading = {(uint32_t)up_random_u64(3, 32, k), (uint32_t)up_random_u64(3, 33, k),
                                                 0, (int32_t)(uint32_t)up_random_u64(3, 34, k), k % 3 != 0};
            (void)up_detector_edge(&d, &s, &memory, &reading);
            if (i == 150) {
                up_detector_moved(&d, &s, &memory, (int32_t)(uint32_t)up_random_u64(3, 35, k), 10);
            }
            const int32_t most = 4 * 32000 * 16; /* a load and a reference of 32000 N either way, restated once */
            assert_true(d.excess >= -most && d.excess <= most);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(load_is_gain_times_missing_speed),
        cmocka_unit_test(nothing_is_seen_at_a_steady_speed),
        cmocka_unit_test(the_threshold_is_where_it_is_set),
        cmocka_unit_test(so_many_edges_in_a_row_have_to_agree),
        cmocka_unit_test(one_edge_below_starts_the_count_anew),
        cmocka_unit_test(the_mask_only_watches),
        cmocka_unit_test(the_window_has_to_be_full),
        cmocka_unit_test(an_uneven_ring_is_averaged_out),
        cmocka_unit_test(slow_changes_are_learned_and_fast_ones_are_not),
        cmocka_unit_test(an_obstacle_is_not_learned_while_it_is_judged),
        cmocka_unit_test(a_supply_step_is_compensated),
        cmocka_unit_test(the_supply_is_followed_as_slowly_as_the_armature_follows),
        cmocka_unit_test(a_missed_edge_alone_is_no_obstacle),
        cmocka_unit_test(a_doubled_edge_changes_nothing),
        cmocka_unit_test(the_gain_runs_straight_between_borders),
        cmocka_unit_test(a_new_position_does_not_look_like_an_obstacle),
        cmocka_unit_test(microseconds_may_wrap),
        cmocka_unit_test(a_start_forgets_everything),
        cmocka_unit_test(anything_may_come_in),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

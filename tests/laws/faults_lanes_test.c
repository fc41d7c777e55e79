/* Faults: closings with something broken run side by side with the bits of a single run; a run whose faults never come
 * due has the bits of a sound one.
 *
 * Compared with the library's own single run and with nothing outside: what that is worth is held by
 * tests/unit/faults_test.c. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/base/counter_random.h"
#include "core/batch/batch.h"

enum {
    SEED = 77,
#ifdef UPSTOP_SANITIZED
    DOORS = 60
#else
    DOORS = 400
#endif
};

typedef struct closing {
    up_door door;
    up_run_options options;
    up_outcome alone, together;
    up_run_counts alone_counts, together_counts;
    up_status alone_status;
} closing;

static closing closings[DOORS];
static up_batch_item items[DOORS];
static _Alignas(64) unsigned char memory[1 << 17];

static double unit(uint64_t index, uint64_t place) {
    return up_random_unit(SEED, 1000 + index, place);
}

/* One or two faults of eight kinds. */
static void break_something(uint64_t index, const up_door *door, up_faults *f) {
    for (uint64_t k = 0; k < 2; k++) {
        const double u = unit(index, 10 * k + 1);
        switch ((int)(9 * unit(index, 10 * k))) {
        case 0:
            f->lost_edge = 1 + (uint64_t)(2000 * u);
            break;
        case 1:
            f->doubled_edge = 1 + (uint64_t)(2000 * u);
            break;
        case 2:
            f->encoder_dead_time = 4 * u;
            break;
        case 3:
            f->limit_stuck = 1 + (int)(2 * u);
            break;
        case 4:
            f->current_offset = 20 * u - 10;
            break;
        case 5:
            f->tick_jitter = 0.9 * u * door->tick;
            break;
        case 6:
            f->battery_lost_time = 4 * u;
            break;
        case 7:
            f->battery_lost_time = 4 * u;
            f->battery_back_time = 4 * u + 2 * unit(index, 10 * k + 2) + 1e-6;
            break;
        default:
            break;
        }
    }
}

static int make_closing(uint64_t index, closing *c) {
    up_values values;
    if (up_random_door(SEED, index, &values) != UP_OK) {
        return 0;
    }
    up_random_run(SEED, index, &values, &c->options);
    if (up_door_prepare(&values, c->options.temperature, &c->door) != UP_OK) {
        return 0;
    }
    break_something(index, &c->door, &c->options.faults);
    if (c->options.faults.battery_back_time > 0 &&
        !(c->options.faults.battery_back_time > c->options.faults.battery_lost_time)) {
        c->options.faults.battery_back_time = c->options.faults.battery_lost_time + 0.5;
    }
    memset(&c->alone, 0, sizeof c->alone);
    c->alone_status = up_run(&c->door, &c->options, NULL, &c->alone, &c->alone_counts);
    return 1;
}

static void broken_closings_have_the_same_bits_side_by_side(void **state) {
    (void)state;
    int made = 0;
    for (uint64_t index = 0; made < DOORS; index++) {
        made += make_closing(index, &closings[made]);
    }
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        for (int i = 0; i < made; i++) {
            closing *c = &closings[i];
            memset(&c->together, 0, sizeof c->together);
            memset(&c->together_counts, 0, sizeof c->together_counts);
            items[i] = (up_batch_item){&c->door, &c->options, &c->together, &c->together_counts, UP_STATUS_COUNT};
        }
        assert_int_equal(up_batch_run(items, made, *width, memory, sizeof memory), UP_OK);
        for (int i = 0; i < made; i++) {
            const closing *c = &closings[i];
            assert_int_equal(c->alone_status, UP_OK);
            assert_int_equal(items[i].status, c->alone_status);
            assert_memory_equal(&c->together, &c->alone, sizeof c->alone);
            assert_memory_equal(&c->together_counts, &c->alone_counts, sizeof c->alone_counts);
        }
    }
}

static void faults_that_never_come_due_change_nothing(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 40; index++) {
        closing *c = &closings[0];
        up_outcome sound;
        up_values values;
        if (up_random_door(SEED, index, &values) != UP_OK) {
            continue;
        }
        up_random_run(SEED, index, &values, &c->options);
        if (up_door_prepare(&values, c->options.temperature, &c->door) != UP_OK) {
            continue;
        }
        memset(&sound, 0, sizeof sound);
        memset(&c->alone, 0, sizeof c->alone);
        assert_int_equal(up_run(&c->door, &c->options, NULL, &sound, NULL), UP_OK);
        up_faults *f = &c->options.faults;
        f->lost_edge = f->doubled_edge = 1000000;
        f->encoder_dead_time = f->battery_lost_time = c->options.time_limit + 1;
        f->battery_back_time = c->options.time_limit + 2;
        assert_int_equal(up_run(&c->door, &c->options, NULL, &c->alone, NULL), UP_OK);
        assert_memory_equal(&c->alone, &sound, sizeof sound);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(broken_closings_have_the_same_bits_side_by_side),
                                       cmocka_unit_test(faults_that_never_come_due_change_nothing)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

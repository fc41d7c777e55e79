/* A batch of closings side by side gives what up_run gives, to the last bit: outcome, counts and status, in every width
 * this processor has.
 *
 * Compared with the library's own single run and with nothing outside: what that is worth is held by the other tests.
 * UPSTOP_DOOR=index looks at that door alone. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/batch/batch.h"
#include "tests/support/shaken.h"

enum {
    SEED = 31,
#ifdef UPSTOP_SANITIZED
    DOORS = 100,
#else
    DOORS = 1500,
#endif
    SHAKEN = DOORS / 3 /* closings that are run a second time, then shaken */
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

static shaken shakes[SHAKEN];

static void run_alone(closing *c) {
    memset(&c->alone, 0, sizeof c->alone);
    c->alone_status = up_run(&c->door, &c->options, NULL, &c->alone, &c->alone_counts);
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
    run_alone(c);
    return 1;
}

/* The other cases need more than one door. */
static void skip_for_one_door(void) {
    if (getenv("UPSTOP_DOOR")) {
        skip();
    }
}

static int make_closings(void) {
    const char *one = getenv("UPSTOP_DOOR");
    if (one) {
        return make_closing(strtoull(one, NULL, 10), &closings[0]);
    }
    int made = 0;
    for (uint64_t index = 0; made < DOORS; index++) {
        made += make_closing(index, &closings[made]);
    }
    return made;
}

static void lay_out(int first, int count) {
    for (int i = 0; i < count; i++) {
        closing *c = &closings[first + i];
        memset(&c->together, 0, sizeof c->together);
        memset(&c->together_counts, 0, sizeof c->together_counts);
        items[i] = (up_batch_item){&c->door, &c->options, &c->together, &c->together_counts, UP_STATUS_COUNT};
    }
}

static int differs(const closing *c, up_status status) {
    return status != c->alone_status || memcmp(&c->together, &c->alone, sizeof c->alone) != 0 ||
           memcmp(&c->together_counts, &c->alone_counts, sizeof c->alone_counts) != 0;
}

static int count_different(int first, int count, int width) {
    int different = 0;
    for (int i = 0; i < count; i++) {
        const closing *c = &closings[first + i];
        if (differs(c, items[i].status) && ++different <= 5) {
            print_message("%d lanes, closing %d: status %d and %d, travel %.17g and %.17g, steps %d and %d\n", width,
                          first + i, (int)items[i].status, (int)c->alone_status, c->together.final_travel,
                          c->alone.final_travel, (int)c->together_counts.steps, (int)c->alone_counts.steps);
        }
    }
    return different;
}

static void every_width_gives_the_bits_of_a_single_run(void **state) {
    (void)state;
    const int count = make_closings();
    assert_true(count > 0);
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        lay_out(0, count);
        assert_int_equal(up_batch_run(items, count, *width, memory, sizeof memory), UP_OK);
        assert_int_equal(count_different(0, count, *width), 0);
    }
}

/* Each lane is shaken by something of its own, or stands still beside others that are shaken; rods tilt the glass. */
static void shaken_closings_have_the_bits_of_a_single_run_too(void **state) {
    (void)state;
    skip_for_one_door();
    static up_run_options quiet[SHAKEN];
    int different = 0;
    for (int i = 0; i < SHAKEN; i++) {
        closing *c = &closings[i];
        const double travel = c->alone.final_travel;
        quiet[i] = c->options;
        shaken_draw_run(&shakes[i], SEED, (uint64_t)i, &c->options);
        run_alone(c);
        different += c->alone.final_travel != travel;
    }
    assert_true(different > SHAKEN / 2); /* else nothing was shaken */
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        lay_out(0, SHAKEN);
        assert_int_equal(up_batch_run(items, SHAKEN, *width, memory, sizeof memory), UP_OK);
        assert_int_equal(count_different(0, SHAKEN, *width), 0);
        for (int count = 1; count <= 13; count++) {
            lay_out(count, count);
            assert_int_equal(up_batch_run(items, count, *width, memory, sizeof memory), UP_OK);
            assert_int_equal(count_different(count, count, *width), 0);
        }
    }
    for (int i = 0; i < SHAKEN; i++) {
        closings[i].options = quiet[i];
        run_alone(&closings[i]);
    }
}

/* What shook a closing is the caller's again as soon as that one is done: it may be gone while its lane idles. */
typedef struct vanishing {
    int next;
    up_shaking shaking[8];
    up_run_options options[8];
    double *values[8];
} vanishing;

enum { VANISHING = 24 };

static int next_vanishing(void *context, int room, up_batch_item *item) {
    vanishing *v = context;
    if (v->next == VANISHING) {
        return 0;
    }
    closing *c = &closings[v->next];
    const shaken *s = &shakes[v->next];
    const size_t count = (size_t)s->shaking.count;
    v->values[room] = malloc(2 * count * sizeof(double));
    assert_non_null(v->values[room]);
    memcpy(v->values[room], s->push, count * sizeof(double));
    memcpy(v->values[room] + count, s->press, count * sizeof(double));
    v->shaking[room] = s->shaking;
    v->shaking[room].push = v->values[room];
    v->shaking[room].press = v->values[room] + count;
    v->options[room] = c->options;
    v->options[room].shaking = &v->shaking[room];
    *item = (up_batch_item){&c->door, &v->options[room], &c->together, NULL, UP_STATUS_COUNT};
    v->next++;
    return 1;
}

static void done_vanishing(void *context, int room, const up_batch_item *item) {
    (void)item;
    vanishing *v = context;
    for (int k = 0; k < 2 * v->shaking[room].count; k++) {
        v->values[room][k] = (double)NAN; /* a sanitizer sees the rest */
    }
    free(v->values[room]);
    v->values[room] = NULL;
    v->shaking[room] = (up_shaking){0};
}

static void what_shook_a_closing_may_be_gone_when_it_is_done(void **state) {
    (void)state;
    skip_for_one_door();
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        static vanishing v;
        v.next = 0;
        const up_batch_source source = {&v, next_vanishing, done_vanishing};
        assert_int_equal(up_batch_run_from(&source, *width, memory, sizeof memory), UP_OK);
        for (int i = 0; i < VANISHING; i++) {
            closing *c = &closings[i];
            static up_outcome alone;
            up_run_options options = c->options;
            options.shaking = &shakes[i].shaking;
            memset(&alone, 0, sizeof alone);
            (void)up_run(&c->door, &options, NULL, &alone, NULL);
            assert_memory_equal(&c->together, &alone, sizeof alone);
        }
    }
}

/* Fewer closings than lanes, one more, a few: lanes stand empty from the start or fall empty at different times. */
static void a_batch_may_be_of_any_size(void **state) {
    (void)state;
    skip_for_one_door();
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        for (int count = 0; count <= 19; count++) {
            lay_out(count, count);
            assert_int_equal(up_batch_run(items, count, *width, memory, sizeof memory), UP_OK);
            assert_int_equal(count_different(count, count, *width), 0);
        }
    }
}

/* One that is refused; counts nobody asks for. */
static void refused_items_leave_the_others_alone(void **state) {
    (void)state;
    skip_for_one_door();
    up_run_options bad = closings[1].options;
    bad.tolerance = 1.0;
    lay_out(0, 10);
    items[1].options = &bad;
    items[9].options = &bad;
    items[3].counts = NULL;
    memset(&closings[3].together_counts, 0, sizeof closings[3].together_counts);
    assert_int_equal(up_batch_run(items, 10, 0, memory, sizeof memory), UP_OK);
    for (int i = 0; i < 10; i++) {
        if (i == 1 || i == 9) {
            assert_int_equal(items[i].status, UP_BAD_OPTION);
        } else {
            assert_int_equal(items[i].status, closings[i].alone_status);
            assert_memory_equal(&closings[i].together, &closings[i].alone, sizeof closings[i].alone);
        }
    }
}

/* The same closing in all lanes, from memory that is not aligned and full of rubbish. */
static void one_door_may_be_in_many_lanes(void **state) {
    (void)state;
    skip_for_one_door();
    static up_outcome outcome[20];
    memset(memory, 0xa5, sizeof memory);
    memset(outcome, 0, sizeof outcome);
    for (int i = 0; i < 20; i++) {
        items[i] = (up_batch_item){&closings[0].door, &closings[0].options, &outcome[i], NULL, UP_STATUS_COUNT};
    }
    assert_int_equal(up_batch_run(items, 20, 0, memory + 8, sizeof memory - 8), UP_OK);
    for (int i = 0; i < 20; i++) {
        assert_memory_equal(&outcome[i], &closings[0].alone, sizeof outcome[i]);
    }
}

/* A door that leads nowhere: its closing ends as up_run ends it, those beside it go on. */
static void a_broken_door_does_not_spread(void **state) {
    (void)state;
    skip_for_one_door();
    static closing broken;
    broken = closings[4];
    broken.door.per_mass = (double)INFINITY;
    const up_status alone = up_run(&broken.door, &broken.options, NULL, &broken.alone, &broken.alone_counts);
    assert_int_not_equal(alone, UP_OK);
    for (const int *width = up_batch_widths(); *width != 0; width++) {
        lay_out(0, 10);
        items[4].door = &broken.door;
        items[4].counts = &broken.together_counts;
        assert_int_equal(up_batch_run(items, 10, *width, memory, sizeof memory), UP_OK);
        assert_int_equal(items[4].status, alone);
        assert_memory_equal(&broken.together_counts, &broken.alone_counts, sizeof broken.alone_counts);
        for (int i = 0; i < 10; i++) {
            assert_true(i == 4 || !differs(&closings[i], items[i].status));
        }
    }
}

static void what_cannot_be_run_is_refused(void **state) {
    (void)state;
    lay_out(0, 1);
    assert_true(up_batch_memory() <= sizeof memory);
    assert_int_equal(up_batch_run(items, 1, 3, memory, sizeof memory), UP_BAD_OPTION);
    assert_int_equal(up_batch_run(items, 1, 16, memory, sizeof memory), UP_BAD_OPTION);
    assert_int_equal(up_batch_run(items, 1, -1, memory, sizeof memory), UP_BAD_OPTION);
    assert_int_equal(up_batch_run(items, -1, 0, memory, sizeof memory), UP_BAD_OPTION);
    assert_int_equal(up_batch_run(items, 1, 0, memory, up_batch_memory() - 1), UP_BAD_OPTION);
    assert_int_equal(items[0].status, UP_STATUS_COUNT);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_width_gives_the_bits_of_a_single_run),
                                       cmocka_unit_test(shaken_closings_have_the_bits_of_a_single_run_too),
                                       cmocka_unit_test(what_shook_a_closing_may_be_gone_when_it_is_done),
                                       cmocka_unit_test(a_batch_may_be_of_any_size),
                                       cmocka_unit_test(refused_items_leave_the_others_alone),
                                       cmocka_unit_test(one_door_may_be_in_many_lanes),
                                       cmocka_unit_test(a_broken_door_does_not_spread),
                                       cmocka_unit_test(what_cannot_be_run_is_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

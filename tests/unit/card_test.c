/* The figures of the refit card: the same whoever does the work, and true to the model's controller. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/refit/card.h"
#include "io/threads.h"

enum { DRAWS = 24 };

static void typical(up_family family, up_known *known) {
    *known = (up_known){0};
    up_values_fallback(family, &known->values);
    up_values_fallback_spread(family, known->spread);
}

static void run(const up_known *known, up_workers *workers, up_card *card) {
    up_card_request request;
    up_card_request_default(known, &request);
    request.draws = DRAWS;
    const size_t size = up_card_memory(DRAWS);
    void *memory = malloc(size);
    assert_non_null(memory);
    assert_int_equal(up_card_run(&request, workers, memory, size, card), UP_OK);
    assert_int_equal(up_card_run(&request, workers, memory, size - 1, card + 1), UP_MEMORY_TOO_SMALL);
    request.draws = 2;
    assert_int_equal(up_card_run(&request, workers, memory, size, card + 1), UP_BAD_OPTION);
    free(memory);
}

/* Member by member: what stands between them in memory is nobody's. */
static void same_reading(const up_reading *a, const up_reading *b) {
    assert_memory_equal(&a->value, &b->value, sizeof a->value);
    assert_memory_equal(&a->low, &b->low, sizeof a->low);
    assert_memory_equal(&a->high, &b->high, sizeof a->high);
    assert_int_equal(a->count, b->count);
}

static void same_figure(const up_spread_figure *a, const up_spread_figure *b) {
    assert_memory_equal(&a->nominal, &b->nominal, sizeof a->nominal);
    assert_memory_equal(&a->low, &b->low, sizeof a->low);
    assert_memory_equal(&a->high, &b->high, sizeof a->high);
    assert_memory_equal(&a->mean, &b->mean, sizeof a->mean);
    assert_memory_equal(&a->deviation, &b->deviation, sizeof a->deviation);
    assert_int_equal(a->count, b->count);
}

static void same_stroke(const up_stroke *a, const up_stroke *b) {
    same_reading(&a->time, &b->time);
    same_reading(&a->current, &b->current);
    assert_int_equal(a->done.hits, b->done.hits);
    assert_int_equal(a->done.of, b->done.of);
}

static void figures_do_not_hang_on_the_workers(void **state) {
    (void)state;
    static up_card alone[2];
    static up_card together[2];
    up_known known;
    up_workers *workers = up_threads_start(3);
    assert_non_null(workers);
    typical(UP_FAMILY_CROSSED_ARMS, &known);
    run(&known, NULL, alone);
    run(&known, workers, together);
    up_threads_stop(workers);
    for (int supply = 0; supply < UP_CARD_SUPPLIES; supply++) {
        same_stroke(&alone->raise[supply], &together->raise[supply]);
        same_stroke(&alone->lower[supply], &together->lower[supply]);
        for (int i = 0; i < UP_METER_STATES * UP_METER_COUNT; i++) {
            same_reading(&alone->reading[supply][i / UP_METER_COUNT][i % UP_METER_COUNT],
                         &together->reading[supply][i / UP_METER_COUNT][i % UP_METER_COUNT]);
        }
    }
    same_figure(&alone->sink, &together->sink);
    for (int i = 0; i < UP_CARD_GAUGES; i++) {
        same_figure(&alone->gauge[i].force, &together->gauge[i].force);
    }
}

static void figures_hang_together(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        static up_card card[2];
        up_known known;
        typical((up_family)family, &known);
        run(&known, NULL, card);
        /* more volts: faster, harder */
        assert_true(card->raise[UP_CARD_ENGINE_ON].time.value < card->raise[UP_CARD_ENGINE_OFF].time.value);
        assert_true(card->reading[UP_CARD_ENGINE_ON][UP_METER_AT_STOP][UP_METER_current].value >
                    card->reading[UP_CARD_ENGINE_OFF][UP_METER_AT_STOP][UP_METER_current].value);
        /* ISO 16750-2: 14 V with the generator running, read in a public copy */
        assert_true(fabs(card->open_voltage[UP_CARD_ENGINE_ON] - 14.0) < 1e-12);
        /* UN Regulation No. 21, 5.8.3.1.1: 100 N, read in a public page; 10 N/mm, 5.8.3.1.3, from memory */
        assert_true(fabs(card->force_limit - 100) < 1e-9 && fabs(card->gauge_stiffness - 10e3) < 1e-6);
        assert_non_null(strstr(card->gauge_mark, "memory"));
        /* a worm that holds lets nothing sink, and the regulator gives force over stiffness */
        assert_true(card->sink.high < 1e-3 || !isinf(card->hold_push.low));
        assert_true(card->give >= UP_CARD_HOLD_PULL / known.values.regulator_stiffness);
        /* pulses a stroke: armature or pinion turns times pulses a turn, travel by tape */
        assert_true(card->pulses.low <= card->pulses.value && card->pulses.value <= card->pulses.high);
        assert_true(card->top_armature_speed > card->armature_speed);
    }
}

/* docs/model.md, section 12: without its position the controller takes the top for an obstacle, unless it passed the
 * limit contact on its way up. */
static void the_restart_is_that_of_the_models_controller(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        static up_card card[2];
        up_known known;
        typical((up_family)family, &known);
        run(&known, NULL, card);
        assert_int_equal(card->restart.from_open, UP_END_CLOSED);
        assert_int_equal(card->restart.from_closed, UP_END_REVERSED);
        assert_true(card->restart.from_closed_backed > 0.05);
        assert_true(fabs(card->restart.limit_opening - 0.012) < 1e-3); /* the typical door's contact */
    }
}

/* Quantiles by straight lines between the sorted values, by hand: 41 values 0..40, 2.5 % is the second one. */
static void readings_are_quantiles_of_enough_doors(void **state) {
    (void)state;
    double column[80];
    for (int i = 0; i < 80; i++) {
        column[i] = i < 41 ? (double)((i * 7) % 41) : (double)NAN;
    }
    const up_reading most = up_reading_of(column, 80, 20);
    assert_int_equal(most.count, 41);
    assert_true(fabs(most.low - 1) < 1e-12 && fabs(most.high - 39) < 1e-12);
    for (int i = 0; i < 80; i++) {
        column[i] = i < 39 ? 1.0 : (double)NAN;
    }
    const up_reading few = up_reading_of(column, 80, 1); /* fewer than half: no interval */
    assert_int_equal(few.count, 39);
    assert_true(isnan(few.low) && isnan(few.high));
    assert_true(few.value > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_are_quantiles_of_enough_doors),
        cmocka_unit_test(figures_do_not_hang_on_the_workers),
        cmocka_unit_test(figures_hang_together),
        cmocka_unit_test(the_restart_is_that_of_the_models_controller),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

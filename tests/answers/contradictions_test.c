/* Contradictions against the law of propagation and hand-made disagreements. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/train.h"

enum { DRAWS_MANY = 4000, DRAWS_SOME = 1200, DRAWS_FEW = 400 };

static up_known known;
static up_train train;

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.9g, expected %.9g within %.3g", got, expected, within);
    }
}

/* A crossed-arms door with no tolerance at all. */
static void exact_door(void) {
    memset(&known, 0, sizeof known);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known.values);
}

static void work_out(int draws) {
    const up_train_request request = {&known, 293.15, UP_ABSENT, 3, draws};
    const size_t size = up_train_memory(draws);
    void *memory = malloc(size);
    assert_non_null(memory);
    assert_int_equal(up_train_run(&request, NULL, memory, size, &train), UP_OK);
    free(memory);
}

/* JCGM 100:2008, 5.1.2, independent inputs: the variances add, each times its slope squared; a tolerance over 1.96 is
 * the standard deviation (annex G). Lead angle: tan = starts * module / diameter. */
static void deviations_follow_the_law_of_propagation(void **state) {
    (void)state;
    exact_door();
    const double module = known.values.worm_module, diameter = known.values.worm_diameter;
    const double slope = module / diameter, lead = atan(slope);
    known.values.worm_lead_angle = lead + 0.02;
    known.spread[UP_NUMBER_worm_lead_angle] = 0.010;
    known.spread[UP_NUMBER_worm_module] = 0.04 * module;
    known.spread[UP_NUMBER_worm_diameter] = 0.03 * diameter;
    work_out(DRAWS_MANY);
    const up_contradiction *c = &train.contradiction[UP_PAIR_lead_angle];
    const double by_slope = slope / (1 + slope * slope);
    const double formula = by_slope * hypot(0.04, 0.03) / 1.96;
    assert_true(c->applies);
    /* 4000 draws know a deviation to 1.1 %; the tails are cut beyond 1.5 tolerances, which takes 1 %. */
    near(c->one_deviation, 0.010 / 1.96, 0.04 * 0.010 / 1.96);
    near(c->other_deviation, formula, 0.04 * formula);
    near(c->deviation, hypot(0.010 / 1.96, formula), 0.04 * c->deviation);
    near(c->score, 0.02 / hypot(0.010 / 1.96, formula), 0.05 * c->score);
    assert_int_equal(c->accord, UP_ACCORD_CONTRADICTS);
    assert_int_equal(c->suspect[0], UP_NUMBER_worm_lead_angle);
}

/* The words turn at 2 and at 3 combined deviations. */
static void words_turn_at_two_and_three(void **state) {
    (void)state;
    static const struct {
        double deviations;
        up_accord accord;
    } row[] = {{0, UP_ACCORD_AGREES},      {1.8, UP_ACCORD_AGREES},      {2.2, UP_ACCORD_DOUBTFUL},
               {2.8, UP_ACCORD_DOUBTFUL},  {3.2, UP_ACCORD_CONTRADICTS}, {-1.8, UP_ACCORD_AGREES},
               {-2.2, UP_ACCORD_DOUBTFUL}, {-3.2, UP_ACCORD_CONTRADICTS}};
    exact_door();
    work_out(DRAWS_SOME);
    const double stall = train.answer[UP_TRAIN_FIGURE_stall_current].value;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        exact_door();
        known.values.measured_stall_current = stall + 0.5 * row[i].deviations;
        known.spread[UP_NUMBER_measured_stall_current] = 0.5 * 1.96;
        work_out(DRAWS_SOME);
        const up_contradiction *c = &train.contradiction[UP_PAIR_stall_current];
        near(c->score, fabs(row[i].deviations), 0.08 * fabs(row[i].deviations) + 1e-9);
        assert_int_equal(c->accord, row[i].accord);
    }
}

/* Two exact numbers that differ are as contradictory as can be. */
static void entries_without_tolerance_contradict_at_once(void **state) {
    (void)state;
    exact_door();
    known.values.measured_free_speed = 8;
    work_out(DRAWS_FEW);
    const up_contradiction *c = &train.contradiction[UP_PAIR_free_speed];
    assert_true(c->applies && c->deviation == 0);
    near(c->score, 1000, 0);
    assert_int_equal(c->accord, UP_ACCORD_CONTRADICTS);
}

/* Two ways that share an entry: crossed arms rise by arm length and by twice the pivot distance times the same sine,
 * which the start angle moves on both. Only the lengths may count: rise difference = (arm - pivot * (1 + upper /
 * lower)) * sines. */
static void shared_entries_cancel(void **state) {
    (void)state;
    exact_door();
    known.spread[UP_NUMBER_arm_start] = 0.05;
    work_out(DRAWS_FEW);
    const up_contradiction *c = &train.contradiction[UP_PAIR_arm_rises];
    assert_true(c->applies);
    near(c->deviation, 0, 1e-12);
    exact_door();
    known.spread[UP_NUMBER_arm_length] = 0.002;
    work_out(DRAWS_FEW);
    /* One length alone: the mean rise is held to the travel, so half of what one gains the other loses. */
    const double relative = 0.002 / 1.96 / known.values.arm_length;
    near(c->deviation, known.values.glass_travel * relative, 0.1 * known.values.glass_travel * relative);
}

/* A sector with fewer teeth than stroke and contact need is named; one with more is not. */
static void one_sided_pairs_keep_their_limit(void **state) {
    (void)state;
    exact_door();
    known.spread[UP_NUMBER_arm_start] = 0.01;
    known.values.sector_cut = 40;
    work_out(DRAWS_FEW);
    assert_true(train.contradiction[UP_PAIR_sector_teeth].score == 0);
    const double needed = train.contradiction[UP_PAIR_sector_teeth].one;
    known.values.sector_cut = floor(needed);
    work_out(DRAWS_FEW);
    assert_true(train.contradiction[UP_PAIR_sector_teeth].score > 0);
    assert_true(train.contradiction[UP_PAIR_sector_teeth].one > train.contradiction[UP_PAIR_sector_teeth].other);
}

/* Counted pulses may end anywhere between touching the stop and the stall's stretch: both ends must be allowed. */
static void pulses_counted_to_the_touch_or_to_the_stall_agree(void **state) {
    (void)state;
    exact_door();
    work_out(DRAWS_FEW);
    const double plain = train.answer[UP_TRAIN_FIGURE_pulses_per_stroke].value;
    for (int stalled = 0; stalled < 2; stalled++) {
        exact_door();
        known.values.measured_pulses = floor(plain);
        work_out(DRAWS_FEW);
        const up_contradiction *c = &train.contradiction[UP_PAIR_pulses_travel];
        known.values.measured_pulses = stalled ? floor(2 * c->other - plain) : floor(plain);
        work_out(DRAWS_FEW);
        assert_true(c->applies);
        assert_int_equal(c->accord, UP_ACCORD_AGREES);
    }
    known.values.measured_pulses = floor(plain * 1.25);
    work_out(DRAWS_FEW);
    assert_int_equal(train.contradiction[UP_PAIR_pulses_travel].accord, UP_ACCORD_CONTRADICTS);
}

static void what_was_not_measured_is_not_judged(void **state) {
    (void)state;
    exact_door();
    work_out(DRAWS_FEW);
    assert_false(train.contradiction[UP_PAIR_raise_time].applies);
    assert_false(train.contradiction[UP_PAIR_travel_turns].applies);
    assert_false(train.contradiction[UP_PAIR_lead_angle].applies);
    assert_true(train.contradiction[UP_PAIR_lead_limit].applies);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(deviations_follow_the_law_of_propagation),
        cmocka_unit_test(words_turn_at_two_and_three),
        cmocka_unit_test(entries_without_tolerance_contradict_at_once),
        cmocka_unit_test(shared_entries_cancel),
        cmocka_unit_test(one_sided_pairs_keep_their_limit),
        cmocka_unit_test(pulses_counted_to_the_touch_or_to_the_stall_agree),
        cmocka_unit_test(what_was_not_measured_is_not_judged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

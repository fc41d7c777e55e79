/* Intervals of answers against what probability says of them.
 *
 * Source of the expectation: when one number alone is uncertain and the answer rises or falls with it all the way, the
 * quantiles of the answer are the answer at the quantiles of that number (any text on random variables); those of the
 * number are the normal ones. The closings at the quantiles are run apart from the spread. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/spread.h"

enum { DRAWS = 400 };

typedef struct case_of {
    up_known known;
    up_run_options options;
    up_facts facts;
    up_spread_request request;
} case_of;

static void closing_of(up_family family, case_of *c) {
    memset(c, 0, sizeof *c);
    up_values_fallback(family, &c->known.values);
    up_run_options_default(&c->options);
    c->options.switch_steps = 1;
    c->options.switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_TOUCH};
    up_facts_default(&c->facts);
    c->facts.reversing = UP_ANSWER_YES;
    c->request = (up_spread_request){.known = &c->known,
                                     .options = &c->options,
                                     .facts = &c->facts,
                                     .rule = up_rule_named("UN"),
                                     .seed = 1,
                                     .draws = DRAWS};
}

static void run_spread(const case_of *c, up_spread_result *result) {
    void *memory = malloc(up_spread_memory(c->request.draws));
    assert_int_equal(up_spread_run(&c->request, NULL, memory, up_spread_memory(c->request.draws), result), UP_OK);
    free(memory);
}

static double headline_at(const case_of *c, up_number number, double value, up_headline headline) {
    up_values values = c->known.values;
    up_door door;
    up_outcome outcome;
    double all[UP_HEADLINE_COUNT];
    values.number[number] = value;
    assert_int_equal(up_door_prepare(&values, c->options.temperature, &door), UP_OK);
    assert_int_equal(up_run(&door, &c->options, NULL, &outcome, NULL), UP_OK);
    up_headlines(&values, &outcome, all);
    return all[headline];
}

/* The sample quantile at 2.5 % of 400 draws scatters by sqrt(0.025 0.975 / 400) / 0.0584 = 0.13 standard deviations;
 * allowed: 0.5. */
static void expect_interval_from_one(up_family family, up_number number, double spread, up_headline headline) {
    static const double near = (1.96 - 0.5) / 1.96, far = (1.96 + 0.5) / 1.96;
    case_of c;
    up_spread_result result;
    closing_of(family, &c);
    c.known.spread[number] = spread;
    run_spread(&c, &result);
    const double value = c.known.values.number[number];
    const double a = headline_at(&c, number, value - near * spread, headline);
    const double b = headline_at(&c, number, value + near * spread, headline);
    const double a_far = headline_at(&c, number, value - far * spread, headline);
    const double b_far = headline_at(&c, number, value + far * spread, headline);
    const up_spread_figure *figure = &result.figure[headline];
    assert_int_equal(figure->count, DRAWS);
    assert_true(figure->nominal == headline_at(&c, number, value, headline));
    assert_true(figure->low <= fmin(a, b) && figure->low >= fmin(a_far, b_far));
    assert_true(figure->high >= fmax(a, b) && figure->high <= fmax(a_far, b_far));
    assert_true(figure->low < figure->mean && figure->mean < figure->high);
}

static void one_uncertain_number_gives_the_interval_of_its_quantiles(void **state) {
    (void)state;
    expect_interval_from_one(UP_FAMILY_CABLE, UP_NUMBER_supply_voltage, 0.4, UP_HEADLINE_running_speed);
    expect_interval_from_one(UP_FAMILY_CROSSED_ARMS, UP_NUMBER_belt_drag, 9, UP_HEADLINE_running_current);
    expect_interval_from_one(UP_FAMILY_SINGLE_ARM, UP_NUMBER_glass_mass, 0.5, UP_HEADLINE_running_current);
}

/* Nothing uncertain: every closing is the sheet's own (the encoder is even and loses nothing here). */
static void an_exact_sheet_has_no_spread(void **state) {
    (void)state;
    case_of c;
    up_spread_result result;
    closing_of(UP_FAMILY_RACK, &c);
    c.known.values.encoder_pitch_error = 0;
    c.known.values.encoder_missed = 0;
    c.request.draws = 20;
    run_spread(&c, &result);
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        const up_spread_figure *f = &result.figure[h];
        if (f->count) {
            assert_true(f->low == f->nominal && f->high == f->nominal);
        }
    }
    assert_int_equal(result.draws, 20);
    assert_int_equal(result.end[result.nominal.end].hits, 20);
}

/* Half the change over an interval, run apart. */
static void effects_are_half_the_change_over_the_interval(void **state) {
    (void)state;
    case_of c;
    up_matter matters[UP_NUMBER_COUNT];
    int count = 0;
    closing_of(UP_FAMILY_CROSSED_ARMS, &c);
    c.known.spread[UP_NUMBER_supply_voltage] = 0.4;
    c.known.spread[UP_NUMBER_ripple] = 0.01; /* only drawn on the trace: moves nothing */
    assert_int_equal(up_matter_run(&c.request, NULL, matters, &count), UP_OK);
    assert_int_equal(count, 2);
    assert_int_equal(matters[0].number, UP_NUMBER_supply_voltage);
    const double value = c.known.values.supply_voltage;
    const double fast = headline_at(&c, UP_NUMBER_supply_voltage, value + 0.4, UP_HEADLINE_running_speed);
    const double slow = headline_at(&c, UP_NUMBER_supply_voltage, value - 0.4, UP_HEADLINE_running_speed);
    assert_true(fast > slow);
    assert_true(matters[0].effect[UP_HEADLINE_running_speed] == 0.5 * (fast - slow));
    double share[2];
    int order[2];
    up_matter_rank(matters, count, UP_HEADLINE_running_speed, share, order);
    assert_int_equal(order[0], 0);
    assert_true(share[0] > 0.999);
}

/* The closed effects and the drawn closings tell the same story where the answer is smooth: running current. Straight
 * lines and independent entries: sum of variances, from the rules for sums of random variables. */
static void squared_effects_add_up_to_the_drawn_variance(void **state) {
    (void)state;
    case_of c;
    up_spread_result result;
    up_matter matters[UP_NUMBER_COUNT];
    int count = 0;
    closing_of(UP_FAMILY_CABLE, &c);
    c.known.spread[UP_NUMBER_belt_drag] = 6;
    c.known.spread[UP_NUMBER_supply_voltage] = 0.3;
    c.known.spread[UP_NUMBER_torque_constant] = 0.001;
    c.known.spread[UP_NUMBER_glass_mass] = 0.3;
    run_spread(&c, &result);
    assert_int_equal(up_matter_run(&c.request, NULL, matters, &count), UP_OK);
    const double explained = up_matter_explained(matters, count, UP_HEADLINE_running_current,
                                                 result.figure[UP_HEADLINE_running_current].deviation);
    /* A deviation from 400 draws is good to 3.5 %, a variance to 7 %; the cut at 1.5 spreads takes another 2 %. */
    assert_true(explained > 0.75 && explained < 1.3);
}

static void shares_count_the_closings_that_passed(void **state) {
    (void)state;
    case_of c;
    up_spread_result result;
    closing_of(UP_FAMILY_CROSSED_ARMS, &c);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, c.known.spread);
    c.options.rod = 1;
    c.options.rod_opening = 0.12;
    c.options.rod_stiffness = 10e3;
    c.request.draws = 200;
    run_spread(&c, &result);
    assert_int_equal(result.failed, 0);
    int ended = 0;
    for (int e = 0; e < UP_END_COUNT; e++) {
        ended += result.end[e].hits;
    }
    assert_int_equal(ended, 200);
    /* Clause 2 of the UN rule is the force, 100 N; count again from the figure's own quantiles. */
    const up_share passed = result.passed[2];
    assert_true(passed.of > 150);
    const up_spread_figure *force = &result.figure[UP_HEADLINE_peak_rod_force];
    assert_true(force->high <= 100 ? passed.share >= 0.975 - 1e-9 : passed.share < 0.98);
    assert_true(passed.low <= passed.share && passed.share <= passed.high);
}

static void bad_requests_are_refused(void **state) {
    (void)state;
    case_of c;
    up_spread_result result;
    double little[4];
    closing_of(UP_FAMILY_CROSSED_ARMS, &c);
    assert_int_equal(up_spread_run(&c.request, NULL, little, sizeof little, &result), UP_MEMORY_TOO_SMALL);
    assert_int_equal(up_spread_run(&c.request, NULL, NULL, 1u << 30, &result), UP_MEMORY_TOO_SMALL);
    c.request.draws = 1;
    assert_int_equal(up_spread_run(&c.request, NULL, little, sizeof little, &result), UP_BAD_OPTION);
    assert_true(up_spread_memory(1) == 0 && up_spread_memory(400) == 2 * up_spread_memory(200));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_uncertain_number_gives_the_interval_of_its_quantiles),
        cmocka_unit_test(an_exact_sheet_has_no_spread),
        cmocka_unit_test(effects_are_half_the_change_over_the_interval),
        cmocka_unit_test(squared_effects_add_up_to_the_drawn_variance),
        cmocka_unit_test(shares_count_the_closings_that_passed),
        cmocka_unit_test(bad_requests_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Which of several confirmed settings is recommended: never one that squeezes more than today's, or lets more rods lie,
 * where the limit is not kept; and a better one where today's keeps it too.
 *
 * The figures are invented for the test; compared with the rule that docs/tuning.md states and with nothing outside. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/tune_parts.h"

enum { KIND = 2, DAYS = 2048, RULES = 2 };

static up_tune_result result;
static const up_tune_request request = {.rules = RULES, .rate = 0.01, .margin = 10};

/* Two rules with a limit of 100 N each; the second one's force is the first's. */
static void confirm(up_tune_choice *choice, double force, int hits, int unturned) {
    memset(choice, 0, sizeof *choice);
    choice->is_there = 1;
    choice->reversed = up_share_of(hits, DAYS);
    choice->largest = force;
    for (int rule = 0; rule < RULES; rule++) {
        choice->worst[rule].touched = 1;
        choice->worst[rule].force = force;
        choice->touched[rule] = 300;
    }
    choice->unturned[0] = choice->unturned_same[0] = unturned;
    choice->keeps = force <= 100 && unturned == 0;
}

static int recommended(void) {
    up_tune_recommend(&request, &result);
    return result.recommended;
}

static int set_up(void **state) {
    (void)state;
    memset(&result, 0, sizeof result);
    result.limit[0] = result.limit[1] = 100;
    result.below[1] = 1;
    return 0;
}

static void no_more_rods_are_left_lying(void **state) {
    (void)state;
    confirm(&result.today, 143, 800, 5);
    confirm(&result.best[KIND], 120, 60, 5);
    assert_int_equal(recommended(), KIND);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_LESS);
    confirm(&result.best[KIND], 120, 60, 6);
    assert_int_equal(recommended(), -1);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_TRADE);
    /* what each one's own climbs met is no comparison */
    confirm(&result.best[KIND], 120, 60, 5);
    result.best[KIND].unturned[0] = 50;
    assert_int_equal(recommended(), KIND);
    /* nor does one rule make up for the other */
    confirm(&result.best[KIND], 120, 60, 0);
    result.best[KIND].unturned_same[1] = 1;
    assert_int_equal(recommended(), -1);
}

/* However far beyond the limit both are: what is better in everything is not kept from anybody. */
static void what_is_better_in_everything_is_recommended(void **state) {
    (void)state;
    confirm(&result.today, 327, 800, 700);
    confirm(&result.best[KIND], 151, 440, 100);
    assert_int_equal(recommended(), KIND);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_LESS);
    confirm(&result.best[KIND], 320, 790, 700); /* nothing but chance */
    assert_int_equal(recommended(), -1);
}

static void no_more_force_is_recommended(void **state) {
    (void)state;
    confirm(&result.today, 143, 800, 5);
    confirm(&result.best[KIND], 143.5, 60, 5);
    assert_int_equal(recommended(), -1);
    assert_int_equal(result.today.reason, UP_TUNE_LEAVE);
    confirm(&result.best[KIND], 120, 60, 5);
    result.best[KIND].worst[1].force = 144; /* under the other rule */
    assert_int_equal(recommended(), -1);
}

/* Today's keeps the limit at an acceptable rate: a better one of which the same is true takes its place. */
static void a_better_one_within_the_limit_is_recommended(void **state) {
    (void)state;
    confirm(&result.today, 80, 20, 0);
    confirm(&result.best[KIND], 90, 2, 0);
    assert_int_equal(recommended(), KIND);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_WITHIN);
    confirm(&result.best[KIND], 90, 18, 0); /* more force, and no fewer reversals than chance gives */
    assert_int_equal(recommended(), -1);
    assert_int_equal(result.today.reason, UP_TUNE_WITHIN);
    confirm(&result.best[KIND], 79, 20, 0); /* nothing but the noise of the search */
    assert_int_equal(recommended(), -1);
    confirm(&result.best[KIND], 60, 20, 0);
    assert_int_equal(recommended(), KIND);
    confirm(&result.best[KIND], 101, 0, 0); /* the limit is worth more than comfort */
    assert_int_equal(recommended(), -1);
}

/* Today's keeps the limit and turns round far too often: more force is no harm within the limit. */
static void within_the_limit_more_force_is_no_harm(void **state) {
    (void)state;
    confirm(&result.today, 80, 800, 0);
    confirm(&result.best[KIND], 95, 100, 0);
    assert_int_equal(recommended(), KIND);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_KEEPS);
    confirm(&result.best[KIND], 95, 900, 0);
    assert_int_equal(recommended(), -1);
    confirm(&result.best[KIND], 105, 100, 0);
    assert_int_equal(recommended(), -1);
    assert_int_equal(result.best[KIND].reason, UP_TUNE_TRADE);
}

static void the_best_kind_is_recommended(void **state) {
    (void)state;
    confirm(&result.today, 143, 800, 5);
    confirm(&result.best[0], 120, 400, 5);
    confirm(&result.best[1], 130, 100, 5);
    confirm(&result.best[2], 140, 90, 6);
    confirm(&result.best[3], 125, 150, 5);
    assert_int_equal(recommended(), 1);
    result.best[0].is_there = result.best[2].is_there = 0;
    confirm(&result.today, 336, 796, 600);
    confirm(&result.best[1], 286, 411, 100);
    confirm(&result.best[3], 151, 444, 0); /* the intervals overlap: half the force is worth more */
    assert_int_equal(recommended(), 3);
    confirm(&result.best[3], 90, 15, 0);
    assert_int_equal(recommended(), 3);
}

static void noise_is_told(void **state) {
    (void)state;
    up_tune_choice a;
    up_tune_choice b;
    confirm(&a, 143, 60, 0);
    confirm(&b, 141, 70, 0);
    assert_true(up_tune_same_force(&a, &b, 0) && up_tune_same_force(&b, &a, 0));
    assert_true(up_tune_same_rate(&a, &b) && up_tune_same_rate(&b, &a));
    confirm(&b, 119, 200, 0);
    assert_false(up_tune_same_force(&a, &b, 0) || up_tune_same_force(&b, &a, 0));
    assert_false(up_tune_same_rate(&a, &b) || up_tune_same_rate(&b, &a));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(no_more_rods_are_left_lying, set_up),
        cmocka_unit_test_setup(what_is_better_in_everything_is_recommended, set_up),
        cmocka_unit_test_setup(no_more_force_is_recommended, set_up),
        cmocka_unit_test_setup(a_better_one_within_the_limit_is_recommended, set_up),
        cmocka_unit_test_setup(within_the_limit_more_force_is_no_harm, set_up),
        cmocka_unit_test_setup(the_best_kind_is_recommended, set_up),
        cmocka_unit_test_setup(noise_is_told, set_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

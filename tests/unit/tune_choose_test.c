/* Which point of a front the search goes on with, where no point keeps the force limit.
 *
 * The figures are invented for the test; compared with the rule that docs/tuning.md states and with nothing outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/tune_parts.h"

enum { POINTS = 4, DAYS = 1000 };

static up_tune_result result;
static up_tune_point points[POINTS];
static const up_tune_request request = {.rules = 1, .rate = 0.01, .margin = 10};
static const up_tune_bench bench = {.request = &request, .result = &result, .point = points, .points = POINTS};

static void place(int index, double force, int hits, int unturned) {
    memset(&points[index], 0, sizeof points[index]);
    points[index].force = points[index].worst.force[0] = force;
    points[index].worst.unturned = unturned;
    points[index].hits = hits;
    points[index].of = DAYS;
}

static int chosen(up_tune_reason *reason) {
    static const int front[] = {1, 2, 3}; /* by rising force */
    return up_tune_choose(&bench, front, 3, reason);
}

static int set_up(void **state) {
    (void)state;
    memset(&result, 0, sizeof result);
    result.limit[0] = 100;
    place(UP_TUNE_TODAY, 237, 2, 785);
    place(1, 145, 221, 13);
    place(2, 184, 4, 29);
    place(3, 199, 1, 30);
    return 0;
}

/* Far beyond the limit, but much less than today's at an acceptable rate: not 22 % of reversals for the sake of 145 N. */
static void less_than_today_is_found_far_beyond_the_limit(void **state) {
    (void)state;
    up_tune_reason reason;
    assert_int_equal(chosen(&reason), 2);
    assert_int_equal(reason, UP_TUNE_LESS);
}

static void near_the_limit_comes_first(void **state) {
    (void)state;
    up_tune_reason reason;
    points[1].hits = 9;
    assert_int_equal(chosen(&reason), 1);
    assert_int_equal(reason, UP_TUNE_LESS);
}

static void no_more_force_and_no_more_rods_lying_than_today(void **state) {
    (void)state;
    up_tune_reason reason;
    points[UP_TUNE_TODAY].worst.force[0] = 190; /* less than 3 % below it: within what the bank of rods may miss */
    points[2].worst.force[0] = 187;
    assert_int_equal(chosen(&reason), 1);
    assert_int_equal(reason, UP_TUNE_TRADE);
    (void)set_up(NULL);
    points[UP_TUNE_TODAY].worst.unturned = 20;
    assert_int_equal(chosen(&reason), 1);
    assert_int_equal(reason, UP_TUNE_TRADE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(less_than_today_is_found_far_beyond_the_limit, set_up),
        cmocka_unit_test_setup(near_the_limit_comes_first, set_up),
        cmocka_unit_test_setup(no_more_force_and_no_more_rods_lying_than_today, set_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

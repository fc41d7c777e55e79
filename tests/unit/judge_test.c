/* How facts are taken from a run, and how single verdicts make a judgement. No outside reference: the contract of
 * judge.h. The rules' own answers stand in tests/answers/judge_test.c. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/judge.h"

static void facts_of_a_reversed_closing_are_openings(void **state) {
    (void)state;
    up_values door;
    up_run_options options;
    up_facts facts;
    up_values_fallback(UP_FAMILY_CABLE, &door);
    up_run_options_default(&options);
    door.glass_travel = 0.44;
    options.rod = 1;
    options.rod_opening = 0.12;
    options.rod_stiffness = 10e3;
    const up_outcome outcome = {.start_travel = 0.04,
                                .final_travel = 0.17,
                                .reversal_travel = 0.325,
                                .reversals = 1,
                                .rod_touch_time = 2.5,
                                .peak_rod_force = 61};
    up_facts_default(&facts);
    facts.window = UP_WINDOW_REAR;
    up_facts_from_run(&door, &options, &outcome, &facts);
    assert_true(fabs(facts.start_opening - 0.40) < 1e-12);
    assert_true(fabs(facts.reversal_opening - 0.115) < 1e-12);
    assert_true(fabs(facts.final_opening - 0.27) < 1e-12);
    assert_true(facts.obstructed && facts.peak_force == 61 && facts.rod_opening == 0.12 && facts.rod_stiffness == 10e3);
    assert_int_equal(facts.window, UP_WINDOW_REAR);
    assert_true(up_is_absent(facts.rod_diameter));
    assert_int_equal(facts.attempt_unprotected, UP_ANSWER_NO);
    door.detect_off_after = 3;
    up_facts_from_run(&door, &options, &outcome, &facts);
    assert_int_equal(facts.attempt_unprotected, UP_ANSWER_YES);
}

static void a_rod_that_was_not_touched_is_no_obstacle(void **state) {
    (void)state;
    up_values door;
    up_run_options options;
    up_facts facts;
    up_values_fallback(UP_FAMILY_CABLE, &door);
    up_run_options_default(&options);
    options.rod = 1;
    options.rod_opening = 0.12;
    const up_outcome outcome = {.rod_touch_time = UP_ABSENT, .reversal_travel = UP_ABSENT};
    up_facts_default(&facts);
    up_facts_from_run(&door, &options, &outcome, &facts);
    assert_false(facts.obstructed);
    assert_true(up_is_absent(facts.peak_force) && up_is_absent(facts.reversal_opening));
    const up_outcome untouched = {.reversals = 0, .reversal_travel = 0.1, .rod_touch_time = UP_ABSENT};
    up_facts_from_run(&door, &options, &untouched, &facts);
    assert_true(up_is_absent(facts.reversal_opening));
    options.rod = 0;
    up_facts_from_run(&door, &options, &outcome, &facts);
    assert_true(up_is_absent(facts.rod_opening) && up_is_absent(facts.rod_stiffness));
}

static void from_nothing_known_nothing_is_failed_or_passed(void **state) {
    (void)state;
    up_facts facts;
    up_facts_default(&facts);
    for (int i = 0; i < up_rule_count(); i++) {
        up_judgement judgement;
        up_judge(up_rule_at(i), &facts, &judgement);
        assert_ptr_equal(judgement.rule, up_rule_at(i));
        assert_true(judgement.count >= 1 && judgement.count <= UP_VERDICTS_MAX);
        for (int k = 0; k < judgement.count; k++) {
            const up_verdict *verdict = &judgement.verdict[k];
            assert_true(verdict->result == UP_VERDICT_UNKNOWN || verdict->result == UP_VERDICT_NOT_APPLICABLE);
            assert_true(*verdict->paragraph && *verdict->mark && *verdict->reason && *verdict->title);
            assert_string_equal(verdict->rule, up_rule_at(i)->name);
        }
        assert_int_equal(judgement.overall, UP_VERDICT_UNKNOWN);
        assert_true(judgement.unknown > 0);
    }
}

static void every_judgement_says_that_it_is_no_certification(void **state) {
    (void)state;
    up_facts facts;
    up_judgement judgement;
    up_facts_default(&facts);
    up_judge(up_rule_at(0), &facts, &judgement);
    assert_string_equal(judgement.statement, up_judge_statement());
    assert_non_null(strstr(judgement.statement, "not a certification"));
    assert_non_null(strstr(judgement.statement, "never with a hand"));
}

static void rules_are_found_by_name_and_place(void **state) {
    (void)state;
    assert_true(up_rule_count() >= 2);
    for (int i = 0; i < up_rule_count(); i++) {
        assert_ptr_equal(up_rule_named(up_rule_at(i)->name), up_rule_at(i));
    }
    assert_null(up_rule_at(-1));
    assert_null(up_rule_at(up_rule_count()));
    assert_null(up_rule_named("us"));
    assert_string_equal(up_verdict_word(UP_VERDICT_PASSED), "passed");
    assert_string_equal(up_verdict_word(UP_VERDICT_UNKNOWN), "cannot be judged");
}

/* A failed demand outweighs an unknown one, an unknown one a passed one; what is not required never counts. */
static void judge_first(const up_facts *facts, up_verdict *verdict) {
    verdict->result = (up_verdict_result)facts->obstructed;
}

static void judge_second(const up_facts *facts, up_verdict *verdict) {
    verdict->result = (up_verdict_result)(int)facts->peak_force;
    verdict->required = facts->rod_opening > 0;
}

static void verdicts_make_a_judgement(void **state) {
    (void)state;
    static const up_clause clauses[] = {{"1", "first", 1, judge_first}, {"2", "second", 0, judge_second}};
    const up_rule rule = {.name = "T", .clauses = clauses, .clause_count = 2};
    enum { P = UP_VERDICT_PASSED, F = UP_VERDICT_FAILED, N = UP_VERDICT_NOT_APPLICABLE, U = UP_VERDICT_UNKNOWN };
    static const int rows[][5] = {/* first, second, second required, overall, closing */
                                  {P, P, 1, P, P}, {P, F, 1, F, P}, {P, F, 0, P, P}, {P, U, 1, U, P}, {U, F, 1, F, U},
                                  {F, P, 1, F, F}, {N, P, 1, P, N}, {N, N, 1, N, N}, {N, U, 1, U, N}, {N, P, 0, N, N}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        up_facts facts;
        up_judgement judgement;
        up_facts_default(&facts);
        facts.obstructed = rows[i][0];
        facts.peak_force = rows[i][1];
        facts.rod_opening = rows[i][2];
        up_judge(&rule, &facts, &judgement);
        assert_int_equal(judgement.overall, rows[i][3]);
        assert_int_equal(judgement.closing, rows[i][4]);
        assert_int_equal(judgement.unknown, (rows[i][0] == U) + (rows[i][1] == U && rows[i][2]));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facts_of_a_reversed_closing_are_openings),
        cmocka_unit_test(a_rod_that_was_not_touched_is_no_obstacle),
        cmocka_unit_test(from_nothing_known_nothing_is_failed_or_passed),
        cmocka_unit_test(every_judgement_says_that_it_is_no_certification),
        cmocka_unit_test(rules_are_found_by_name_and_place),
        cmocka_unit_test(verdicts_make_a_judgement),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

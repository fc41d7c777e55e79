/* Verdicts and figures of the two rules against what the texts say.
 *
 * Sources: 49 CFR 571.118 S4(a) to (g) as quoted in a laboratory result sheet of 2015; S5 as quoted in the agency's
 * interpretation 10790; S6 as in docket NHTSA-2004-19032 and document E8-15310; UN R21 5.8.2.5, 5.8.3.1 and 5.8.3.1.1 as
 * quoted in public pages. S5.1 (exact sense), S5.2, S5.3, S8 and the other paragraphs of 5.8 are from memory: those
 * expectations hold the code to that memory and want the official text. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/judge.h"

static const up_rule *us(void) {
    return up_rule_named("US");
}

static const up_rule *un(void) {
    return up_rule_named("UN");
}

static up_verdict verdict_of(const up_rule *rule, const up_facts *facts, const char *title) {
    up_judgement judgement;
    up_judge(rule, facts, &judgement);
    for (int i = 0; i < judgement.count; i++) {
        if (strcmp(judgement.verdict[i].title, title) == 0) {
            return judgement.verdict[i];
        }
    }
    fail_msg("no verdict titled %s", title);
    return judgement.verdict[0];
}

static up_verdict_result closing(const up_rule *rule, const up_facts *facts) {
    up_judgement judgement;
    up_judge(rule, facts, &judgement);
    return judgement.closing;
}

/* A closing onto a 25 mm rod that reversed; mm and N. */
static up_facts pinched(double start, double reversed, double ended, double force) {
    up_facts facts;
    up_facts_default(&facts);
    facts.reversing = UP_ANSWER_YES;
    facts.obstructed = 1;
    facts.start_opening = start / 1000;
    facts.reversal_opening = reversed / 1000;
    facts.final_opening = ended / 1000;
    facts.peak_force = force;
    facts.rod_diameter = 0.025;
    return facts;
}

static void one_hundred_newtons_fail_in_the_us_and_pass_under_un(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 400, 100.0);
    up_verdict verdict = verdict_of(us(), &facts, "squeezing force");
    assert_int_equal(verdict.result, UP_VERDICT_FAILED);
    assert_string_equal(verdict.paragraph, "S5.1");
    assert_true(verdict.figure == 100 && verdict.limit == 100 && verdict.margin == 0);
    assert_string_equal(verdict.unit, "N");
    assert_int_equal(verdict.source, UP_SOURCE_MEMORY);
    assert_non_null(strstr(verdict.mark, "check the official text"));
    assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
    verdict = verdict_of(un(), &facts, "squeezing force");
    assert_int_equal(verdict.result, UP_VERDICT_PASSED);
    assert_string_equal(verdict.paragraph, "5.8.3.1.1");
    assert_true(verdict.margin == 0);
    assert_int_equal(verdict.source, UP_SOURCE_READ);
    assert_non_null(strstr(verdict.mark, "read in "));
    assert_int_equal(closing(un(), &facts), UP_VERDICT_PASSED);
}

static void just_below_passes_both_and_just_above_fails_both(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 400, 99.9);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_PASSED);
    assert_int_equal(closing(un(), &facts), UP_VERDICT_PASSED);
    assert_true(fabs(verdict_of(us(), &facts, "squeezing force").margin - 0.1) < 1e-12);
    facts.peak_force = 100.1;
    assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
}

static void expect_reversal(const up_facts *facts, const up_rule *rule, up_verdict_result result, const char *paragraph,
                            double margin) {
    const up_verdict verdict = verdict_of(rule, facts, "opening after reversal");
    assert_int_equal(verdict.result, result);
    assert_string_equal(verdict.paragraph, paragraph);
    assert_true(fabs(verdict.margin - margin) < 1e-9);
    assert_true(fabs(verdict.figure - verdict.limit - verdict.margin) < 1e-12);
}

static void backing_off_sixty_to_two_hundred_and_ten(void **state) {
    (void)state;
    const up_facts facts = pinched(400, 150, 210, 50);
    expect_reversal(&facts, un(), UP_VERDICT_PASSED, "5.8.3.1.2 (c)", 0.010); /* and (a) with the same margin */
    expect_reversal(&facts, us(), UP_VERDICT_PASSED, "S5.2(c)", 0.010);       /* +60 mm is not +125 mm        */
}

static void backing_off_sixty_to_one_hundred_and_sixty(void **state) {
    (void)state;
    const up_facts facts = pinched(400, 100, 160, 50);
    expect_reversal(&facts, un(), UP_VERDICT_PASSED, "5.8.3.1.2 (c)", 0.010);
    expect_reversal(&facts, us(), UP_VERDICT_FAILED, "S5.2(c)", -0.040);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
}

static void backing_off_to_where_it_started(void **state) {
    (void)state;
    const up_facts facts = pinched(120, 90, 120, 50);
    expect_reversal(&facts, un(), UP_VERDICT_PASSED, "5.8.3.1.2 (b)", 0);
    expect_reversal(&facts, us(), UP_VERDICT_PASSED, "S5.2(a)", 0);
}

static void backing_off_forty_is_too_little_for_both(void **state) {
    (void)state;
    const up_facts facts = pinched(400, 100, 140, 50);
    expect_reversal(&facts, un(), UP_VERDICT_FAILED, "5.8.3.1.2 (c)", -0.010);
    expect_reversal(&facts, us(), UP_VERDICT_FAILED, "S5.2(c)", -0.060);
}

static void the_distances_asked_for_are_met_exactly_and_missed_by_a_tenth_of_a_millimetre(void **state) {
    (void)state;
    up_facts facts = pinched(400, 30, 155, 50);
    expect_reversal(&facts, us(), UP_VERDICT_PASSED, "S5.2(b)", 0);
    facts = pinched(400, 30, 154.9, 50);
    expect_reversal(&facts, us(), UP_VERDICT_FAILED, "S5.2(b)", -0.0001);
    facts = pinched(400, 30, 80, 50);
    expect_reversal(&facts, un(), UP_VERDICT_PASSED, "5.8.3.1.2 (c)", 0);
    facts = pinched(400, 30, 79.9, 50);
    expect_reversal(&facts, un(), UP_VERDICT_FAILED, "5.8.3.1.2 (c)", -0.0001);
    facts = pinched(400, 199, 200, 50);
    expect_reversal(&facts, us(), UP_VERDICT_PASSED, "S5.2(c)", 0);
    expect_reversal(&facts, un(), UP_VERDICT_PASSED, "5.8.3.1.2 (a)", 0);
}

static void an_obstacle_met_without_reversal_fails_both(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 100, 99);
    facts.reversal_opening = UP_ABSENT;
    assert_int_equal(verdict_of(us(), &facts, "opening after reversal").result, UP_VERDICT_FAILED);
    assert_int_equal(verdict_of(un(), &facts, "opening after reversal").result, UP_VERDICT_FAILED);
}

static void a_tilting_panel_at_its_full_angle_passes_under_un_alone(void **state) {
    (void)state;
    up_facts facts = pinched(60, 20, 40, 50);
    facts.window = UP_WINDOW_TILTING_ROOF;
    facts.tilted_fully = UP_ANSWER_YES;
    assert_int_equal(verdict_of(un(), &facts, "opening after reversal").result, UP_VERDICT_PASSED);
    assert_string_equal(verdict_of(un(), &facts, "opening after reversal").paragraph, "5.8.3.1.2 (d)");
    assert_int_equal(verdict_of(us(), &facts, "opening after reversal").result, UP_VERDICT_FAILED);
}

static void a_closing_from_less_than_four_millimetres_is_exempt(void **state) {
    (void)state;
    up_facts facts = pinched(3.9, 2, 2, 400);
    facts.reversal_opening = UP_ABSENT;
    for (int i = 0; i < 2; i++) {
        const up_rule *rule = i ? un() : us();
        assert_int_equal(verdict_of(rule, &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
        assert_int_equal(verdict_of(rule, &facts, "opening after reversal").result, UP_VERDICT_NOT_APPLICABLE);
        assert_int_not_equal(closing(rule, &facts), UP_VERDICT_FAILED);
    }
    assert_string_equal(verdict_of(us(), &facts, "squeezing force").paragraph, "S4(f)");
    assert_string_equal(verdict_of(un(), &facts, "squeezing force").paragraph, "5.8.2.5");
    /* At 4 mm itself a 4 mm rod can be put through, so the US exemption ends; the UN one says "not over 4 mm". */
    facts.start_opening = 0.004;
    assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_FAILED);
    assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
    facts.start_opening = 0.0041;
    assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_FAILED);
}

static void the_limit_holds_from_four_to_two_hundred_millimetres(void **state) {
    (void)state;
    static const double inside[] = {0.004, 0.1, 0.200}, outside[] = {0.0039, 0.2001};
    up_facts facts = pinched(400, 100, 400, 150);
    for (size_t i = 0; i < 3; i++) {
        facts.rod_opening = inside[i];
        assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_FAILED);
        assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_FAILED);
    }
    for (size_t i = 0; i < 2; i++) {
        facts.rod_opening = outside[i];
        assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
        assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
        facts.rod_opening = UP_ABSENT;
        facts.rod_diameter = outside[i];
        assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
        facts.rod_diameter = 0.025;
    }
}

static void each_rule_wants_its_own_rod(void **state) {
    (void)state;
    const up_rule_number *number = NULL;
    assert_true(us()->rod_stiffness(0.004, &number) == 65e3);
    assert_true(us()->rod_stiffness(0.025, &number) == 65e3);
    assert_string_equal(number->paragraph, "S8.1(b)");
    assert_int_equal(number->source, UP_SOURCE_MEMORY);
    assert_true(us()->rod_stiffness(0.0251, &number) == 20e3);
    assert_true(us()->rod_stiffness(0.200, &number) == 20e3);
    assert_true(un()->rod_stiffness(0.004, &number) == 10e3);
    assert_true(un()->rod_stiffness(0.200, &number) == 10e3);
    assert_string_equal(number->paragraph, "5.8.3.1.3");
    /* How far the rods give way at the limit: 1.54, 5 and 10 mm. */
    assert_true(fabs(100 / us()->rod_stiffness(0.02, &number) - 1.54e-3) < 0.005e-3);
    assert_true(fabs(100 / us()->rod_stiffness(0.1, &number) - 5e-3) < 1e-12);
    assert_true(fabs(100 / un()->rod_stiffness(0.1, &number) - 10e-3) < 1e-12);
}

static void the_force_on_another_rules_rod_decides_nothing(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 400, 80);
    facts.rod_stiffness = 10e3;
    assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_UNKNOWN);
    assert_int_equal(verdict_of(us(), &facts, "test rod").result, UP_VERDICT_FAILED);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_UNKNOWN);
    assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_PASSED);
    facts.rod_stiffness = 65e3;
    assert_int_equal(verdict_of(us(), &facts, "squeezing force").result, UP_VERDICT_PASSED);
    assert_int_equal(verdict_of(un(), &facts, "squeezing force").result, UP_VERDICT_UNKNOWN);
    facts.rod_stiffness = 500e3; /* a floor only: nearly rigid is allowed */
    assert_int_equal(verdict_of(us(), &facts, "test rod").result, UP_VERDICT_PASSED);
    static const double edges[] = {9.4e3, 9.5e3, 10.5e3, 10.6e3};
    static const up_verdict_result results[] = {UP_VERDICT_FAILED, UP_VERDICT_PASSED, UP_VERDICT_PASSED,
                                                UP_VERDICT_FAILED};
    for (size_t i = 0; i < 4; i++) {
        facts.rod_stiffness = edges[i];
        assert_int_equal(verdict_of(un(), &facts, "test rod").result, results[i]);
    }
}

/* A closing nobody obstructs, without a reversing device. */
static up_facts plain(up_command_place place, up_command_way way, up_key key) {
    up_facts facts;
    up_facts_default(&facts);
    facts.reversing = UP_ANSWER_NO;
    facts.start_opening = 0.4;
    facts.place = place;
    facts.way = way;
    facts.key = key;
    return facts;
}

static void one_touch_on_a_rear_door_without_reversal(void **state) {
    (void)state;
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_ONE_TOUCH, UP_KEY_ON);
    facts.window = UP_WINDOW_REAR;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
    assert_string_equal(verdict_of(un(), &facts, "closing allowed without reversal").paragraph, "5.8.2.8");
    assert_int_equal(verdict_of(un(), &facts, "closing needs continuous actuation").result, UP_VERDICT_FAILED);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_PASSED);
    assert_string_equal(verdict_of(us(), &facts, "closing allowed without reversal").paragraph, "S4(a)");
    facts.window = UP_WINDOW_DRIVER;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_PASSED);
    facts.window = UP_WINDOW_ROOF;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_PASSED);
    facts.key = UP_KEY_OFF;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
}

static void remote_closing_by_distance_and_line_of_sight(void **state) {
    (void)state;
    static const struct {
        double reach;
        up_answer through_wall;
        up_verdict_result result;
    } rows[] = {{11, UP_ANSWER_NO, UP_VERDICT_PASSED}, /* used at 8 m: within its 11 m */
                {11, UP_ANSWER_YES, UP_VERDICT_FAILED},    {6, UP_ANSWER_YES, UP_VERDICT_PASSED},
                {6.1, UP_ANSWER_YES, UP_VERDICT_FAILED},   {11.1, UP_ANSWER_NO, UP_VERDICT_FAILED},
                {8, UP_ANSWER_UNKNOWN, UP_VERDICT_UNKNOWN}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        up_facts facts = plain(UP_FROM_REMOTE, UP_WAY_HELD, UP_KEY_OFF);
        facts.remote_reach = rows[i].reach;
        facts.remote_through_wall = rows[i].through_wall;
        assert_int_equal(closing(us(), &facts), rows[i].result);
        assert_int_equal(closing(un(), &facts), rows[i].result);
        facts.way = UP_WAY_ONE_TOUCH; /* not continuous actuation */
        assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
        assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
    }
}

static void who_may_close_without_reversal(void **state) {
    (void)state;
    static const struct {
        up_command_place place;
        up_command_way way;
        up_key key;
        const char *us, *un; /* paragraph that allows it; NULL: fails */
    } rows[] = {{UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON, "S4(a)", "5.8.2.1"},
                {UP_BY_MUSCLE, UP_WAY_HELD, UP_KEY_OFF, "S4(b)", "5.8.2.2"},
                {UP_FROM_EXTERIOR_LOCK, UP_WAY_HELD, UP_KEY_OFF, "S4(c)", "5.8.2.3"},
                {UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_OFF_DOORS_SHUT, "S4(e)", "5.8.2.4"},
                {UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_OFF, NULL, NULL},
                {UP_FROM_EXTERIOR_LOCK, UP_WAY_ONE_TOUCH, UP_KEY_OFF, NULL, NULL},
                {UP_FROM_SWITCH, UP_WAY_AUTOMATIC, UP_KEY_OFF, NULL, NULL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const up_facts facts = plain(rows[i].place, rows[i].way, rows[i].key);
        const up_verdict a = verdict_of(us(), &facts, "closing allowed without reversal");
        const up_verdict b = verdict_of(un(), &facts, "closing allowed without reversal");
        assert_int_equal(a.result, rows[i].us ? UP_VERDICT_PASSED : UP_VERDICT_FAILED);
        assert_int_equal(b.result, rows[i].un ? UP_VERDICT_PASSED : UP_VERDICT_FAILED);
        if (rows[i].us) {
            assert_string_equal(a.paragraph, rows[i].us);
        }
        if (rows[i].un) {
            assert_string_equal(b.paragraph, rows[i].un);
        }
    }
}

static void a_shut_frameless_door_may_close_its_last_twelve_millimetres(void **state) {
    (void)state;
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_AUTOMATIC, UP_KEY_OFF);
    facts.frameless = UP_ANSWER_YES;
    facts.door_shut = UP_ANSWER_YES;
    facts.start_opening = 0.012;
    assert_string_equal(verdict_of(un(), &facts, "closing allowed without reversal").paragraph, "5.8.2.6");
    assert_int_equal(closing(un(), &facts), UP_VERDICT_PASSED);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_FAILED);
    facts.start_opening = 0.0121;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
    facts.start_opening = 0.012;
    facts.door_shut = UP_ANSWER_NO;
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
}

static void with_the_key_on_a_failed_s5_is_shown_but_not_asked(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 110, 150);
    facts.place = UP_FROM_SWITCH;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.key = UP_KEY_ON;
    facts.window = UP_WINDOW_DRIVER;
    const up_verdict force = verdict_of(us(), &facts, "squeezing force");
    assert_int_equal(force.result, UP_VERDICT_FAILED);
    assert_int_equal(force.required, 0);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_PASSED);
    /* UN 5.8.3.1: with a reversing device none of the conditions of 5.8.2 helps. */
    assert_int_equal(verdict_of(un(), &facts, "squeezing force").required, 1);
    assert_int_equal(closing(un(), &facts), UP_VERDICT_FAILED);
}

static void a_rocker_fails_even_with_reversal_and_a_pull_switch_passes(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 400, 50);
    assert_int_equal(verdict_of(us(), &facts, "switch pulled to close").result, UP_VERDICT_UNKNOWN);
    facts.switch_action = UP_ACTION_PULL;
    assert_int_equal(verdict_of(us(), &facts, "switch pulled to close").result, UP_VERDICT_PASSED);
    facts.switch_action = UP_ACTION_PRESS;
    assert_int_equal(verdict_of(us(), &facts, "switch pulled to close").result, UP_VERDICT_FAILED);
    assert_int_equal(closing(us(), &facts), UP_VERDICT_PASSED);
    up_judgement judgement;
    up_judge(us(), &facts, &judgement);
    assert_int_equal(judgement.overall, UP_VERDICT_FAILED);
}

static void the_ball_test_excuses_systems_that_meet_s5_and_held_overhead_switches(void **state) {
    (void)state;
    const char *title = "switch touched by accident";
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON);
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_UNKNOWN);
    facts.ball_closes = UP_ANSWER_YES;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_FAILED);
    facts.switch_overhead = UP_ANSWER_YES;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_NOT_APPLICABLE);
    facts.way = UP_WAY_ONE_TOUCH;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_FAILED);
    facts.ball_closes = UP_ANSWER_NO;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_PASSED);
    facts = pinched(400, 100, 400, 50);
    facts.ball_closes = UP_ANSWER_YES;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_NOT_APPLICABLE);
    facts.peak_force = 120; /* does not meet S5 */
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_FAILED);
}

static void infrared_systems_have_a_wavelength_range_and_a_dull_rod(void **state) {
    (void)state;
    const char *title = "infrared proximity system";
    static const double nm[] = {849, 850, 1050, 1051};
    static const up_verdict_result results[] = {UP_VERDICT_FAILED, UP_VERDICT_PASSED, UP_VERDICT_PASSED,
                                                UP_VERDICT_FAILED};
    up_facts facts = pinched(400, 100, 400, 50);
    for (size_t i = 0; i < 4; i++) {
        facts.infrared_wavelength = nm[i] * 1e-9;
        assert_int_equal(verdict_of(us(), &facts, title).result, results[i]);
    }
    facts.infrared_wavelength = 900e-9;
    facts.rod_reflectance = 0.011;
    assert_string_equal(verdict_of(us(), &facts, title).paragraph, "S8.3");
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_FAILED);
    assert_int_equal(verdict_of(us(), &facts, title).required, 0); /* the tester's rod, not the vehicle */
}

static void rear_switches_and_protectors_under_un(void **state) {
    (void)state;
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON);
    const char *rear = "rear switches can be disabled", *restart = "no closing by itself after a protector reset";
    facts.window = UP_WINDOW_REAR;
    facts.rear_lockout = UP_ANSWER_NO;
    assert_int_equal(verdict_of(un(), &facts, rear).result, UP_VERDICT_FAILED);
    facts.rear_lockout = UP_ANSWER_YES;
    assert_int_equal(verdict_of(un(), &facts, rear).result, UP_VERDICT_PASSED);
    facts.window = UP_WINDOW_DRIVER;
    assert_int_equal(verdict_of(un(), &facts, rear).result, UP_VERDICT_NOT_APPLICABLE);
    facts.window = UP_WINDOW_REAR;
    facts.reversing = UP_ANSWER_YES;
    assert_int_equal(verdict_of(un(), &facts, rear).result, UP_VERDICT_NOT_APPLICABLE);
    facts.protector_restarts = UP_ANSWER_YES;
    assert_int_equal(verdict_of(un(), &facts, restart).result, UP_VERDICT_FAILED);
    facts.protector_restarts = UP_ANSWER_NO;
    assert_int_equal(verdict_of(un(), &facts, restart).result, UP_VERDICT_PASSED);
}

/* Interpretation 10790: the limit binds every closing attempt, so a further one at full force breaks S5 wherever S5 is
 * asked for. UN R21: the text is silent (from memory), so nothing is failed. */
static void a_second_attempt_at_full_force_breaks_the_us_rule_alone(void **state) {
    (void)state;
    const char *title = "every attempt protected";
    up_facts facts = pinched(400, 100, 400, 50);
    facts.place = UP_FROM_REMOTE;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.key = UP_KEY_OFF;
    facts.switch_action = UP_ACTION_PULL;
    facts.protector_restarts = UP_ANSWER_NO;
    up_judgement judgement;
    up_judge(us(), &facts, &judgement);
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_UNKNOWN);
    assert_int_equal(judgement.overall, UP_VERDICT_UNKNOWN);
    facts.attempt_unprotected = UP_ANSWER_NO;
    up_judge(us(), &facts, &judgement);
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_PASSED);
    assert_int_equal(judgement.overall, UP_VERDICT_PASSED);
    facts.attempt_unprotected = UP_ANSWER_YES;
    facts.ball_closes = UP_ANSWER_NO; /* the exemption of S6(b) for systems that meet S5 is gone, too */
    up_judge(us(), &facts, &judgement);
    const up_verdict verdict = verdict_of(us(), &facts, title);
    assert_int_equal(verdict.result, UP_VERDICT_FAILED);
    assert_string_equal(verdict.paragraph, "S5");
    assert_int_equal(verdict.source, UP_SOURCE_READ);
    assert_non_null(strstr(verdict.mark, "10790"));
    assert_int_equal(judgement.overall, UP_VERDICT_FAILED);
    assert_int_equal(judgement.closing, UP_VERDICT_PASSED); /* this closing itself was protected */
    assert_int_equal(verdict_of(us(), &facts, "switch touched by accident").result, UP_VERDICT_PASSED);
    up_judge(un(), &facts, &judgement);
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_NOT_APPLICABLE);
    assert_non_null(strstr(verdict_of(un(), &facts, title).reason, "silent"));
    assert_int_equal(verdict_of(un(), &facts, title).source, UP_SOURCE_MEMORY);
    assert_int_equal(judgement.overall, UP_VERDICT_PASSED);
    facts.key = UP_KEY_ON; /* S4(a): shown, but S5 is not asked for */
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_FAILED);
    assert_false(verdict_of(us(), &facts, title).required);
    facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON);
    facts.attempt_unprotected = UP_ANSWER_YES;
    assert_int_equal(verdict_of(us(), &facts, title).result, UP_VERDICT_NOT_APPLICABLE); /* nothing to switch off */
}

static void what_is_not_known_is_not_judged(void **state) {
    (void)state;
    for (int i = 0; i < 2; i++) {
        const up_rule *rule = i ? un() : us();
        up_facts facts = pinched(400, 100, 400, 50);
        assert_int_equal(verdict_of(rule, &facts, "test rod").result, UP_VERDICT_UNKNOWN);
        assert_int_equal(verdict_of(rule, &facts, "test rod").required, 0);
        facts.peak_force = UP_ABSENT;
        assert_int_equal(verdict_of(rule, &facts, "squeezing force").result, UP_VERDICT_UNKNOWN);
        assert_int_equal(closing(rule, &facts), UP_VERDICT_UNKNOWN);
        facts.final_opening = UP_ABSENT;
        assert_int_equal(verdict_of(rule, &facts, "opening after reversal").result, UP_VERDICT_UNKNOWN);
        facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_UNKNOWN);
        assert_int_equal(closing(rule, &facts), UP_VERDICT_UNKNOWN);
        facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_OFF);
        facts.reversing = UP_ANSWER_UNKNOWN;
        assert_int_equal(closing(rule, &facts), UP_VERDICT_UNKNOWN);
        facts = plain(UP_FROM_EXTERIOR_LOCK, UP_WAY_UNKNOWN, UP_KEY_OFF);
        assert_int_equal(closing(rule, &facts), UP_VERDICT_UNKNOWN);
        facts = plain(UP_FROM_UNKNOWN, UP_WAY_HELD, UP_KEY_OFF);
        assert_int_equal(closing(rule, &facts), UP_VERDICT_UNKNOWN);
    }
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON);
    facts.window = UP_WINDOW_REAR;
    assert_int_equal(verdict_of(un(), &facts, "rear switches can be disabled").result, UP_VERDICT_UNKNOWN);
}

static void a_door_without_reversal_is_judged_by_what_it_meets(void **state) {
    (void)state;
    for (int i = 0; i < 2; i++) {
        const up_rule *rule = i ? un() : us();
        up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_ON); /* allowed: nothing else is asked */
        facts.obstructed = 1;
        facts.peak_force = 300;
        assert_int_equal(verdict_of(rule, &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
        assert_int_equal(verdict_of(rule, &facts, "opening after reversal").result, UP_VERDICT_NOT_APPLICABLE);
        assert_int_equal(closing(rule, &facts), UP_VERDICT_PASSED);
        facts.key = UP_KEY_OFF; /* not allowed: fails, and the squeeze is shown */
        assert_int_equal(verdict_of(rule, &facts, "squeezing force").result, UP_VERDICT_FAILED);
        assert_int_equal(verdict_of(rule, &facts, "closing allowed without reversal").result, UP_VERDICT_FAILED);
        facts.obstructed = 0;
        assert_int_equal(verdict_of(rule, &facts, "squeezing force").result, UP_VERDICT_NOT_APPLICABLE);
    }
}

static void a_reversing_device_takes_the_place_of_the_conditions(void **state) {
    (void)state;
    const up_facts facts = pinched(400, 100, 400, 50);
    const up_verdict a = verdict_of(us(), &facts, "closing allowed without reversal");
    const up_verdict b = verdict_of(un(), &facts, "closing allowed without reversal");
    assert_int_equal(a.result, UP_VERDICT_NOT_APPLICABLE);
    assert_string_equal(a.paragraph, "S5");
    assert_int_equal(b.result, UP_VERDICT_NOT_APPLICABLE);
    assert_string_equal(b.paragraph, "5.8.3.1");
}

static void obstacles_outside_the_range_ask_for_no_reversal(void **state) {
    (void)state;
    up_facts facts = pinched(400, 300, 310, 50);
    facts.rod_opening = 0.3;
    assert_int_equal(verdict_of(us(), &facts, "opening after reversal").result, UP_VERDICT_NOT_APPLICABLE);
    assert_int_equal(verdict_of(un(), &facts, "opening after reversal").result, UP_VERDICT_NOT_APPLICABLE);
}

static void failed_conditions_name_the_paragraph_that_came_nearest(void **state) {
    (void)state;
    const char *title = "closing allowed without reversal";
    up_facts facts = plain(UP_FROM_REMOTE, UP_WAY_HELD, UP_KEY_OFF);
    facts.remote_reach = 30;
    facts.remote_through_wall = UP_ANSWER_YES;
    assert_string_equal(verdict_of(us(), &facts, title).paragraph, "S4(d), S4(g)");
    assert_string_equal(verdict_of(un(), &facts, title).paragraph, "5.8.2.7");
    facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_OFF);
    assert_string_equal(verdict_of(us(), &facts, title).paragraph, "S5");
    assert_string_equal(verdict_of(un(), &facts, title).paragraph, "5.8.2.1");
    facts.way = UP_WAY_ONE_TOUCH;
    assert_string_equal(verdict_of(un(), &facts, title).paragraph, "5.8.2.8");
}

static void continuous_actuation_has_its_exceptions(void **state) {
    (void)state;
    const char *title = "closing needs continuous actuation";
    up_facts facts = plain(UP_FROM_SWITCH, UP_WAY_HELD, UP_KEY_OFF);
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_PASSED);
    facts.way = UP_WAY_ONE_TOUCH;
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_FAILED);
    facts.reversing = UP_ANSWER_UNKNOWN;
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_UNKNOWN);
    facts.reversing = UP_ANSWER_YES;
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_PASSED);
    facts = plain(UP_FROM_SWITCH, UP_WAY_ONE_TOUCH, UP_KEY_ON);
    facts.window = UP_WINDOW_DRIVER;
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_PASSED);
    facts = plain(UP_FROM_SWITCH, UP_WAY_AUTOMATIC, UP_KEY_OFF);
    facts.frameless = UP_ANSWER_YES;
    facts.door_shut = UP_ANSWER_YES;
    facts.start_opening = 0.010;
    assert_int_equal(verdict_of(un(), &facts, title).result, UP_VERDICT_PASSED);
}

static void reasons_and_margins_tell_the_same_as_the_result(void **state) {
    (void)state;
    up_facts facts = pinched(400, 100, 400, 50);
    facts.rod_stiffness = 10e3;
    assert_string_equal(verdict_of(un(), &facts, "squeezing force").reason,
                        "the squeezing force did not pass the limit");
    assert_true(verdict_of(un(), &facts, "test rod").margin == 500);
    facts.peak_force = 130;
    assert_string_equal(verdict_of(un(), &facts, "squeezing force").reason, "the squeezing force passed the limit");
    assert_true(verdict_of(un(), &facts, "squeezing force").margin == -30);
    facts.rod_stiffness = 9.4e3;
    assert_true(fabs(verdict_of(un(), &facts, "test rod").margin + 100) < 1e-9);
    facts.rod_stiffness = 10.6e3;
    assert_true(fabs(verdict_of(un(), &facts, "test rod").margin + 100) < 1e-9);
    facts.rod_stiffness = 65e3;
    assert_string_equal(verdict_of(us(), &facts, "squeezing force").reason, "the squeezing force reached the limit");
    assert_string_equal(verdict_of(us(), &facts, "test rod").reason, "the rod is stiff enough for this rule");
    facts.peak_force = 50;
    assert_string_equal(verdict_of(us(), &facts, "squeezing force").reason,
                        "the squeezing force stayed below the limit");
    facts = pinched(400, 30, 200, 50);
    assert_string_equal(verdict_of(us(), &facts, "opening after reversal").reason,
                        "opened again by the distance asked for");
    facts = pinched(400, 100, 140, 50);
    assert_string_equal(verdict_of(un(), &facts, "opening after reversal").reason,
                        "did not open again by the distance asked for");
}

/* Every figure of the two texts, as the sources named at the top give them; 1 read, 0 memory. */
static const struct {
    const char *rule, *paragraph;
    double value;
    int read;
} figures[] = {
    {"US", "S4(d)", 6, 1},         {"US", "S4(f)", 0.004, 1},       {"US", "S4(g)", 11, 1},
    {"US", "S5", 0.004, 1},        {"US", "S5", 0.200, 1},          {"US", "S5.1", 100, 0},
    {"US", "S5.2(b)", 0.125, 0},   {"US", "S5.2(c)", 0.200, 0},     {"US", "S5.3", 850e-9, 0},
    {"US", "S5.3", 1050e-9, 0},    {"US", "S6(a)", 0.020, 1},       {"US", "S6(a)", 135, 1},
    {"US", "S8.1(a)", 0.004, 0},   {"US", "S8.1(a)", 0.200, 0},     {"US", "S8.1(b)", 0.025, 0},
    {"US", "S8.1(b)", 65e3, 0},    {"US", "S8.1(b)", 20e3, 0},      {"US", "S8.3", 0.01, 0},
    {"UN", "5.8.2.5", 0.004, 1},   {"UN", "5.8.2.6", 0.012, 0},     {"UN", "5.8.2.7", 6, 0},
    {"UN", "5.8.2.7", 11, 0},      {"UN", "5.8.3.1.1", 100, 1},     {"UN", "5.8.3.1.1", 0.004, 1},
    {"UN", "5.8.3.1.1", 0.200, 1}, {"UN", "5.8.3.1.2 (a)", 0.2, 0}, {"UN", "5.8.3.1.2 (c)", 0.05, 0},
    {"UN", "5.8.3.1.3", 10e3, 0},  {"UN", "5.8.3.1.3", 0.5e3, 0},
};

static void every_figure_stands_with_its_paragraph_and_mark(void **state) {
    (void)state;
    int with_number = 0;
    for (int r = 0; r < up_rule_count(); r++) {
        const up_rule *rule = up_rule_at(r);
        for (int i = 0; i < rule->number_count; i++) {
            const up_rule_number *number = &rule->numbers[i];
            assert_non_null(number->name);
            assert_non_null(number->paragraph);
            assert_non_null(number->mark);
            if (!number->name || !number->paragraph || !number->mark) {
                return; /* not reached: tells the analyser what an assertion does */
            }
            assert_true(*number->paragraph && *number->mark);
            assert_true((strstr(number->mark, UP_FROM_MEMORY) != NULL) == (number->source == UP_SOURCE_MEMORY));
            with_number += !up_is_absent(number->value);
        }
    }
    assert_int_equal(with_number, sizeof figures / sizeof figures[0]);
    for (size_t f = 0; f < sizeof figures / sizeof figures[0]; f++) {
        const up_rule *rule = up_rule_named(figures[f].rule);
        int found = 0;
        for (int i = 0; i < rule->number_count; i++) {
            const up_rule_number *number = &rule->numbers[i];
            found += strcmp(number->paragraph, figures[f].paragraph) == 0 && number->value == figures[f].value &&
                     number->source == (figures[f].read ? UP_SOURCE_READ : UP_SOURCE_MEMORY);
        }
        assert_int_equal(found, 1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_hundred_newtons_fail_in_the_us_and_pass_under_un),
        cmocka_unit_test(just_below_passes_both_and_just_above_fails_both),
        cmocka_unit_test(backing_off_sixty_to_two_hundred_and_ten),
        cmocka_unit_test(backing_off_sixty_to_one_hundred_and_sixty),
        cmocka_unit_test(backing_off_to_where_it_started),
        cmocka_unit_test(backing_off_forty_is_too_little_for_both),
        cmocka_unit_test(the_distances_asked_for_are_met_exactly_and_missed_by_a_tenth_of_a_millimetre),
        cmocka_unit_test(an_obstacle_met_without_reversal_fails_both),
        cmocka_unit_test(a_tilting_panel_at_its_full_angle_passes_under_un_alone),
        cmocka_unit_test(a_closing_from_less_than_four_millimetres_is_exempt),
        cmocka_unit_test(the_limit_holds_from_four_to_two_hundred_millimetres),
        cmocka_unit_test(each_rule_wants_its_own_rod),
        cmocka_unit_test(the_force_on_another_rules_rod_decides_nothing),
        cmocka_unit_test(one_touch_on_a_rear_door_without_reversal),
        cmocka_unit_test(remote_closing_by_distance_and_line_of_sight),
        cmocka_unit_test(who_may_close_without_reversal),
        cmocka_unit_test(a_shut_frameless_door_may_close_its_last_twelve_millimetres),
        cmocka_unit_test(with_the_key_on_a_failed_s5_is_shown_but_not_asked),
        cmocka_unit_test(a_rocker_fails_even_with_reversal_and_a_pull_switch_passes),
        cmocka_unit_test(the_ball_test_excuses_systems_that_meet_s5_and_held_overhead_switches),
        cmocka_unit_test(infrared_systems_have_a_wavelength_range_and_a_dull_rod),
        cmocka_unit_test(rear_switches_and_protectors_under_un),
        cmocka_unit_test(a_second_attempt_at_full_force_breaks_the_us_rule_alone),
        cmocka_unit_test(what_is_not_known_is_not_judged),
        cmocka_unit_test(a_door_without_reversal_is_judged_by_what_it_meets),
        cmocka_unit_test(a_reversing_device_takes_the_place_of_the_conditions),
        cmocka_unit_test(obstacles_outside_the_range_ask_for_no_reversal),
        cmocka_unit_test(failed_conditions_name_the_paragraph_that_came_nearest),
        cmocka_unit_test(continuous_actuation_has_its_exceptions),
        cmocka_unit_test(reasons_and_margins_tell_the_same_as_the_result),
        cmocka_unit_test(every_figure_stands_with_its_paragraph_and_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

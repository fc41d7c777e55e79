/* With something broken, no glass keeps pressing: the table of faults over typical doors and the example doors, by both
 * principles of the detector.
 *
 * The demand is the project's own; the limit of 100 N behind "closes over it", and the 4 mm, are those of 49 CFR 571.118
 * S5 and UN R21 5.8.3.1.1. Rods: 10 N/mm, UN R21 5.8.3.1.3 (from memory); 65 N/mm up to a diameter of 25 mm and 20 N/mm
 * above, 49 CFR 571.118 S8.1(b) (from memory). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/faults.h"
#include "io/sheet.h"

enum {
    ROOM = 4096,
    EXAMPLES = 4,
#ifdef UPSTOP_SANITIZED
    DOORS = 1
#else
    DOORS = EXAMPLES + UP_FAMILY_COUNT
#endif
};

static up_fault_case cases[ROOM], again[ROOM];
static up_fault_result results[ROOM], shared[ROOM];
static up_door door;
static up_run_options options;

static void ask(const up_values *values, up_fault_request *request) {
    assert_int_equal(up_door_prepare(values, 293.15, &door), UP_OK);
    up_run_options_default(&options);
    up_fault_request_default(&door, &options, NULL, request);
}

static void typical(up_family family, void (*change)(up_values *), up_fault_request *request) {
    static up_values values;
    up_values_fallback(family, &values);
    if (change) {
        change(&values);
    }
    ask(&values, request);
}

static int fill(const up_fault_request *request, up_fault_case *rows) {
    int count = 0;
    assert_int_equal(up_fault_cases(request, rows, ROOM, &count), UP_OK);
    return count;
}

/* An example door, or a typical one after those. */
static const char *door_at(int index, up_values *values) {
    static const char *const sheets[EXAMPLES] = {"front-door.yaml", "passenger-door.yaml", "rear-door.yaml",
                                                 "sliding-door.yaml"};
    if (index >= EXAMPLES) {
        up_values_fallback((up_family)(index - EXAMPLES), values);
        return "typical door";
    }
    static up_sheet sheet;
    up_findings findings = {0};
    char path[512];
    snprintf(path, sizeof path, "%s/examples/%s", UPSTOP_SOURCE_DIR, sheets[index]);
    assert_int_equal(up_sheet_read_file(path, &sheet, &findings), 0);
    *values = sheet.known.values;
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    return sheets[index];
}

static void show(int i) {
    const up_fault_case *c = &cases[i];
    const up_fault_result *r = &results[i];
    print_message("  %s, %s, rod of %.3g N/mm at %.4g mm, edge %d, %.4g s: %s, peak %.4g N, %.4g N left\n",
                  up_fault_text(c->fault), up_fault_moment_text(c->moment), c->rod_stiffness / 1e3,
                  1e3 * c->rod_opening, (int)c->edge, c->time, up_fault_verdict_word(r->verdict),
                  r->outcome.peak_rod_force, r->final_force);
}

/* Of the battery's places along the travel every third is enough: more than half of all closings, and the most alike. */
static int thin_out(int count) {
    int kept = 0, places = 0;
    for (int i = 0; i < count; i++) {
        if (cases[i].moment != UP_FAULT_MOMENT_AT_TRAVEL || places++ / 2 % 3 == 0) {
            cases[kept++] = cases[i];
        }
    }
    return kept;
}

static int count_pressing(const up_fault_request *request) {
    const int count = thin_out(fill(request, cases));
    int pressing = 0;
    up_fault_sum sum;
    up_fault_run(&door, cases, count, NULL, results);
    for (int i = 0; i < count; i++) {
        assert_int_equal(results[i].status, UP_OK);
        if (results[i].verdict == UP_FAULT_KEEPS_PRESSING || results[i].driven) {
            show(i);
            pressing++;
        }
    }
    for (int rule = 0; rule < request->rules; rule++) { /* every rule's rods were met */
        up_fault_add_up(request, cases, results, count, rule, &sum);
        assert_true(sum.worst >= 0);
    }
    return pressing;
}

static void no_glass_keeps_pressing(void **state) {
    (void)state;
    int pressing = 0;
    for (int index = 0; index < DOORS; index++) {
        for (int principle = UP_BY_PACE; principle <= UP_BY_OBSERVER; principle++) {
            static up_values values;
            up_fault_request request;
            const char *const name = door_at(index, &values);
            values.detect_principle = principle;
            ask(&values, &request);
            options.tolerance = 1e-4;
            options.seed = 1;
            const int here = count_pressing(&request);
            if (here > 0) {
                print_message("%s, %s: %d keep pressing\n", name, principle == UP_BY_PACE ? "pace" : "observer", here);
            }
            pressing += here;
        }
    }
    assert_int_equal(pressing, 0);
}

/* With nothing broken and nothing in the way it closes, engine off or running
 * (9.5 to 15.5 V). */
static void a_sound_closing_closes_at_any_usual_supply(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int half_volts = 19; half_volts <= 31; half_volts++) {
            up_fault_request request;
            up_outcome outcome;
            typical((up_family)family, NULL, &request);
            options.open_voltage = 0.5 * half_volts;
            assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
            if (outcome.end != UP_END_CLOSED) {
                fail_msg("family %d at %.1f V: %s", family, options.open_voltage, up_end_text(outcome.end));
            }
        }
    }
}

/* Opened as far as it goes, the drive stands wound up against the down-stop; raised after that it closes as it does from
 * rest. */
static void opened_to_the_stop_it_closes_again(void **state) {
    (void)state;
    for (int index = 0; index < EXAMPLES + UP_FAMILY_COUNT; index++) {
        static up_values values;
        const char *const name = door_at(index, &values);
        for (int principle = 0; principle < 2; principle++) {
            up_fault_request request;
            up_outcome outcome;
            values.detect_principle = principle;
            values.detect_profile = UP_PROFILE_LEARNED;
            ask(&values, &request);
            options.start_travel = door.travel;
            options.time_limit = 40;
            options.switch_steps = 4;
            options.switch_step[0] = (up_switch_step){0.2, UP_SWITCH_LOWER_TOUCH};
            options.switch_step[1] = (up_switch_step){0.6, UP_SWITCH_FREE};
            options.switch_step[2] = (up_switch_step){10.0, UP_SWITCH_RAISE_TOUCH};
            options.switch_step[3] = (up_switch_step){10.4, UP_SWITCH_FREE};
            assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
            if (outcome.end != UP_END_CLOSED || !(outcome.peak_stop_force > 100)) {
                fail_msg("%s %d, principle %d: %s", name, index, principle, up_end_text(outcome.end));
            }
        }
    }
}

static void blind(up_values *values) {
    values->detect_force = 2000;
    values->stall_time = 3;
}

/* The table would tell: a controller that sees nothing and takes its time over
 * a stall. */
static void a_blind_controller_keeps_pressing(void **state) {
    (void)state;
    up_fault_request request;
    typical(UP_FAMILY_SINGLE_ARM, blind, &request);
    options.time_limit = 4;
    const int count = fill(&request, cases);
    up_fault_run(&door, cases, count, NULL, results);
    up_fault_sum sum;
    up_fault_add_up(&request, cases, results, count, -1, &sum);
    assert_int_equal(sum.closings, count);
    assert_true(sum.verdict[UP_FAULT_KEEPS_PRESSING] > 0);
    assert_true(sum.worst >= 0 && results[sum.worst].outcome.peak_rod_force > 200);
    int over = 0, more = 0;
    for (int i = 0; i < count; i++) {
        over += results[i].outcome.peak_rod_force >= UP_FAULT_FORCE_LIMIT;
        more += cases[i].fault != UP_FAULT_NONE &&
                results[i].outcome.peak_rod_force > results[sum.worst].outcome.peak_rod_force;
    }
    assert_int_equal(sum.over_limit, over);
    assert_int_equal(more, 0);
    assert_int_equal(cases[sum.worst_sound].rod, cases[sum.worst].rod);
    assert_int_equal(cases[sum.worst_sound].fault, UP_FAULT_NONE);
}

/* ---- the rows
 * ------------------------------------------------------------------------------------------------------
 */

static int rows_with(int count, up_fault fault, int rod) {
    int rows = 0;
    for (int i = 0; i < count; i++) {
        rows += cases[i].fault == fault && cases[i].rod == rod;
    }
    return rows;
}

static int rod_with(const up_fault_request *request, double opening, double stiffness, const char *rule) {
    for (int i = 0; i < request->rods; i++) {
        const up_fault_rod *rod = &request->rod[i];
        for (int r = 0; r < request->rules; r++) {
            if (rod->opening == opening && rod->stiffness == stiffness && (rod->rules >> r & 1U) &&
                strcmp(request->rule[r]->name, rule) == 0) {
                return 1;
            }
        }
    }
    return 0;
}

/* All rules known, or one of them. */
static void the_rods_are_those_of_the_rules(void **state) {
    (void)state;
    static const double opening[] = {0.005, 0.008, 0.012, 0.025, 0.100, 0.200};
    static const double us[] = {65e3, 65e3, 65e3, 65e3, 20e3, 20e3};
    up_fault_request request;
    for (int which = 0; which < 3; which++) {
        typical(UP_FAMILY_CABLE, NULL, &request);
        if (which > 0) {
            up_fault_request_default(&door, &options, up_rule_named(which == 1 ? "US" : "UN"), &request);
        }
        assert_int_equal(request.rods, which == 0 ? 12 : 6);
        for (int i = 0; i < 6; i++) {
            assert_int_equal(rod_with(&request, opening[i], us[i], "US"), which != 2);
            assert_int_equal(rod_with(&request, opening[i], 10e3, "UN"), which != 1);
        }
    }
    options.start_travel = door.travel - 0.030; /* what stands below the glass is left out */
    up_fault_request_default(&door, &options, NULL, &request);
    assert_int_equal(request.rods, 8);
    for (int i = 0; i < up_rule_count(); i++) {
        const up_rule *rule = up_rule_at(i);
        assert_true(rule->numbers[rule->range_low].value == UP_FAULT_LEAST_OPENING);
    }
}

/* Two rules that ask for the same rod share it: half as many closings onto rods, and each belongs to both. */
static void a_rod_of_two_rules_is_tried_once(void **state) {
    (void)state;
    up_fault_request request;
    up_fault_sum one, other, all;
    typical(UP_FAMILY_RACK, NULL, &request);
    up_fault_request_default(&door, &options, up_rule_named("UN"), &request);
    assert_int_equal(request.rod[0].rules, 1);
    static up_rule again_un;
    again_un = *up_rule_named("UN");
    assert_int_equal(up_fault_request_add(&request, &again_un), UP_OK);
    assert_int_equal(request.rods, 6);
    assert_int_equal(request.rod[5].rules, 3);
    const int count = fill(&request, cases);
    memset(results, 0, sizeof results);
    up_fault_add_up(&request, cases, results, count, 0, &one);
    up_fault_add_up(&request, cases, results, count, 1, &other);
    up_fault_add_up(&request, cases, results, count, -1, &all);
    assert_int_equal(one.closings, other.closings);
    assert_true(all.closings > one.closings && all.closings < one.closings + other.closings);
}

/* The battery goes at every 10 mm of travel, with and without return, and in
 * the contact. */
static void the_battery_goes_every_ten_millimetres(void **state) {
    (void)state;
    up_fault_request request;
    typical(UP_FAMILY_CABLE, NULL, &request);
    const int count = fill(&request, cases);
    for (int rod = -1; rod < request.rods; rod++) {
        const double opening = rod < 0 ? (double)NAN : request.rod[rod].opening;
        const double contact = rod < 0 ? door.header_start : door.travel - opening;
        int at_place = 0, in_contact = 0;
        double next = 0.010;
        for (int i = 0; i < count; i++) {
            const up_fault_case *c = &cases[i];
            if (c->rod != rod || c->fault != UP_FAULT_BATTERY_LOST) {
                continue;
            }
            assert_true(c->options.faults.battery_lost_time == c->time);
            if (c->moment == UP_FAULT_MOMENT_AT_TRAVEL) {
                assert_true(c->travel >= next && c->travel < next + 0.0005); /* a sample later at most */
                next += 0.010;
                at_place++;
            } else {
                in_contact++;
            }
        }
        assert_int_equal(at_place, (int)((contact - 1e-9) / 0.010));
        assert_true(in_contact >= 3);
        assert_int_equal(rows_with(count, UP_FAULT_BATTERY_BACK, rod), at_place + in_contact);
    }
}

static void every_fault_is_tried_with_every_obstacle(void **state) {
    (void)state;
    up_fault_request request;
    typical(UP_FAMILY_RACK, NULL, &request);
    const int count = fill(&request, cases);
    for (int fault = 0; fault < UP_FAULT_COUNT; fault++) {
        assert_true(rows_with(count, (up_fault)fault, -1) > 0);
        for (int rod = 0; rod < request.rods; rod++) {
            assert_true(rows_with(count, (up_fault)fault, rod) > 0);
        }
        assert_non_null(up_fault_name((up_fault)fault));
        assert_non_null(up_fault_text((up_fault)fault));
    }
    assert_null(up_fault_name(UP_FAULT_COUNT));
    assert_null(up_fault_moment_text(UP_FAULT_MOMENT_COUNT));
    int before = 0, dips = 0;
    for (int i = 0; i < count; i++) {
        before += cases[i].fault == UP_FAULT_EDGE_LOST && cases[i].moment == UP_FAULT_MOMENT_DURING;
        if (cases[i].fault == UP_FAULT_SUPPLY_DIP) {
            dips++;
            assert_true(cases[i].options.supply_step[0].open_voltage == 6.0);
        }
    }
    assert_true(before > 6 && dips > 6);
}

static void work_backwards(up_workers *self, int count, up_work *work, void *context) {
    (void)self;
    for (int i = count - 1; i >= 0; i--) {
        work(context, i, i + 1);
    }
}

static void the_same_rows_and_results_for_any_workers(void **state) {
    (void)state;
    up_fault_request request;
    typical(UP_FAMILY_SINGLE_ARM, NULL, &request);
    const int count = fill(&request, cases);
    assert_int_equal(fill(&request, again), count);
    assert_memory_equal(cases, again, (size_t)count * sizeof cases[0]);
    memset(results, 0, sizeof results);
    memset(shared, 0, sizeof shared);
    up_workers workers = {2, work_backwards};
    up_fault_run(&door, cases, count, NULL, results);
    up_fault_run(&door, again, count, &workers, shared);
    for (int i = 0; i < count; i++) {
        assert_memory_equal(&results[i].outcome, &shared[i].outcome, sizeof results[i].outcome);
        assert_true(results[i].final_force == shared[i].final_force && results[i].verdict == shared[i].verdict);
    }
}

static void short_room_and_bad_requests_are_told(void **state) {
    (void)state;
    up_fault_request request;
    typical(UP_FAMILY_CABLE, NULL, &request);
    int all = 0, count = 0;
    assert_int_equal(up_fault_cases(&request, NULL, 0, &all), UP_OK);
    assert_true(all > 500 && all < ROOM);
    assert_int_equal(up_fault_cases(&request, cases, all - 1, &count), UP_MEMORY_TOO_SMALL);
    assert_int_equal(count, all);
    assert_int_equal(up_fault_cases(&request, cases, all, &count), UP_OK);
    request.rods = UP_FAULT_RODS_MAX + 1;
    assert_int_equal(up_fault_cases(&request, cases, ROOM, &count), UP_BAD_OPTION);
    request.rods = 1;
    request.rod[0].opening = 2.0;
    assert_int_equal(up_fault_cases(&request, cases, ROOM, &count), UP_BAD_OPTION);
    request.rod[0].opening = 0.1;
    request.rod[0].stiffness = 0;
    assert_int_equal(up_fault_cases(&request, cases, ROOM, &count), UP_BAD_OPTION);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(no_glass_keeps_pressing),
                                       cmocka_unit_test(a_sound_closing_closes_at_any_usual_supply),
                                       cmocka_unit_test(opened_to_the_stop_it_closes_again),
                                       cmocka_unit_test(a_blind_controller_keeps_pressing),
                                       cmocka_unit_test(the_rods_are_those_of_the_rules),
                                       cmocka_unit_test(a_rod_of_two_rules_is_tried_once),
                                       cmocka_unit_test(the_battery_goes_every_ten_millimetres),
                                       cmocka_unit_test(every_fault_is_tried_with_every_obstacle),
                                       cmocka_unit_test(the_same_rows_and_results_for_any_workers),
                                       cmocka_unit_test(short_room_and_bad_requests_are_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

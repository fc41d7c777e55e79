/* Laws of the pinch map: the same bits however it is run, a run-up that stands for a whole closing, a search that a blind
 * one does not beat, verdicts that follow their closings. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/pinch_explain.h"
#include "analysis/pinch_table.h"
#include "analysis/pinch_verdict.h"
#include "core/base/counter_random.h"
#include "io/threads.h"

typedef struct bench {
    up_known known;
    up_facts facts;
    up_pinch_study study;
    up_pinch_plan plan;
    up_pinch_map map;
    void *memory;
} bench;

static void set_up(bench *b, up_family family, const char *rule, int samples) {
    memset(b, 0, sizeof *b);
    up_values_fallback(family, &b->known.values);
    up_values_fallback_spread(family, b->known.spread);
    up_facts_default(&b->facts);
    b->facts.place = UP_FROM_SWITCH;
    b->facts.way = UP_WAY_ONE_TOUCH;
    b->facts.reversing = UP_ANSWER_YES;
    b->study = (up_pinch_study){.known = &b->known,
                                .rule = up_rule_named(rule),
                                .facts = &b->facts,
                                .seed = 7,
                                .encoder_seed = 7,
                                .tolerance = 1e-4};
    up_pinch_plan_default(&b->study, &b->plan);
    b->plan.samples[0] = samples;
    b->plan.samples[1] = samples / 2;
    b->plan.climbs = 3;
    b->plan.rounds = 3;
    b->plan.tries = 8;
}

static void run_map(bench *b, int threads) {
    const size_t size = up_pinch_map_memory(&b->plan);
    b->memory = malloc(size);
    assert_non_null(b->memory);
    up_workers *workers = threads > 0 ? up_threads_start(threads) : NULL;
    assert_int_equal(up_pinch_map_run(&b->plan, workers, b->memory, size, &b->map), UP_OK);
    up_threads_stop(workers);
}

static int cells_of(const bench *b) {
    return b->map.first[1] + b->map.cells[1];
}

static void threads_change_no_bit_of_map_and_verdict(void **state) {
    (void)state;
    enum { DRAWS = 50 };
    bench b[3];
    up_pinch_verdict verdict[3];
    for (int i = 0; i < 3; i++) {
        set_up(&b[i], UP_FAMILY_CROSSED_ARMS, "US", 120);
        run_map(&b[i], i);
        void *memory = malloc(up_pinch_verdict_memory(DRAWS));
        up_workers *workers = i > 0 ? up_threads_start(i) : NULL;
        assert_int_equal(up_pinch_judge(&b[i].map, DRAWS, workers, memory, up_pinch_verdict_memory(DRAWS), &verdict[i]),
                         UP_OK);
        up_threads_stop(workers);
        free(memory);
    }
    for (int i = 1; i < 3; i++) {
        assert_int_equal(cells_of(&b[i]), cells_of(&b[0]));
        for (int k = 0; k < cells_of(&b[0]); k++) {
            assert_memory_equal(b[i].map.cell[k].u, b[0].map.cell[k].u, sizeof b[0].map.cell[k].u);
            assert_memory_equal(&b[i].map.cell[k].result.force, &b[0].map.cell[k].result.force, sizeof(double));
            assert_int_equal(b[i].map.cell[k].result.touched, b[0].map.cell[k].result.touched);
        }
        assert_memory_equal(&verdict[i].force, &verdict[0].force, sizeof verdict[0].force);
        assert_int_equal(verdict[i].overall, verdict[0].overall);
    }
    for (int i = 0; i < 3; i++) {
        free(b[i].memory);
    }
}

/* A closing from the run-up has the peak of one from the bottom: the same but for where edges and ticks fall, so the mean
 * over many places. Rods clear of the header, 12.6 V, 20 degC; a glass that turns before the rod is no closing onto it. */
static void a_run_up_stands_for_the_whole_closing(void **state) {
    (void)state;
    enum { PLACES = 60 };
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int rule = 0; rule < 2; rule++) {
            bench b;
            double near = 0;
            double whole = 0;
            int both = 0;
            set_up(&b, (up_family)family, up_rule_at(rule)->name, 100);
            for (int i = 0; i < PLACES; i++) {
                const up_rule_number *number = NULL;
                const up_pinch_point point = {.measure = 0.06 + 0.06 * i / PLACES,
                                              .place = 0.5,
                                              .stiffness = b.study.rule->rod_stiffness(0.06, &number),
                                              .supply = 12.6,
                                              .temperature = 293.15,
                                              .clearance = UP_ABSENT};
                up_pinch_story story;
                if (up_pinch_explain(&b.study, &point, 100, &story) == UP_OK && story.whole.touched) {
                    near += story.result.force;
                    whole += story.whole.force;
                    both++;
                }
            }
            assert_true(both > PLACES / 2);
            if (!(fabs(near / whole - 1) < 0.02)) {
                fail_msg("family %d rule %d: %.2f N against %.2f N", family, rule, near / both, whole / both);
            }
        }
    }
}

/* As many closings at places drawn blindly find no larger force, but for the last few per cent that luck gives. */
static void a_blind_search_finds_nothing_much_worse(void **state) {
    (void)state;
    bench b;
    set_up(&b, UP_FAMILY_CABLE, "UN", 500);
    run_map(&b, 2);
    const int count = b.map.cells[UP_PINCH_RUNNING];
    up_pinch_point *points = malloc((size_t)count * sizeof *points);
    up_pinch_result *results = malloc((size_t)count * sizeof *results);
    assert_non_null(points);
    assert_non_null(results);
    for (int i = 0; i < count; i++) {
        double u[UP_PINCH_AXES];
        for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
            u[axis] = up_random_unit(99, 1, (uint64_t)(i * UP_PINCH_AXES + axis));
        }
        up_pinch_plan_point(&b.plan, UP_PINCH_RUNNING, u, &points[i]);
    }
    const up_pinch_work work = {.study = &b.study, .points = points, .count = count, .results = results};
    up_workers *workers = up_threads_start(2);
    up_pinch_run(&work, workers);
    up_threads_stop(workers);
    double blind = 0;
    for (int i = 0; i < count; i++) {
        blind = fmax(blind, results[i].force);
    }
    assert_true(b.map.cell[b.map.worst[UP_PINCH_RUNNING]].result.force >= 0.97 * blind);
    free(points);
    free(results);
    free(b.memory);
}

/* 49 CFR 571.118 S5.1: fails at 100 N and more; UN R21 5.8.3.1.1: fails above 100 N. And what fails is counted. */
static void verdicts_follow_the_closings_of_the_map(void **state) {
    (void)state;
    enum { DRAWS = 50 };
    void *memory = malloc(up_pinch_verdict_memory(DRAWS));
    for (int rule = 0; rule < up_rule_count(); rule++) {
        bench b;
        up_pinch_verdict verdict;
        set_up(&b, UP_FAMILY_SINGLE_ARM, up_rule_at(rule)->name, 100);
        run_map(&b, 2);
        assert_int_equal(up_pinch_judge(&b.map, DRAWS, NULL, memory, up_pinch_verdict_memory(DRAWS), &verdict), UP_OK);
        int failed = 0;
        double largest = 0;
        for (int i = 0; i < cells_of(&b); i++) {
            const up_pinch_result *r = &b.map.cell[i].result;
            if (r->status == UP_OK && r->touched) {
                failed += rule == 0 ? r->force >= 100 : r->force > 100;
                largest = fmax(largest, r->force);
            }
        }
        int found = 0;
        for (int i = 0; i < verdict.count; i++) {
            const up_pinch_clause *clause = &verdict.clause[i];
            if (strcmp(clause->verdict.title, "squeezing force") == 0) {
                found = 1;
                assert_int_equal(clause->failed, failed);
                assert_int_equal(clause->verdict.result == UP_VERDICT_FAILED, failed > 0);
                assert_true(fabs(clause->verdict.figure - largest) < 1e-12);
                assert_true(fabs(clause->verdict.margin - (100 - largest)) < 1e-9);
                assert_true(clause->draws_passed.of <= DRAWS);
            }
        }
        assert_true(found);
        assert_int_equal(verdict.exempt.result, UP_VERDICT_NOT_APPLICABLE);
        free(b.memory);
    }
    free(memory);
}

/* Moments come in their order; the bridge falls its delay after the decision; the way since contact at standstill is the
 * one by which the glass came nearer than the rod's opening, which the run reports on its own. */
static void the_story_agrees_with_the_run(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        bench b;
        up_pinch_story story;
        set_up(&b, (up_family)family, "UN", 100);
        const up_pinch_point point = {.measure = 0.11,
                                      .place = 0.4,
                                      .stiffness = 10e3,
                                      .supply = 12.6,
                                      .temperature = 293.15,
                                      .clearance = UP_ABSENT};
        assert_int_equal(up_pinch_explain(&b.study, &point, 100, &story), UP_OK);
        assert_int_equal(story.result.reversals, 1);
        static const up_pinch_moment order[] = {UP_PINCH_AT_CONTACT,  UP_PINCH_AT_SEEN, UP_PINCH_AT_BRIDGE_OFF,
                                                UP_PINCH_AT_LOWERING, UP_PINCH_AT_LEFT, UP_PINCH_AT_REST};
        for (size_t i = 1; i < sizeof order / sizeof order[0]; i++) {
            assert_true(!(story.at[order[i]].after < story.at[order[i - 1]].after));
        }
        const double delay = story.at[UP_PINCH_AT_BRIDGE_OFF].after - story.at[UP_PINCH_AT_SEEN].after;
        assert_true(fabs(delay - b.known.values.bridge_delay) < 1e-6);
        const double nearer = story.result.lie.height - story.result.reversal_opening;
        assert_true(fabs(nearer - story.at[UP_PINCH_AT_STANDSTILL].depth) < 1e-5);
        for (int i = 0; i < UP_PINCH_MOMENTS; i++) {
            assert_true(!(story.at[i].force > story.result.force * (1 + 1e-9)));
        }
        assert_true(fabs(story.result.seen_after - story.at[UP_PINCH_AT_SEEN].after) < 1e-9);
        assert_true(story.motion > story.glass_motion && story.glass_motion > 0);
    }
}

/* What cannot matter is told so, and what relieves most stands first. */
static void cures_stand_in_the_order_of_their_relief(void **state) {
    (void)state;
    bench b;
    up_pinch_help help[UP_PINCH_HELPS_MAX];
    set_up(&b, UP_FAMILY_RACK, "UN", 100);
    b.known.values.detect_mask = 0;
    b.plan.range[UP_PINCH_MEASURE] = (up_pinch_range){0.05, 0.2};
    run_map(&b, 2);
    const int count = up_pinch_try_helps(&b.map, b.map.worst[UP_PINCH_RUNNING], NULL, help);
    assert_int_equal(count, up_pinch_change_count());
    int found = 0;
    for (int i = 0; i < count; i++) {
        assert_true(help[i].before >= b.map.cell[b.map.worst[UP_PINCH_RUNNING]].result.force);
        const int evades = up_pinch_help_evades(&help[i]);
        assert_true(!(i > 0 && !evades && up_pinch_help_evades(&help[i - 1])));
        assert_true(!(i > 0 && !evades && help[i].after < help[i - 1].after));
        assert_true(help[i].touched > 0 || evades);
        if (strcmp(help[i].change->name, "shorter_mask") == 0) { /* half of nothing */
            assert_true(!(help[i].differs));
            found = 1;
        }
    }
    assert_true(found);
    free(b.memory);
}

/* A change that keeps most closings from the rod, and more than before it, is no cure. */
static void what_no_longer_comes_to_the_rod_is_no_cure(void **state) {
    (void)state;
    assert_true(up_pinch_help_evades(&(up_pinch_help){.touched = 0, .missed = 32}));
    assert_true(up_pinch_help_evades(&(up_pinch_help){.touched = 15, .missed = 17}));
    assert_false(up_pinch_help_evades(&(up_pinch_help){.touched = 16, .missed = 16}));
    assert_false(up_pinch_help_evades(&(up_pinch_help){.touched = 15, .missed = 17, .missed_before = 17}));
    assert_false(up_pinch_help_evades(&(up_pinch_help){.touched = 32}));
}

/* At 2 V no glass moves: a rod that nothing met passes nothing. */
static void where_no_rod_is_met_nothing_passes(void **state) {
    (void)state;
    enum { DRAWS = 2 };
    bench b;
    up_pinch_verdict verdict;
    up_pinch_help help[UP_PINCH_HELPS_MAX];
    void *memory = malloc(up_pinch_verdict_memory(DRAWS));
    set_up(&b, UP_FAMILY_RACK, "UN", 100);
    b.plan.range[UP_PINCH_SUPPLY] = (up_pinch_range){2, 2};
    run_map(&b, 1);
    assert_int_equal(up_pinch_judge(&b.map, DRAWS, NULL, memory, up_pinch_verdict_memory(DRAWS), &verdict), UP_OK);
    assert_int_equal(verdict.overall, UP_VERDICT_UNKNOWN);
    assert_int_equal(verdict.closing, UP_VERDICT_UNKNOWN);
    assert_int_equal(b.map.worst[0], -1);
    assert_int_equal(up_pinch_try_helps(&b.map, -1, NULL, help), 0);
    free(memory);
    free(b.memory);
}

/* Every closing of the map is in the table once, and its largest field is the map's worst. */
static void the_table_holds_the_map(void **state) {
    (void)state;
    bench b;
    up_pinch_table *table = malloc(sizeof *table);
    set_up(&b, UP_FAMILY_RACK, "US", 100);
    run_map(&b, 2);
    for (int fine = 0; fine < 2; fine++) {
        int cells = 0;
        double largest = 0;
        up_pinch_table_make(&b.map, UP_PINCH_SUPPLY, fine, 7, UP_PINCH_STARTS, table);
        for (int row = 0; row < table->rows; row++) {
            for (int column = 0; column < table->columns; column++) {
                cells += table->touched[row][column] + table->missed[row][column];
                largest = fmax(largest, table->touched[row][column] > 0 ? table->force[row][column] : 0);
            }
        }
        assert_int_equal(cells, b.map.count[0].closings + b.map.count[1].closings);
        const double worst = fmax(b.map.cell[b.map.worst[0]].result.force, b.map.cell[b.map.worst[1]].result.force);
        assert_true(fabs(largest - worst) < 1e-12);
    }
    free(table);
    free(b.memory);
}

/* With rounds of settling no neighbour of the worst is worse than it, unless they ran out. */
static void the_worst_is_worse_than_its_neighbours(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        bench b;
        up_pinch_help help[UP_PINCH_HELPS_MAX];
        set_up(&b, (up_family)family, "US", 100);
        b.plan.settles = 20;
        run_map(&b, 2);
        for (int start = 0; start < UP_PINCH_STARTS; start++) {
            const int worst = b.map.worst[start];
            /* 144 corners and 3 * 3 * 8 closings of climbs come before; the rounds did not run out */
            const int settling = b.map.cells[start] - b.plan.samples[start] - 144 - 72;
            assert_true(settling >= UP_PINCH_NEIGHBOURS - 1 && settling < 20 * (UP_PINCH_NEIGHBOURS - 1));
            assert_true(up_pinch_try_helps(&b.map, worst, NULL, help) > 0);
            assert_true(fabs(help[0].before - b.map.cell[worst].result.force) < 1e-12);
        }
        free(b.memory);
    }
}

/* 49 CFR 571.118 S5.2, UN R21 5.8.3.1.2 ask for so much opening after it turned: a closing that never turned is another
 * fault than one that turned and came to rest too near. Counted here from the closings. */
static void never_turned_and_not_far_enough_are_told_apart(void **state) {
    (void)state;
    enum { DRAWS = 2 };
    void *memory = malloc(up_pinch_verdict_memory(DRAWS));
    int seen[2] = {0, 0};
    for (int rule = 0; rule < up_rule_count(); rule++) {
        bench b;
        up_pinch_verdict verdict;
        set_up(&b, UP_FAMILY_CABLE, up_rule_at(rule)->name, 200);
        run_map(&b, 2);
        assert_int_equal(up_pinch_judge(&b.map, DRAWS, NULL, memory, up_pinch_verdict_memory(DRAWS), &verdict), UP_OK);
        int unturned = 0;
        for (int i = 0; i < cells_of(&b); i++) {
            const up_pinch_result *r = &b.map.cell[i].result;
            unturned += r->status == UP_OK && r->touched && r->reversals == 0;
        }
        for (int i = 0; i < verdict.count; i++) {
            const up_pinch_clause *clause = &verdict.clause[i];
            if (strcmp(clause->verdict.title, "opening after reversal") != 0) {
                assert_int_equal(clause->unturned + clause->too_short, 0);
                continue;
            }
            assert_int_equal(clause->unturned, unturned);
            assert_int_equal(clause->unturned + clause->too_short, clause->failed);
            assert_int_equal(clause->short_cell >= 0, clause->too_short > 0);
            if (clause->short_cell >= 0) {
                assert_true(b.map.cell[clause->short_cell].result.reversals > 0);
                assert_true(clause->short_verdict.figure < clause->short_verdict.limit);
            }
            seen[0] += clause->unturned;
            seen[1] += clause->too_short;
        }
        free(b.memory);
    }
    assert_true(seen[0] > 0 && seen[1] > 0);
    free(memory);
}

static void plans_without_sense_are_refused(void **state) {
    (void)state;
    bench b;
    up_pinch_map map;
    set_up(&b, UP_FAMILY_RACK, "US", 100);
    const size_t size = up_pinch_map_memory(&b.plan);
    void *memory = malloc(size);
    assert_int_equal(up_pinch_map_run(&b.plan, NULL, memory, size - 1, &map), UP_MEMORY_TOO_SMALL);
    assert_int_equal(up_pinch_map_run(&b.plan, NULL, NULL, size, &map), UP_MEMORY_TOO_SMALL);
    b.plan.range[UP_PINCH_SUPPLY] = (up_pinch_range){16, 9};
    assert_int_equal(up_pinch_map_run(&b.plan, NULL, memory, size, &map), UP_BAD_OPTION);
    b.plan.range[UP_PINCH_SUPPLY] = (up_pinch_range){UP_ABSENT, 9};
    assert_int_equal(up_pinch_map_run(&b.plan, NULL, memory, size, &map), UP_BAD_OPTION);
    free(memory);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(threads_change_no_bit_of_map_and_verdict),
                                       cmocka_unit_test(a_run_up_stands_for_the_whole_closing),
                                       cmocka_unit_test(a_blind_search_finds_nothing_much_worse),
                                       cmocka_unit_test(verdicts_follow_the_closings_of_the_map),
                                       cmocka_unit_test(the_table_holds_the_map),
                                       cmocka_unit_test(the_story_agrees_with_the_run),
                                       cmocka_unit_test(cures_stand_in_the_order_of_their_relief),
                                       cmocka_unit_test(where_no_rod_is_met_nothing_passes),
                                       cmocka_unit_test(what_no_longer_comes_to_the_rod_is_no_cure),
                                       cmocka_unit_test(the_worst_is_worse_than_its_neighbours),
                                       cmocka_unit_test(never_turned_and_not_far_enough_are_told_apart),
                                       cmocka_unit_test(plans_without_sense_are_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Blocks, rows and tallies of campaigns. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/campaign_rank.h"
#include "analysis/campaign_tally.h"
#include "core/base/counter_random.h"
#include "io/threads.h"

enum { BLOCKS = 2 };

/* A desk without a lock: blocks in some order, rows kept. Used by one worker, or by several on places of their own. */
typedef struct shelf {
    const int64_t *order;
    int next;
    up_closing_row row[BLOCKS * UP_BLOCK];
} shelf;

static int64_t next_of(void *context) {
    shelf *const s = context;
    const int turn = __atomic_fetch_add(&s->next, 1, __ATOMIC_SEQ_CST);
    return turn < BLOCKS ? s->order[turn] : -1;
}

static void deliver_to(void *context, int64_t block, const up_closing_row *rows) {
    shelf *const s = context;
    memcpy(&s->row[block * UP_BLOCK], rows, UP_BLOCK * sizeof *rows);
}

static up_known known;
static up_case_maker maker;
static up_campaign campaign;
static shelf kept;

static int prepare(void **state) {
    up_plan plan;
    (void)state;
    memset(&known, 0, sizeof known);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known.values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, known.spread);
    known.values.detect_force = 38; /* low enough for false reversals now and then */
    up_plan_default(&plan);
    return up_case_maker_prepare(&known, &plan, 1e-4, &maker) == UP_OK ? 0 : -1;
}

static void run(shelf *s, const int64_t *order, int threads) {
    up_workers *const workers = up_threads_start(threads);
    const size_t size = up_campaign_memory() * (size_t)threads;
    void *const memory = malloc(size);
    const up_campaign_desk desk = {s, next_of, deliver_to, NULL};
    assert_non_null(memory);
    memset(s, 0, sizeof *s);
    s->order = order;
    campaign = (up_campaign){&maker, 11, NULL};
    assert_int_equal(up_campaign_run(&campaign, workers, &desk, memory, size), UP_OK);
    assert_int_equal(up_campaign_work(&campaign, &desk, memory, 100), UP_MEMORY_TOO_SMALL);
    free(memory);
    up_threads_stop(workers);
}

static const int64_t in_order[] = {0, 1}, out_of_order[] = {1, 0};

static void rows_do_not_depend_on_order_or_threads(void **state) {
    static shelf other;
    (void)state;
    run(&kept, in_order, 1);
    run(&other, out_of_order, 1);
    assert_memory_equal(kept.row, other.row, sizeof kept.row);
    run(&other, in_order, 2);
    assert_memory_equal(kept.row, other.row, sizeof kept.row);
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        assert_true(kept.row[i].number == (uint64_t)i + 1);
    }
}

/* In the batch as alone, and the severity says exactly which of them turned round: what splitting rests on. */
static void rows_are_those_of_single_closings_and_severity_tells_who_turned(void **state) {
    static up_case made;
    int turned = 0;
    (void)state;
    double *const z = malloc((size_t)maker.numbers * sizeof *z);
    assert_non_null(z);
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        const up_closing_row *const row = &kept.row[i];
        assert_int_equal(row->status, UP_OK);
        assert_int_equal(row->severity >= 1, row->false_reversal);
        assert_int_equal(row->reversals > 0, row->false_reversal); /* there is no rod */
        turned += row->false_reversal;
        if (i % 16 == 0) {
            up_outcome outcome;
            up_closing_row alone;
            assert_int_equal(up_campaign_case(&campaign, row->number, z, &made), UP_OK);
            assert_int_equal(up_run(&made.door, &made.options, NULL, &outcome, NULL), UP_OK);
            up_campaign_row(&campaign, row->number, &made, UP_OK, &outcome, &alone);
            assert_memory_equal(&alone, row, sizeof alone);
            const double over = outcome.lasting_detector_excess / made.values.detect_force;
            assert_int_equal(over > 1, row->false_reversal);
            const double nearness =
                up_case_nearness(&outcome); /* what is climbed: the same event, never lower before it */
            assert_int_equal(nearness >= 1, row->false_reversal);
            assert_true(nearness >= fmin(over, 1 - 1e-9) - 1e-12);
        }
    }
    free(z);
    assert_true(turned > 5 && turned < BLOCKS * UP_BLOCK - 5);
}

static void shares_are_found_again(void **state) {
    (void)state;
    double *const z = malloc((size_t)maker.numbers * sizeof *z);
    assert_non_null(z);
    for (int i = 0; i < BLOCKS * UP_BLOCK; i += 37) {
        up_closing_row row = kept.row[i];
        memset(row.share, 0, sizeof row.share);
        up_campaign_shares(&campaign, &row, z);
        assert_memory_equal(&row, &kept.row[i], sizeof row);
    }
    free(z);
}

static void tallies_do_not_depend_on_order(void **state) {
    (void)state;
    up_tally *const one = malloc(sizeof *one), *const other = malloc(sizeof *other);
    assert_non_null(one);
    assert_non_null(other);
    up_tally_clear(&maker, one);
    up_tally_clear(&maker, other);
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        up_tally_add(one, &kept.row[i]);
        up_tally_add(other, &kept.row[BLOCKS * UP_BLOCK - 1 - i]);
    }
    assert_true(up_tally_mean(one) == up_tally_mean(other));
    assert_true(up_tally_deviation(one) == up_tally_deviation(other));
    for (int s = 0; s < maker.singles; s++) {
        assert_true(up_tally_first_order(one, s) == up_tally_first_order(other, s));
    }
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        const double median = up_quantile_at(&one->headline[h], 0.5);
        assert_true(median == up_quantile_at(&other->headline[h], 0.5) || up_is_absent(median));
    }
    /* plain sums of the same rows */
    double sum = 0, square = 0;
    uint64_t turned = 0;
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        sum += kept.row[i].severity;
        square += kept.row[i].severity * kept.row[i].severity;
        turned += (uint64_t)kept.row[i].false_reversal;
    }
    const double n = BLOCKS * UP_BLOCK, mean = sum / n;
    assert_true(one->false_reversals == turned && one->closings == (uint64_t)n);
    assert_true(fabs(up_tally_mean(one) - mean) < 1e-12);
    assert_true(fabs(up_tally_deviation(one) - sqrt((square - n * mean * mean) / (n - 1))) < 1e-9);
    const up_tally_quarter low = up_tally_quarter_of(one, maker.entries + UP_CASE_TEMPERATURE, 0);
    const up_tally_quarter high = up_tally_quarter_of(one, maker.entries + UP_CASE_TEMPERATURE, 1);
    assert_true(low.mean > high.mean); /* cold seals drag more: common practice, no source */
    free(one);
    free(other);
}

/* Two ways to the same indices: slices of ordinary closings, and the plan of variance.h. */
static void slices_and_plan_rank_alike(void **state) {
    (void)state;
    up_tally *const tally = malloc(sizeof *tally);
    const size_t size = up_rank_memory(2);
    void *const memory = malloc(size);
    up_workers *const workers = up_threads_start(2);
    up_rank_result result, again;
    assert_non_null(tally);
    assert_non_null(memory);
    up_tally_clear(&maker, tally);
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        up_tally_add(tally, &kept.row[i]);
    }
    const up_rank_request request = {&maker, tally, 5, 2, 64};
    assert_int_equal(up_rank_run(&request, workers, memory, size, &result), UP_OK);
    assert_int_equal(up_rank_run(&request, NULL, memory, size, &again), UP_OK);
    assert_memory_equal(&result, &again, sizeof result);
    assert_true(result.closings == 64 * (uint64_t)up_variance_points(result.factors));
    int compared = 0;
    for (int f = 0; f < result.factors; f++) {
        const up_rank_factor *const factor = &result.factor[f];
        assert_true(f == 0 || factor->index.total <= result.factor[f - 1].index.total);
        if (factor->kind == UP_RANK_GROUP && factor->group == UP_GROUP_temperature) {
            const double slices = up_tally_first_order(tally, maker.entries + UP_CASE_TEMPERATURE);
            assert_true(slices > factor->index.first_low - 0.05 && slices < factor->index.first_high + 0.05);
            assert_true(slices > 0.05); /* it does matter */
            compared = 1;
        }
    }
    assert_true(compared);
    up_threads_stop(workers);
    free(memory);
    free(tally);
}

/* The bounds that docs/campaigns.md states. */
static void places_of_false_reversals_have_the_bounds_they_say(void **state) {
    (void)state;
    assert_int_equal(up_turned_at(-0.001, 0.45), UP_TURNED_TOP);
    assert_int_equal(up_turned_at(0.0499, 0.45), UP_TURNED_TOP);
    assert_int_equal(up_turned_at(0.0501, 0.45), UP_TURNED_WAY);
    assert_int_equal(up_turned_at(0.3999, 0.45), UP_TURNED_WAY);
    assert_int_equal(up_turned_at(0.4001, 0.45), UP_TURNED_START);
    assert_int_equal(up_turned_at(0.0401, 0.12), UP_TURNED_WAY); /* a third of a short travel */
    assert_int_equal(up_turned_at(0.0801, 0.12), UP_TURNED_START);
    int seen = 0;
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        const up_closing_row *const row = &kept.row[i];
        assert_int_equal(row->turned >= 0, row->false_reversal);
        if (row->turned >= 0) {
            seen |= 1 << row->turned;
            assert_int_equal(row->turned == UP_TURNED_TOP,
                             row->headline[UP_HEADLINE_reversal_opening] <= UP_TURNED_NEAR);
        }
    }
    assert_true(seen & 1 << UP_TURNED_TOP);
}

/* A stop that was not touched has no force: mean and quantiles are those of stops that were. */
static void a_stop_that_was_not_touched_has_no_force(void **state) {
    (void)state;
    int without = 0;
    for (int i = 0; i < BLOCKS * UP_BLOCK; i++) {
        const double force = kept.row[i].headline[UP_HEADLINE_peak_stop_force];
        assert_true(up_is_absent(force) || force > 0);
        without += up_is_absent(force);
    }
    assert_true(without > 0);
}

/* Turned round for nothing, then coasted onto the rod: above 100 N it has failed (UN R21 5.8.3.1.1 [read]), and that stands;
 * below, it has proved nothing. */
static void what_coasts_onto_the_rod_can_fail_but_not_pass(void **state) {
    static up_case_maker rod_maker;
    static up_case made;
    (void)state;
    up_plan plan;
    up_outcome outcome;
    up_closing_row row;
    up_plan_default(&plan);
    plan.rod = 1;
    plan.rod_diameter = 0.025;
    plan.rod_opening = 0.120;
    plan.rod_stiffness = 1e4;
    plan.rule = up_rule_named("UN");
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &rod_maker), UP_OK);
    const up_campaign with_rod = {&rod_maker, 11, NULL};
    double *const z = malloc((size_t)rod_maker.numbers * sizeof *z);
    up_tally *const tally = malloc(sizeof *tally);
    assert_non_null(z);
    assert_non_null(tally);
    assert_int_equal(up_campaign_case(&with_rod, 1, z, &made), UP_OK);
    assert_int_equal(up_run(&made.door, &made.options, NULL, &outcome, NULL), UP_OK);
    up_tally_clear(&rod_maker, tally);
    outcome.reversals = 1;
    outcome.detection_time = 1.0;
    outcome.rod_touch_time = 1.1;
    outcome.reversal_travel = made.door.travel - 0.110;
    outcome.peak_rod_force = 140;
    up_campaign_row(&with_rod, 1, &made, UP_OK, &outcome, &row);
    assert_int_equal(row.false_reversal, 1);
    assert_int_equal(row.verdict, UP_VERDICT_FAILED);
    assert_true(row.headline[UP_HEADLINE_peak_rod_force] == 140);
    assert_true(up_is_absent(row.headline[UP_HEADLINE_detection_delay]));
    up_tally_add(tally, &row);
    assert_true(tally->refused == 1 && tally->coasted == 1 && tally->touched == 1 && tally->false_reversals == 1);
    outcome.peak_rod_force = 20;
    up_campaign_row(&with_rod, 1, &made, UP_OK, &outcome, &row);
    assert_int_equal(row.verdict, -1);
    assert_true(up_is_absent(row.headline[UP_HEADLINE_peak_rod_force]));
    up_tally_add(tally, &row);
    assert_true(tally->refused == 1 && tally->passed == 0 && tally->touched == 1 && tally->false_reversals == 2);
    outcome.detection_time = 1.2; /* after the touch: an honest meeting */
    up_campaign_row(&with_rod, 1, &made, UP_OK, &outcome, &row);
    assert_int_equal(row.false_reversal, 0);
    assert_true(row.verdict >= 0 && row.headline[UP_HEADLINE_peak_rod_force] == 20);
    free(tally);
    free(z);
}

/* Rows in which one entry, or none, makes a difference: what is turned round and what was drawn are plain random numbers. */
static void fill_by_chance(up_tally *tally, uint64_t seed, int effective) {
    up_closing_row row = kept.row[0];
    up_tally_clear(&maker, tally);
    for (uint64_t i = 0; i < 1000; i++) {
        for (int s = 0; s < maker.singles; s++) {
            row.share[s] = (unsigned char)(256 * up_random_unit(seed, (uint64_t)s, i));
        }
        const double chance = effective < 0 ? 0.3 : 0.15 + 0.3 * row.share[effective] / 256.0;
        row.number = i + 1;
        row.false_reversal = up_random_unit(seed, 1000, i) < chance;
        row.turned = row.false_reversal ? UP_TURNED_WAY : -1;
        up_tally_add(tally, &row);
    }
}

/* The z for 60 comparisons: quantile of the normal distribution at 1 - 0.025/60, 3.34 (any table of it). Of campaigns in which
 * nothing matters, 5 in 100 may list something: of 100, more than 13 come once in 2000 (binomial). */
static void advice_stands_out_of_chance(void **state) {
    enum { CAMPAIGNS = 100 };
    up_measure found[4];
    int by_hits = 0, listed = 0, hit = 0;
    (void)state;
    up_tally *const tally = malloc(sizeof *tally);
    assert_non_null(tally);
    assert_true(fabs(up_measure_z_by_chance(60) - 3.34) < 0.01);
    assert_true(fabs(up_measure_z_by_chance(1) - 1.96) < 0.001);
    for (uint64_t c = 0; c < CAMPAIGNS; c++) {
        fill_by_chance(tally, 300 + c, -1);
        listed += up_measure_choose(&maker, tally, 1.0 / 3, found, 4, &by_hits) > 0;
        assert_int_equal(by_hits, 1);
    }
    for (uint64_t c = 0; c < 10; c++) {
        fill_by_chance(tally, 700 + c, 5);
        hit += up_measure_choose(&maker, tally, 1.0 / 3, found, 4, &by_hits) > 0 && found[0].single == 5;
    }
    print_message("nothing matters: %d of %d campaigns list something; one matters: %d of 10 list it first\n", listed,
                  CAMPAIGNS, hit);
    assert_true(listed <= 13);
    assert_true(hit >= 9);
    free(tally);
}

static void only_what_narrows_is_advised(void **state) {
    (void)state;
    const up_tally_quarter now[2] = {{500, 192, 0.20}, {500, 207, 0.30}};
    const up_tally_quarter as_wide[2] = {{500, 192, 0.21}, {500, 208, 0.31}};
    const up_tally_quarter narrower[2] = {{500, 197, 0.24}, {500, 202, 0.27}};
    const up_tally_quarter other_way[2] = {{500, 207, 0.30}, {500, 192, 0.20}};
    for (int by_hits = 0; by_hits < 2; by_hits++) {
        assert_int_equal(up_measure_narrows(now, as_wide, by_hits), 0);
        assert_int_equal(up_measure_narrows(now, other_way, by_hits), 0);
        assert_int_equal(up_measure_narrows(now, narrower, by_hits), 1);
    }
}

static void a_measured_entry_draws_less(void **state) {
    (void)state;
    const up_measure measure = {.number = UP_NUMBER_belt_drag, .spread_now = 9, .spread_then = 3};
    up_known then;
    up_draw before, after;
    up_measure_known(&known, &measure, &then);
    assert_true(up_draw_prepare(&known, UP_NUMBER_belt_drag, &before));
    assert_true(up_draw_prepare(&then, UP_NUMBER_belt_drag, &after));
    assert_true(fabs(after.deviation - before.deviation / 3) < 1e-12);
    assert_true(then.spread[UP_NUMBER_glass_mass] == known.spread[UP_NUMBER_glass_mass]);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_do_not_depend_on_order_or_threads),
        cmocka_unit_test(rows_are_those_of_single_closings_and_severity_tells_who_turned),
        cmocka_unit_test(shares_are_found_again),
        cmocka_unit_test(tallies_do_not_depend_on_order),
        cmocka_unit_test(slices_and_plan_rank_alike),
        cmocka_unit_test(a_measured_entry_draws_less),
        cmocka_unit_test(places_of_false_reversals_have_the_bounds_they_say),
        cmocka_unit_test(a_stop_that_was_not_touched_has_no_force),
        cmocka_unit_test(what_coasts_onto_the_rod_can_fail_but_not_pass),
        cmocka_unit_test(advice_stands_out_of_chance),
        cmocka_unit_test(only_what_narrows_is_advised),
    };
    return cmocka_run_group_tests(tests, prepare, NULL);
}

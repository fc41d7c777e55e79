/* Doors drawn from what is known of one: the distribution, its cuts, and what must stay. The distribution's shares come
 * from the C library's erfc; the rest follows from the contract in spread.h. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/spread.h"
#include "core/door/check.h"

static void typical(up_family family, up_known *known) {
    memset(known, 0, sizeof *known);
    up_values_fallback(family, &known->values);
    up_values_fallback_spread(family, known->spread);
}

static void index_nought_is_the_sheet_itself(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        up_values out;
        typical((up_family)family, &known);
        assert_int_equal(up_known_draw(&known, 9, 0, &out), UP_OK);
        assert_memory_equal(out.number, known.values.number, sizeof out.number);
        assert_memory_equal(out.choice, known.values.choice, sizeof out.choice);
    }
}

static void every_draw_is_usable_and_within_one_and_a_half_spreads(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        typical((up_family)family, &known);
        for (uint64_t i = 1; i <= 500; i++) {
            up_values out;
            assert_int_equal(up_known_draw(&known, 1, i, &out), UP_OK);
            assert_true(up_door_is_usable(&out));
            for (int n = 0; n < UP_NUMBER_COUNT; n++) {
                const double value = known.values.number[n];
                if (up_is_absent(value) || known.spread[n] == 0) {
                    assert_memory_equal(&out.number[n], &known.values.number[n], sizeof out.number[n]);
                } else {
                    assert_true(fabs(out.number[n] - value) <= 1.5 * known.spread[n] * (1 + 1e-12));
                }
            }
        }
    }
}

/* Glass mass: bounds far away, in no check of geometry. Normal with deviation spread/1.96, cut at 1.5 spreads. */
static void a_free_number_follows_the_cut_normal_distribution(void **state) {
    (void)state;
    enum { N = 20000 };
    up_known known;
    typical(UP_FAMILY_RACK, &known);
    const double deviation = known.spread[UP_NUMBER_glass_mass] / 1.96;
    int inside = 0, above = 0;
    for (uint64_t i = 1; i <= N; i++) {
        up_values out;
        up_known_draw(&known, 3, i, &out);
        const double z = (out.glass_mass - known.values.glass_mass) / deviation;
        inside += fabs(z) < 1.96;
        above += z > 1;
    }
    const double kept = erf(1.5 * 1.96 / sqrt(2)); /* 99.67 % */
    const double share_inside = erf(1.96 / sqrt(2)) / kept,
                 share_above = (0.5 * erfc(1 / sqrt(2)) - 0.5 * (1 - kept)) / kept;
    assert_true(fabs((double)inside / N - share_inside) < 5 * sqrt(share_inside * (1 - share_inside) / N));
    assert_true(fabs((double)above / N - share_above) < 5 * sqrt(share_above * (1 - share_above) / N));
}

static void a_spread_wider_than_the_bounds_is_cut_at_them(void **state) {
    (void)state;
    up_known known;
    typical(UP_FAMILY_CABLE, &known);
    known.spread[UP_NUMBER_belt_drag] = 100; /* N about 22: most draws below 0 are refused */
    double low, high, lowest = 1e9;
    up_number_bounds(UP_NUMBER_belt_drag, &low, &high);
    for (uint64_t i = 1; i <= 2000; i++) {
        up_values out;
        assert_int_equal(up_known_draw(&known, 4, i, &out), UP_OK);
        assert_true(out.belt_drag >= low && out.belt_drag <= high);
        lowest = fmin(lowest, out.belt_drag);
    }
    assert_true(lowest < 1.0);
}

static void numbers_the_family_or_the_model_does_not_use_stay(void **state) {
    (void)state;
    up_known known;
    up_values out;
    typical(UP_FAMILY_RACK, &known);
    known.values.measured_raise_time = 4;
    known.spread[UP_NUMBER_measured_raise_time] = 0.3;
    assert_int_equal(up_known_draw(&known, 5, 17, &out), UP_OK);
    assert_true(out.measured_raise_time == 4);
    assert_true(out.arm_length == known.values.arm_length);
    assert_true(out.glass_mass != known.values.glass_mass);
}

static void other_entries_seeds_and_indices_are_drawn_apart(void **state) {
    (void)state;
    up_known known, wider;
    up_values a, b, c, d;
    typical(UP_FAMILY_CABLE, &known);
    wider = known;
    wider.spread[UP_NUMBER_belt_drag] *= 1.1;
    up_known_draw(&known, 5, 17, &a);
    up_known_draw(&known, 5, 18, &b);
    up_known_draw(&known, 6, 17, &c);
    up_known_draw(&wider, 5, 17, &d);
    assert_true(a.glass_mass != b.glass_mass && a.glass_mass != c.glass_mass);
    assert_true(a.glass_mass == d.glass_mass && a.belt_drag != d.belt_drag); /* one entry's spread moves no other */
}

static void a_sheet_that_is_no_door_is_refused(void **state) {
    (void)state;
    up_known known;
    up_values out;
    typical(UP_FAMILY_CROSSED_ARMS, &known);
    known.values.sector_cut = 3;
    assert_int_equal(up_known_draw(&known, 1, 0, &out), UP_BAD_VALUE);
    assert_int_equal(up_known_draw(&known, 1, 1, &out), UP_BAD_VALUE);
    assert_true(out.sector_cut == 3);
}

/* Two straight-line entries of a made-up ranking: 3 to 4, so shares 0.36 and 0.64. */
static void the_ranking_is_by_squared_effects(void **state) {
    (void)state;
    up_matter rows[4] = {{.number = UP_NUMBER_glass_mass},
                         {.number = UP_NUMBER_belt_drag},
                         {.number = UP_NUMBER_ripple},
                         {.number = UP_NUMBER_poles}};
    double share[4];
    int order[4];
    rows[0].effect[UP_HEADLINE_time] = 3;
    rows[1].effect[UP_HEADLINE_time] = UP_ABSENT;
    rows[2].effect[UP_HEADLINE_time] = -4;
    rows[3].effect[UP_HEADLINE_time] = 0;
    up_matter_rank(rows, 4, UP_HEADLINE_time, share, order);
    assert_true(fabs(share[0] - 0.36) < 1e-15 && share[1] == 0 && fabs(share[2] - 0.64) < 1e-15 && share[3] == 0);
    assert_true(order[0] == 2 && order[1] == 0 && order[2] == 1 && order[3] == 3);
    assert_true(fabs(up_matter_explained(rows, 4, UP_HEADLINE_time, 5 / 1.96) - 1) < 1e-12);
    assert_true(isnan(up_matter_explained(rows, 4, UP_HEADLINE_time, 0)));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(index_nought_is_the_sheet_itself),
        cmocka_unit_test(every_draw_is_usable_and_within_one_and_a_half_spreads),
        cmocka_unit_test(a_free_number_follows_the_cut_normal_distribution),
        cmocka_unit_test(a_spread_wider_than_the_bounds_is_cut_at_them),
        cmocka_unit_test(numbers_the_family_or_the_model_does_not_use_stay),
        cmocka_unit_test(other_entries_seeds_and_indices_are_drawn_apart),
        cmocka_unit_test(a_sheet_that_is_no_door_is_refused),
        cmocka_unit_test(the_ranking_is_by_squared_effects),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

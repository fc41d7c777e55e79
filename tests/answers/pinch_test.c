/* The rod between inclined edges, the least force, the time on a rod alone: against plane geometry, the motion of a mass on
 * a spring, and printed or public figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/pinch_explain.h"

static const double degree = 0.017453292519943295;

static void near(double found, double expected, double tolerance) {
    if (!(fabs(found - expected) <= tolerance)) {
        fail_msg("%.9g instead of %.9g, allowed %.3g", found, expected, tolerance);
    }
}

static void typical(up_family family, up_known *known) {
    memset(known, 0, sizeof *known);
    up_values_fallback(family, &known->values);
    up_values_fallback_spread(family, known->spread);
}

/* Two parallel lines inclined at 60 degrees and 8 mm apart along the travel are 4 mm apart (half an equilateral triangle);
 * at 45 degrees 4 mm apart square is 4 sqrt 2 along the travel. */
static void a_rod_between_inclined_edges_lies_as_in_plane_geometry(void **state) {
    (void)state;
    up_known known;
    up_pinch_lie lie;
    typical(UP_FAMILY_RACK, &known);
    known.values.frame_front_slope = 60 * degree;
    known.values.frame_rear_slope = 45 * degree;
    up_pinch_lie_of(&known.values, up_rule_named("US"), &(up_pinch_point){.measure = 0.004, .place = 0}, &lie);
    near(lie.height, 0.008, 1e-12);
    near(lie.diameter, 0.004, 1e-15);
    up_pinch_lie_of(&known.values, up_rule_named("US"), &(up_pinch_point){.measure = 0.004, .place = 1}, &lie);
    near(lie.height, 0.004 * sqrt(2), 1e-12);
    /* the UN measures the height: then the rod that fills it is the smaller one */
    up_pinch_lie_of(&known.values, up_rule_named("UN"), &(up_pinch_point){.measure = 0.008, .place = 0}, &lie);
    near(lie.height, 0.008, 1e-15);
    near(lie.diameter, 0.004, 1e-12);
    /* halfway: 52.5 degrees */
    up_pinch_lie_of(&known.values, up_rule_named("UN"), &(up_pinch_point){.measure = 0.010, .place = 0.5}, &lie);
    near(lie.diameter, 0.010 * cos(52.5 * degree), 1e-12);
}

/* Hohendorff et al., Unfallchirurg 116(6) 2013, 531-536 (read in its public summary): an upright gap of 4 mm can be 18 mm wide
 * between glass and seal. By Pythagoras the lip then stands sqrt(18^2 - 4^2) = 17.55 mm inside. */
static void an_upright_gap_of_4_mm_is_18_mm_for_a_finger(void **state) {
    (void)state;
    up_known known;
    up_pinch_lie lie;
    typical(UP_FAMILY_RACK, &known);
    known.values.frame_lip = 17.55e-3;
    up_pinch_lie_of(&known.values, up_rule_named("UN"), &(up_pinch_point){.measure = 0.004}, &lie);
    near(lie.oblique, 0.018, 1e-5);
}

/* Edges inclined at 60 degrees; back from 100 to 250 mm open: that is 150 mm further along the travel, and room for a rod of
 * 125 mm. Started 4.2 mm open it is not exempt, though a rod of 4 mm between the edges there would need 8 mm. */
static void the_judge_gets_ways_along_the_travel_and_room_square_to_the_edges(void **state) {
    (void)state;
    up_known known;
    up_facts given;
    up_facts facts;
    typical(UP_FAMILY_RACK, &known);
    known.values.glass_travel = 0.4;
    up_facts_default(&given);
    const up_pinch_study study = {.known = &known, .rule = up_rule_named("US"), .facts = &given};
    up_pinch_result result = {.point = {.measure = 0.05, .stiffness = 20e3, .clearance = UP_ABSENT},
                              .lie = {.cosine = 0.5, .diameter = 0.05},
                              .touched = 1,
                              .force = 77,
                              .start_opening = 0.21,
                              .reversal_opening = 0.1,
                              .final_opening = 0.25};
    up_pinch_facts(&study, &result, &facts);
    near(facts.final_opening, 0.125, 1e-12);
    near(facts.final_opening - facts.reversal_opening, 0.15, 1e-12);
    near(facts.start_opening - facts.final_opening, 0.15, 1e-12); /* fully open: 400 mm */
    near(facts.peak_force, 77, 0);
    result.point.clearance = 0.0002;
    result.start_opening = 0.0042;
    up_pinch_facts(&study, &result, &facts);
    near(facts.start_opening, 0.0042, 0);
}

/* F = k v t, worked out by hand: 100 N / (k v). */
static void a_rod_alone_reaches_100_N_when_the_hand_calculation_says(void **state) {
    (void)state;
    static const double k[] = {10e3, 20e3, 65e3};
    static const double v[] = {0.08, 0.10, 0.15};
    static const double ms[3][3] = {{125.0, 100.0, 66.7}, {62.5, 50.0, 33.3}, {19.2, 15.4, 10.3}};
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            near(1e3 * up_pinch_rod_only(k[i], 1, v[j], 100), ms[i][j], 0.05);
        }
    }
}

/* A free mass that hits a spring: F = v sqrt(m k), every textbook on vibration. 3.6 kg at 0.15 m/s on 10 N/mm: 28.46 N. */
static void the_least_force_without_drag_is_a_mass_on_a_spring(void **state) {
    (void)state;
    up_known known;
    up_door door;
    typical(UP_FAMILY_RACK, &known);
    known.values.glass_mass = 3.6;
    known.values.panel_stiffness = 1e8;
    known.values.header_stiffness = 0;
    assert_int_equal(up_door_prepare(&known.values, 293.15, &door), UP_OK);
    memset(&door.weight, 0, sizeof door.weight);
    const up_pinch_lie lie = {.cosine = 1, .height = 0.1};
    near(up_pinch_least_force(&door, &lie, 10e3, 0.2, 0.15, 0), 28.46, 0.01);
}

/* Energy does not get lost: no closing may squeeze less than the glass's own motion must give. Cells all over the map of
 * every family. */
static void no_closing_squeezes_less_than_its_glass_in_motion_must(void **state) {
    (void)state;
    enum { PLACES = 40 };
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        up_facts facts;
        typical((up_family)family, &known);
        up_facts_default(&facts);
        int touched = 0;
        for (int i = 0; i < PLACES; i++) {
            const up_pinch_study study = {.known = &known,
                                          .rule = up_rule_at(i % 2),
                                          .facts = &facts,
                                          .seed = 1,
                                          .encoder_seed = (uint32_t)i,
                                          .tolerance = 1e-6};
            up_pinch_plan plan;
            up_pinch_point point;
            up_pinch_story story;
            up_pinch_plan_default(&study, &plan);
            const double u[UP_PINCH_AXES] = {(i + 0.5) / PLACES,       fmod(i * 0.618034, 1), fmod(i * 0.754878, 1),
                                             fmod(i * 0.569840, 1),    fmod(i * 0.819173, 1), fmod(i * 0.671044, 1),
                                             0.3 + 0.7 * (i % 7) / 6.0};
            up_pinch_plan_point(&plan, i % 3 ? UP_PINCH_RUNNING : UP_PINCH_FROM_REST, u, &point);
            if (up_pinch_explain(&study, &point, 100, &story) != UP_OK) {
                continue; /* turned before it reached the rod */
            }
            touched++;
            if (!(story.result.force >= story.least_force)) {
                fail_msg("family %d place %d: %.3f N, at least %.3f N", family, i, story.result.force,
                         story.least_force);
            }
            /* the books: what moved and what came in is what went */
            double sum = story.flow[UP_LEDGER_drawn];
            for (int account = 0; account < UP_LEDGER_COUNT; account++) {
                sum -= account == UP_LEDGER_drawn ? 0 : story.flow[account];
            }
            near(sum, 0, 1e-4 * (story.motion + fabs(story.flow[UP_LEDGER_drawn])));
        }
        assert_true(touched >= PLACES / 2);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rod_between_inclined_edges_lies_as_in_plane_geometry),
        cmocka_unit_test(an_upright_gap_of_4_mm_is_18_mm_for_a_finger),
        cmocka_unit_test(the_judge_gets_ways_along_the_travel_and_room_square_to_the_edges),
        cmocka_unit_test(a_rod_alone_reaches_100_N_when_the_hand_calculation_says),
        cmocka_unit_test(the_least_force_without_drag_is_a_mass_on_a_spring),
        cmocka_unit_test(no_closing_squeezes_less_than_its_glass_in_motion_must)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

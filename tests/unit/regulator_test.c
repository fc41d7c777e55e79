/* The regulator families: hand-worked cases, ratios against differences of the travel, what cannot be built. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/door/check.h"
#include "core/door/door.h"
#include "core/regulator/regulator.h"

#define DEGREE (3.14159265358979323846 / 180)

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

static up_lift_point lift_at(const up_values *values, double output_angle) {
    up_lift_point point;
    up_regulator_of(values->family)->lift(values, output_angle, &point);
    return point;
}

/* ---- worked by hand ------------------------------------------------------------------------------------------------- */

/* An arm of 300 mm from -30 to +30 degrees raises by 300 (1/2 + 1/2) = 300 mm. Ten teeth on a sector of 100: the pinion
 * turns ten times 60 degrees. Level, each radian of the pinion lifts 300/10 = 30 mm. Its roller is 300 (1 - cos 30) = 40.19
 * mm nearer the pivot at both ends than in the middle. */
static void a_single_arm_by_hand(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &v);
    v.arm_length = 0.300;
    v.arm_start = -30 * DEGREE;
    v.pinion_teeth = 10;
    v.sector_teeth = 100;
    v.glass_travel = 0.300;
    v.glass_offset = 0.005;
    const up_lift_point bottom = lift_at(&v, 0), middle = lift_at(&v, 300 * DEGREE), top = lift_at(&v, 600 * DEGREE);
    near(bottom.travel, 0, 1e-15);
    near(middle.travel, 0.150, 1e-15);
    near(top.travel, 0.300, 1e-15);
    near(middle.ratio, 0.030, 1e-15);
    near(top.ratio, 0.030 * 0.86602540378, 1e-12);
    near(middle.ratio_slope, 0, 1e-15);
    near(top.ratio_slope, -0.0015, 1e-14);
    near(middle.lever, 0.005, 1e-15);
    near(top.lever, 0.005 - 0.0401923789, 1e-10);
    near(bottom.lever, top.lever, 1e-14);
    assert_true(top.rail_tilt == 0);
}

/* Equal arms 300 over 150 + 150 mm: rail level, rise as with one arm. The equaliser's upper part 10 mm too long: it rises
 * 150 (1 + 160/150) sin a = 310 sin a, the glass follows the mean, 305 sin a; at 30 degrees the rollers are 155 and 150 mm up
 * and 310 cos 30 = 268.47 mm apart, so the rail leans by atan(5/268.47) = 1.067 degrees. */
static void crossed_arms_by_hand(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.arm_length = 0.300;
    v.arm_start = -30 * DEGREE;
    v.equaliser_pivot = v.equaliser_upper = v.equaliser_lower = 0.150;
    v.equaliser_rail = 0;
    v.pinion_teeth = 10;
    v.sector_teeth = 100;
    near(lift_at(&v, 600 * DEGREE).travel, 0.300, 1e-15);
    near(lift_at(&v, 600 * DEGREE).rail_tilt, 0, 1e-15);
    v.equaliser_upper = 0.160;
    near(lift_at(&v, 600 * DEGREE).travel, 0.305, 1e-15);
    near(lift_at(&v, 600 * DEGREE).rail_tilt, -1.0670 * DEGREE, 0.0001 * DEGREE);
    /* Door rail 10 mm above the pivot's level: the lower roller is that much nearer the crossing bolt's height, so the
     * equaliser leans by asin((75 + 10)/150) there. */
    v.equaliser_upper = 0.150;
    v.equaliser_rail = 0.010;
    const double lean = asin(85.0 / 150), height = 75 + 150 * sin(lean);
    const double apart = 150 * cos(30 * DEGREE) + 150 * cos(lean);
    near(lift_at(&v, 600 * DEGREE).rail_tilt, atan((150 - height) / apart), 1e-12);
}

/* One turn of a drum of 34 mm winds pi 34 = 106.814 mm. A cable of 1 m with 50 kN over its stretch gives 50 N/mm, in series
 * with 25 N/mm 16.667 N/mm. Around pi radians of guide at 0.1 the pull grows to exp(0.31416) = 1.36911 of it (capstan law,
 * any textbook of mechanics). */
static void cable_and_drum_by_hand(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_CABLE, &v);
    v.drum_diameter = 0.034;
    v.cable_length = 1;
    v.cable_area_modulus = 50e3;
    v.regulator_stiffness = 25e3;
    v.cable_friction = 0.1;
    v.cable_wrap = 180 * DEGREE;
    v.mesh_loss = 0.02;
    near(lift_at(&v, 360 * DEGREE).travel, 0.106814, 1e-6);
    near(lift_at(&v, 1).ratio, 0.017, 1e-15);
    assert_true(lift_at(&v, 1).ratio_slope == 0);
    near(up_regulator_cable.stiffness(&v), 16666.667, 0.001);
    near(up_regulator_cable.loss(&v), 0.02 + 0.36911, 5e-6);
    v.glass_offset = 0.03;
    v.cable_rails = 0;
    near(lift_at(&v, 1).lever, 0.03, 0);
    v.cable_rails = 1; /* two rails lift either side */
    near(lift_at(&v, 1).lever, 0, 0);
}

/* 17 teeth of module 2: pitch radius 17 mm, one turn moves the rack by pi m z = 106.814 mm. */
static void a_rack_by_hand(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.pinion_teeth = 17;
    v.pinion_module = 2e-3;
    near(lift_at(&v, 360 * DEGREE).travel, 0.106814, 1e-6);
    near(lift_at(&v, -2).travel, -0.034, 1e-15);
    near(up_regulator_rack.stiffness(&v), v.regulator_stiffness, 0);
}

/* A sector of 2e-3 kg m2 behind a gear of ten counts a hundredth at the pinion. */
static void the_sectors_inertia_counts_by_the_square_of_the_gear(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &v);
    v.pinion_teeth = 10;
    v.sector_teeth = 100;
    v.output_inertia = 1e-5;
    v.sector_inertia = 2e-3;
    near(up_regulator_single_arm.inertia(&v), 3e-5, 1e-18);
    near(up_regulator_single_arm.balance_gear(&v), 0.1, 1e-15);
    near(up_regulator_rack.balance_gear(&v), 1, 0);
}

/* ---- differences ------------------------------------------------------------------------------------------------------ */

/* The ratio is the travel's derivative and the slope the ratio's: central differences with two spacings, extrapolated. */
static double derivative(const up_values *v, double at, double h, int of_ratio) {
    double wide[2];
    for (int i = 0; i < 2; i++) {
        const double step = h / (1 << i);
        const up_lift_point up = lift_at(v, at + step), down = lift_at(v, at - step);
        wide[i] = (of_ratio ? up.ratio - down.ratio : up.travel - down.travel) / (2 * step);
    }
    return wide[1] + (wide[1] - wide[0]) / 3;
}

static void ratio_and_slope_are_derivatives_on_random_doors(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 400; index++) {
        up_values v;
        assert_int_equal(up_random_door(17, index, &v), UP_OK);
        const up_regulator *regulator = up_regulator_of(v.family);
        const double top = up_regulator_angle(regulator, &v, v.glass_travel);
        for (double share = 0; share <= 1; share += 0.05) {
            const double angle = share * top, h = 1e-3 * top;
            const up_lift_point here = lift_at(&v, angle);
            near(here.ratio, derivative(&v, angle, h, 0), 1e-9 * here.ratio);
            near(here.ratio_slope, derivative(&v, angle, h, 1), 1e-9 * (here.ratio / top + fabs(here.ratio_slope)));
            assert_true(here.ratio > 0);
        }
    }
}

static void angle_is_the_inverse_of_travel(void **state) {
    (void)state;
    for (uint64_t index = 0; index < 400; index++) {
        up_values v;
        assert_int_equal(up_random_door(17, index, &v), UP_OK);
        const up_regulator *regulator = up_regulator_of(v.family);
        double low, high;
        regulator->reach(&v, &low, &high);
        near(up_regulator_angle(regulator, &v, 0), 0, 1e-9);
        for (double share = 0; share <= 1; share += 0.04) {
            const double angle = up_regulator_angle(regulator, &v, share * v.glass_travel);
            near(lift_at(&v, angle).travel, share * v.glass_travel, 1e-14);
            assert_true(angle > low && angle < high);
        }
        /* Beyond what the arm can do: the nearer end of its reach. */
        near(up_regulator_angle(regulator, &v, 1e3), high, 1e-6 * high);
        near(up_regulator_angle(regulator, &v, -1e3), low, 1e-6 * fabs(low));
    }
}

static void the_table_of_families_names_them_in_order(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        assert_int_equal(up_regulator_of(family)->family, family);
    }
    assert_null(up_regulator_of(-1));
    assert_null(up_regulator_of(UP_FAMILY_COUNT));
}

/* ---- what cannot be built ------------------------------------------------------------------------------------------------ */

/* The first finding of that code, or a failed test. */
static up_door_finding finding_of(const up_values *v, up_door_finding_code code) {
    up_door_finding findings[UP_DOOR_FINDINGS_MAX];
    const int count = up_door_check(v, findings, UP_DOOR_FINDINGS_MAX);
    for (int i = 0; i < count && i < UP_DOOR_FINDINGS_MAX; i++) {
        if (findings[i].code == code) {
            return findings[i];
        }
    }
    fail_msg("'%s' was not found", up_door_finding_text(code));
    return findings[0];
}

static void refuses(const up_values *v, up_door_finding_code code) {
    static up_door door;
    (void)finding_of(v, code);
    assert_int_equal(up_door_is_usable(v), !up_door_finding_is_fatal(code));
    assert_int_equal(up_door_prepare(v, 293.15, &door) == UP_OK, !up_door_finding_is_fatal(code));
}

/* Past the dead centre no arm lifts: from -38 degrees an arm of 300 mm cannot make 900 mm of travel. Largest travel in the
 * finding: up to 83 degrees, 300 (sin 83.08 + sin 38) = 482.5 mm. */
static void an_arm_has_its_longest_travel(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &v);
    v.arm_length = 0.300;
    v.arm_start = -38 * DEGREE;
    v.glass_travel = 0.9;
    refuses(&v, UP_FINDING_ARM_CANNOT_REACH);
    near(finding_of(&v, UP_FINDING_ARM_CANNOT_REACH).high, 0.300 * (sin(1.45) + sin(38 * DEGREE)), 1e-9);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.arm_start = -1.5; /* rad: hanging straight down */
    refuses(&v, UP_FINDING_ARM_CANNOT_REACH);
}

/* A sector cut for 20 of 100 teeth turns the arm by 72 degrees at most. */
static void a_sector_runs_out_of_teeth(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &v);
    v.arm_length = 0.300;
    v.arm_start = -40 * DEGREE;
    v.glass_travel = 0.300 * (sin(40 * DEGREE) + sin(40 * DEGREE));
    v.sector_teeth = 100;
    v.sector_cut = 23; /* 80 degrees need 22.2 teeth */
    assert_true(up_door_is_usable(&v));
    v.sector_cut = 22;
    refuses(&v, UP_FINDING_SECTOR_TOO_SHORT);
    near(finding_of(&v, UP_FINDING_SECTOR_TOO_SHORT).low, 23, 0);
    v.pinion_teeth = v.sector_teeth = 60;
    refuses(&v, UP_FINDING_SECTOR_SMALLER_THAN_PINION);
}

static void an_equaliser_must_reach_its_rail_and_keep_the_glass_level(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.equaliser_lower = 0.05; /* the crossing bolt rises 150 sin 42 = 100 mm above the rail */
    refuses(&v, UP_FINDING_EQUALISER_CANNOT_REACH);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.equaliser_upper = 0.170;
    refuses(&v, UP_FINDING_RAIL_TILTS); /* worth a look, not fatal */
    assert_true(finding_of(&v, UP_FINDING_RAIL_TILTS).found > 0.02);
}

static void a_limit_ring_must_fit_and_not_turn_twice(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_CABLE, &v);
    v.limit_ring = 61;
    refuses(&v, UP_FINDING_RING_DOES_NOT_FIT);
    up_values_fallback(UP_FAMILY_CABLE, &v);
    v.limit_planets = 7;
    refuses(&v, UP_FINDING_PLANETS_CANNOT_ASSEMBLE);
    up_values_fallback(UP_FAMILY_CABLE, &v);
    v.limit_sun = 30;
    v.limit_planet = 10;
    v.limit_ring = 50; /* 30/80 of a turn for each of four turns of the drum */
    v.limit_planets = 4;
    refuses(&v, UP_FINDING_RING_TURNS_TOO_FAR);
    near(finding_of(&v, UP_FINDING_RING_TURNS_TOO_FAR).found,
         v.glass_travel / (3.14159265358979323846 * v.drum_diameter) * 30 / 80, 1e-9);
    v.limit_sun = 12;
    v.limit_planet = 18;
    v.limit_ring = 48;
    v.limit_planets = 10;
    refuses(&v, UP_FINDING_PLANETS_TOUCH);
    up_values_fallback(UP_FAMILY_CABLE, &v);
    v.limit_open = 6.2; /* rad, nearly a turn: beyond what the stroke turns it */
    refuses(&v, UP_FINDING_LIMIT_OPENS_LATE);
}

/* Everything else that makes no door, one change each. */
static void other_doors_that_cannot_be(void **state) {
    (void)state;
    up_values good;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &good);
    assert_true(up_door_is_usable(&good));
    up_values v = good;
    v.wheel_teeth = 8;
    v.worm_starts = 5;
    refuses(&v, UP_FINDING_TOO_FEW_WHEEL_TEETH);
    v = good;
    v.worm_static_friction = v.worm_friction - 0.01;
    refuses(&v, UP_FINDING_STATIC_BELOW_RUNNING);
    v = good;
    v.worm_starts = 12;
    v.wheel_teeth = 73;
    v.worm_diameter = 5e-3;
    refuses(&v, UP_FINDING_LEAD_TOO_STEEP);
    v = good;
    v.protector_reset = v.protector_trip;
    refuses(&v, UP_FINDING_PROTECTOR_ORDER);
    v = good;
    v.damper_limit = 0.5 * v.damper_play;
    refuses(&v, UP_FINDING_PLAY_BEYOND_LIMIT);
    v = good;
    v.drag_count = 2;
    v.drag_position[0] = v.drag_position[1] = 0.1;
    refuses(&v, UP_FINDING_DRAG_POINTS_NOT_RISING);
    v = good;
    v.drag_count = 1;
    v.drag_force[0] = -1000;
    refuses(&v, UP_FINDING_DRAG_BELOW_ZERO);
    v = good;
    v.encoder_pulses = 1;
    v.encoder_shaft = UP_ENCODER_ON_PINION;
    refuses(&v, UP_FINDING_TOO_FEW_EDGES);
    v = good;
    v.encoder_pulses = 200;
    v.tick = 0.02;
    refuses(&v, UP_FINDING_TOO_FAST_EDGES); /* worth a look */
    v = good;
    v.glass_offset = 0.6;
    v.channel_friction = 0.5;
    refuses(&v, UP_FINDING_GLASS_JAMS); /* worth a look */
    v = good;
    v.regulator_stiffness = 1e3;
    refuses(&v, UP_FINDING_ARM_PASSES_DEAD_CENTRE);
    v = good;
    v.glass_mass = NAN;
    refuses(&v, UP_FINDING_MISSING);
    v = good;
    v.glass_mass = INFINITY;
    refuses(&v, UP_FINDING_NOT_FINITE);
    v = good;
    v.glass_mass = -1;
    refuses(&v, UP_FINDING_OUT_OF_BOUNDS);
    v = good;
    v.wheel_teeth = 73.5;
    refuses(&v, UP_FINDING_NOT_WHOLE);
    v = good;
    v.protection = 99;
    refuses(&v, UP_FINDING_UNKNOWN_WORD);
}

/* All problems are found at once, and the count goes on beyond the room for them. */
static void every_problem_is_found_not_only_the_first(void **state) {
    (void)state;
    up_values v;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.worm_static_friction = 0;
    v.protector_reset = v.protector_trip;
    v.damper_limit = 0.5 * v.damper_play;
    up_door_finding one[1];
    assert_true(up_door_check(&v, one, 1) >= 3);
    assert_true(up_door_check(&v, NULL, 0) >= 3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_single_arm_by_hand),
        cmocka_unit_test(crossed_arms_by_hand),
        cmocka_unit_test(cable_and_drum_by_hand),
        cmocka_unit_test(a_rack_by_hand),
        cmocka_unit_test(the_sectors_inertia_counts_by_the_square_of_the_gear),
        cmocka_unit_test(ratio_and_slope_are_derivatives_on_random_doors),
        cmocka_unit_test(angle_is_the_inverse_of_travel),
        cmocka_unit_test(the_table_of_families_names_them_in_order),
        cmocka_unit_test(an_arm_has_its_longest_travel),
        cmocka_unit_test(a_sector_runs_out_of_teeth),
        cmocka_unit_test(an_equaliser_must_reach_its_rail_and_keep_the_glass_level),
        cmocka_unit_test(a_limit_ring_must_fit_and_not_turn_twice),
        cmocka_unit_test(other_doors_that_cannot_be),
        cmocka_unit_test(every_problem_is_found_not_only_the_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

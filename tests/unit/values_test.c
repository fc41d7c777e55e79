/* The numbers of a door: one list makes the struct, the bounds and the typical values. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/door/check.h"
#include "core/door/door.h"
#include "core/door/values.h"

/* values.h promises that number[] and the named members are the same storage, in list order. */
static void numbers_and_members_share_their_storage(void **state) {
    (void)state;
    static const size_t offset[] = {
#define UP_NUMBER(id, ...) offsetof(up_values, id),
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    assert_int_equal(sizeof offset / sizeof offset[0], UP_NUMBER_COUNT);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        assert_int_equal(offset[i], offsetof(up_values, number) + (size_t)i * sizeof(double));
    }
    static const size_t choice[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...) offsetof(up_values, id),
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    assert_int_equal(sizeof choice / sizeof choice[0], UP_CHOICE_COUNT);
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        assert_int_equal(choice[i], offsetof(up_values, choice) + (size_t)i * sizeof(int));
    }
}

static void typical_values_lie_within_their_bounds(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        double spread[UP_NUMBER_COUNT];
        up_values_fallback((up_family)family, &v);
        up_values_fallback_spread((up_family)family, spread);
        assert_int_equal(v.family, family);
        assert_int_equal(v.drag_count, 0);
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            double low, high;
            up_number_bounds((up_number)i, &low, &high);
            assert_true(low <= high && isfinite(low) && isfinite(high));
            assert_true(spread[i] >= 0 && isfinite(spread[i]));
            assert_true(up_is_absent(v.number[i]) || (v.number[i] >= low && v.number[i] <= high));
            assert_true((up_number_families((up_number)i) & ~UP_ALL) == 0 && up_number_families((up_number)i) != 0);
        }
    }
}

/* A sheet that names only the family makes a door that can be put together, at any weather. */
static void a_typical_door_of_every_family_can_be_prepared(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        static up_door door;
        up_door_finding findings[UP_DOOR_FINDINGS_MAX];
        up_values_fallback((up_family)family, &v);
        assert_int_equal(up_door_check(&v, findings, UP_DOOR_FINDINGS_MAX), 0);
        for (double temperature = 233.15; temperature < 354; temperature += 20) {
            assert_int_equal(up_door_prepare(&v, temperature, &door), UP_OK);
        }
        assert_int_equal(up_door_prepare(&v, 199.9, &door), UP_BAD_OPTION);
        assert_int_equal(up_door_prepare(&v, 400.1, &door), UP_BAD_OPTION);
        assert_int_equal(up_door_prepare(&v, NAN, &door), UP_BAD_OPTION);
    }
}

/* What differs between families comes from the list's own rows. */
static void a_family_has_its_own_typical_values(void **state) {
    (void)state;
    static const struct {
        int number, family;
        double value, spread;
    } row[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, family, value, spread) {UP_NUMBER_##id, (int)UP_FAMILY_of_##family, value, spread},
#define UP_FAMILY_of_single_arm UP_FAMILY_SINGLE_ARM
#define UP_FAMILY_of_crossed_arms UP_FAMILY_CROSSED_ARMS
#define UP_FAMILY_of_cable UP_FAMILY_CABLE
#define UP_FAMILY_of_rack UP_FAMILY_RACK
#include "core/door/entries.def"
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        up_values v, other;
        double spread[UP_NUMBER_COUNT];
        up_values_fallback((up_family)row[i].family, &v);
        up_values_fallback_spread((up_family)row[i].family, spread);
        assert_true(v.number[row[i].number] == row[i].value && spread[row[i].number] == row[i].spread);
        up_values_fallback((up_family)((row[i].family + 2) % UP_FAMILY_COUNT), &other);
        assert_true(isfinite(other.number[row[i].number]));
    }
}

/* A number that the family does not use may be anything; one that it uses may not be missing or out of bounds. */
static void only_numbers_of_the_family_count(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            up_values v;
            double low, high;
            up_values_fallback((up_family)family, &v);
            up_number_bounds((up_number)i, &low, &high);
            v.number[i] = high + 1 + fabs(high);
            const int used = (up_number_families((up_number)i) >> family) & 1;
            assert_int_equal(up_door_is_usable(&v), !used);
            v.number[i] = low - 1 - fabs(low);
            assert_int_equal(up_door_is_usable(&v), !used);
        }
    }
}

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

/* 3 m there and 3 m back of 1.5 mm2 copper at 20 degC: 6/(58 1.5) = 68.97 mohm (IEC 60028); battery and plugs on top. At
 * 60 degC the wire's share is 1.1572 times that (copper, 0.00393 per kelvin). */
static void wires_count_there_and_back_and_at_their_temperature(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.wire_length = 3;
    v.wire_area = 1.5e-6;
    v.supply_resistance = 0.010;
    v.contact_resistance = 0.020;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    near(door.source_resistance, 0.030 + 0.068966, 1e-6);
    assert_int_equal(up_door_prepare(&v, 333.15, &door), UP_OK);
    near(door.source_resistance, 0.030 + 0.068966 * 1.1572, 1e-6);
}

/* A body turning n times slower counts by 1/n^2 (equal motion energy, any textbook). Wheel of 73 teeth, one start. */
static void the_worm_wheel_counts_by_the_square_of_its_ratio(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.wheel_teeth = 73;
    v.worm_starts = 1;
    v.armature_inertia = 1.5e-5;
    v.wheel_inertia = 5.329e-2;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    near(door.armature_inertia, 1.5e-5 + 1e-5, 1e-12);
    near(door.armature_inertia * door.per_armature_inertia, 1, 1e-15);
    near(door.worm_ratio * door.per_worm_ratio, 1, 1e-15);
}

/* Drawer that is pulled off its middle: the pull F at a lever e is balanced by forces F e / h on either side of guides of
 * length h, each with friction mu: share 2 mu e / h (statics, any textbook). 0.25, 40 mm, 400 mm: 5 %. */
static void an_off_centre_pull_costs_twice_friction_times_lever_over_length(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.channel_friction = 0.25;
    v.glass_guide = 0.400;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    near(up_glass_tilt_share(&door, 0.040), 0.05, 1e-15);
    near(up_glass_tilt_share(&door, -0.040), 0.05, 1e-15);
}

/* Assumptions of this tool, as docs/model.md states them: wet channels drag 0.7 times, dirty ones 1.5 times; each kelvin
 * below 20 degC adds the sheet's growth, here 2 %, to drag and header; warmth takes nothing off. */
static void drag_follows_the_state_of_the_channels_and_the_cold(void **state) {
    (void)state;
    static const double factor[] = {1.0, 0.7, 1.5}, celsius[] = {20, 45, -20}, cold[] = {1, 1, 1.8};
    for (int channel = 0; channel < 3; channel++) {
        for (int t = 0; t < 3; t++) {
            up_values v;
            static up_door door;
            up_values_fallback(UP_FAMILY_RACK, &v);
            v.run_channel_drag = 40;
            v.channel_engaged = 0.5;
            v.belt_drag = 20;
            v.cold_growth = 0.02;
            v.channel_state = channel;
            v.drag_count = 2;
            v.drag_position[0] = 0.1;
            v.drag_position[1] = 0.2;
            v.drag_force[1] = 10;
            assert_int_equal(up_door_prepare(&v, celsius[t] + 273.15, &door), UP_OK);
            const double f = factor[channel] * cold[t];
            double slope;
            /* at 50 mm: 0.5 m and twice 50 mm engaged; at 150 mm half of the extra 10 N as well, rising at 1.5 times 100 N/m */
            near(up_glass_drag(&door, 0.05, &slope), f * (40 * 0.6 + 20), 1e-9);
            near(slope, f * 80, 1e-9);
            near(up_glass_drag(&door, 0.15, &slope), f * (40 * 0.8 + 20 + 5), 1e-9);
            near(slope, f * (80 + 150), 1e-6);
            near(up_glass_drag(&door, 0.35, NULL), f * (40 * 1.2 + 20 + 10), 1e-9);
            near(up_glass_drag(&door, 0.125, NULL), f * (40 * 0.75 + 20 + 10 * 0.15625),
                 1e-9); /* u u (3 - 2 u), u = 1/4 */
            near(door.header_stiffness, cold[t] * v.header_stiffness, 1e-6);
        }
    }
}

/* Sliding speed is the worm's pitch-line speed over cos(lead angle) (handbooks of gearing); at the sheet's friction speed half
 * the static excess is left, as the entry says. Worm of 40 mm with a lead of 30 degrees, 20 rad/s: 0.4/0.8660 = 0.4619 m/s. */
static void worm_friction_fades_with_the_speed_of_its_flanks(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.worm_lead_angle = 0.5235987755982988;
    v.worm_diameter = 0.040;
    v.worm_friction = 0.08;
    v.worm_static_friction = 0.14;
    v.worm_friction_speed = 0.46188;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    near(up_worm_friction_of(&door, 20), 0.11, 1e-6);
    near(up_worm_friction_of(&door, 0), 0.14, 1e-15);
    near(up_worm_friction_of(&door, -20), 0.11, 1e-6);
}

/* A counterbalance is measured on the lift arm; ten teeth on a sector of 100 feel a tenth of it. Straight between the ends. */
static void the_counterbalance_acts_through_the_sectors_gear(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &v);
    v.pinion_teeth = 10;
    v.sector_teeth = 100;
    v.balance_bottom = 5;
    v.balance_top = 2;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    near(door.balance_start, 0.5, 1e-15);
    near(door.balance_start + door.balance_slope * door.top_angle, 0.2, 1e-15);
}

/* ---- what is flashed into the controller ------------------------------------------------------------------------------- */

/* Edges per metre on a rack: 2 pulses make 4 edges a turn of the armature, 73 turns a turn of the pinion, 2 pi 17 mm of rack
 * for that: 2733.7. Stroke of 420 mm: 1148. */
static void the_controllers_lengths_become_edges(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.pinion_teeth = 17;
    v.pinion_module = 2e-3;
    v.worm_starts = 1;
    v.wheel_teeth = 73;
    v.encoder_pulses = 2;
    v.glass_travel = 0.420;
    v.reverse_distance = 0.150;
    v.detect_mask = 0.012;
    v.detect_learning = 0.025;
    v.zone_low = 0.004;
    v.tick = 0.002;
    v.debounce = 0.009;
    v.stall_time = 0.15;
    v.reverse_pause = 0.03;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    const up_control_settings *c = &door.control;
    near(c->stroke_edges, 1148, 0.5);
    near(c->reverse_edges, 410, 0.5);
    near(c->end_zone_edges, 0.5 * 10.9 - 0.3 * c->detector.supply_edges, 1.1); /* half of the zone, less the lag */
    near(c->weak_mv, 500 * v.supply_voltage, 0.5);
    near(c->limit_edges, 12e-3 * 2733.7 + door.taught_stretch * 2733.7, 1);
    near(c->detector.mask_edges, 32.8, 0.5);
    near(c->detector.learning_edges, 68.3, 0.5);
    assert_int_equal(c->debounce_ticks, 5);
    assert_int_equal(c->tick_us, 2000);
    assert_int_equal(c->stall_us, 150000);
    assert_int_equal(c->reverse_pause_us, 30000);
}

/* The detector's units, by its header: N times 16; 1/64 rad/s per mV times 4096 for a motor of 0.024 V s; mV; window times
 * edge spacing times 64e6. */
static void the_detectors_constants_have_its_units(void **state) {
    (void)state;
    up_values v;
    static up_door door;
    up_values_fallback(UP_FAMILY_RACK, &v);
    v.detect_force = 45;
    v.detect_edges = 3;
    v.torque_constant = 0.024;
    v.brush_drop = 0.8;
    v.encoder_pulses = 2;
    assert_int_equal(up_door_prepare(&v, 293.15, &door), UP_OK);
    const up_detector_settings *d = &door.control.detector;
    assert_int_equal(d->threshold, 720);
    assert_int_equal(d->confirm_edges, 3);
    assert_int_equal(d->brush_mv, 800);
    assert_int_equal(d->window, 4);
    near(d->free_speed_gain, 64 / 0.024 / 1000 * 4096, 0.6);
    near(d->speed_numerator, 2 * 3.14159265358979323846 * 64e6, 1); /* a whole turn */
    assert_true(((uint32_t)door.control.stroke_edges >> d->zone_shift) < UP_DETECTOR_ZONES);
}

static void absent_is_no_number(void **state) {
    (void)state;
    assert_true(up_is_absent(UP_ABSENT));
    assert_false(up_is_absent(0));
    assert_false(up_is_absent(INFINITY));
    for (int i = 0; i < (int)UP_STATUS_COUNT; i++) {
        assert_true(strlen(up_status_text((up_status)i)) > 3);
    }
    assert_non_null(up_status_text((up_status)1000));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_and_members_share_their_storage),
        cmocka_unit_test(typical_values_lie_within_their_bounds),
        cmocka_unit_test(a_typical_door_of_every_family_can_be_prepared),
        cmocka_unit_test(a_family_has_its_own_typical_values),
        cmocka_unit_test(only_numbers_of_the_family_count),
        cmocka_unit_test(wires_count_there_and_back_and_at_their_temperature),
        cmocka_unit_test(the_worm_wheel_counts_by_the_square_of_its_ratio),
        cmocka_unit_test(an_off_centre_pull_costs_twice_friction_times_lever_over_length),
        cmocka_unit_test(drag_follows_the_state_of_the_channels_and_the_cold),
        cmocka_unit_test(worm_friction_fades_with_the_speed_of_its_flanks),
        cmocka_unit_test(the_counterbalance_acts_through_the_sectors_gear),
        cmocka_unit_test(the_controllers_lengths_become_edges),
        cmocka_unit_test(the_detectors_constants_have_its_units),
        cmocka_unit_test(absent_is_no_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

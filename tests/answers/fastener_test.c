/* Threads, proof loads and torques against the standards' tables and published torque tables. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "analysis/refit/fastener.h"

#define NEAR(value, wanted, by) assert_true(fabs((value) - (wanted)) <= (by))

static const up_thread m6 = {6e-3, 1e-3};

static void thread_sizes_are_those_of_iso_724(void **state) {
    (void)state;
    /* ISO 724, basic dimensions, M6: d2 5.350, d1 4.917; M8: 7.188, 6.647; M10: 9.026, 8.376. From memory. */
    NEAR(1e3 * up_thread_pitch_diameter(m6), 5.350, 0.001);
    NEAR(1e3 * up_thread_minor_diameter(m6), 4.917, 0.001);
    NEAR(1e3 * up_thread_pitch_diameter((up_thread){8e-3, 1.25e-3}), 7.188, 0.001);
    NEAR(1e3 * up_thread_minor_diameter((up_thread){8e-3, 1.25e-3}), 6.647, 0.001);
    NEAR(1e3 * up_thread_pitch_diameter((up_thread){10e-3, 1.5e-3}), 9.026, 0.001);
    NEAR(1e3 * up_thread_minor_diameter((up_thread){10e-3, 1.5e-3}), 8.376, 0.001);
    NEAR(1e3 * up_thread_root_diameter(m6), 4.773, 0.001); /* d3 of M6, ISO 898-1, from memory */
}

static void stress_areas_are_those_of_iso_898_1(void **state) {
    (void)state;
    /* ISO 898-1, nominal stress area, coarse pitch. M6 20.1 mm2: read in a public table that cites the standard. The
     * others from memory. */
    static const struct {
        double diameter, area;
    } rows[] = {{3, 5.03}, {4, 8.78}, {5, 14.2}, {6, 20.1}, {8, 36.6}, {10, 58.0}, {12, 84.3}, {14, 115}, {16, 157}};
    assert_int_equal(up_thread_size_count(), (int)(sizeof rows / sizeof rows[0]));
    for (int i = 0; i < up_thread_size_count(); i++) {
        const up_thread_size *size = up_thread_size_of(1e-3 * rows[i].diameter);
        assert_non_null(size);
        assert_ptr_equal(size, up_thread_size_at(i));
        const double area = 1e6 * up_thread_stress_area((up_thread){size->diameter, size->coarse_pitch});
        NEAR(area, rows[i].area, 0.005 * rows[i].area); /* three digits */
    }
    NEAR(1e6 * up_thread_stress_area((up_thread){8e-3, 1e-3}), 39.2, 0.05); /* M8x1, the same table, from memory */
    assert_null(up_thread_size_of(7e-3));
}

static void loads_of_m6_are_those_of_iso_898_1(void **state) {
    (void)state;
    /* Least ultimate load: read in a public table that cites ISO 898-1. */
    NEAR(up_screw_ultimate_load(m6, UP_SCREW_C8_8), 16100, 50);
    NEAR(up_screw_ultimate_load(m6, UP_SCREW_C10_9), 20900, 50);
    /* Proof load, ISO 898-1, from memory: printed with three digits. */
    NEAR(up_screw_proof_load(m6, UP_SCREW_C8_8), 11600, 100);
    NEAR(up_screw_proof_load(m6, UP_SCREW_C10_9), 16700, 50);
    NEAR(up_screw_proof_load((up_thread){8e-3, 1.25e-3}, UP_SCREW_C8_8), 21200, 50);
    NEAR(up_screw_proof_load((up_thread){10e-3, 1.5e-3}, UP_SCREW_C8_8), 33700, 100);
}

static void spanners_are_those_of_iso_4014(void **state) {
    (void)state;
    /* ISO 4014 and 4017: M6 10 mm read in public tables, M8 13 and M10 16 likewise (17 in the older series). */
    NEAR(1e3 * up_thread_size_of(6e-3)->across_flats, 10, 1e-9);
    NEAR(1e3 * up_thread_size_of(8e-3)->across_flats, 13, 1e-9);
    NEAR(1e3 * up_thread_size_of(10e-3)->across_flats, 16, 1e-9);
    NEAR(1e3 * up_thread_size_of(6e-3)->bearing, 8.9, 0.05); /* ISO 4032: d_w at least 8.9, read in a public table */
}

static void torque_by_nut_factor_at_three_quarters_of_the_proof_load(void **state) {
    (void)state;
    /* T = K F d with K 0.20 dry and 0.15 oiled (from memory), computed by hand for M6: 8.8 with 8744 N gives 10.5 and
     * 7.9 N m, 10.9 with 12 512 N gives 15.0 and 11.3 N m. */
    const double f88 = 0.75 * up_screw_proof_load(m6, UP_SCREW_C8_8);
    const double f109 = 0.75 * up_screw_proof_load(m6, UP_SCREW_C10_9);
    NEAR(f88, 8744, 15);
    NEAR(f109, 12512, 20);
    NEAR(up_torque_by_nut_factor(up_lubrication_nut_factor(UP_LUBRICATION_DRY), f88, 6e-3), 10.5, 0.05);
    NEAR(up_torque_by_nut_factor(up_lubrication_nut_factor(UP_LUBRICATION_OILED), f88, 6e-3), 7.9, 0.05);
    NEAR(up_torque_by_nut_factor(up_lubrication_nut_factor(UP_LUBRICATION_DRY), f109, 6e-3), 15.0, 0.05);
    NEAR(up_torque_by_nut_factor(up_lubrication_nut_factor(UP_LUBRICATION_OILED), f109, 6e-3), 11.3, 0.05);
}

static void torque_by_friction_meets_the_published_table(void **state) {
    (void)state;
    /* Read in a published torque table: M6, friction 0.125, 90 % of yield by tension and torsion: class 8.8 9.25 kN and
     * 9.5 N m, class 10.9 13.0 kN and 13.0 N m. The second pair does not quite hang together (9.5 / 9.25 is 1.027,
     * 13.0 / 13.0 is 1.0), and its 10.9 is of the day when the yield was 900 MPa, not 940: so 8.8 to one per cent, 10.9
     * to five. */
    NEAR(up_torque_by_friction(m6, 0.125, 0.125, 9250), 9.5, 0.05);
    NEAR(up_preload_combined(m6, UP_SCREW_C8_8, 0.125, 0.9), 9250, 0.01 * 9250);
    NEAR(up_preload_combined(m6, UP_SCREW_C10_9, 0.125, 0.9) * 900 / 940, 13000, 0.01 * 13000);
    NEAR(up_torque_by_friction(m6, 0.125, 0.125, 13000), 13.0, 0.05 * 13.0);
    assert_true(isnan(up_torque_by_friction((up_thread){7e-3, 1e-3}, 0.1, 0.1, 1000)));
}

static void torques_lie_in_the_spread_of_published_charts(void **state) {
    (void)state;
    /* Read in a published chart for M6: class 8.8 8.9 N m lubricated and 11.3 dry, class 10.9 13 and 16.5. Charts for one
     * screw differ by 20 % as a rule, and so may we. */
    static const struct {
        up_screw_class screw_class;
        up_lubrication lubrication;
        double torque;
    } chart[] = {{UP_SCREW_C8_8, UP_LUBRICATION_OILED, 8.9},
                 {UP_SCREW_C8_8, UP_LUBRICATION_DRY, 11.3},
                 {UP_SCREW_C10_9, UP_LUBRICATION_OILED, 13},
                 {UP_SCREW_C10_9, UP_LUBRICATION_DRY, 16.5}};
    for (size_t i = 0; i < sizeof chart / sizeof chart[0]; i++) {
        up_tightening out;
        const up_screw screw = {m6, chart[i].screw_class, chart[i].lubrication, UP_THREAD_IN_NUT};
        assert_int_equal(up_tighten(&screw, &out), 0);
        NEAR(out.by_nut_factor / chart[i].torque, 1, 0.2);
        NEAR(out.by_friction / chart[i].torque, 1, 0.2);
        assert_true(out.set <= chart[i].torque * 1.02); /* and rather below than above */
    }
}

static void without_friction_the_torque_is_that_of_an_inclined_plane(void **state) {
    (void)state;
    /* One turn of the torque lifts the load by one pitch: 2 pi T = F P, exactly. */
    NEAR(up_torque_by_friction(m6, 0, 0, 1000), 1000 * 1e-3 / 6.283185307179586, 1e-12);
    /* Without friction in the thread only the lead twists the shank: closed form by hand, 4 P / (2 pi d0) = 0.12578 */
    const double free_of_torsion = 0.9 * 640e6 * up_thread_stress_area(m6);
    NEAR(up_preload_combined(m6, UP_SCREW_C8_8, 0, 0.9) / free_of_torsion, 1 / sqrt(1 + 3 * 0.12577 * 0.12577), 1e-4);
}

static void what_holds_the_thread_caps_the_torque(void **state) {
    (void)state;
    up_tightening nut;
    up_tightening weld;
    up_tightening plastic;
    up_screw screw = {m6, UP_SCREW_C8_8, UP_LUBRICATION_OILED, UP_THREAD_IN_NUT};
    assert_int_equal(up_tighten(&screw, &nut), 0);
    assert_false(nut.capped);
    NEAR(nut.set, 7.9, 0.05);
    NEAR(nut.highest, 9.0, 0.05);
    screw.into = UP_THREAD_IN_PLASTIC;
    assert_int_equal(up_tighten(&screw, &plastic), 0);
    /* M6 into plastic 4 to 7 N m, window-lift screws into weld nuts 8 to 10 N m: common practice, no source. */
    assert_true(plastic.capped);
    NEAR(plastic.highest, 7, 1e-9);
    assert_true(plastic.set >= 4 && plastic.set <= 7);
    screw.into = UP_THREAD_IN_WELD_NUT;
    screw.screw_class = UP_SCREW_C10_9;
    screw.lubrication = UP_LUBRICATION_DRY;
    assert_int_equal(up_tighten(&screw, &weld), 0);
    assert_true(weld.capped);
    assert_true(weld.set >= 8 && weld.set < weld.highest);
    NEAR(weld.highest, 10, 1e-9);
    /* A torque says little of the preload: more friction, less of it. */
    assert_true(weld.preload_low < weld.preload && weld.preload < weld.preload_high);
    assert_true(nut.preload_high < up_screw_proof_load(m6, UP_SCREW_C8_8) * 1.01);
}

static void no_torque_pulls_a_screw_beyond_its_proof_load(void **state) {
    (void)state;
    /* ISO 898-1: up to the proof load nothing gives for good; so however slippery the thread, the set torque stays below. */
    for (int i = 0; i < up_thread_size_count() * UP_SCREW_CLASS_COUNT * UP_LUBRICATION_COUNT * UP_THREAD_IN_COUNT;
         i++) {
        const up_thread_size *size = up_thread_size_at(i % up_thread_size_count());
        const int rest = i / up_thread_size_count();
        const up_screw screw = {{size->diameter, size->coarse_pitch},
                                (up_screw_class)(rest % UP_SCREW_CLASS_COUNT),
                                (up_lubrication)(rest / UP_SCREW_CLASS_COUNT % UP_LUBRICATION_COUNT),
                                (up_thread_in)(rest / UP_SCREW_CLASS_COUNT / UP_LUBRICATION_COUNT)};
        up_tightening out;
        assert_int_equal(up_tighten(&screw, &out), 0);
        assert_true(out.preload_high < out.proof_load);
        assert_true(out.set <= out.highest && out.highest <= out.cap && out.set > 0);
    }
}

static void screws_that_are_none_are_refused(void **state) {
    (void)state;
    up_tightening out;
    up_screw screw = {{6e-3, 2.5e-3}, UP_SCREW_C8_8, UP_LUBRICATION_DRY, UP_THREAD_IN_NUT};
    assert_int_equal(up_tighten(&screw, &out), -1);
    screw.thread = (up_thread){7e-3, 1e-3};
    assert_int_equal(up_tighten(&screw, &out), -1);
    screw.thread = (up_thread){6e-3, -1e-3};
    assert_int_equal(up_tighten(&screw, &out), -1);
    screw.thread = m6;
    screw.into = UP_THREAD_IN_COUNT;
    assert_int_equal(up_tighten(&screw, &out), -1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(thread_sizes_are_those_of_iso_724),
        cmocka_unit_test(stress_areas_are_those_of_iso_898_1),
        cmocka_unit_test(loads_of_m6_are_those_of_iso_898_1),
        cmocka_unit_test(spanners_are_those_of_iso_4014),
        cmocka_unit_test(torque_by_nut_factor_at_three_quarters_of_the_proof_load),
        cmocka_unit_test(torque_by_friction_meets_the_published_table),
        cmocka_unit_test(torques_lie_in_the_spread_of_published_charts),
        cmocka_unit_test(without_friction_the_torque_is_that_of_an_inclined_plane),
        cmocka_unit_test(what_holds_the_thread_caps_the_torque),
        cmocka_unit_test(no_torque_pulls_a_screw_beyond_its_proof_load),
        cmocka_unit_test(screws_that_are_none_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Units against sources outside the project. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "core/door/values.h"
#include "io/entry_texts.h"
#include "io/units.h"

static double read_as(const char *text, const char *wanted) {
    up_units units;
    double value = NAN;
    up_units_init(&units);
    up_unit_status status = up_units_read(&units, text, wanted, &value, NULL, NULL);
    up_units_free(&units);
    assert_int_equal(status, UP_UNIT_OK);
    return value;
}

static up_unit_status status_of(const char *text, const char *wanted) {
    up_units units;
    double value = NAN;
    up_units_init(&units);
    up_unit_status status = up_units_read(&units, text, wanted, &value, NULL, NULL);
    up_units_free(&units);
    return status;
}

static void assert_near(double value, double wanted, double relative) {
    if (!(fabs(value - wanted) <= relative * fabs(wanted))) {
        fail_msg("%.15g is not %.15g within %g", value, wanted, relative);
    }
}

/* Exact by definition: the international yard and pound agreement of 1959 (0.9144 m, 0.453 592 37 kg), standard
 * acceleration of free fall 9.806 65 m/s2 (3rd CGPM, 1901), so the pound-force is 4.448 221 615 260 5 N. */
static void inch_pound_units_convert_exactly(void **state) {
    (void)state;
    assert_near(read_as("13.9 in", "mm"), 353.06, 1e-14);
    assert_near(read_as("12 ft", "m"), 3.6576, 1e-14);
    assert_near(read_as("8 lb", "kg"), 8 * 0.45359237, 1e-14);
    assert_near(read_as("16 oz", "kg"), 0.45359237, 1e-12);
    assert_near(read_as("1 lbf/in", "N/mm"), 4.4482216152605 / 25.4, 1e-13);
    assert_near(read_as("1 kgf", "N"), 9.80665, 1e-14);
}

/* Temperature: 60 degF = (60 - 32) 5/9 degC; a difference has no offset. */
static void temperatures_carry_their_offset_and_differences_do_not(void **state) {
    (void)state;
    assert_near(read_as("60 degF", "degC"), 28.0 * 5 / 9, 1e-12);
    assert_near(read_as("293.15 K", "degC"), 20, 1e-12);
    assert_near(read_as("2.5 degC/W", "K/W"), 2.5, 1e-14);
    assert_near(read_as("0.39 %/K", "1/K"), 0.0039, 1e-12);
}

/* ASTM B258, Standard Specification for Standard Nominal Diameters and Cross-Sectional Areas of AWG Sizes of Solid Round
 * Wires: 0000 is 0.4600 in and 36 is 0.0050 in by definition; nominal diameters 10: 0.1019 in, 18: 0.0403 in,
 * 24: 0.0201 in (printed to a tenth of a mil). */
static void wire_gauges_match_the_printed_diameters(void **state) {
    static const struct {
        double gauge, inches, half_digit;
    } rows[] = {{-3, 0.46, 1e-9}, {36, 0.005, 1e-9}, {10, 0.1019, 5e-5}, {18, 0.0403, 5e-5}, {24, 0.0201, 5e-5}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double diameter = sqrt(4 * up_units_awg_area(rows[i].gauge) / acos(-1.0)) / 25.4;
        assert_true(fabs(diameter - rows[i].inches) <= rows[i].half_digit);
    }
    assert_near(read_as("18 AWG", "mm2"), 0.8230, 2e-4); /* 0.823 mm2 in every wire table */
}

static void turning_speeds_and_angles_are_no_plain_numbers(void **state) {
    (void)state;
    assert_near(read_as("4100 rpm", "rpm"), 4100, 1e-14);
    assert_near(read_as("1 rev/s", "rpm"), 60, 1e-12);
    assert_near(read_as("0.3 rad", "deg"), 0.3 * 180 / acos(-1.0), 1e-12);
    assert_int_equal(status_of("70 Hz", "rpm"), UP_UNIT_WRONG_DIMENSION);
    assert_int_equal(status_of("5 deg", "1"), UP_UNIT_WRONG_DIMENSION);
    assert_int_equal(status_of("5 %", "deg"), UP_UNIT_WRONG_DIMENSION);
    assert_near(read_as("5.5 turns", "count"), 5.5, 1e-14);
}

static void what_the_library_would_take_and_a_person_did_not_mean_is_refused(void **state) {
    static const char *const texts[] = {"3 lb 4", "5 mm @ 3", "5 2 mm", "5 lg(re 1 mm)", "5 mm*2", "5 x", "5"};
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        assert_int_not_equal(status_of(texts[i], i == 0 ? "kg" : "mm"), UP_UNIT_OK);
    }
    assert_int_equal(status_of("3 s", "1/s"), UP_UNIT_WRONG_DIMENSION);   /* reciprocal, not linear */
    assert_int_equal(status_of("20 C", "degC"), UP_UNIT_WRONG_DIMENSION); /* coulomb */
}

static void one_unit_may_be_spelt_in_several_ways(void **state) {
    static const char *const inertias[] = {"2 kg.mm2", "2 kg mm2", "2 kg*mm^2", "2 kg mm**2", "2 kg·mm²", "20 g.cm2"};
    (void)state;
    for (size_t i = 0; i < sizeof inertias / sizeof inertias[0]; i++) {
        assert_near(read_as(inertias[i], "kg.mm2"), 2, 1e-12);
    }
    assert_near(read_as("2 Nm", "N.mm"), 2000, 1e-12);
    assert_near(read_as("400 mΩ", "ohm"), 0.4, 1e-12);
    assert_near(read_as("300 N/mm2", "MPa"), 300, 1e-12);
    assert_near(read_as("24 mV.s/rad", "N.m/A"), 0.024, 1e-12); /* the same thing by V A = N m/s */
}

/* The list states how many of a unit make one SI unit; the units library is asked whether that is so. */
static void factors_of_the_entry_list_agree_with_the_units_library(void **state) {
    static const char *const si[][2] = {
        {"mm", "m"},         {"deg", "rad"},   {"mohm", "ohm"}, {"mH", "H"},
        {"kg.mm2", "kg.m2"}, {"N.mm", "N.m"},  {"N/mm", "N/m"}, {"kN", "N"},
        {"MPa", "Pa"},       {"%", "1"},       {"ms", "s"},     {"mm2", "m2"},
        {"mm/s", "m/s"},     {"rpm", "rad/s"}, {"degC", "K"},   {"N.mm.s/rad", "N.m.s/rad"}};
    up_units units;
    int looked_at = 0;
    (void)state;
    up_units_init(&units);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        const up_entry_text *text = up_entry_text_of_number((up_number)i);
        const char *wanted = text->unit; /* SI already, unless listed above */
        double factor = 0, offset = 0;
        for (size_t j = 0; j < sizeof si / sizeof si[0]; j++) {
            wanted = strcmp(text->unit, si[j][0]) == 0 ? si[j][1] : wanted;
        }
        assert_int_equal(up_units_convert(&units, text->unit, wanted, &factor, &offset), UP_UNIT_OK);
        assert_near(text->per_si * factor, 1, 1e-12);
        assert_near(up_number_si((up_number)i, 10), 10 * factor + offset, 1e-12);
        looked_at += wanted != text->unit;
    }
    up_units_free(&units);
    assert_true(looked_at > 40);
}

static void the_database_is_not_read_for_listed_units(void **state) {
    up_units units;
    double factor, offset;
    (void)state;
    up_units_init(&units);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        const char *unit = up_entry_text_of_number((up_number)i)->unit;
        assert_int_equal(up_units_convert(&units, unit, unit, &factor, &offset), UP_UNIT_OK);
    }
    assert_null(units.system);
    up_units_free(&units);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inch_pound_units_convert_exactly),
        cmocka_unit_test(temperatures_carry_their_offset_and_differences_do_not),
        cmocka_unit_test(wire_gauges_match_the_printed_diameters),
        cmocka_unit_test(turning_speeds_and_angles_are_no_plain_numbers),
        cmocka_unit_test(what_the_library_would_take_and_a_person_did_not_mean_is_refused),
        cmocka_unit_test(one_unit_may_be_spelt_in_several_ways),
        cmocka_unit_test(factors_of_the_entry_list_agree_with_the_units_library),
        cmocka_unit_test(the_database_is_not_read_for_listed_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

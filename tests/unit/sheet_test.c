/* The door sheet: what is read, and what is said about what cannot be read. The expected values are worked out by hand
 * from docs/sheet-format.md, whose conversions tests/unit/units_test.c holds against their sources. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/entry_texts.h"
#include "io/sheet.h"
#include "io/sheet_blank.h"

#define HEAD "regulator:\n  family: crossed-arms\n"

typedef struct fixture {
    up_sheet sheet;
    up_findings findings;
    int status;
} fixture;

static void read_bytes(fixture *f, const char *text, size_t size) {
    f->findings = (up_findings){0};
    f->status = up_sheet_read_text(text, size, "t.yaml", &f->sheet, &f->findings);
}

static void read_sheet(fixture *f, const char *text) {
    read_bytes(f, text, strlen(text));
}

static void done(fixture *f) {
    up_sheet_free(&f->sheet);
    up_findings_free(&f->findings);
}

static void assert_near(double value, double wanted) {
    if (!(fabs(value - wanted) <= 1e-9 * fabs(wanted) + 1e-15)) {
        fail_msg("%.15g is not %.15g", value, wanted);
    }
}

/* One entry of the section glass or another, in a sheet that is sound otherwise. */
static void assert_entry(const char *section_and_line, up_number number, double value, double spread, up_mark mark) {
    fixture f;
    char text[400];
    snprintf(text, sizeof text, HEAD "%s\n", section_and_line);
    read_sheet(&f, text);
    if (f.findings.errors > 0) {
        up_findings_print(&f.findings, section_and_line, stderr);
    }
    assert_int_equal(f.status, 0);
    assert_near(f.sheet.known.values.number[number], value);
    assert_near(f.sheet.known.spread[number], spread);
    assert_int_equal(f.sheet.known.mark[number], mark);
    done(&f);
}

/* Exactly one finding, of this code at this place about this entry, with no empty phrase. */
static void assert_finding(const char *text, up_finding_code code, int line, int column, const char *entry) {
    fixture f;
    read_sheet(&f, text);
    if (f.findings.count != 1) {
        up_findings_print(&f.findings, text, stderr);
    }
    assert_int_equal(f.findings.count, 1);
    const up_finding *finding = &f.findings.item[0];
    assert_string_equal(up_finding_word(finding->code), up_finding_word(code));
    assert_int_equal(finding->line, line);
    assert_int_equal(finding->column, column);
    assert_string_equal(finding->entry, entry);
    assert_true(finding->found[0] != '\0' && finding->expected[0] != '\0' && finding->mend[0] != '\0');
    assert_int_equal(f.status, finding->severity == UP_SEVERITY_ERROR ? 2 : 0);
    done(&f);
}

static void compact_notation_gives_value_tolerance_and_origin(void **state) {
    (void)state;
    assert_entry("glass:\n  mass: 3.6 kg ±0.1 measured", UP_NUMBER_glass_mass, 3.6, 0.1, UP_MARK_MEASURED);
    assert_entry("glass:\n  mass: 3.6 kg +/-0.1, measured", UP_NUMBER_glass_mass, 3.6, 0.1, UP_MARK_MEASURED);
    assert_entry("glass:\n  mass: 3.6 kg measured +- 100 g", UP_NUMBER_glass_mass, 3.6, 0.1, UP_MARK_MEASURED);
    assert_entry("glass:\n  mass: 8 lb ±5 % read-off", UP_NUMBER_glass_mass, 3.62873896, 0.181436948, UP_MARK_READ_OFF);
    assert_entry("glass:\n  travel: 388..392 mm assumed", UP_NUMBER_glass_travel, 0.39, 0.002, UP_MARK_ASSUMED);
    assert_entry("glass:\n  travel: 15.4 in ±0.1 fitted", UP_NUMBER_glass_travel, 0.39116, 0.00254, UP_MARK_FITTED);
    assert_entry("worm:\n  wheel_teeth: 71", UP_NUMBER_wheel_teeth, 71, 0, UP_MARK_COUNTED);
    assert_entry("worm:\n  wheel_teeth: 71 teeth", UP_NUMBER_wheel_teeth, 71, 0, UP_MARK_COUNTED);
    assert_entry("seal:\n  static_extra: 25 % ±10 %", UP_NUMBER_static_extra, 0.25, 0.10, UP_MARK_MEASURED);
    assert_entry("motor:\n  protector_trip: 302 degF ±9", UP_NUMBER_protector_trip, 423.15, 5, UP_MARK_MEASURED);
    assert_entry("measured:\n  free_speed: 60 rpm ±3", UP_NUMBER_measured_free_speed, 6.283185307179586,
                 0.3141592653589793, UP_MARK_MEASURED);
}

static void long_form_says_the_same_as_the_short(void **state) {
    fixture f;
    (void)state;
    assert_entry("glass:\n  mass: {value: 3.6 kg, tolerance: 0.1 kg, from: measured}", UP_NUMBER_glass_mass, 3.6, 0.1,
                 UP_MARK_MEASURED);
    assert_entry("glass:\n  mass:\n    value: 3.6 kg\n    tolerance: ±5 %\n    from: read-off", UP_NUMBER_glass_mass,
                 3.6, 0.18, UP_MARK_READ_OFF);
    read_sheet(&f, HEAD "glass:\n  mass: {value: 3.6 kg ±0.1, note: with its clamps}\n");
    assert_int_equal(f.status, 0);
    assert_string_equal(f.sheet.number_note[UP_NUMBER_glass_mass], "with its clamps");
    done(&f);
}

/* docs/sheet-format.md: a quarter of the typical tolerance in proportion (0.5/3.6 of 4 kg, by four), at least one unit of
 * the last digit; a tenth for read-off; the whole for assumed; 3 % where there is no typical value. */
static void tolerances_that_are_not_written_follow_the_stated_rule(void **state) {
    (void)state;
    assert_entry("glass:\n  mass: 4.00 kg measured", UP_NUMBER_glass_mass, 4, 0.5 / 3.6 * 4 / 4, UP_MARK_MEASURED);
    assert_entry("glass:\n  mass: 4 kg", UP_NUMBER_glass_mass, 4, 1, UP_MARK_MEASURED);
    assert_entry("glass:\n  mass: 4.00 kg read-off", UP_NUMBER_glass_mass, 4, 0.5 / 3.6 * 4 / 10, UP_MARK_READ_OFF);
    assert_entry("glass:\n  mass: 4.00 kg assumed", UP_NUMBER_glass_mass, 4, 0.5 / 3.6 * 4, UP_MARK_ASSUMED);
    assert_entry("measured:\n  stall_current: 20.0 A", UP_NUMBER_measured_stall_current, 20, 0.6, UP_MARK_MEASURED);
    assert_entry("measured:\n  pinion_turns: 2.25", UP_NUMBER_measured_turns, 2.25, 0, UP_MARK_COUNTED);
    assert_entry("measured:\n  pinion_turns: 2.2 measured", UP_NUMBER_measured_turns, 2.2, 0.1, UP_MARK_MEASURED);
}

static void wire_gauge_is_understood_with_its_crooked_tolerance(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, HEAD "supply:\n  wire_area: 16 AWG ±1 read-off\n");
    assert_int_equal(f.status, 0);
    /* ASTM B258: 15, 16, 17 are 1.650, 1.309, 1.038 mm2. */
    assert_true(fabs(f.sheet.known.values.wire_area - 1.309e-6) < 1e-9);
    assert_true(fabs(f.sheet.known.spread[UP_NUMBER_wire_area] - 0.306e-6) < 1e-9);
    done(&f);
}

static void what_is_left_out_is_typical_and_assumed(void **state) {
    fixture f;
    up_values typical;
    double spread[UP_NUMBER_COUNT];
    (void)state;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &typical);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, spread);
    read_sheet(&f, HEAD);
    assert_int_equal(f.status, 0);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        assert_true(f.sheet.known.values.number[i] == typical.number[i] || up_is_absent(typical.number[i]));
        assert_true(f.sheet.known.spread[i] == spread[i]);
        assert_int_equal(f.sheet.known.mark[i], UP_MARK_ASSUMED);
        assert_false(up_sheet_has_number(&f.sheet, (up_number)i));
    }
    assert_true(up_sheet_has_choice(&f.sheet, UP_CHOICE_family));
    assert_string_equal(f.sheet.title, "");
    done(&f);
}

static void every_entry_keeps_its_place_title_and_notes_are_kept(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, "title: A door\nnotes:\n  - one\n  - two\n" HEAD "glass:\n  travel:   391 mm\n  mass: 3.6 kg\n");
    assert_int_equal(f.status, 0);
    assert_string_equal(f.sheet.title, "A door");
    assert_string_equal(f.sheet.notes, "one\ntwo");
    assert_int_equal(f.sheet.number_place[UP_NUMBER_glass_travel].line, 8);
    assert_int_equal(f.sheet.number_place[UP_NUMBER_glass_travel].column, 13);
    assert_int_equal(f.sheet.number_place[UP_NUMBER_glass_mass].line, 9);
    assert_int_equal(f.sheet.choice_place[UP_CHOICE_family].line, 6);
    done(&f);
}

static void drag_points_are_pairs_from_the_bottom_up(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, HEAD "seal:\n  drag_points: [[0 mm, 3 N], [12 in, 2 lbf]]\n");
    assert_int_equal(f.status, 0);
    assert_int_equal(f.sheet.known.values.drag_count, 2);
    assert_near(f.sheet.known.values.drag_position[1], 0.3048);
    assert_near(f.sheet.known.values.drag_force[1], 8.896443230521);
    done(&f);
    assert_finding(HEAD "seal:\n  drag_points: [[9 mm, 3 N], [8 mm, 2 N]]\n", UP_FOUND_OUT_OF_BOUNDS, 4, 30,
                   "seal.drag_points");
    assert_finding(HEAD "seal:\n  drag_points: [[9 mm, 3]]\n", UP_FOUND_UNIT_MISSING, 4, 24, "seal.drag_points");
    assert_finding(HEAD "seal:\n  drag_points: [9 mm, 3 N]\n", UP_FOUND_WRONG_SHAPE, 4, 17, "seal.drag_points");
}

static void each_kind_of_mistake_is_named_at_its_place(void **state) {
    (void)state;
    assert_finding(HEAD "glass:\n  mass: 3.6\n", UP_FOUND_UNIT_MISSING, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 mm\n", UP_FOUND_WRONG_DIMENSION, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 stone weights\n", UP_FOUND_UNIT_UNKNOWN, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 kg mesured\n", UP_FOUND_UNKNOWN_WORD, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: -3.6 kg\n", UP_FOUND_OUT_OF_BOUNDS, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3600 kg\n", UP_FOUND_OUT_OF_BOUNDS, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: heavy\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: nan kg\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: .inf\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 1e999 kg\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3,6 kg\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 4..3 kg\n", UP_FOUND_NOT_A_NUMBER, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 kg ±-1\n", UP_FOUND_BAD_TOLERANCE, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 kg ±\n", UP_FOUND_BAD_TOLERANCE, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3..4 kg ±1\n", UP_FOUND_BAD_TOLERANCE, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3.6 kg ±1 mm\n", UP_FOUND_WRONG_DIMENSION, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: [3 kg, 4 kg]\n", UP_FOUND_WRONG_SHAPE, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: {from: measured}\n", UP_FOUND_MISSING, 4, 9, "glass.mass");
    assert_finding(HEAD "glass:\n  mass:\n", UP_FOUND_DOUBTFUL, 4, 3, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3 kg\n  mass: 4 kg\n", UP_FOUND_DUPLICATE, 5, 3, "glass.mass");
    assert_finding(HEAD "glass:\n  mass: 3 kg\nglass:\n  lean: 8 deg\n", UP_FOUND_DUPLICATE, 5, 1, "glass");
    assert_finding(HEAD "glass: 3 kg\n", UP_FOUND_WRONG_SHAPE, 3, 8, "glass");
    assert_finding(HEAD "worm:\n  starts: 1.5\n", UP_FOUND_OUT_OF_BOUNDS, 4, 11, "worm.starts");
    assert_finding(HEAD "damper:\n  one_way: perhaps\n", UP_FOUND_UNKNOWN_WORD, 4, 12, "damper.one_way");
    assert_finding(HEAD "cable:\n  friction: 0.1\n", UP_FOUND_NOT_FOR_FAMILY, 4, 3, "cable.friction");
    assert_finding("glass:\n  mass: 3 kg\n", UP_FOUND_MISSING, 1, 1, "regulator.family");
    assert_finding("regulator:\n  family: ladder\n", UP_FOUND_UNKNOWN_WORD, 2, 11, "regulator.family");
    assert_finding("format: 2\n" HEAD, UP_FOUND_NOT_SUPPORTED, 1, 9, "format");
}

static void suggestions_name_the_entry_that_was_meant(void **state) {
    static const struct {
        const char *text, *mend;
    } rows[] = {
        {HEAD "glass:\n  travell: 390 mm\n", "did you mean travel?"},
        {HEAD "glass:\n  header_depth: 7 mm\n", "did you mean seal.header_depth?"},
        {HEAD "glas:\n  mass: 3 kg\n", "did you mean glass?"},
        {HEAD "glass:\n  mass: {vlaue: 3 kg, value: 3 kg}\n", "did you mean value?"},
        {"regulator:\n  family: cros-arms\n", "did you mean crossed-arms?"},
        {HEAD "glass.mass: 3 kg\n", "write the section glass: on a line of its own and under it, indented, mass:"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fixture f;
        read_sheet(&f, rows[i].text);
        assert_int_equal(f.findings.count, 1);
        assert_string_equal(f.findings.item[0].mend, rows[i].mend);
        done(&f);
    }
}

static void all_problems_come_at_once_in_the_order_of_the_file(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, "glass:\n  mass: 3 mm\n  lean: steep\nregulator:\n  family: cable\narm:\n  length: 300 mm\nmotor:\n "
                   " brush_drop: -1 V\n");
    assert_int_equal(f.findings.errors, 3);
    assert_int_equal(f.findings.warnings, 1);
    for (int i = 1; i < f.findings.count; i++) {
        assert_true(f.findings.item[i - 1].line < f.findings.item[i].line);
    }
    done(&f);
}

/* Bent geometry: r (sin a + sin b) with a 100 mm arm reaches 200 mm at the most, so never 390 mm. */
static void impossible_geometry_is_named_at_the_entry(void **state) {
    fixture f;
    int found = 0;
    (void)state;
    read_sheet(&f, HEAD "arm:\n  length: 100 mm\nglass:\n  travel: 390 mm\n");
    assert_int_equal(f.status, 2);
    for (int i = 0; i < f.findings.count; i++) {
        found |= f.findings.item[i].code == UP_FOUND_GEOMETRY &&
                 strcmp(f.findings.item[i].entry, "glass.travel") == 0 && f.findings.item[i].line == 6;
    }
    assert_true(found);
    done(&f);
}

static void broken_or_odd_text_is_refused_with_its_place(void **state) {
    static const struct {
        const char *text;
        size_t size;
        up_finding_code code;
        int line, column;
    } rows[] = {
        {"", 0, UP_FOUND_MISSING, 0, 0},
        {"# only words\n", 13, UP_FOUND_MISSING, 0, 0},
        {"- a\n- b\n", 8, UP_FOUND_WRONG_SHAPE, 1, 1},
        {"a: \0b\n", 6, UP_FOUND_TEXT_BROKEN, 1, 4},
        {"a: \xff\n", 5, UP_FOUND_TEXT_BROKEN, 1, 4},
        {"a:\n  \xc0\x80\n", 8, UP_FOUND_TEXT_BROKEN, 2, 3},
        {"a: \x1b[31m\n", 9, UP_FOUND_TEXT_BROKEN, 1, 4},
        {"\xff\xfe\x61\x00", 4, UP_FOUND_TEXT_BROKEN, 1, 1},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fixture f;
        read_bytes(&f, rows[i].text, rows[i].size);
        assert_int_equal(f.status, 2);
        assert_string_equal(up_finding_word(f.findings.item[0].code), up_finding_word(rows[i].code));
        assert_int_equal(f.findings.item[0].line, rows[i].line);
        assert_int_equal(f.findings.item[0].column, rows[i].column);
        done(&f);
    }
}

static void yaml_that_a_sheet_does_not_use_is_refused(void **state) {
    static const char *const texts[] = {
        HEAD "glass:\n  mass: &m 3 kg\n",        HEAD "glass:\n  mass: &m 3 kg\n  travel: *m\n",
        HEAD "glass:\n  mass: !!str 3 kg\n",     HEAD "---\nglass:\n  mass: 3 kg\n",
        HEAD "glass: [[[[[[[[[[[1]]]]]]]]]]]\n", HEAD "? [a, b]\n: c\n",
    };
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        fixture f;
        read_sheet(&f, texts[i]);
        int found = 0;
        for (int j = 0; j < f.findings.count; j++) {
            found |= f.findings.item[j].code == UP_FOUND_NOT_SUPPORTED && f.findings.item[j].line > 0;
        }
        assert_int_equal(f.status, 2);
        assert_true(found);
        done(&f);
    }
}

static void a_broken_line_names_itself_and_what_came_before_is_still_checked(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, HEAD "glass:\n  mass: 3 mm\n  lean: [8 deg\nmotor:\n  poles: 2\n");
    assert_int_equal(f.status, 2);
    assert_string_equal(up_finding_word(f.findings.item[0].code), "wrong-dimension");
    int last = f.findings.count - 1;
    assert_string_equal(up_finding_word(f.findings.item[last].code), "text-broken");
    assert_true(f.findings.item[last].line >= 5);
    done(&f);
}

static void line_ends_and_byte_order_mark_do_not_matter(void **state) {
    fixture f;
    (void)state;
    read_sheet(&f, "\xef\xbb\xbfregulator:\r\n  family: cable\r\nglass:\r\n  mass: 3 mm\r\n");
    assert_int_equal(f.findings.errors, 1);
    assert_int_equal(f.findings.item[0].line, 4);
    assert_int_equal(f.findings.item[0].column, 9);
    assert_int_equal(f.sheet.known.values.family, UP_FAMILY_CABLE);
    done(&f);
}

static void too_long_a_text_is_refused_and_many_findings_are_capped(void **state) {
    fixture f;
    size_t size = UP_SHEET_SIZE_MAX + 1;
    char *text = malloc(size);
    (void)state;
    assert_non_null(text);
    memset(text, '#', size);
    read_bytes(&f, text, size);
    assert_int_equal(f.status, 2);
    assert_string_equal(up_finding_word(f.findings.item[0].code), "file-unreadable");
    done(&f);
    size_t at = (size_t)snprintf(text, size, HEAD "glass:\n");
    for (int i = 0; i < 3000; i++) {
        at += (size_t)snprintf(text + at, size - at, "  nothing%d: 1\n", i);
    }
    read_bytes(&f, text, at);
    assert_int_equal(f.findings.errors, 3000);
    assert_int_equal(f.findings.count, UP_FINDINGS_MAX);
    done(&f);
    free(text);
}

/* The sheet that `new` writes is usable as it stands, and so it is with every comment sign in front of an entry taken
 * away: then it says the typical values, rounded to the second digit of their tolerance. */
static void a_blank_sheet_reads_back_as_the_typical_door(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int bare = 0; bare < 2; bare++) {
            fixture f;
            char *text = NULL;
            size_t size = 0, kept = 0;
            FILE *memory = open_memstream(&text, &size);
            assert_non_null(memory);
            up_sheet_write_blank((up_family)family, bare, memory);
            fclose(memory);
            read_bytes(&f, text, size);
            assert_int_equal(f.findings.count, 0);
            done(&f);
            for (size_t i = 0; i < size; i++) { /* "  #name: value", unless nothing is known */
                int opens = i >= 3 && text[i] == '#' && memcmp(text + i - 3, "\n  ", 3) == 0 && text[i + 1] != ' ';
                const char *end = memchr(text + i, '\n', size - i), *gap = strstr(text + i, "___");
                if (!opens || (gap != NULL && gap < end)) {
                    text[kept++] = text[i];
                }
            }
            read_bytes(&f, text, kept);
            up_findings_print(&f.findings, "filled in", stderr);
            assert_int_equal(f.findings.count, 0);
            up_values typical;
            double spread[UP_NUMBER_COUNT];
            up_values_fallback((up_family)family, &typical);
            up_values_fallback_spread((up_family)family, spread);
            for (int i = 0; i < UP_NUMBER_COUNT; i++) {
                if (up_sheet_has_number(&f.sheet, (up_number)i)) {
                    double gap = fabs(f.sheet.known.values.number[i] - typical.number[i]);
                    assert_true(gap <= 0.051 * spread[i] + 1e-5 * fabs(typical.number[i]));
                }
            }
            done(&f);
            free(text);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compact_notation_gives_value_tolerance_and_origin),
        cmocka_unit_test(long_form_says_the_same_as_the_short),
        cmocka_unit_test(tolerances_that_are_not_written_follow_the_stated_rule),
        cmocka_unit_test(wire_gauge_is_understood_with_its_crooked_tolerance),
        cmocka_unit_test(what_is_left_out_is_typical_and_assumed),
        cmocka_unit_test(every_entry_keeps_its_place_title_and_notes_are_kept),
        cmocka_unit_test(drag_points_are_pairs_from_the_bottom_up),
        cmocka_unit_test(each_kind_of_mistake_is_named_at_its_place),
        cmocka_unit_test(suggestions_name_the_entry_that_was_meant),
        cmocka_unit_test(all_problems_come_at_once_in_the_order_of_the_file),
        cmocka_unit_test(impossible_geometry_is_named_at_the_entry),
        cmocka_unit_test(broken_or_odd_text_is_refused_with_its_place),
        cmocka_unit_test(yaml_that_a_sheet_does_not_use_is_refused),
        cmocka_unit_test(a_broken_line_names_itself_and_what_came_before_is_still_checked),
        cmocka_unit_test(line_ends_and_byte_order_mark_do_not_matter),
        cmocka_unit_test(too_long_a_text_is_refused_and_many_findings_are_capped),
        cmocka_unit_test(a_blank_sheet_reads_back_as_the_typical_door),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

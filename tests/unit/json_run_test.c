/* What is printed can be read back by a JSON library, and says no more than is known. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "io/json_run.h"

static json_t *read_back(json_t *json, const char *sheet) {
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    assert_int_equal(up_json_print(json, "move", sheet, file), 0);
    fclose(file);
    json_error_t error;
    json_t *read = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(read);
    free(text);
    return read;
}

/* RFC 8259, section 6: infinity and NaN cannot be represented. */
static void what_does_not_exist_is_null(void **state) {
    (void)state;
    json_t *json = json_object();
    up_json_set(json, "nan", up_json_quantity(NAN, "N"));
    up_json_set(json, "inf", up_json_number(INFINITY));
    up_json_set(json, "force", up_json_quantity(98.25, "N"));
    json_t *read = read_back(json, "door.yaml");
    assert_true(json_is_null(json_object_get(json_object_get(read, "nan"), "value")));
    assert_true(json_is_null(json_object_get(read, "inf")));
    json_t *force = json_object_get(read, "force");
    assert_true(json_real_value(json_object_get(force, "value")) == 98.25);
    assert_string_equal(json_string_value(json_object_get(force, "unit")), "N");
    assert_string_equal(json_string_value(json_object_get(read, "sheet")), "door.yaml");
    json_decref(read);
}

static void every_headline_has_value_interval_and_unit(void **state) {
    (void)state;
    up_spread_result *spread = calloc(1, sizeof *spread);
    spread->draws = 200;
    spread->figure[UP_HEADLINE_peak_rod_force] =
        (up_spread_figure){.nominal = 80, .low = 70, .high = 95, .mean = 82, .deviation = 6, .count = 200};
    json_t *json = json_object();
    up_json_set(json, "answers", up_json_figures(spread));
    up_json_set(json, "closings", up_json_closings(spread));
    json_t *read = read_back(json, "x");
    json_t *answers = json_object_get(read, "answers");
    assert_int_equal(json_object_size(answers), UP_HEADLINE_COUNT);
    json_t *force = json_object_get(answers, "peak_rod_force");
    assert_true(json_real_value(json_object_get(force, "low")) == 70);
    assert_true(json_real_value(json_object_get(force, "high")) == 95);
    assert_int_equal(json_integer_value(json_object_get(force, "closings")), 200);
    json_t *ends = json_object_get(json_object_get(read, "closings"), "ends");
    assert_int_equal(json_object_size(ends), UP_END_COUNT);
    json_decref(read);
    free(spread);
}

static void ledger_is_told_account_by_account(void **state) {
    (void)state;
    up_outcome outcome = {.ledger_gap = 0.5};
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        outcome.ledger[i] = 10 + i;
    }
    json_t *json = json_object();
    up_json_set(json, "energy", up_json_energy(&outcome));
    json_t *read = read_back(json, "x");
    json_t *energy = json_object_get(read, "energy");
    assert_int_equal(json_object_size(energy), UP_LEDGER_COUNT + 1);
    json_t *drawn = json_object_get(energy, "drawn");
    assert_true(json_real_value(json_object_get(drawn, "value")) == 10 + UP_LEDGER_drawn);
    json_decref(read);
}

/* Check values: 43.4 N and 36.9 N, J. Biomech. 44(11), 2011; 50 N, Handchir. Mikrochir. Plast. Chir. 44(1), 2012. */
static void advice_lists_what_the_force_reaches(void **state) {
    (void)state;
    json_t *none = up_json_advice(30);
    json_t *some = up_json_advice(60);
    assert_int_equal(json_array_size(none), 0);
    assert_int_equal(json_array_size(some), 3);
    json_decref(none);
    json_decref(some);
}

static void lost_piece_is_not_printed_over(void **state) {
    (void)state;
    json_t *json = json_object();
    json_t *inner = json_object();
    up_json_set(inner, "gone", NULL);
    up_json_set(json, "inner", inner);
    FILE *file = tmpfile();
    assert_int_equal(up_json_print(json, "move", "x", file), -1);
    assert_int_equal(ftell(file), 0);
    fclose(file);
}

/* A file name may hold any bytes; JSON text is Unicode (RFC 8259, section 8). */
static void name_that_is_no_utf8_becomes_null(void **state) {
    (void)state;
    json_t *read = read_back(json_object(), "door\xff.yaml");
    assert_true(json_is_null(json_object_get(read, "sheet")));
    json_decref(read);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_does_not_exist_is_null),
        cmocka_unit_test(every_headline_has_value_interval_and_unit),
        cmocka_unit_test(ledger_is_told_account_by_account),
        cmocka_unit_test(advice_lists_what_the_force_reaches),
        cmocka_unit_test(lost_piece_is_not_printed_over),
        cmocka_unit_test(name_that_is_no_utf8_becomes_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

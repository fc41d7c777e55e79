/* The trace keeps what the core hands over, and its CSV can be read back by others. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "io/trace.h"
#include "io/trace_events.h"

static void add_sample(up_trace *trace, double time, double travel) {
    up_sink sink = up_trace_sink(trace);
    up_sample sample = {.time = time, .travel = travel, .counted_opening = NAN, .current = 1.0 / 3};
    sink.sample(sink.context, &sample);
}

static void add_event(up_trace *trace, double time, up_event_kind kind) {
    up_sink sink = up_trace_sink(trace);
    up_event event = {.time = time, .travel = 0.1, .kind = kind};
    sink.event(sink.context, &event);
}

/* What a print function wrote; freed by the caller. */
static char *printed(const up_trace *trace, int (*print)(const up_trace *, double, FILE *)) {
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    assert_non_null(file);
    assert_int_equal(print(trace, 0.4, file), 0);
    fclose(file);
    return text;
}

static int fields_of(const char *line) {
    int fields = 1;
    for (; *line && *line != '\n'; line++) {
        fields += *line == ',';
    }
    return fields;
}

/* RFC 4180, section 2: a header line, and the same number of fields in each line. */
static void csv_has_a_head_and_as_many_fields_in_every_row(void **state) {
    (void)state;
    up_trace trace;
    up_trace_init(&trace);
    for (int i = 0; i < 1000; i++) {
        add_sample(&trace, 1e-3 * i, 1e-4 * i);
        add_event(&trace, 1e-3 * i, (up_event_kind)(i % UP_EVENT_COUNT));
    }
    assert_int_equal(trace.samples, 1000);
    int (*const print[])(const up_trace *, double, FILE *) = {up_trace_print_samples, up_trace_print_events};
    for (int kind = 0; kind < 2; kind++) {
        char *text = printed(&trace, print[kind]);
        int rows = 0;
        int fields = fields_of(text);
        for (char *line = text; *line; line = strchr(line, '\n') + 1) {
            assert_int_equal(fields_of(line), fields);
            rows++;
        }
        assert_int_equal(rows, 1001);
        free(text);
    }
    up_trace_free(&trace);
    assert_int_equal(trace.samples, 0);
}

static void head_names_quantity_and_unit_and_opening_comes_last(void **state) {
    (void)state;
    up_trace trace;
    up_trace_init(&trace);
    add_sample(&trace, 0.25, 0.1);
    char *text = printed(&trace, up_trace_print_samples);
    assert_int_equal(strncmp(text, "time [s],battery_voltage [V],", 29), 0);
    char *row = strchr(text, '\n');
    assert_int_equal(strncmp(row - 12, ",opening [m]", 12), 0);
    assert_int_equal(strncmp(row + 1, "0.25,0,0,0.333333333,", 21), 0);
    assert_non_null(strstr(row, ",,")); /* the counted opening does not exist */
    assert_string_equal(strrchr(row, ','), ",0.3\n");
    free(text);
    up_trace_free(&trace);
}

/* A locale with a decimal comma would turn one field into two. */
static void decimal_point_does_not_follow_the_locale(void **state) {
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_NL.UTF-8"};
    size_t i = 0;
    while (i < sizeof names / sizeof names[0] && !setlocale(LC_NUMERIC, names[i])) {
        i++;
    }
    if (i == sizeof names / sizeof names[0]) {
        skip(); /* no locale with a decimal comma on this machine */
    }
    char text[32] = "";
    FILE *file = fmemopen(text, sizeof text, "w");
    up_trace_print_number(file, -1234.5, 9);
    fclose(file);
    setlocale(LC_NUMERIC, "C");
    assert_string_equal(text, "-1234.5");
}

static void sample_at_a_time_is_the_last_one_before_it(void **state) {
    (void)state;
    up_trace trace;
    up_trace_init(&trace);
    assert_null(up_trace_at(&trace, 0));
    for (int i = 0; i < 5; i++) {
        add_sample(&trace, i, i);
    }
    assert_true(up_trace_at(&trace, 2.7)->time == 2);
    assert_true(up_trace_at(&trace, 4)->time == 4);
    assert_true(up_trace_at(&trace, 99)->time == 4);
    assert_true(up_trace_at(&trace, -1)->time == 0);
    up_trace_free(&trace);
}

static void stick_slip_is_told_once_and_the_end_is_told(void **state) {
    (void)state;
    up_trace trace;
    size_t index[8];
    up_trace_init(&trace);
    add_event(&trace, 0, UP_EVENT_SWITCH);
    for (int i = 0; i < 100; i++) {
        add_event(&trace, 0.1 + i, UP_EVENT_GLASS_STARTS);
        add_event(&trace, 0.2 + i, UP_EVENT_GLASS_STOPS);
    }
    size_t count = up_trace_highlights(&trace, index, 8);
    assert_int_equal(count, 3);
    assert_int_equal(trace.event[index[0]].kind, UP_EVENT_SWITCH);
    assert_int_equal(index[1], 1);
    assert_int_equal(index[2], 200);
    up_trace_free(&trace);
}

static void when_room_is_short_the_last_event_is_kept(void **state) {
    (void)state;
    up_trace trace;
    size_t index[3];
    up_trace_init(&trace);
    for (int i = 0; i < 10; i++) {
        add_event(&trace, i, UP_EVENT_SUPPLY_STEP);
    }
    assert_int_equal(up_trace_highlights(&trace, index, 3), 3);
    assert_int_equal(index[0], 0);
    assert_int_equal(index[2], 9);
    up_trace_free(&trace);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(csv_has_a_head_and_as_many_fields_in_every_row),
        cmocka_unit_test(head_names_quantity_and_unit_and_opening_comes_last),
        cmocka_unit_test(decimal_point_does_not_follow_the_locale),
        cmocka_unit_test(sample_at_a_time_is_the_last_one_before_it),
        cmocka_unit_test(stick_slip_is_told_once_and_the_end_is_told),
        cmocka_unit_test(when_room_is_short_the_last_event_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

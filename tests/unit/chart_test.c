/* The chart comes out whole, in both formats, and shows what it should. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "io/chart.h"
#include "io/chart_colour.h"

/* A closing that meets a rod and turns round, made of straight lines. */
static void make_trace(up_trace *trace) {
    up_trace_init(trace);
    up_sink sink = up_trace_sink(trace);
    for (int i = 0; i <= 400; i++) {
        double travel = i < 300 ? 1e-3 * i : 1e-3 * (600 - i);
        up_sample sample = {.time = 0.01 * i,
                            .travel = travel,
                            .current = 5,
                            .ripple_current = i & 1 ? 5.3 : 4.7,
                            .friction_force = i < 300 ? 80 : -80,
                            .header_force = i == 300 ? 20 : 0,
                            .rod_force = fmax(0, 1e4 * (travel - 0.29)),
                            .detector_excess = 10,
                            .detector_threshold = i < 20 ? NAN : 45};
        sink.sample(sink.context, &sample);
        if (i == 0 || i == 290 || i == 300 || i == 310) {
            up_event event = {.time = 0.01 * i, .travel = travel};
            event.kind = i == 0     ? UP_EVENT_SWITCH
                         : i == 290 ? UP_EVENT_ROD_TOUCHED
                         : i == 300 ? UP_EVENT_REVERSAL
                                    : UP_EVENT_ROD_LEFT;
            sink.event(sink.context, &event);
        }
    }
}

static up_chart chart_of(const up_trace *trace, up_chart_detail detail) {
    return (up_chart){.trace = trace,
                      .closed_travel = 0.4,
                      .header_depth = 0.007,
                      .rod_opening = 0.11,
                      .force_limit = 100,
                      .limit_text = "limit 100 N",
                      .detail = detail,
                      .title = "A door: one-touch raising",
                      .outcome = "reversed & <stopped>"};
}

static char *drawn(const up_chart *chart, up_chart_format format, size_t *size) {
    char *text = NULL;
    FILE *file = open_memstream(&text, size);
    assert_int_equal(up_chart_write(chart, format, file), 0);
    fclose(file);
    return text;
}

/* ISO/IEC 15948 (PNG), 5.2 and 11.2.2: signature, then IHDR with width and height, most significant byte first. */
static void png_has_signature_and_size(void **state) {
    (void)state;
    static const unsigned char signature[8] = {137, 80, 78, 71, 13, 10, 26, 10};
    up_trace trace;
    make_trace(&trace);
    up_chart chart = chart_of(&trace, UP_CHART_NO_DETAIL);
    size_t size = 0;
    char *text = drawn(&chart, UP_CHART_PNG, &size);
    const unsigned char *png = (const unsigned char *)text;
    assert_true(size > 20000);
    assert_memory_equal(png, signature, 8);
    assert_memory_equal(png + 12, "IHDR", 4);
    assert_int_equal(png[18] << 8 | png[19], 1800);
    assert_memory_equal(text + size - 8, "IEND", 4);
    free(text);
    up_trace_free(&trace);
}

static int count_of(const char *text, const char *what) {
    int count = 0;
    for (; (text = strstr(text, what)) != NULL; text++) {
        count++;
    }
    return count;
}

/* Every tag that is opened is closed: Extensible Markup Language (XML) 1.0, 2.1 "well-formed". */
static void svg_is_balanced_and_shows_every_colour_of_the_run(void **state) {
    (void)state;
    up_trace trace;
    make_trace(&trace);
    up_chart chart = chart_of(&trace, UP_CHART_ROD_DETAIL);
    size_t size = 0;
    char *text = drawn(&chart, UP_CHART_SVG, &size);
    assert_non_null(strstr(text, "<svg"));
    assert_string_equal(strstr(text, "</svg>"), "</svg>\n");
    assert_int_equal(count_of(text, "<g") - count_of(text, "<glyph"), count_of(text, "</g>"));
    assert_int_equal(count_of(text, "<"), count_of(text, ">"));
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf"));
#define SHOWN(id, red, green, blue, meaning)                               \
    {                                                                      \
        char colour[24];                                                   \
        snprintf(colour, sizeof colour, "rgb(%.6f%%,", 100.0 * red / 255); \
        assert_non_null(strstr(text, colour));                             \
    }
    UP_COLOUR_LIST(SHOWN)
#undef SHOWN
    free(text);
    up_trace_free(&trace);
}

/* The PNG only: cairo numbers the parts of an SVG through the life of a process. */
static void same_run_gives_the_same_bytes(void **state) {
    (void)state;
    up_trace trace;
    make_trace(&trace);
    up_chart chart = chart_of(&trace, UP_CHART_OPENING_DETAIL);
    size_t first = 0;
    size_t second = 0;
    char *a = drawn(&chart, UP_CHART_PNG, &first);
    char *b = drawn(&chart, UP_CHART_PNG, &second);
    assert_int_equal(first, second);
    assert_memory_equal(a, b, first);
    free(a);
    free(b);
    up_trace_free(&trace);
}

static void detail_without_its_event_is_left_out(void **state) {
    (void)state;
    up_trace trace;
    make_trace(&trace);
    trace.events = 1; /* neither rod nor reversal */
    size_t plain = 0;
    size_t asked = 0;
    up_chart chart = chart_of(&trace, UP_CHART_NO_DETAIL);
    char *a = drawn(&chart, UP_CHART_PNG, &plain);
    chart.detail = UP_CHART_ROD_DETAIL;
    char *b = drawn(&chart, UP_CHART_PNG, &asked);
    assert_int_equal(plain, asked);
    assert_memory_equal(a, b, plain);
    free(a);
    free(b);
    up_trace_free(&trace);
}

static void refused_write_and_empty_trace_are_reported(void **state) {
    (void)state;
    up_trace trace;
    make_trace(&trace);
    up_chart chart = chart_of(&trace, UP_CHART_NO_DETAIL);
    FILE *full = fopen("/dev/full", "wb");
    if (full) {
        setvbuf(full, NULL, _IONBF, 0);
        assert_int_equal(up_chart_write(&chart, UP_CHART_PNG, full), -1);
        assert_int_equal(up_chart_write(&chart, UP_CHART_SVG, full), -1);
        fclose(full);
    }
    trace.samples = 1;
    FILE *file = tmpfile();
    assert_int_equal(up_chart_write(&chart, UP_CHART_SVG, file), -1);
    fclose(file);
    up_trace_free(&trace);
}

static void format_follows_the_end_of_the_name(void **state) {
    (void)state;
    up_chart_format format = UP_CHART_PNG;
    assert_int_equal(up_chart_format_of("a/b.SVG", &format), 0);
    assert_int_equal(format, UP_CHART_SVG);
    assert_int_equal(up_chart_format_of("x.png", &format), 0);
    assert_int_equal(format, UP_CHART_PNG);
    assert_int_equal(up_chart_format_of("x.pdf", &format), -1);
    assert_int_equal(up_chart_format_of(".png", &format), -1);
    assert_int_equal(up_chart_format_of("", &format), -1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(png_has_signature_and_size),
        cmocka_unit_test(svg_is_balanced_and_shows_every_colour_of_the_run),
        cmocka_unit_test(same_run_gives_the_same_bytes),
        cmocka_unit_test(detail_without_its_event_is_left_out),
        cmocka_unit_test(refused_write_and_empty_trace_are_reported),
        cmocka_unit_test(format_follows_the_end_of_the_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Plots and bars of letters show what they should, within their width, and no escape where none is wanted. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "io/terminal_plot.h"

static char *plotted(const up_plot *plot, const up_plot_look *look) {
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    assert_int_equal(up_plot_print(plot, look, file), 0);
    fclose(file);
    return text;
}

static up_plot rising_line(const double *across, const double *up) {
    return (up_plot){.heading = "h",
                     .across = across,
                     .count = 2,
                     .curves = 1,
                     .curve = {{up, UP_COLOUR_GLASS, 0}},
                     .across_high = 1,
                     .up_high = 1,
                     .rows = 4};
}

static const double ends[2] = {0, 1};

static int letters_of(const char *text, size_t bytes) {
    int letters = 0;
    for (size_t i = 0; i < bytes; i++) {
        letters += ((unsigned char)text[i] & 0xC0U) != 0x80U;
    }
    return letters;
}

static void no_line_is_wider_than_asked(void **state) {
    (void)state;
    for (int unicode = 0; unicode < 2; unicode++) {
        up_plot_look look = {60, unicode, 0};
        up_plot plot = rising_line(ends, ends);
        plot.across_name = NULL;
        char *text = plotted(&plot, &look);
        int lines = 0;
        for (char *line = text; *line; line = strchr(line, '\n') + 1) {
            assert_true(letters_of(line, strcspn(line, "\n")) <= 60);
            lines++;
        }
        assert_int_equal(lines, 5);
        free(text);
    }
}

static void plain_plot_is_ascii_and_has_no_escapes(void **state) {
    (void)state;
    up_plot_look look = {60, 0, 0};
    up_plot plot = rising_line(ends, ends);
    plot.across_name = "s";
    char *text = plotted(&plot, &look);
    for (const char *c = text; *c; c++) {
        assert_true((unsigned char)*c < 0x80 && *c != '\033');
    }
    free(text);
}

/* The first column lies at the bottom and the last at the top; turned and flipped each swap them. */
static void line_rises_to_the_right_unless_turned_or_flipped(void **state) {
    (void)state;
    for (int swap = 0; swap < 4; swap++) {
        up_plot_look look = {60, 0, 0};
        up_plot plot = rising_line(ends, ends);
        plot.turned = swap & 1;
        plot.flipped = swap >> 1;
        char *text = plotted(&plot, &look);
        const char *top = strchr(text, '\n') + 1;
        const char *first = strchr(top, '|') + 1;
        int left_is_empty = first[0] == ' ' || first[0] == '\n';
        assert_int_equal(left_is_empty, plot.turned == plot.flipped);
        free(text);
    }
}

/* Unicode 15, block "Braille Patterns": U+2800 plus 1, 2, 4, 40h, 8, 10h, 20h, 80h for dots 1 to 8; the left column of
 * a letter filled is dots 1, 2, 3, 7: U+2847. */
static void upright_line_is_the_braille_letter_with_its_left_column_full(void **state) {
    (void)state;
    static const double across[2] = {0, 0};
    up_plot_look look = {60, 1, 0};
    up_plot plot = rising_line(across, ends);
    char *text = plotted(&plot, &look);
    int found = 0;
    for (const char *c = text; (c = strstr(c, "\u2847")) != NULL; c++) {
        found++;
    }
    assert_int_equal(found, 4);
    free(text);
}

static void broken_curve_draws_only_its_parts(void **state) {
    (void)state;
    static const double across[3] = {0, 0.5, 1};
    const double up[3] = {NAN, NAN, NAN};
    up_plot_look look = {60, 0, 0};
    up_plot plot = rising_line(across, up);
    plot.count = 3;
    char *text = plotted(&plot, &look);
    const char *rows = strchr(text, '\n') + 1;
    assert_null(strpbrk(rows, "-':"));
    free(text);
}

static void bar_is_as_long_as_its_share(void **state) {
    (void)state;
    static const struct {
        double share;
        const char *bar;
    } cases[] = {
        {0, "|          |"}, {0.5, "|#####     |"}, {1, "|##########|"}, {7, "|##########|"}, {NAN, "|          |"}};
    up_plot_look look = {60, 0, 0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[64] = "";
        FILE *file = fmemopen(text, sizeof text, "w");
        fputc('|', file);
        up_plot_bar(cases[i].share, 10, UP_COLOUR_GLASS, &look, file);
        fputc('|', file);
        fclose(file);
        assert_string_equal(text, cases[i].bar);
    }
}

static void a_file_gets_no_colour(void **state) {
    (void)state;
    FILE *file = tmpfile();
    assert_non_null(file);
    unsetenv("COLUMNS");
    up_plot_look look = up_plot_look_of(file);
    assert_int_equal(look.colour, 0);
    assert_int_equal(look.columns, 80);
    fclose(file);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_line_is_wider_than_asked),
        cmocka_unit_test(plain_plot_is_ascii_and_has_no_escapes),
        cmocka_unit_test(line_rises_to_the_right_unless_turned_or_flipped),
        cmocka_unit_test(upright_line_is_the_braille_letter_with_its_left_column_full),
        cmocka_unit_test(broken_curve_draws_only_its_parts),
        cmocka_unit_test(bar_is_as_long_as_its_share),
        cmocka_unit_test(a_file_gets_no_colour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

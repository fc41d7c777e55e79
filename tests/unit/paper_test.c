/* A page of work instructions: nothing is lost, no line is too long, and it fits on its pages. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "io/paper.h"
#include "io/paper_page.h"
#include "io/paper_text.h"

/* The file's content so far, ended by a null; freed by the caller. */
static char *content_of(FILE *file, size_t *size) {
    const long length = ftell(file);
    assert_true(length >= 0);
    char *content = calloc((size_t)length + 1, 1);
    assert_non_null(content);
    rewind(file);
    *size = fread(content, 1, (size_t)length, file);
    assert_int_equal(*size, length);
    return content;
}

static char *text_of(const up_paper *paper) {
    FILE *file = tmpfile();
    size_t size = 0;
    assert_non_null(file);
    assert_int_equal(up_paper_print(paper, file), 0);
    char *text = content_of(file, &size);
    fclose(file);
    return text;
}

/* -1: too wide somewhere. */
static int lines_of(const char *text) {
    int lines = 0;
    while (*text) {
        const size_t length = strcspn(text, "\n");
        if (up_paper_characters(text, length) > UP_PAPER_COLUMNS) {
            return -1;
        }
        lines++;
        text += length + (text[length] == '\n');
    }
    return lines;
}

static void fill(up_paper *paper, int sections) {
    static const int widths[] = {20, -8, 30, 10};
    static const char *const heads[] = {"place", "N.m", "with", "found"};
    static const char *const cells[] = {"motor", "9.0", "a long story that does not fit into one line of its cell",
                                        UP_PAPER_BLANK};
    up_paper_say(paper, UP_PAPER_TITLE, "Door %d", 7);
    for (int i = 0; i < sections; i++) {
        up_paper_say(paper, UP_PAPER_SECTION, "Section %d", i + 1);
        up_paper_say(paper, UP_PAPER_CAUTION,
                     "Spring under tension: clamp it before anything else is loosened, always.");
        up_paper_say(paper, UP_PAPER_TICK, "%s",
                     "Motor in, screws evenly by turns, then to their torque, and once more.");
        up_paper_heads(paper, 4, widths, heads);
        up_paper_row(paper, 1, cells);
        up_paper_row(paper, 0, cells);
    }
}

static void words_are_broken_at_spaces(void **state) {
    (void)state;
    const char *next = NULL;
    const char *text = "one two  three";
    assert_int_equal(up_paper_break(text, 8, NULL, NULL, &next), 7);
    assert_string_equal(next, "three");
    assert_int_equal(up_paper_break("abcdefgh ij", 5, NULL, NULL, &next), 5); /* a word longer than the line */
    assert_string_equal(next, "fgh ij");
    assert_int_equal(up_paper_break("", 5, NULL, NULL, &next), 0);
    assert_string_equal(next, "");
    /* two bytes a letter, counted as one, and none is cut in two */
    const char *umlauts = "\xC3\xA4\xC3\xB6\xC3\xBC\xC3\x9F x";
    assert_int_equal(up_paper_characters(umlauts, strlen(umlauts)), 6);
    assert_int_equal(up_paper_break(umlauts, 4, NULL, NULL, &next), 8);
    assert_int_equal(up_paper_break(umlauts, 3, NULL, NULL, &next), 6);
    assert_int_equal(up_paper_break(umlauts, 0, NULL, NULL, &next), 2); /* always goes on */
}

static void text_keeps_to_its_columns_and_loses_nothing(void **state) {
    (void)state;
    up_paper paper = {0};
    fill(&paper, 2);
    char *text = text_of(&paper);
    assert_true(lines_of(text) > 20);
    assert_non_null(strstr(text, "\n[ ] ! Spring under"));
    assert_non_null(strstr(text, "[ ] motor                     9.0 a long story"));
    assert_non_null(strstr(text, "of its cell"));
    assert_non_null(strstr(text, "__________"));
    assert_null(strstr(text, " \n"));
    free(text);
    up_paper_free(&paper);
    assert_int_equal(paper.count, 0);
}

static void what_lacks_memory_is_not_shown(void **state) {
    (void)state;
    up_paper paper = {0};
    fill(&paper, 1);
    paper.out_of_memory = 1;
    FILE *file = tmpfile();
    assert_non_null(file);
    assert_int_equal(up_paper_print(&paper, file), -1);
    assert_int_equal(up_paper_draw(&paper, UP_PAGE_PDF, 2, "", file), -1);
    assert_int_equal(ftell(file), 0);
    fclose(file);
    up_paper_free(&paper);
}

static int pages_of(int sections, up_page_format format, const char *begins, const char *holds) {
    up_paper paper = {0};
    FILE *file = tmpfile();
    size_t size = 0;
    assert_non_null(file);
    fill(&paper, sections);
    const int pages = up_paper_draw(&paper, format, 2, "calculated", file);
    char *content = content_of(file, &size);
    assert_true(size > 500);
    assert_memory_equal(content, begins, strlen(begins));
    if (holds) {
        assert_non_null(strstr(content, holds));
    }
    free(content);
    fclose(file);
    up_paper_free(&paper);
    return pages;
}

static void pages_are_a4_and_as_many_as_needed(void **state) {
    (void)state;
    /* ISO 32000-1, 7.5.2: the file begins with %PDF- and a version. A4, ISO 216, is 210 mm x 297 mm: 595.28 x 841.89 pt. */
    assert_int_equal(pages_of(2, UP_PAGE_PDF, "%PDF-1.", NULL), 1);
    assert_int_equal(pages_of(10, UP_PAGE_PDF, "%PDF-1.", NULL), 2);
    assert_true(pages_of(60, UP_PAGE_PDF, "%PDF-1.", NULL) > 2);
    assert_int_equal(pages_of(2, UP_PAGE_SVG, "<?xml", "viewBox=\"0 0 595.28 841.89\""), 1);
    assert_int_equal(pages_of(10, UP_PAGE_SVG, "<?xml", "viewBox=\"0 0 595.28 1683.78\""), 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_are_broken_at_spaces),
        cmocka_unit_test(text_keeps_to_its_columns_and_loses_nothing),
        cmocka_unit_test(what_lacks_memory_is_not_shown),
        cmocka_unit_test(pages_are_a4_and_as_many_as_needed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

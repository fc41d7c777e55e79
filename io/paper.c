#include "io/paper.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROOM_FIRST = 64 };

static void free_line(up_paper_line *line) {
    for (int i = 0; i < line->cells; i++) {
        free(line->cell[i]);
    }
}

void up_paper_free(up_paper *paper) {
    for (size_t i = 0; i < paper->count; i++) {
        free_line(&paper->line[i]);
    }
    free(paper->line);
    *paper = (up_paper){0};
}

/* Takes the line's cells, also when there is no memory for it. */
static void add(up_paper *paper, up_paper_line line) {
    for (int i = 0; i < line.cells; i++) {
        paper->out_of_memory |= !line.cell[i];
    }
    if (paper->count == paper->room && !paper->out_of_memory) {
        const size_t room = paper->room ? 2 * paper->room : ROOM_FIRST;
        up_paper_line *larger = realloc(paper->line, room * sizeof *larger);
        paper->out_of_memory |= !larger;
        paper->line = larger ? larger : paper->line;
        paper->room = larger ? room : paper->room;
    }
    if (paper->out_of_memory) {
        free_line(&line);
        return;
    }
    paper->line[paper->count++] = line;
}

void up_paper_say(up_paper *paper, up_paper_kind kind, const char *format, ...) {
    up_paper_line line = {.kind = kind, .cells = 1};
    va_list values;
    va_start(values, format);
    /* clang-tidy 14 loses sight of va_start when it reads several files in one go.
     * NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized) */
    const int length = vsnprintf(NULL, 0, format, values);
    va_end(values);
    line.cell[0] = length < 0 ? NULL : malloc((size_t)length + 1);
    if (line.cell[0]) {
        va_start(values, format);
        /* NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): as above */
        vsnprintf(line.cell[0], (size_t)length + 1, format, values);
        va_end(values);
    }
    add(paper, line);
}

static void add_cells(up_paper *paper, up_paper_kind kind, const char *const *cell) {
    up_paper_line line = {.kind = kind, .cells = paper->columns};
    memcpy(line.width, paper->width, sizeof line.width);
    for (int i = 0; i < paper->columns; i++) {
        line.cell[i] = strdup(cell[i]);
    }
    add(paper, line);
}

void up_paper_heads(up_paper *paper, int columns, const int *width, const char *const *head) {
    paper->columns = columns < UP_PAPER_CELLS ? columns : UP_PAPER_CELLS;
    memcpy(paper->width, width, (size_t)paper->columns * sizeof *width);
    add_cells(paper, UP_PAPER_HEADS, head);
}

void up_paper_row(up_paper *paper, int tick, const char *const *cell) {
    add_cells(paper, tick ? UP_PAPER_TICK_ROW : UP_PAPER_ROW, cell);
}

size_t up_paper_characters(const char *text, size_t bytes) {
    size_t count = 0;
    for (size_t i = 0; i < bytes; i++) {
        count += ((unsigned char)text[i] & 0xC0) != 0x80;
    }
    return count;
}

static double measured(const char *text, size_t bytes, up_paper_measure *width_of, void *context) {
    return width_of ? width_of(context, text, bytes) : (double)up_paper_characters(text, bytes);
}

static size_t character(const char *text) {
    size_t bytes = 1;
    while (((unsigned char)text[bytes] & 0xC0) == 0x80) {
        bytes++;
    }
    return bytes;
}

/* As much of one long word as fits, at least one character. */
static size_t break_word(const char *text, double width, up_paper_measure *width_of, void *context) {
    size_t taken = character(text);
    while (text[taken] && text[taken] != ' ') {
        const size_t more = taken + character(text + taken);
        if (measured(text, more, width_of, context) > width) {
            break;
        }
        taken = more;
    }
    return taken;
}

size_t up_paper_break(const char *text, double width, up_paper_measure *width_of, void *context, const char **next) {
    size_t taken = 0;
    for (size_t at = 0; text[at];) {
        const size_t end = at + strcspn(text + at, " ");
        if (measured(text, end, width_of, context) > width) {
            break;
        }
        taken = end;
        at = end + strspn(text + end, " ");
    }
    if (taken == 0 && text[0]) {
        taken = break_word(text, width, width_of, context);
    }
    *next = text + taken + strspn(text + taken, " ");
    return taken;
}

#include "io/paper_text.h"

#include <stdlib.h>
#include <string.h>

static void repeat(char what, int times, FILE *file) {
    for (int i = 0; i < times; i++) {
        fputc(what, file);
    }
}

/* A paragraph, broken; `first` stands before its first line and as much room before the others. */
static void paragraph(const char *first, const char *text, FILE *file) {
    const int indent = (int)strlen(first);
    const char *before = first;
    do {
        const char *next = text;
        const size_t bytes = up_paper_break(text, UP_PAPER_COLUMNS - indent, NULL, NULL, &next);
        fprintf(file, "%-*s%.*s\n", indent, before, (int)bytes, text);
        before = "";
        text = next;
    } while (*text);
}

/* One cell's piece on one line of a row; at the line's end nothing follows it. Returns what is left of it. */
static const char *cell_piece(const char *text, int width, int last, FILE *file) {
    const int columns = abs(width);
    const char *next = text;
    if (strcmp(text, UP_PAPER_BLANK) == 0) {
        repeat('_', columns, file);
        return text + 1;
    }
    const size_t bytes = up_paper_break(text, columns, NULL, NULL, &next);
    const int spare = columns - (int)up_paper_characters(text, bytes);
    if (width < 0) {
        repeat(' ', spare, file);
    }
    fwrite(text, 1, bytes, file);
    if (width > 0 && !last) {
        repeat(' ', spare, file);
    }
    return next;
}

static int last_with_text(const up_paper_line *line, const char *const *rest) {
    int last = 0;
    for (int i = 0; i < line->cells; i++) {
        last = *rest[i] ? i : last;
    }
    return last;
}

static void row(const up_paper_line *line, FILE *file) {
    const char *rest[UP_PAPER_CELLS];
    const char *before = line->kind == UP_PAPER_TICK_ROW ? "[ ] " : "    ";
    int more = 1;
    for (int i = 0; i < UP_PAPER_CELLS; i++) {
        rest[i] = i < line->cells ? line->cell[i] : "";
    }
    while (more) {
        const int last = last_with_text(line, rest);
        more = 0;
        fputs(before, file);
        for (int i = 0; i <= last; i++) {
            rest[i] = cell_piece(rest[i], line->width[i], i == last, file);
            fputs(i == last ? "\n" : " ", file);
            more |= *rest[i] != '\0';
        }
        before = "    ";
    }
}

int up_paper_print(const up_paper *paper, FILE *file) {
    if (paper->out_of_memory) {
        return -1;
    }
    for (size_t i = 0; i < paper->count; i++) {
        const up_paper_line *line = &paper->line[i];
        switch (line->kind) {
        case UP_PAPER_TITLE:
            paragraph("", line->cell[0], file);
            repeat('=', UP_PAPER_COLUMNS, file);
            fputc('\n', file);
            break;
        case UP_PAPER_SECTION:
            fputc('\n', file);
            paragraph("", line->cell[0], file);
            repeat('-', UP_PAPER_COLUMNS, file);
            fputc('\n', file);
            break;
        case UP_PAPER_WORDS:
            paragraph("", line->cell[0], file);
            break;
        case UP_PAPER_CAUTION:
            paragraph("[ ] ! ", line->cell[0], file);
            break;
        case UP_PAPER_TICK:
            paragraph("[ ] ", line->cell[0], file);
            break;
        case UP_PAPER_HEADS:
        case UP_PAPER_ROW:
        case UP_PAPER_TICK_ROW:
            row(line, file);
            break;
        }
    }
    return ferror(file) ? -1 : 0;
}

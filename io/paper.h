/* A page of work instructions: headings, paragraphs, boxes to tick and tables, made once and then shown as text of 80
 * columns (paper_text.h) or drawn on A4 (paper_page.h).
 *
 * It knows no subject. All texts are UTF-8 and copied. */
#ifndef UPSTOP_IO_PAPER_H
#define UPSTOP_IO_PAPER_H

#include <stddef.h>

typedef enum up_paper_kind {
    UP_PAPER_TITLE,   /* one line, large                                        */
    UP_PAPER_SECTION, /* heading                                                */
    UP_PAPER_WORDS,   /* paragraph                                              */
    UP_PAPER_CAUTION, /* paragraph set off, with a box to tick                  */
    UP_PAPER_TICK,    /* paragraph with a box to tick                           */
    UP_PAPER_HEADS,   /* names of columns; rows follow                          */
    UP_PAPER_ROW,     /* cells of a table                                       */
    UP_PAPER_TICK_ROW /* the same with a box to tick before it                  */
} up_paper_kind;

enum { UP_PAPER_CELLS = 7, UP_PAPER_COLUMNS = 80, UP_PAPER_BOX = 4 };

/* A cell that is UP_PAPER_BLANK is a line to write on, as wide as its column. */
#define UP_PAPER_BLANK "_"

typedef struct up_paper_line {
    up_paper_kind kind;
    int cells;                  /* 1 outside tables                                                                 */
    char *cell[UP_PAPER_CELLS]; /* owned                                                                            */
    int width[UP_PAPER_CELLS];  /* of a table's columns in characters; the box takes UP_PAPER_BOX more in every row;
                                   minus: set to the right                                                          */
} up_paper_line;

typedef struct up_paper {
    up_paper_line *line;
    size_t count, room;
    int columns, width[UP_PAPER_CELLS]; /* of the table under way */
    int out_of_memory;                  /* 1: something is missing; nothing may be shown */
} up_paper;

/* Start with a zeroed up_paper. Nothing here fails but by memory, which is kept in out_of_memory. */
void up_paper_free(up_paper *paper);

/* A line of one cell, written as printf does. kind: not of a table. */
__attribute__((format(printf, 3, 4))) void up_paper_say(up_paper *paper, up_paper_kind kind, const char *format, ...);

/* Begins a table: `columns` widths and heads, 1..UP_PAPER_CELLS. The widths and one space between two columns should come
 * to UP_PAPER_COLUMNS - UP_PAPER_BOX at most. */
void up_paper_heads(up_paper *paper, int columns, const int *width, const char *const *head);

/* A row of it; cell: as many as there are columns, none NULL. */
void up_paper_row(up_paper *paper, int tick, const char *const *cell);

/* Bytes of `text` that go on one line of `width` characters, broken at a space where there is one; *next is where the
 * rest begins, behind the space. width_of measures a piece; NULL: characters. */
typedef double up_paper_measure(void *context, const char *text, size_t bytes);
size_t up_paper_break(const char *text, double width, up_paper_measure *width_of, void *context, const char **next);

/* Characters in so many bytes. */
size_t up_paper_characters(const char *text, size_t bytes);

#endif

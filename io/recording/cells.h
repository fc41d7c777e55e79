/* One line of a table: cut into cells, and what kind of thing stands in each. This is the careful way, for the lines
 * around a table and for odd rows inside it; rows.c has the fast one. */
#ifndef UPSTOP_IO_RECORDING_CELLS_H
#define UPSTOP_IO_RECORDING_CELLS_H

#include "io/recording.h"

/* How a table is written. */
typedef struct up_dialect {
    char separator; /* ' ' stands for any run of blanks */
    char decimal;
    int rows_quoted; /* whole rows stand in quotes      */
    int day_first;   /* 3/4/2026 is the third of April  */
} up_dialect;

typedef enum up_cell_kind {
    UP_CELL_EMPTY,
    UP_CELL_NUMBER,
    UP_CELL_GLUED, /* a number with a unit behind it: 12.3 mV    */
    UP_CELL_STAMP, /* date, time of day or both                  */
    UP_CELL_MARK,  /* a word that stands for no value            */
    UP_CELL_OVER,  /* a word or number that says "out of range"  */
    UP_CELL_TEXT
} up_cell_kind;

typedef struct up_cell {
    const char *from, *to; /* without blanks and quotes around it; no zero byte at the end */
} up_cell;

typedef struct up_cells {
    int count;
    int unwrapped;    /* 1: the whole row stood in quotes                         */
    int quoted_comma; /* 1: some cell had to be quoted because of the separator   */
    up_cell cell[UP_COLUMNS_MAX];
} up_cells;

/* Cuts [from, to), a line without its end. Cells beyond UP_COLUMNS_MAX are dropped. */
void up_cells_split(const char *from, const char *to, char separator, up_cells *cells);

/* What stands in a cell; *value of NUMBER and GLUED, else NaN; *rest where the unit of GLUED begins; may be NULL. The byte at
 * cell->to must be readable and no part of the number. */
up_cell_kind up_cell_look(const up_cell *cell, const up_dialect *dialect, double *value, const char **rest);

/* The text of a cell, in UTF-8 whatever it was in; control characters become blanks. Returns out. */
char *up_cell_text(const char *from, const char *to, char *out, size_t size);

static inline int up_cell_is_value(up_cell_kind kind) {
    return kind == UP_CELL_NUMBER || kind == UP_CELL_GLUED || kind == UP_CELL_STAMP;
}

#endif

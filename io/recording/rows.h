/* The samples of a text table, row by row into columns of numbers. */
#ifndef UPSTOP_IO_RECORDING_ROWS_H
#define UPSTOP_IO_RECORDING_ROWS_H

#include <stdint.h>

#include "io/recording/source.h"
#include "io/recording/table.h"

typedef struct up_raw_column {
    up_use use;
    double *value;                 /* (room) as in the file, NaN: none; STAMP: s since `base`; NULL: not read. Owned. */
    char unit[UP_COLUMN_UNIT_MAX]; /* of the first value with a unit glued to it */
    int mixed_units;               /* 1: other values carry another one; converted to the first */
    int stamp_has;                 /* UP_STAMP bits of the first                 */
    int64_t base;                  /* whole seconds of the first stamp           */
    char first_text[40];           /* the first stamp, as written                */
    int has_none;                  /* 1: some row has no value here */
    size_t unreadable, over;
    long unreadable_line;
    int unreadable_column;
    char unreadable_text[32];
} up_raw_column;

typedef struct up_skip {
    size_t row; /* rows before the skipped line       */
    long lines; /* lines skipped so far, this included */
} up_skip;

typedef struct up_rows {
    const up_table *table;
    up_units *units;
    size_t count, room;
    long line; /* of the file: the next one to come */
    long first_line, last_line;
    size_t prose, ragged;
    long prose_line, ragged_line;
    char prose_text[48];
    int skip_count, skip_room;
    up_skip *skip;
    up_raw_column column[UP_COLUMNS_MAX];
} up_rows;

/* expected: rows to make room for at once, 0 unknown. The table stays the caller's. Returns 0 or 3. */
int up_rows_begin(up_rows *rows, const up_table *table, up_units *units, size_t expected);

/* Takes whole lines; the first call begins with line `line` (from 1) of the file. Returns 0 or 3. */
int up_rows_take(up_rows *rows, const char *from, const char *to);

/* The line of the file that holds a row (from 0). */
long up_rows_line(const up_rows *rows, size_t row);

void up_rows_free(up_rows *rows);

#endif

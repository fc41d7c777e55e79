/* A recording while it is being understood: the stages between a file's raw columns and a finished up_recording. */
#ifndef UPSTOP_IO_RECORDING_DRAFT_H
#define UPSTOP_IO_RECORDING_DRAFT_H

#include <stdint.h>

#include "io/recording.h"
#include "io/recording/rows.h"
#include "io/units.h"

typedef struct up_draft {
    up_recording *recording;
    const up_recording_options *options;
    up_problem *problem;
    up_units *units;
    const up_rows *rows;           /* NULL when the file is no text                                 */
    int one_table;                 /* 1: value i of all columns stands in one row                   */
    double format_interval;        /* s, which the file's format carries; NaN: none              */
    int column_of[UP_COLUMNS_MAX]; /* column of the table behind a column of the recording */
    int stamp_has[UP_COLUMNS_MAX]; /* by column of the recording: UP_STAMP bits           */
    int complete[UP_COLUMNS_MAX];  /* 1: every row has a value, without looking           */
    int said_of[UP_COLUMNS_MAX];   /* index into options->said; -1                          */
} up_draft;

/* ---- remarks ---- */
void up_note_add(up_recording *recording, int warning, long line, int column, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* Fills *problem; returns 2. */
int up_problem_set(up_problem *problem, long line, int column, const char *found, const char *expected,
                   const char *mend);

/* Line of a row of the part kept; 0 when the file is no text. */
long up_draft_line(const up_draft *draft, size_t row);

/* ---- stages, in their order; each returns 0, 2 with *problem, or 3 ---- */

/* Text only: columns with names and units as they stand above the samples; later their numbers, taking over the arrays. */
int up_columns_from_text(up_draft *draft, const up_head *head, const up_table *table);
void up_columns_take_rows(up_draft *draft, const up_table *table, up_rows *rows);

/* What each column is, from what was said, from units and names. */
int up_columns_meaning(up_draft *draft);

/* When the samples were taken. */
int up_bases_find(up_draft *draft);

/* Channels at another rate in the same table. */
int up_bases_split(up_draft *draft);

/* --from and --to. */
int up_bases_cut(up_draft *draft);

/* To SI; range, quantisation, clipping, wild samples. */
void up_columns_judge(up_draft *draft);

/* All of them after the columns stand. */
int up_draft_finish(up_draft *draft);

/* A column more; NULL when there are too many or memory is short. */
up_column *up_column_add(up_draft *draft, const char *name, const char *unit, const char *unit_from);

/* What a column is called in messages: its name, or "column 3". Returns out. */
char *up_column_called(const up_recording *recording, int column, char *out, size_t size);

#endif

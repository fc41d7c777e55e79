/* Where a table begins in a text, how wide it is, which rows above it name its columns and units. */
#ifndef UPSTOP_IO_RECORDING_TABLE_H
#define UPSTOP_IO_RECORDING_TABLE_H

#include "io/recording/dialect.h"
#include "io/units.h"

/* What stands in a column's cells. */
typedef enum up_use { UP_USE_EMPTY, UP_USE_NUMBER, UP_USE_GLUED, UP_USE_STAMP, UP_USE_TEXT } up_use;

typedef struct up_table {
    up_dialect dialect;
    int first;        /* index of the head's line with the first samples            */
    int names, units; /* indices of the header rows; -1                             */
    int above;        /* a row above the names that tells equal names apart; -1     */
    int width;        /* columns                                                    */
    int beside;       /* so many columns in front hold preamble beside the samples  */
    up_use use[UP_COLUMNS_MAX];
} up_table;

/* Returns 0, or 2 with *problem when there is no table of numbers. first_line: said by the user, from 1; 0: not. */
int up_table_find(const up_head *head, long first_line, const up_dialect *dialect, up_units *units, up_table *table,
                  up_problem *problem);

static inline int up_use_is_values(up_use use) {
    return use == UP_USE_NUMBER || use == UP_USE_GLUED || use == UP_USE_STAMP;
}

#endif

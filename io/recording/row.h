/* One line of the head, cut into cells and looked at; and what the header rows above a table say. */
#ifndef UPSTOP_IO_RECORDING_ROW_H
#define UPSTOP_IO_RECORDING_ROW_H

#include "io/recording/table.h"

typedef struct up_row {
    up_cells cells;
    up_cell_kind kind[UP_COLUMNS_MAX];
    int values, texts, filled;
} up_row;

void up_row_look(const up_head *head, int line, const up_dialect *dialect, up_row *out);

/* Columns that hold something, behind the preamble beside them. */
int up_table_columns(const up_table *table);

/* Finds the rows of names and units above table->first, and takes up columns that only they tell of. keys_above: keys in front
 * of an empty first column name the rows. scratch: room for one row. */
void up_headers_find(const up_head *head, int keys_above, up_units *units, up_table *table, up_row *scratch);

#endif

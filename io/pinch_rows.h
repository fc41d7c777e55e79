/* Every closing of a pinch map as rows of a table separated by commas. */
#ifndef UPSTOP_IO_PINCH_ROWS_H
#define UPSTOP_IO_PINCH_ROWS_H

#include <stdio.h>

#include "analysis/pinch_map.h"

/* Names with their units in brackets. Return 0, or -1 when the stream refuses a write. */
int up_pinch_rows_head(FILE *file);
int up_pinch_rows_print(const up_pinch_map *map, FILE *file);

#endif

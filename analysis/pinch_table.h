/* A pinch map as a table: the largest force found in each band of openings and each band of one other axis. */
#ifndef UPSTOP_ANALYSIS_PINCH_TABLE_H
#define UPSTOP_ANALYSIS_PINCH_TABLE_H

#include "analysis/pinch_map.h"

enum { UP_PINCH_BANDS_MAX = 40 };

typedef struct up_pinch_table {
    up_pinch_axis across;
    int rows, columns;
    double row_edge[UP_PINCH_BANDS_MAX + 1];    /* m, rows of what the rule measures; both ends belong to the map */
    double column_edge[UP_PINCH_BANDS_MAX + 1]; /* SI                                                          */
    /* [row][column]: largest force, N, both starts together; NaN: no closing reached the rod there */
    double force[UP_PINCH_BANDS_MAX][UP_PINCH_BANDS_MAX];
    int touched[UP_PINCH_BANDS_MAX][UP_PINCH_BANDS_MAX], unseen[UP_PINCH_BANDS_MAX][UP_PINCH_BANDS_MAX];
    int missed[UP_PINCH_BANDS_MAX][UP_PINCH_BANDS_MAX]; /* turned or stopped before the rod */
} up_pinch_table;

/* Rows for people: bands that end at 6, 10, 16, 25, 40, 63, 100, 160 mm, cut to the map's range. columns: 1..40, equal
 * widths. start: UP_PINCH_STARTS for both. */
void up_pinch_table_make(const up_pinch_map *map, up_pinch_axis across, int columns, up_pinch_start start,
                         up_pinch_table *table);

/* The same with `rows` bands of equal ratio. */
void up_pinch_table_fine(const up_pinch_map *map, up_pinch_axis across, int rows, int columns, up_pinch_start start,
                         up_pinch_table *table);

/* The smallest opening from which no closing in the map met the limit: the force stays below `limit` (N), or at most at
 * it. NaN when the largest opening is not free of it. */
double up_pinch_free_from(const up_pinch_map *map, up_pinch_start start, double limit);

#endif

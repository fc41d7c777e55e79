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

/* Rows end at preferred numbers, cut to the map's range: with fine 0 at 6, 10, 16, 25, 40, 63, 100 and 160 mm, with fine 1
 * at all of the series R 10 (ISO 3:1973, from memory). columns: 1..UP_PINCH_BANDS_MAX, equal widths. start:
 * UP_PINCH_STARTS for both. */
void up_pinch_table_make(const up_pinch_map *map, up_pinch_axis across, int fine, int columns, up_pinch_start start,
                         up_pinch_table *table);

/* How many columns suit the map's range of an axis: at most `most`, at least 3 where that goes, and each as wide as a whole
 * number of degrees, volts or hundredths; in a narrow range as many as have a degree, a tenth of a volt or a hundredth. */
int up_pinch_table_columns(const up_pinch_map *map, up_pinch_axis across, int most);

/* The smallest opening from which no closing in the map met the limit: the force stays below `limit` (N), or at most at
 * it. NaN when the largest opening is not free of it. */
double up_pinch_free_from(const up_pinch_map *map, up_pinch_start start, double limit);

#endif

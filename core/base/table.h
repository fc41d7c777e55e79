/* A smooth function of one variable as a row of polynomials of degree five over equal cells.
 *
 * Made from a closed form's value and first two derivatives at the cell borders, so it is twice differentiable there.
 * It spares the closing's inner loop every sine; at the cell counts used here it agrees with the closed form to rounding
 * (tests/unit/table_test.c). Outside the range the end cell's polynomial goes on. */
#ifndef UPSTOP_BASE_TABLE_H
#define UPSTOP_BASE_TABLE_H

enum { UP_TABLE_CELLS = 64 };

typedef struct up_table {
    double start;                          /* lower end of the range                     */
    double width;                          /* of one cell                                */
    double per_width;                      /* 1 / width                                  */
    double coefficient[UP_TABLE_CELLS][6]; /* of powers of the place in the cell, 0..1 */
} up_table;

typedef struct up_table_point {
    double value, slope, bend; /* function, first and second derivative */
} up_table_point;

typedef void up_table_source(const void *context, double at, up_table_point *point);

void up_table_make(up_table *table, double low, double high, up_table_source *source, const void *context);

static inline int up_table_cell(const up_table *table, double at, double *place) {
    const double scaled = (at - table->start) * table->per_width;
    int cell = scaled > 0 ? (scaled < UP_TABLE_CELLS ? (int)scaled : UP_TABLE_CELLS - 1) : 0;
    *place = scaled - cell;
    return cell;
}

/* At a place in a cell; what the caller does not use costs nothing once this is inlined. */
static inline void up_table_at(const up_table *table, int cell, double u, up_table_point *point) {
    const double *c = table->coefficient[cell];
    point->value = c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * (c[4] + u * c[5]))));
    point->slope =
        table->per_width * (c[1] + u * (2.0 * c[2] + u * (3.0 * c[3] + u * (4.0 * c[4] + u * (5.0 * c[5])))));
    point->bend =
        table->per_width * table->per_width * (2.0 * c[2] + u * (6.0 * c[3] + u * (12.0 * c[4] + u * (20.0 * c[5]))));
}

static inline void up_table_read(const up_table *table, double at, up_table_point *point) {
    double place;
    const int cell = up_table_cell(table, at, &place);
    up_table_at(table, cell, place, point);
}

#endif

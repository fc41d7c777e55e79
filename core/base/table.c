#include "core/base/table.h"

/* Degree five from value, slope and bend at both borders of a cell of width one. */
static void fit_cell(double c[6], up_table_point left, up_table_point right) {
    const double rise = right.value - left.value - left.slope - 0.5 * left.bend;
    const double turn = right.slope - left.slope - left.bend;
    const double curl = right.bend - left.bend;
    c[0] = left.value;
    c[1] = left.slope;
    c[2] = 0.5 * left.bend;
    c[3] = 10.0 * rise - 4.0 * turn + 0.5 * curl;
    c[4] = -15.0 * rise + 7.0 * turn - curl;
    c[5] = 6.0 * rise - 3.0 * turn + 0.5 * curl;
}

static up_table_point sample(up_table_source *source, const void *context, double at, double width) {
    up_table_point point;
    source(context, at, &point);
    point.slope *= width;
    point.bend *= width * width;
    return point;
}

void up_table_make(up_table *table, double low, double high, up_table_source *source, const void *context) {
    table->start = low;
    table->width = (high - low) / UP_TABLE_CELLS;
    table->per_width = 1.0 / table->width;
    up_table_point left = sample(source, context, low, table->width);
    for (int cell = 0; cell < UP_TABLE_CELLS; cell++) {
        const up_table_point right = sample(source, context, low + (cell + 1) * table->width, table->width);
        fit_cell(table->coefficient[cell], left, right);
        left = right;
    }
}

#include "analysis/pinch_table.h"

#include <math.h>
#include <string.h>

static double axis_value(const up_pinch_map *map, const up_pinch_point *point, up_pinch_axis axis) {
    const up_rule_number *number = NULL;
    switch (axis) {
    case UP_PINCH_MEASURE:
        return point->measure;
    case UP_PINCH_PLACE:
        return point->place;
    case UP_PINCH_SUPPLY:
        return point->supply;
    case UP_PINCH_TEMPERATURE:
        return point->temperature;
    case UP_PINCH_WEAR:
        return point->wear;
    case UP_PINCH_STIFFNESS:
        return point->stiffness / map->plan->study->rule->rod_stiffness(point->measure, &number);
    case UP_PINCH_CLEARANCE:
    default:
        return point->clearance;
    }
}

/* Band of a value; the upper end belongs to the last one. -1: outside. */
static int band_of(const double *edge, int bands, double value) {
    if (!(value >= edge[0]) || !(value <= edge[bands])) {
        return -1;
    }
    int band = bands - 1;
    while (band > 0 && value < edge[band]) {
        band--;
    }
    return band;
}

static void fill(const up_pinch_map *map, up_pinch_start start, up_pinch_table *table) {
    const int from = start == UP_PINCH_STARTS ? 0 : map->first[start];
    const int end = start == UP_PINCH_STARTS ? map->first[UP_PINCH_FROM_REST] + map->cells[UP_PINCH_FROM_REST]
                                             : from + map->cells[start];
    for (int i = from; i < end; i++) {
        const up_pinch_result *r = &map->cell[i].result;
        const int row = band_of(table->row_edge, table->rows, r->point.measure);
        const int column = band_of(table->column_edge, table->columns, axis_value(map, &r->point, table->across));
        if (r->status != UP_OK || row < 0 || column < 0) {
            continue;
        }
        double *force = &table->force[row][column];
        table->missed[row][column] += !r->touched;
        table->touched[row][column] += r->touched;
        table->unseen[row][column] += r->touched && r->reversals == 0;
        *force = r->touched && !(*force >= r->force) ? r->force : *force;
    }
}

static void begin(const up_pinch_map *map, up_pinch_axis across, int columns, up_pinch_table *table) {
    const up_pinch_range range = map->plan->range[across];
    memset(table, 0, sizeof *table);
    table->across = across;
    table->columns = range.high > range.low ? columns : 1;
    for (int i = 0; i <= table->columns; i++) {
        table->column_edge[i] = i == table->columns ? range.high : range.low + (range.high - range.low) * i / columns;
    }
    for (int row = 0; row < UP_PINCH_BANDS_MAX; row++) {
        for (int column = 0; column < UP_PINCH_BANDS_MAX; column++) {
            table->force[row][column] = UP_ABSENT;
        }
    }
}

int up_pinch_table_columns(const up_pinch_map *map, up_pinch_axis across, int most) {
    const up_pinch_range range = map->plan->range[across];
    const double unit = across == UP_PINCH_PLACE || across == UP_PINCH_WEAR ? 0.01 : 1;
    const double least = across == UP_PINCH_SUPPLY ? 0.1 : unit; /* nobody sets or measures it closer */
    const double room = floor((range.high - range.low) / least + 1e-6);
    if (room < most) {
        return room < 1 ? 1 : (int)room;
    }
    for (int columns = most; columns >= 3; columns--) {
        const double width = (range.high - range.low) / unit / columns;
        if (fabs(width - floor(width + 0.5)) < 1e-6) {
            return columns;
        }
    }
    return most;
}

void up_pinch_table_make(const up_pinch_map *map, up_pinch_axis across, int fine, int columns, up_pinch_start start,
                         up_pinch_table *table) {
    static const double coarse[] = {0.006, 0.010, 0.016, 0.025, 0.040, 0.063, 0.100, 0.160};
    static const double close[] = {0.005,  0.0063, 0.008, 0.010, 0.0125, 0.016, 0.020, 0.025,
                                   0.0315, 0.040,  0.050, 0.063, 0.080,  0.100, 0.125, 0.160};
    const double *edges = fine ? close : coarse;
    const size_t count = fine ? sizeof close / sizeof close[0] : sizeof coarse / sizeof coarse[0];
    const up_pinch_range range = map->plan->range[UP_PINCH_MEASURE];
    begin(map, across, columns, table);
    table->row_edge[0] = range.low;
    for (size_t i = 0; i < count; i++) {
        if (edges[i] > range.low && edges[i] < range.high) {
            table->row_edge[++table->rows] = edges[i];
        }
    }
    table->row_edge[++table->rows] = range.high;
    fill(map, start, table);
}

double up_pinch_free_from(const up_pinch_map *map, up_pinch_start start, double limit) {
    const up_pinch_range range = map->plan->range[UP_PINCH_MEASURE];
    const int from = start == UP_PINCH_STARTS ? 0 : map->first[start];
    const int end = start == UP_PINCH_STARTS ? map->first[UP_PINCH_FROM_REST] + map->cells[UP_PINCH_FROM_REST]
                                             : from + map->cells[start];
    double highest = range.low;
    for (int i = from; i < end; i++) {
        const up_pinch_result *r = &map->cell[i].result;
        if (r->touched && r->force >= limit) {
            highest = fmax(highest, r->point.measure);
        }
    }
    return highest < 0.98 * range.high ? highest : UP_ABSENT;
}

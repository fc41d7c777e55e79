/* The rows above a table: which of them name its columns, which their units. */
#include <string.h>

#include "io/recording/row.h"
#include "io/recording/words.h"

enum { HEADER_ROWS_MAX = 6 };

void up_row_look(const up_head *head, int line, const up_dialect *dialect, up_row *out) {
    double value;
    out->values = out->texts = out->filled = 0;
    up_cells_split(head->from[line], head->to[line], dialect->separator, &out->cells);
    for (int i = 0; i < out->cells.count; i++) {
        out->kind[i] = up_cell_look(&out->cells.cell[i], dialect, &value, NULL);
        out->values += up_cell_is_value(out->kind[i]);
        out->texts += out->kind[i] == UP_CELL_TEXT;
        out->filled += out->kind[i] != UP_CELL_EMPTY;
    }
}

int up_table_columns(const up_table *table) {
    int count = 0;
    for (int k = table->beside; k < table->width; k++) {
        count += table->use[k] != UP_USE_EMPTY;
    }
    return count;
}

typedef struct header_look {
    int texts, numbers, units, times; /* of the cells above columns of values */
    int statistics;                   /* "Avg", "Min": how a logger made its values */
    int filled;
} header_look;

static int is_statistic(const char *text) {
    static const char *const words[] = {"Avg", "Min", "Max", "Smp", "Std", "Tot", "Mean", "Med", NULL};
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], text) == 0) {
            return 1;
        }
    }
    return 0;
}

static header_look look_at_header(const up_head *head, int line, const up_table *table, up_units *units,
                                  up_row *scratch) {
    header_look out = {0};
    char text[UP_FACT_TEXT_MAX], bare[UP_FACT_TEXT_MAX], unit[UP_COLUMN_UNIT_MAX];
    up_signal signal;
    int on_glass;
    up_row_look(head, line, &table->dialect, scratch);
    out.filled = scratch->filled;
    for (int k = table->beside; k < scratch->cells.count && k < table->width; k++) {
        if (table->use[k] == UP_USE_EMPTY || scratch->kind[k] == UP_CELL_EMPTY) {
            continue;
        }
        if (scratch->kind[k] != UP_CELL_TEXT && scratch->kind[k] != UP_CELL_MARK) {
            out.numbers++;
            continue;
        }
        out.texts++;
        up_cell_text(scratch->cells.cell[k].from, scratch->cells.cell[k].to, text, sizeof text);
        out.statistics += is_statistic(text);
        const char *how = up_name_unit(units, text, bare, sizeof bare, unit, sizeof unit);
        if (up_unit_look(units, text).dimension != UP_DIMENSION_NONE || (how != NULL && bare[0] == '\0')) {
            out.units++;
        } else if (up_name_meaning(text, &signal, &on_glass) == UP_MEANS_TIME) {
            out.times++;
        }
    }
    return out;
}

static int is_names(const header_look *line, int columns) {
    return line->texts > 0 && line->numbers == 0 && 2 * line->texts >= columns;
}

static int is_units(const header_look *line) {
    return line->units > 0 && line->times == 0 && 2 * line->units >= line->texts;
}

/* Is the first cell the key of a statement about times? */
static int states_something(const up_row *line) {
    char key[UP_FACT_TEXT_MAX];
    up_cell_text(line->cells.cell[0].from, line->cells.cell[0].to, key, sizeof key);
    const up_key meaning = up_key_meaning(key);
    return meaning != UP_KEY_OTHER && meaning != UP_KEY_NAME;
}

static int equal_names(const up_head *head, const up_table *table, up_row *scratch) {
    up_row_look(head, table->names, &table->dialect, scratch);
    for (int a = table->beside; a < scratch->cells.count && a < table->width; a++) {
        for (int b = table->beside; b < a; b++) {
            const up_cell *x = &scratch->cells.cell[a], *y = &scratch->cells.cell[b];
            if (x->to > x->from && x->to - x->from == y->to - y->from &&
                memcmp(x->from, y->from, (size_t)(x->to - x->from)) == 0) {
                return 1;
            }
        }
    }
    return 0;
}

/* "x-axis,1" above "second,Volt": names that count the channels. */
static int numbers_channels(const up_table *table, const header_look *line, const up_row *scratch, int columns) {
    return table->units >= 0 && line->texts > 0 && line->texts + line->numbers >= columns &&
           line->filled <= table->width && !states_something(scratch);
}

static void find_headers(const up_head *head, up_units *units, up_table *table, up_row *scratch) {
    const int columns = up_table_columns(table);
    table->names = table->units = table->above = -1;
    int looked = 0;
    for (int i = table->first - 1; i >= 0 && looked < HEADER_ROWS_MAX; i--) {
        const header_look line = look_at_header(head, i, table, units, scratch);
        if (line.filled == 0 || (line.statistics > 0 && line.statistics == line.texts && line.numbers == 0)) {
            continue;
        }
        looked++;
        if (table->names < 0 && table->units < 0 && is_units(&line) && line.numbers == 0) {
            table->units = i;
        } else if (table->names < 0 && (is_names(&line, columns) || numbers_channels(table, &line, scratch, columns))) {
            table->names = i;
        } else if (table->names >= 0 && columns >= 3 && line.texts > 0 && line.numbers == 0 &&
                   equal_names(head, table, scratch)) {
            table->above = i;
            break;
        } else if (table->names >= 0 || line.numbers > 0 || looked > 2) {
            break;
        }
    }
    if (table->names < 0 && table->units >= 0) {
        /* "s,V,A" alone names the columns as well as their units; "millis,current_A" is a row of names. */
        const header_look line = look_at_header(head, table->units, table, units, scratch);
        table->names = table->units;
        table->units = line.units == line.texts ? table->units : -1;
    }
}

/* Keys in front of a table with an empty first column: "TraceName,CH1,CH2", "VUnit,V,A". */
static void find_keyed_headers(const up_head *head, up_table *table, up_row *scratch) {
    char key[UP_FACT_TEXT_MAX];
    for (int i = 0; i < table->first; i++) {
        up_row_look(head, i, &table->dialect, scratch);
        if (scratch->cells.count < 2 || scratch->kind[0] != UP_CELL_TEXT) {
            continue;
        }
        up_cell_text(scratch->cells.cell[0].from, scratch->cells.cell[0].to, key, sizeof key);
        const up_key meaning = up_key_meaning(key);
        if (meaning == UP_KEY_NAME && table->names < 0) {
            table->names = i;
        } else if (meaning == UP_KEY_UNIT && table->units < 0) {
            table->units = i;
        }
    }
}

/* A column without a value so far, but with a name: a slow one. */
static void add_named_columns(const up_head *head, up_table *table, up_row *scratch) {
    if (table->names < 0) {
        return;
    }
    up_row_look(head, table->names, &table->dialect, scratch);
    for (int k = table->beside; k < scratch->cells.count; k++) {
        if (table->use[k] == UP_USE_EMPTY && scratch->kind[k] == UP_CELL_TEXT && k < table->width) {
            table->use[k] = UP_USE_NUMBER;
        }
    }
}

/* Cells beyond those that are named, in a row or two: too many cells in a row, no column. */
static void drop_strays(const up_head *head, up_table *table, up_row *scratch) {
    int rows = 0, seen[UP_COLUMNS_MAX] = {0};
    if (table->names < 0) {
        return;
    }
    up_row_look(head, table->names, &table->dialect, scratch);
    const int named = scratch->cells.count;
    for (int i = table->first; i < head->count; i++) {
        up_row_look(head, i, &table->dialect, scratch);
        rows += scratch->values > 0;
        for (int k = named; k < scratch->cells.count; k++) {
            seen[k] += scratch->kind[k] != UP_CELL_EMPTY;
        }
    }
    for (int k = table->width - 1; k >= named && seen[k] <= 1 + rows / 20; k--) {
        table->use[k] = UP_USE_EMPTY;
        table->width = k;
    }
}

void up_headers_find(const up_head *head, int keys_above, up_units *units, up_table *table, up_row *scratch) {
    if (keys_above) {
        find_keyed_headers(head, table, scratch);
    }
    if (table->names < 0 && table->units < 0) {
        find_headers(head, units, table, scratch);
    }
    drop_strays(head, table, scratch);
    if (!keys_above) {
        add_named_columns(head, table, scratch);
    }
}

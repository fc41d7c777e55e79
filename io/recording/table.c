#include "io/recording/table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/words.h"

enum { RUN = 4, HEADER_ROWS_MAX = 6 };

/* One line, looked at. */
typedef struct row {
    up_cells cells;
    up_cell_kind kind[UP_COLUMNS_MAX];
    int values, texts, filled;
} row;

static void look(const up_head *head, int line, const up_dialect *dialect, row *out) {
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

/* What the columns hold, from the second half of the head, lines with many values counting more: preambles stand above. */
static void find_uses(const up_head *head, int from, up_table *table, row *scratch) {
    double weight[UP_COLUMNS_MAX][4] = {{0}};
    for (int i = from; i < head->count; i++) {
        look(head, i, &table->dialect, scratch);
        if (scratch->values == 0) {
            continue;
        }
        const double share = (double)scratch->values * scratch->values / scratch->filled;
        for (int k = 0; k < scratch->cells.count; k++) {
            const up_cell_kind kind = scratch->kind[k];
            const int at = kind == UP_CELL_NUMBER  ? 0
                           : kind == UP_CELL_GLUED ? 1
                           : kind == UP_CELL_STAMP ? 2
                           : kind == UP_CELL_TEXT  ? 3
                                                   : -1;
            if (at >= 0) {
                weight[k][at] += share;
            }
        }
    }
    table->width = 0;
    for (int k = 0; k < UP_COLUMNS_MAX; k++) {
        const double *w = weight[k], values = w[0] + w[1] + w[2];
        table->use[k] = values == 0 && w[3] == 0     ? UP_USE_EMPTY
                        : values < w[3]              ? UP_USE_TEXT
                        : w[1] > w[0] && w[1] > w[2] ? UP_USE_GLUED
                        : w[2] > w[0]                ? UP_USE_STAMP
                                                     : UP_USE_NUMBER;
        if (table->use[k] != UP_USE_EMPTY) {
            table->width = k + 1;
        }
    }
}

/* Does the line hold samples? Values where the columns have values, and more of them than words. *has_key: a word stands in
 * front of all values, where samples have nothing. */
static int is_samples(const up_table *table, const row *line, int *has_key, int *words) {
    int values = 0;
    *has_key = *words = 0;
    for (int k = 0; k < line->cells.count && k < table->width; k++) {
        if (up_use_is_values(table->use[k])) {
            values += up_cell_is_value(line->kind[k]);
            *words += line->kind[k] == UP_CELL_TEXT;
        } else if (values == 0 && *words == 0 && table->use[k] == UP_USE_EMPTY) {
            *has_key |= line->kind[k] == UP_CELL_TEXT;
        }
    }
    return values >= 1 && (*words == 0 || values > 2 * *words);
}

/* Keys that stand where samples have nothing: if some of their rows have words where samples have values, the rows belong to
 * the preamble above; if none has, the preamble stands beside the samples. */
static int keys_are_above(const up_head *head, const up_table *table, row *scratch) {
    for (int i = 0; i < head->count; i++) {
        int has_key, words;
        look(head, i, &table->dialect, scratch);
        (void)is_samples(table, scratch, &has_key, &words);
        if (has_key && words > 0) {
            return 1;
        }
    }
    return 0;
}

/* The first line from which on RUN lines of samples follow one another. */
static int find_first(const up_head *head, const up_table *table, int keys_above, row *scratch) {
    int run = 0, first = -1;
    for (int i = 0; i < head->count; i++) {
        int has_key, words;
        look(head, i, &table->dialect, scratch);
        if (scratch->filled == 0) {
            continue;
        }
        if (is_samples(table, scratch, &has_key, &words) && !(has_key && keys_above)) {
            first = run == 0 ? i : first;
            if (++run >= RUN) {
                return first;
            }
        } else {
            run = 0;
        }
    }
    /* A short table: the last run, or any row at all. */
    for (int i = head->count - 1; run == 0 && i >= 0; i--) {
        int has_key, words;
        look(head, i, &table->dialect, scratch);
        if (is_samples(table, scratch, &has_key, &words) && !(has_key && keys_above)) {
            first = i;
            run = 1;
            while (i > 0) {
                look(head, --i, &table->dialect, scratch);
                if (!is_samples(table, scratch, &has_key, &words) || (has_key && keys_above)) {
                    break;
                }
                first = i;
            }
        }
    }
    return run > 0 ? first : -1;
}

static int values_wide(const up_table *table) {
    int count = 0;
    for (int k = table->beside; k < table->width; k++) {
        count += table->use[k] != UP_USE_EMPTY;
    }
    return count;
}

static int fills_the_row(const up_table *table, const row *line) {
    for (int k = 0; k < table->width; k++) {
        if (up_use_is_values(table->use[k]) && (k >= line->cells.count || !up_cell_is_value(line->kind[k]))) {
            return 0;
        }
    }
    return 1;
}

/* Samples interrupted by prose before the run that was found: complete rows above, with lines in between that do not name
 * the columns, belong to the table. */
static int back_over_prose(const up_head *head, const up_table *table, int first, row *scratch) {
    const int columns = values_wide(table);
    int skipped = 0;
    for (int i = first - 1; i >= 0 && skipped <= 2; i--) {
        int has_key, words;
        look(head, i, &table->dialect, scratch);
        if (is_samples(table, scratch, &has_key, &words) && words == 0 && !has_key && fills_the_row(table, scratch) &&
            table->width > 1) {
            first = i;
            skipped = 0;
        } else if (scratch->filled > 0) {
            if (scratch->texts >= columns) { /* names for all columns */
                break;
            }
            skipped++;
        }
    }
    return first;
}

/* ---- the rows above ---- */

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

static header_look look_at_header(const up_head *head, int line, const up_table *table, up_units *units, row *scratch) {
    header_look out = {0};
    char text[UP_FACT_TEXT_MAX], bare[UP_FACT_TEXT_MAX], unit[UP_COLUMN_UNIT_MAX];
    up_signal signal;
    int on_glass;
    look(head, line, &table->dialect, scratch);
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
static int states_something(const row *line) {
    char key[UP_FACT_TEXT_MAX];
    up_cell_text(line->cells.cell[0].from, line->cells.cell[0].to, key, sizeof key);
    const up_key meaning = up_key_meaning(key);
    return meaning != UP_KEY_OTHER && meaning != UP_KEY_NAME;
}

static int equal_names(const up_head *head, const up_table *table, row *scratch) {
    look(head, table->names, &table->dialect, scratch);
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

static void find_headers(const up_head *head, up_units *units, up_table *table, row *scratch) {
    const int columns = values_wide(table);
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
        } else if (table->names < 0 && is_names(&line, columns)) {
            table->names = i;
        } else if (table->names < 0 && table->units >= 0 && line.texts > 0 && line.texts + line.numbers >= columns &&
                   line.filled <= table->width && !states_something(scratch)) {
            table->names = i; /* "x-axis,1" above "second,Volt" */
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
static void find_keyed_headers(const up_head *head, up_table *table, row *scratch) {
    char key[UP_FACT_TEXT_MAX];
    for (int i = 0; i < table->first; i++) {
        look(head, i, &table->dialect, scratch);
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
static void add_named_columns(const up_head *head, up_table *table, row *scratch) {
    if (table->names < 0) {
        return;
    }
    look(head, table->names, &table->dialect, scratch);
    for (int k = table->beside; k < scratch->cells.count; k++) {
        if (table->use[k] == UP_USE_EMPTY && scratch->kind[k] == UP_CELL_TEXT && k < table->width) {
            table->use[k] = UP_USE_NUMBER;
        }
    }
}

/* A group of channels that ended before the second half of the head: values in rows without a word. */
static void add_early_columns(const up_head *head, up_table *table, row *scratch) {
    for (int i = table->first; i < head->count; i++) {
        look(head, i, &table->dialect, scratch);
        for (int k = table->beside; k < scratch->cells.count && scratch->texts == 0; k++) {
            if (table->use[k] == UP_USE_EMPTY && up_cell_is_value(scratch->kind[k])) {
                table->use[k] = scratch->kind[k] == UP_CELL_STAMP ? UP_USE_STAMP : UP_USE_NUMBER;
                table->width = k + 1 > table->width ? k + 1 : table->width;
            }
        }
    }
}

/* Cells beyond those that are named, in a row or two: too many cells in a row, no column. */
static void drop_strays(const up_head *head, up_table *table, row *scratch) {
    int rows = 0, seen[UP_COLUMNS_MAX] = {0};
    if (table->names < 0) {
        return;
    }
    look(head, table->names, &table->dialect, scratch);
    const int named = scratch->cells.count;
    for (int i = table->first; i < head->count; i++) {
        look(head, i, &table->dialect, scratch);
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

static void set_beside(const up_head *head, up_table *table, int keys_above, row *scratch) {
    int values = 0;
    while (values < table->width && !up_use_is_values(table->use[values])) {
        values++;
    }
    table->beside = 0;
    for (int i = table->first; i < head->count && !keys_above; i++) {
        int has_key, words;
        look(head, i, &table->dialect, scratch);
        if (is_samples(table, scratch, &has_key, &words) && has_key) {
            table->beside = values;
            return;
        }
    }
}

static int no_table(up_problem *problem, const up_head *head) {
    *problem = (up_problem){.line = 0};
    snprintf(problem->found, sizeof problem->found, "no row of numbers in the first %d lines", head->count);
    snprintf(problem->expected, sizeof problem->expected, "a table of samples, a row for each moment");
    snprintf(problem->mend, sizeof problem->mend,
             "export the samples as text (CSV); --separator, --decimal and --first-line say how they are written");
    return 2;
}

int up_table_find(const up_head *head, long first_line, const up_dialect *dialect, up_units *units, up_table *table,
                  up_problem *problem) {
    row *scratch = malloc(sizeof *scratch);
    *table = (up_table){.dialect = *dialect, .names = -1, .units = -1, .above = -1};
    if (scratch == NULL) {
        return 3;
    }
    const int said = first_line > 0 && first_line <= head->count;
    find_uses(head, said ? (int)first_line - 1 : head->count / 2, table, scratch);
    const int keys_above = keys_are_above(head, table, scratch);
    table->first = said ? (int)first_line - 1 : find_first(head, table, keys_above, scratch);
    if (table->first < 0 || table->width == 0) {
        free(scratch);
        return no_table(problem, head);
    }
    if (!said) {
        table->first = back_over_prose(head, table, table->first, scratch);
    }
    set_beside(head, table, keys_above, scratch);
    add_early_columns(head, table, scratch);
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
    free(scratch);
    return 0;
}

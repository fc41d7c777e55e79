#include "io/recording/table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/draft.h"
#include "io/recording/row.h"

enum { RUN = 4 };

/* What the columns hold, from the second half of the head, lines with many values counting more: preambles stand above. */
static void find_uses(const up_head *head, int from, up_table *table, up_row *scratch) {
    double weight[UP_COLUMNS_MAX][4] = {{0}};
    for (int i = from; i < head->count; i++) {
        up_row_look(head, i, &table->dialect, scratch);
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
static int is_samples(const up_table *table, const up_row *line, int *has_key, int *words) {
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
static int keys_are_above(const up_head *head, const up_table *table, up_row *scratch) {
    for (int i = 0; i < head->count; i++) {
        int has_key, words;
        up_row_look(head, i, &table->dialect, scratch);
        (void)is_samples(table, scratch, &has_key, &words);
        if (has_key && words > 0) {
            return 1;
        }
    }
    return 0;
}

/* The first line from which on RUN lines of samples follow one another. */
static int find_first(const up_head *head, const up_table *table, int keys_above, up_row *scratch) {
    int run = 0, first = -1;
    for (int i = 0; i < head->count; i++) {
        int has_key, words;
        up_row_look(head, i, &table->dialect, scratch);
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
        up_row_look(head, i, &table->dialect, scratch);
        if (is_samples(table, scratch, &has_key, &words) && !(has_key && keys_above)) {
            first = i;
            run = 1;
            while (i > 0) {
                up_row_look(head, --i, &table->dialect, scratch);
                if (!is_samples(table, scratch, &has_key, &words) || (has_key && keys_above)) {
                    break;
                }
                first = i;
            }
        }
    }
    return run > 0 ? first : -1;
}

static int fills_the_row(const up_table *table, const up_row *line) {
    for (int k = 0; k < table->width; k++) {
        if (up_use_is_values(table->use[k]) && (k >= line->cells.count || !up_cell_is_value(line->kind[k]))) {
            return 0;
        }
    }
    return 1;
}

/* Samples interrupted by prose before the run that was found: complete rows above, with lines in between that do not name
 * the columns, belong to the table. */
static int back_over_prose(const up_head *head, const up_table *table, int first, up_row *scratch) {
    const int columns = up_table_columns(table);
    int skipped = 0;
    for (int i = first - 1; i >= 0 && skipped <= 2; i--) {
        int has_key, words;
        up_row_look(head, i, &table->dialect, scratch);
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

/* A group of channels that ended before the second half of the head: values in rows without a word. */
static void add_early_columns(const up_head *head, up_table *table, up_row *scratch) {
    for (int i = table->first; i < head->count; i++) {
        up_row_look(head, i, &table->dialect, scratch);
        for (int k = table->beside; k < scratch->cells.count && scratch->texts == 0; k++) {
            if (table->use[k] == UP_USE_EMPTY && up_cell_is_value(scratch->kind[k])) {
                table->use[k] = scratch->kind[k] == UP_CELL_STAMP ? UP_USE_STAMP : UP_USE_NUMBER;
                table->width = k + 1 > table->width ? k + 1 : table->width;
            }
        }
    }
}

static void set_beside(const up_head *head, up_table *table, int keys_above, up_row *scratch) {
    int values = 0;
    while (values < table->width && !up_use_is_values(table->use[values])) {
        values++;
    }
    table->beside = 0;
    for (int i = table->first; i < head->count && !keys_above; i++) {
        int has_key, words;
        up_row_look(head, i, &table->dialect, scratch);
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
    up_row *scratch = malloc(sizeof *scratch);
    *table = (up_table){.dialect = *dialect, .names = -1, .units = -1, .above = -1};
    if (scratch == NULL) {
        return 3;
    }
    const int said = first_line > 0;
    if (first_line > head->count) {
        free(scratch);
        char found[UP_NOTE_TEXT_MAX];
        snprintf(found, sizeof found, "--first-line %ld, and %d lines before the samples can be looked at", first_line,
                 head->count);
        return up_problem_set(problem, 0, 0, found, "the line of the first samples", "count the lines from 1");
    }
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
    up_headers_find(head, keys_above, units, table, scratch);
    free(scratch);
    return 0;
}

/* The columns of a text table: names and units as they stand above it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/draft.h"
#include "io/recording/facts.h"

/* A cell of a header row. Marks of comments in front of the first are no part of the name. */
static void header_text(const up_head *head, const up_table *table, int line, int k, char *out, size_t size) {
    up_cells cells;
    out[0] = '\0';
    if (line < 0) {
        return;
    }
    up_cells_split(head->from[line], head->to[line], table->dialect.separator, &cells);
    if (k < cells.count) {
        const char *from = cells.cell[k].from;
        while (k == 0 && from < cells.cell[k].to && strchr("#%/! ", *from) != NULL) {
            from++;
        }
        up_cell_text(from, cells.cell[k].to, out, size);
    }
}

static void strip_brackets(char *unit) {
    const size_t length = strlen(unit);
    if (length > 2 && strchr("([{<", unit[0]) != NULL && strchr(")]}>", unit[length - 1]) != NULL) {
        memmove(unit, unit + 1, length - 2);
        unit[length - 2] = '\0';
    }
}

static int is_quantity_unit(up_units *units, const char *text) {
    const up_unit_meaning meaning = up_unit_look(units, text);
    return up_unit_is_usual(text) &&
           (meaning.dimension == UP_DIMENSION_TIME || meaning.dimension == UP_DIMENSION_SIGNAL);
}

static void add_column(up_draft *draft, const up_head *head, const up_table *table, int k) {
    char name[UP_FACT_TEXT_MAX], above[UP_FACT_TEXT_MAX], bare[UP_FACT_TEXT_MAX];
    char unit[UP_COLUMN_UNIT_MAX] = "", own[UP_COLUMN_UNIT_MAX];
    const char *how = NULL;
    header_text(head, table, table->names, k, name, sizeof name);
    header_text(head, table, table->above, k, above, sizeof above);
    if (table->units >= 0) {
        header_text(head, table, table->units, k, unit, sizeof unit);
        strip_brackets(unit);
        how = unit[0] != '\0' ? (table->units == table->names ? "the name" : "in the row of units") : NULL;
    }
    if (unit[0] == '\0' && table->use[k] != UP_USE_TEXT) {
        how = up_name_unit(draft->units, name, bare, sizeof bare, own, sizeof own);
        if (how != NULL) {
            memcpy(name, bare, sizeof name);
            memcpy(unit, own, sizeof unit);
        } else if (strlen(name) >= 2 && is_quantity_unit(draft->units, name)) { /* "millis" */
            snprintf(unit, sizeof unit, "%.47s", name);
            how = "the name";
        }
    }
    char whole[2 * UP_FACT_TEXT_MAX];
    snprintf(whole, sizeof whole, "%s%s%s", above, above[0] != '\0' && name[0] != '\0' ? " " : "", name);
    whole[UP_FACT_TEXT_MAX - 1] = '\0';
    up_column *column = up_column_add(draft, whole, unit, how);
    if (column == NULL) {
        return;
    }
    draft->column_of[draft->recording->column_count - 1] = k;
    column->role = table->use[k] == UP_USE_TEXT ? UP_ROLE_TEXT : UP_ROLE_UNKNOWN;
}

/* The n-th of the values of a statement, which stand two blanks apart. Returns 0 when there are fewer. */
static int nth_value(const up_fact *fact, int n, char *out, size_t size) {
    const char *at = fact->value;
    for (; n > 0 && at != NULL; n--) {
        at = strstr(at, "  ");
        at = at != NULL ? at + 2 : NULL;
    }
    if (at == NULL) {
        return 0;
    }
    const char *end = strstr(at, "  ");
    snprintf(out, size, "%.*s", end != NULL ? (int)(end - at) : (int)strlen(at), at);
    return 1;
}

static int count_values(const up_fact *fact) {
    char text[UP_FACT_TEXT_MAX];
    int count = 0;
    while (fact != NULL && nth_value(fact, count, text, sizeof text)) {
        count++;
    }
    return count;
}

/* The column that the first value of such a statement belongs to: behind the times, if there is one value less than
 * columns. -1: the statement is about something else. */
static int first_meant(const up_recording *recording, const up_fact *fact) {
    const int values = count_values(fact), columns = recording->column_count;
    return values == 0 ? -1 : values == columns ? 0 : values == columns - 1 ? 1 : -1;
}

/* Columns without a unit or a name, and a preamble that states them, a value for each. */
static void units_from_facts(up_draft *draft, const up_table *table) {
    up_recording *recording = draft->recording;
    up_fact *unit = up_fact_find(recording, UP_KEY_UNIT), *name = up_fact_find(recording, UP_KEY_NAME);
    const int first_unit = first_meant(recording, unit), first_name = first_meant(recording, name);
    char text[UP_FACT_TEXT_MAX];
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (first_unit >= 0 && i >= first_unit && column->unit[0] == '\0' &&
            nth_value(unit, i - first_unit, text, sizeof text) &&
            up_unit_look(draft->units, text).dimension != UP_DIMENSION_NONE) {
            snprintf(column->unit, sizeof column->unit, "%.47s", text);
            column->unit_from = "in the preamble";
            unit->used = 1;
        }
        const int nameless =
            column->name[0] == '\0' || table->names == table->units || strcmp(column->name, "Value") == 0;
        if (first_name >= 0 && i >= first_name && nameless && nth_value(name, i - first_name, text, sizeof text)) {
            snprintf(column->name, sizeof column->name, "%s", text);
            name->used = 1;
        }
    }
}

/* The unit of times stated apart, for a first column that is nameless or named for time. */
static void time_unit_from_facts(up_recording *recording) {
    up_signal signal;
    int on_glass;
    up_column *first = &recording->column[0];
    up_fact *fact = up_fact_find(recording, UP_KEY_TIME_UNIT);
    if (fact != NULL && recording->column_count > 1 && first->unit[0] == '\0' && first->role == UP_ROLE_UNKNOWN &&
        (first->name[0] == '\0' || up_name_meaning(first->name, &signal, &on_glass) == UP_MEANS_TIME)) {
        snprintf(first->unit, sizeof first->unit, "%.47s", fact->value);
        first->unit_from = "in the preamble";
        fact->used = 1;
    }
}

/* Meters write the unit into a column of its own, row by row: the first row tells. */
static void unit_from_cells(up_draft *draft, const up_head *head, const up_table *table, int k) {
    char unit[UP_COLUMN_UNIT_MAX];
    up_recording *recording = draft->recording;
    up_column *before = recording->column_count > 1 ? &recording->column[recording->column_count - 2] : NULL;
    header_text(head, table, table->first, k, unit, sizeof unit);
    if (before != NULL && before->unit[0] == '\0' && before->role == UP_ROLE_UNKNOWN &&
        is_quantity_unit(draft->units, unit)) {
        memcpy(before->unit, unit, sizeof before->unit);
        before->unit_from = "in the column beside it";
    }
}

int up_columns_from_text(up_draft *draft, const up_head *head, const up_table *table) {
    draft->one_table = 1;
    for (int k = table->beside; k < table->width; k++) {
        if (table->use[k] != UP_USE_EMPTY) {
            add_column(draft, head, table, k);
            if (table->use[k] == UP_USE_TEXT) {
                unit_from_cells(draft, head, table, k);
            }
        }
    }
    draft->recording->names_line = table->names + 1;
    draft->recording->units_line = table->units + 1;
    return draft->recording->column != NULL ? 0 : 3;
}

static void take_column(up_draft *draft, int at, up_raw_column *raw, size_t count) {
    up_column *column = &draft->recording->column[at];
    char called[80];
    draft->stamp_has[at] = raw->stamp_has;
    draft->complete[at] = !raw->has_none;
    if (column->unit[0] == '\0' && raw->unit[0] != '\0') {
        memcpy(column->unit, raw->unit, sizeof column->unit);
        column->unit_from = "glued to the values";
    }
    column->value = raw->value;
    raw->value = NULL;
    column->count = column->value != NULL ? count : 0;
    column->unreadable = raw->unreadable;
    column->unreadable_line = raw->unreadable_line;
    column->unreadable_column = raw->unreadable_column;
    memcpy(column->unreadable_text, raw->unreadable_text, sizeof column->unreadable_text);
    column->over = raw->over;
    if (raw->mixed_units) {
        up_note_add(draft->recording, 0, 0, 0,
                    "%s: the units glued to the values change from row to row; all were converted",
                    up_column_called(draft->recording, at, called, sizeof called));
    }
}

void up_columns_take_rows(up_draft *draft, const up_table *table, up_rows *rows) {
    up_recording *recording = draft->recording;
    draft->rows = rows;
    for (int i = 0; i < recording->column_count; i++) {
        take_column(draft, i, &rows->column[draft->column_of[i]], rows->count);
    }
    units_from_facts(draft, table);
    time_unit_from_facts(recording);
    recording->first_line = rows->first_line;
    recording->last_line = rows->last_line;
    recording->rows = rows->count;
    recording->prose = rows->prose;
    recording->prose_line = rows->prose_line;
    recording->ragged = rows->ragged;
    recording->ragged_line = rows->ragged_line;
}

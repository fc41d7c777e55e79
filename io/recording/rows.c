#include "io/recording/rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/number.h"
#include "io/recording/stamp.h"
#include "io/recording/words.h"
#include "io/sheet_number.h"

enum { ROOM_AT_FIRST = 4096, SKIPS_MAX = 1 << 16 };

static int make_room(up_rows *rows, size_t wanted) {
    for (int k = 0; k < rows->table->width; k++) {
        up_raw_column *column = &rows->column[k];
        if (k >= rows->table->beside && up_use_is_values(column->use)) {
            double *larger = realloc(column->value, wanted * sizeof *larger);
            if (larger == NULL) {
                return 0;
            }
            column->value = larger;
        }
    }
    rows->room = wanted;
    return 1;
}

int up_rows_begin(up_rows *rows, const up_table *table, up_units *units, size_t expected) {
    *rows = (up_rows){.table = table, .units = units, .line = 1};
    for (int k = 0; k < table->width; k++) {
        rows->column[k].use = table->use[k];
    }
    return make_room(rows, expected > ROOM_AT_FIRST ? expected : ROOM_AT_FIRST) ? 0 : 3;
}

void up_rows_free(up_rows *rows) {
    for (int k = 0; k < UP_COLUMNS_MAX; k++) {
        free(rows->column[k].value);
        rows->column[k].value = NULL;
    }
    free(rows->skip);
    rows->skip = NULL;
}

static void skip_line(up_rows *rows) {
    if (rows->count == 0) {
        return;
    }
    if (rows->skip_count == rows->skip_room) {
        const int room = rows->skip_room == 0 ? 64 : 2 * rows->skip_room;
        up_skip *larger = room > SKIPS_MAX ? NULL : realloc(rows->skip, (size_t)room * sizeof *larger);
        if (larger == NULL) {
            return; /* line numbers behind it come out too small; nothing else hangs on them */
        }
        rows->skip = larger;
        rows->skip_room = room;
    }
    const long before = rows->skip_count > 0 ? rows->skip[rows->skip_count - 1].lines : 0;
    if (rows->skip_count > 0 && rows->skip[rows->skip_count - 1].row == rows->count) {
        rows->skip[rows->skip_count - 1].lines++;
    } else {
        rows->skip[rows->skip_count++] = (up_skip){rows->count, before + 1};
    }
}

long up_rows_line(const up_rows *rows, size_t row) {
    long lines = 0;
    for (int i = 0; i < rows->skip_count && rows->skip[i].row <= row; i++) {
        lines = rows->skip[i].lines;
    }
    return rows->first_line + (long)row + lines;
}

static int accept_row(up_rows *rows) {
    if (rows->count == 0) {
        rows->first_line = rows->line;
    }
    rows->last_line = rows->line;
    rows->count++;
    return rows->count < rows->room || make_room(rows, rows->count + rows->count / 2 + 1);
}

/* ---- stamps ---- */

static int take_stamp(up_rows *rows, up_raw_column *column, const char *from, const char *to) {
    up_stamp stamp;
    if (!up_stamp_read(from, to, rows->table->dialect.day_first, &stamp)) {
        return 0;
    }
    if (column->stamp_has == 0) {
        column->stamp_has = stamp.has;
        column->base = stamp.seconds;
        up_cell_text(from, to, column->first_text, sizeof column->first_text);
    }
    column->value[rows->count] = (double)(stamp.seconds - column->base) + stamp.fraction;
    return 1;
}

/* ---- the careful way ---- */

static int take_glued(up_rows *rows, up_raw_column *column, double value, const char *from, const char *to) {
    char unit[UP_COLUMN_UNIT_MAX];
    up_cell_text(from, to, unit, sizeof unit);
    if (column->unit[0] == '\0') {
        memcpy(column->unit, unit, sizeof unit);
    }
    if (strcmp(unit, column->unit) != 0) {
        const up_unit_meaning first = up_unit_look(rows->units, column->unit), now = up_unit_look(rows->units, unit);
        if (now.dimension == UP_DIMENSION_NONE || now.dimension != first.dimension || now.signal != first.signal) {
            return 0;
        }
        column->mixed_units = 1;
        value = (value * now.factor + now.offset - first.offset) / first.factor;
    }
    column->value[rows->count] = value;
    return 1;
}

static void take_unreadable(up_rows *rows, int k, const up_cell *cell, const char *line) {
    up_raw_column *column = &rows->column[k];
    if (column->unreadable++ == 0) {
        column->unreadable_line = rows->line;
        column->unreadable_column = (int)(cell->from - line) + 1;
        up_cell_text(cell->from, cell->to, column->unreadable_text, sizeof column->unreadable_text);
    }
}

/* Something short with a digit or an odd sign in it was a number before it was damaged; words are words. */
static int was_a_number(const up_cell *cell) {
    int sign = 0;
    if (cell->to - cell->from > 16) {
        return 0;
    }
    for (const char *at = cell->from; at < cell->to; at++) {
        if (*at == ' ') {
            return 0;
        }
        sign |= up_is_digit(*at) || *at == '#' || *at == '?' || *at == '*';
    }
    return sign;
}

/* Is it a row of samples, though not all of its cells can be read? */
static int is_row(const up_rows *rows, const up_cells *cells, const up_cell_kind *kind) {
    int values = 0, marks = 0, texts = 0, damaged = 0, first = -1;
    for (int k = rows->table->beside; k < cells->count && k < rows->table->width; k++) {
        if (!up_use_is_values(rows->column[k].use)) {
            continue;
        }
        first = first < 0 ? k : first;
        values += up_cell_is_value(kind[k]);
        marks += kind[k] == UP_CELL_MARK || kind[k] == UP_CELL_OVER;
        texts += kind[k] == UP_CELL_TEXT;
        damaged += kind[k] == UP_CELL_TEXT && was_a_number(&cells->cell[k]);
    }
    if (texts == 0) {
        return values > 0 || (marks > 0 && cells->count >= rows->table->width);
    }
    return cells->count >= rows->table->width && (texts == damaged || (first >= 0 && up_cell_is_value(kind[first])));
}

static void take_cell(up_rows *rows, int k, const up_cell *cell, up_cell_kind kind, double value, const char *rest,
                      const char *line) {
    up_raw_column *column = &rows->column[k];
    int read = 0;
    if (kind == UP_CELL_NUMBER && column->use != UP_USE_STAMP) {
        column->value[rows->count] = value;
        read = 1;
    } else if (kind == UP_CELL_GLUED && column->use != UP_USE_STAMP) {
        read = take_glued(rows, column, value, rest, cell->to);
    } else if (kind == UP_CELL_STAMP && column->use == UP_USE_STAMP) {
        read = take_stamp(rows, column, cell->from, cell->to);
    } else if (kind == UP_CELL_OVER) {
        column->over++;
        return;
    }
    if (!read && kind != UP_CELL_EMPTY && kind != UP_CELL_MARK) {
        take_unreadable(rows, k, cell, line);
    }
}

static int filled_beyond(const up_cells *cells, int width) {
    for (int k = width; k < cells->count; k++) {
        if (cells->cell[k].from < cells->cell[k].to) {
            return 1;
        }
    }
    return 0;
}

static int take_line(up_rows *rows, const char *from, const char *to) {
    const up_table *table = rows->table;
    up_cells cells;
    up_cell_kind kind[UP_COLUMNS_MAX];
    double value[UP_COLUMNS_MAX];
    const char *rest[UP_COLUMNS_MAX];
    up_cells_split(from, to, table->dialect.separator, &cells);
    int filled = 0;
    for (int k = 0; k < cells.count; k++) {
        kind[k] = up_cell_look(&cells.cell[k], &table->dialect, &value[k], &rest[k]);
        filled += kind[k] != UP_CELL_EMPTY;
    }
    if (filled == 0) {
        skip_line(rows);
        return 1;
    }
    if (!is_row(rows, &cells, kind)) {
        if (rows->prose++ == 0) {
            rows->prose_line = rows->line;
            up_cell_text(from, to, rows->prose_text, sizeof rows->prose_text);
        }
        skip_line(rows);
        return 1;
    }
    for (int k = table->beside; k < table->width; k++) {
        up_raw_column *column = &rows->column[k];
        if (column->value == NULL) {
            continue;
        }
        column->value[rows->count] = NAN;
        column->has_none = 1; /* or not: the careful way may well fill it in */
        if (k < cells.count) {
            take_cell(rows, k, &cells.cell[k], kind[k], value[k], rest[k], from);
        }
    }
    if (cells.count < table->width || filled_beyond(&cells, table->width)) {
        rows->ragged_line = rows->ragged++ == 0 ? rows->line : rows->ragged_line;
    }
    return accept_row(rows);
}

/* ---- the fast way ---- */

static inline const char *over_blanks(const char *at, char separator) {
    while (*at == ' ' || (separator == ' ' && *at == '\t')) {
        at++;
    }
    return at;
}

static inline int ends_row(char c) {
    return c == '\n' || c == '\r';
}

/* The cells of a row that hold what their column holds. Returns where the last one ended, NULL when it takes more care. */
static inline const char *scan_cells(up_rows *rows, const char *at, char separator, char decimal, int *values) {
    const int width = rows->table->width;
    const size_t row = rows->count;
    for (int k = 0; k < width; k++) {
        up_raw_column *column = &rows->column[k];
        at = over_blanks(at, separator);
        if (column->value == NULL) {
            while (*at != separator && !ends_row(*at)) {
                if (*at++ == '"') {
                    return NULL;
                }
            }
        } else if (*at == separator || ends_row(*at)) {
            column->value[row] = NAN;
            column->has_none = 1;
        } else if (column->use == UP_USE_STAMP) {
            const char *end = at;
            while (*end != separator && !ends_row(*end)) {
                end++;
            }
            if (separator == ' ' || !take_stamp(rows, column, at, end)) {
                return NULL;
            }
            at = end;
            ++*values;
        } else {
            const int quoted = *at == '"';
            double value;
            at = up_number_scan(at + quoted, decimal, &value);
            if (at == NULL || (quoted && *at++ != '"') || !(fabs(value) < 9.8e37)) {
                return NULL;
            }
            column->value[row] = value;
            ++*values;
            at = over_blanks(at, separator);
        }
        if (*at == separator && k + 1 < width) {
            at++;
        } else if (separator != ' ' && k + 1 < width) {
            return NULL; /* a short row, or something behind a number */
        }
    }
    return at;
}

static inline const char *scan_row(up_rows *rows, const char *at) {
    const up_dialect *dialect = &rows->table->dialect;
    int values = 0;
    if (dialect->rows_quoted && *at == '"') {
        at++;
    }
    at = dialect->separator == ',' && dialect->decimal == '.'
             ? scan_cells(rows, at, ',', '.', &values)
             : scan_cells(rows, at, dialect->separator, dialect->decimal, &values);
    if (at == NULL || values == 0) {
        return NULL;
    }
    if (dialect->rows_quoted && *at == '"') {
        at++;
    }
    while (*at != '\n') {
        if (*at != dialect->separator && *at != ' ' && *at != '\r' && *at != '\t') {
            return NULL;
        }
        at++;
    }
    return at + 1;
}

int up_rows_take(up_rows *rows, const char *from, const char *to) {
    while (from < to) {
        const char *next = scan_row(rows, from);
        int good;
        if (next != NULL) {
            good = accept_row(rows);
        } else {
            const char *end = memchr(from, '\n', (size_t)(to - from));
            next = end != NULL ? end + 1 : to;
            end = end != NULL ? end : to;
            good = take_line(rows, from, end);
        }
        if (!good) {
            return 3;
        }
        rows->line++;
        from = next;
    }
    return 0;
}

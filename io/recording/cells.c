#include "io/recording/cells.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "io/recording/number.h"
#include "io/recording/stamp.h"

static int is_blank(char c) {
    return c == ' ' || c == '\t';
}

static void trim(up_cell *cell) {
    while (cell->from < cell->to && (is_blank(*cell->from) || *cell->from == '\r')) {
        cell->from++;
    }
    while (cell->to > cell->from && (is_blank(cell->to[-1]) || cell->to[-1] == '\r')) {
        cell->to--;
    }
}

static void unquote(up_cell *cell) {
    if (cell->to - cell->from >= 2 && *cell->from == '"' && cell->to[-1] == '"') {
        cell->from++;
        cell->to--;
        trim(cell);
    }
}

static void add(up_cells *cells, const char *from, const char *to) {
    if (cells->count < UP_COLUMNS_MAX) {
        up_cell *cell = &cells->cell[cells->count++];
        *cell = (up_cell){from, to};
        trim(cell);
        unquote(cell);
    }
}

/* The end of a cell: the next separator outside quotes. */
static const char *cell_end(const char *at, const char *to, char separator, int *quoted_comma) {
    int quoted = 0;
    for (; at < to; at++) {
        if (*at == '"') {
            quoted = !quoted;
        } else if (*at == separator || (separator == ' ' && *at == '\t')) {
            if (!quoted) {
                return at;
            }
            *quoted_comma = 1;
        }
    }
    return to;
}

static void split_at(const char *from, const char *to, char separator, up_cells *cells) {
    for (const char *at = from;;) {
        if (separator == ' ') {
            while (at < to && is_blank(*at)) {
                at++;
            }
            if (at >= to) {
                return;
            }
            /* "# t [s]  u [V]": a mark of comments is no cell, a bracket belongs to the word before. */
            if ((*at == '#' || *at == '%') && cells->count == 0 && at + 1 < to && is_blank(at[1])) {
                at++;
                continue;
            }
            if ((*at == '[' || *at == '(') && cells->count > 0 && cells->count < UP_COLUMNS_MAX) {
                at = cell_end(at, to, separator, &cells->quoted_comma);
                cells->cell[cells->count - 1].to = at;
                if (at >= to) {
                    return;
                }
                continue;
            }
        }
        const char *end = cell_end(at, to, separator, &cells->quoted_comma);
        add(cells, at, end);
        if (end >= to) {
            return;
        }
        at = end + 1;
    }
}

static int only_first(const up_cells *cells) {
    for (int i = 1; i < cells->count; i++) {
        if (cells->cell[i].from < cells->cell[i].to) {
            return 0;
        }
    }
    return cells->count > 0;
}

void up_cells_split(const char *from, const char *to, char separator, up_cells *cells) {
    up_cell line = {from, to};
    cells->count = 0;
    cells->unwrapped = 0;
    cells->quoted_comma = 0;
    trim(&line);
    if (line.from == line.to) {
        return;
    }
    /* A separator at the very end belongs to the line although trimming a tab took it for a blank: it adds an empty cell,
     * which nobody misses. One at the beginning counts. */
    if (separator == '\t') {
        while (line.from > from && line.from[-1] == '\t') {
            line.from--;
        }
    }
    split_at(line.from, line.to, separator, cells);
    /* "1,2,3" in quotes as a whole: one cell that holds separators. */
    if (only_first(cells) && cells->quoted_comma && *line.from == '"') {
        up_cell inside = {line.from + 1, line.to};
        while (inside.to > inside.from &&
               (inside.to[-1] == '"' || inside.to[-1] == separator || inside.to[-1] == ' ')) {
            inside.to--;
            if (inside.to[0] == '"') {
                break;
            }
        }
        cells->count = 0;
        split_at(inside.from, inside.to, separator, cells);
        cells->unwrapped = 1;
    }
}

/* ---- kinds ---- */

static int is_word(const up_cell *cell, const char *const *words) {
    const size_t length = (size_t)(cell->to - cell->from);
    for (; *words != NULL; words++) {
        if (strlen(*words) == length && strncasecmp(*words, cell->from, length) == 0) {
            return 1;
        }
    }
    return 0;
}

static int is_over(const up_cell *cell) {
    static const char *const words[] = {"OL",       "OVER",      "OVLD",         "OVERLOAD", "OVERFLOW", "OVERRANGE",
                                        "O.L",      "O.L.",      "OUT OF RANGE", "INF",      "+INF",     "-INF",
                                        "INFINITY", "-INFINITY", "\xe2\x88\x9e", "+OVER",    "-OVER",    "UNDER",
                                        "CLIP",     "+OL",       "-OL",          NULL};
    return is_word(cell, words);
}

static int is_mark(const up_cell *cell) {
    static const char *const words[] = {"NAN",     "+NAN",    "-NAN",    "NAN(IND)", "-NAN(IND)", "-1.#IND", "1.#QNAN",
                                        "N/A",     "#N/A",    "NA",      "NULL",     "NONE",      "-",       "--",
                                        "---",     "----",    "-----",   "*",        "?",         "#VALUE!", "#NUM!",
                                        "#DIV/0!", "MISSING", "NO DATA", "NODATA",   "BAD",       "ERR",     "ERROR",
                                        "FAULT",   "INVALID", "####",    "#####",    "######",    NULL};
    return is_word(cell, words);
}

/* May what stands behind a number be a unit? Letters, signs of units, no digit but as an exponent. */
static int may_be_unit(const char *from, const char *to) {
    if (from >= to || to - from > 12) {
        return 0;
    }
    const unsigned char first = (unsigned char)*from;
    if (!((first | 0x20) >= 'a' && (first | 0x20) <= 'z') && first != '%' && first < 0x80) {
        return 0;
    }
    for (const char *at = from; at < to; at++) {
        const unsigned char c = (unsigned char)*at;
        const int letter = ((c | 0x20) >= 'a' && (c | 0x20) <= 'z') || c >= 0x80;
        if (!letter && strchr("%/.*^-23 ", c) == NULL) {
            return 0;
        }
    }
    return 1;
}

/* 9.9E37 says "infinite" and 9.91E37 "no number" in the instruments' common language: SCPI-1999, volume 1, 7.2.1.4 and
 * 7.2.1.5 [memory]. */
static up_cell_kind special(double value, double *out) {
    if (fabs(value) < 9.8e37 || fabs(value) > 9.95e37) {
        return UP_CELL_NUMBER;
    }
    *out = NAN;
    return fabs(value) > 9.905e37 ? UP_CELL_MARK : UP_CELL_OVER;
}

up_cell_kind up_cell_look(const up_cell *cell, const up_dialect *dialect, double *value, const char **rest) {
    double number;
    up_stamp stamp;
    const char *from = cell->from, *to = cell->to;
    *value = NAN;
    if (from >= to) {
        return UP_CELL_EMPTY;
    }
    if (to - from > 3 && memcmp(from, "\xe2\x88\x92", 3) == 0) { /* the typographic minus */
        from += 2;
    }
    char copy[64];
    if (from != cell->from && to - from < (int)sizeof copy) {
        memcpy(copy, from, (size_t)(to - from));
        copy[0] = '-';
        to = copy + (to - from);
        memset(copy + (to - copy), 0, sizeof copy - (size_t)(to - copy));
        from = copy;
    }
    const char *end = up_number_scan(from, dialect->decimal, &number);
    if (end != NULL && end <= to) {
        if (end == to) {
            *value = number;
            return special(number, value);
        }
        const char *unit = end;
        while (unit < to && is_blank(*unit)) {
            unit++;
        }
        if (from == cell->from && may_be_unit(unit, to) && !up_stamp_read(from, to, 0, &stamp)) {
            *value = number;
            if (rest != NULL) {
                *rest = unit;
            }
            return UP_CELL_GLUED;
        }
    }
    if (up_is_digit(*from) && up_stamp_read(from, to, dialect->day_first, &stamp)) {
        return UP_CELL_STAMP;
    }
    return is_over(cell) ? UP_CELL_OVER : is_mark(cell) ? UP_CELL_MARK : UP_CELL_TEXT;
}

char *up_cell_text(const char *from, const char *to, char *out, size_t size) {
    size_t at = 0;
    int utf8 = 1;
    for (const char *p = from; p < to && utf8; p++) {
        const unsigned char c = (unsigned char)*p;
        const int more = c < 0x80                ? 0
                         : c >= 0xc2 && c < 0xe0 ? 1
                         : (c & 0xf0) == 0xe0    ? 2
                         : c >= 0xf0 && c < 0xf5 ? 3
                                                 : -1;
        utf8 = more >= 0 && more < to - p;
        for (int k = 0; utf8 && k < more; k++) {
            utf8 = ((unsigned char)*++p & 0xc0) == 0x80;
        }
    }
    for (; from < to; from++) {
        const unsigned char c = (unsigned char)*from;
        if (c >= 0x80 && !utf8) { /* Latin 1 */
            if (at + 3 > size) {
                break;
            }
            out[at++] = (char)(0xc0 | c >> 6);
            out[at++] = (char)(0x80 | (c & 0x3f));
        } else {
            if (at + 2 > size) {
                break;
            }
            out[at++] = c < 0x20 || c == 0x7f ? ' ' : (char)c;
        }
    }
    /* No sequence is cut in two. */
    if (from < to && utf8) {
        while (at > 0 && ((unsigned char)out[at - 1] & 0xc0) == 0x80) {
            at--;
        }
        at -= at > 0 && (unsigned char)out[at - 1] >= 0xc0;
    }
    out[at] = '\0';
    return out;
}

#include "io/recording/dialect.h"

#include <string.h>

#include "io/recording/number.h"

enum { LINES_LOOKED_AT = 300 };

void up_head_cut(up_head *head, const char *from, const char *to) {
    head->count = 0;
    while (from < to && head->count < UP_HEAD_LINES_MAX) {
        const char *end = memchr(from, '\n', (size_t)(to - from));
        const char *next = end != NULL ? end + 1 : to;
        end = end != NULL ? end : to;
        while (end > from && end[-1] == '\r') {
            end--;
        }
        head->from[head->count] = from;
        head->to[head->count++] = end;
        from = next;
    }
}

/* "05" and "001" are behind a decimal mark rather than numbers of their own. */
static int leads_with_zero(const up_cell *cell) {
    return cell->to - cell->from > 1 && cell->from[0] == '0' && up_is_digit(cell->from[1]);
}

/* A line of n cells with k values counts k * k / n: many values, and little else. */
static double line_score(const char *from, const char *to, const up_dialect *dialect, up_cells *cells) {
    double values = 0, value;
    int filled = 0;
    up_cells_split(from, to, dialect->separator, cells);
    for (int i = 0; i < cells->count; i++) {
        const up_cell_kind kind = up_cell_look(&cells->cell[i], dialect, &value, NULL);
        filled += kind != UP_CELL_EMPTY;
        if (kind == UP_CELL_NUMBER || kind == UP_CELL_STAMP) {
            values += leads_with_zero(&cells->cell[i]) && kind == UP_CELL_NUMBER ? 0.4 : 1;
        } else if (kind == UP_CELL_GLUED) {
            values += 0.9;
        }
    }
    return filled > 0 ? values * values / filled : 0;
}

/* The last of the lines looked at are more likely samples than the first. */
static double score(const up_head *head, const up_dialect *dialect, int *rows_quoted) {
    static const int share = LINES_LOOKED_AT;
    up_cells cells;
    const int first = head->count > share ? head->count - share : 0;
    double sum = 0;
    int unwrapped = 0;
    for (int i = first; i < head->count; i++) {
        sum += line_score(head->from[i], head->to[i], dialect, &cells);
        unwrapped += cells.unwrapped;
    }
    *rows_quoted = 2 * unwrapped > head->count - first;
    return head->count > first ? sum / (head->count - first) : 0;
}

/* Slashes do not say which of two numbers is the day: a first one above twelve does. */
static int day_leads(const up_head *head, char separator) {
    up_cells cells;
    for (int i = 0; i < head->count; i++) {
        up_cells_split(head->from[i], head->to[i], separator, &cells);
        for (int k = 0; k < cells.count; k++) {
            const char *at = cells.cell[k].from;
            if (cells.cell[k].to - at >= 8 && up_is_digit(at[0]) && up_is_digit(at[1]) && at[2] == '/' &&
                (at[0] - '0') * 10 + at[1] - '0' > 12) {
                return 1;
            }
        }
    }
    return 0;
}

double up_dialect_find(const up_head *head, const up_recording_options *options, up_dialect *dialect) {
    static const char tried[][2] = {{'\t', '.'}, {';', '.'}, {',', '.'}, {'|', '.'}, {' ', '.'},
                                    {'\t', ','}, {';', ','}, {',', ','}, {'|', ','}, {' ', ','}};
    double best = 0;
    *dialect = (up_dialect){.separator = options->separator != 0 ? options->separator : ',',
                            .decimal = options->decimal != 0 ? options->decimal : '.'};
    for (size_t i = 0; i < sizeof tried / sizeof tried[0]; i++) {
        up_dialect now = {.separator = tried[i][0], .decimal = tried[i][1]};
        if ((options->separator != 0 && options->separator != now.separator) ||
            (options->decimal != 0 && options->decimal != now.decimal)) {
            continue;
        }
        const double points = score(head, &now, &now.rows_quoted);
        /* Blanks stand in prose, too: they need to be much better. */
        if (points > best * (now.separator == ' ' ? 1.2 : 1 + 1e-9)) {
            best = points;
            *dialect = now;
        }
    }
    dialect->day_first = day_leads(head, dialect->separator);
    return best;
}

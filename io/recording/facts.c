#include "io/recording/facts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/number.h"
#include "io/sheet_number.h"

static void copy_text(char *out, size_t size, const char *text) {
    up_cell_text(text, text + strlen(text), out, size);
}

up_fact *up_fact_add(up_recording *recording, long line, int column, const char *key, const char *value, double number,
                     const char *unit, int *failed) {
    if (recording->fact == NULL) {
        recording->fact = calloc(UP_FACTS_MAX, sizeof *recording->fact);
        if (recording->fact == NULL) {
            *failed = 1;
            return NULL;
        }
    }
    if (recording->fact_count >= UP_FACTS_MAX) {
        return NULL;
    }
    up_fact *fact = &recording->fact[recording->fact_count++];
    *fact = (up_fact){.line = line, .column = column, .number = number};
    copy_text(fact->key, sizeof fact->key, key);
    copy_text(fact->value, sizeof fact->value, value);
    copy_text(fact->unit, sizeof fact->unit, unit);
    return fact;
}

/* ---- out of lines ---- */

typedef struct collector {
    const up_table *table;
    up_units *units;
    up_recording *recording;
    int failed;
} collector;

static int is_unit_text(collector *to, const char *text) {
    return text[0] != '\0' && !up_is_digit(text[0]) && strchr("+-.,", text[0]) == NULL &&
           (up_unit_look(to->units, text).dimension != UP_DIMENSION_NONE ||
            isfinite(up_rate_in_hertz(to->units, 1, text)));
}

/* Key and value as texts; the unit from behind the number, from the next cell or from the key's brackets. */
static void add_statement(collector *to, long line, int column, const char *key, const char *value, const char *next) {
    const up_cell cell = {value, value + strlen(value)};
    char bare[UP_FACT_TEXT_MAX], unit[UP_COLUMN_UNIT_MAX] = "";
    const char *rest = NULL;
    double number;
    up_cell_kind kind = up_cell_look(&cell, &to->table->dialect, &number, &rest);
    if (kind == UP_CELL_TEXT && to->table->dialect.decimal == ',') { /* preambles do not always follow the samples */
        up_dialect plain = to->table->dialect;
        plain.decimal = '.';
        kind = up_cell_look(&cell, &plain, &number, &rest);
    }
    snprintf(bare, sizeof bare, "%s", key);
    if (kind == UP_CELL_GLUED) {
        (void)up_trimmed(rest, unit, sizeof unit);
    } else if (kind == UP_CELL_NUMBER) {
        char in_key[UP_COLUMN_UNIT_MAX];
        if (is_unit_text(to, next)) {
            snprintf(unit, sizeof unit, "%.47s", next);
        } else if (up_name_unit(to->units, key, bare, sizeof bare, in_key, sizeof in_key) != NULL &&
                   is_unit_text(to, in_key)) {
            snprintf(unit, sizeof unit, "%s", in_key);
        }
    } else {
        number = NAN;
    }
    (void)up_fact_add(to->recording, line, column, key, value, number, unit, &to->failed);
}

/* "2500 readings a second" */
static int add_spoken_rate(collector *to, long line, const char *text) {
    static const char *const things[] = {"readings ", "samples ", "scans ", "points ", "values ", "Messwerte ", NULL};
    static const char *const times[] = {"a second", "per second", "pro Sekunde", "/s", "par seconde", NULL};
    double number, step;
    const char *rest = up_is_digit(*text) ? up_scan_number(text, &number, &step) : NULL;
    if (rest == NULL) {
        return 0;
    }
    while (*rest == ' ') {
        rest++;
    }
    for (int i = 0; things[i] != NULL; i++) {
        const size_t length = strlen(things[i]);
        for (int k = 0; strncmp(rest, things[i], length) == 0 && times[k] != NULL; k++) {
            if (strncmp(rest + length, times[k], strlen(times[k])) == 0) {
                (void)up_fact_add(to->recording, line, 1, "samples per second", text, number, "Hz", &to->failed);
                return 1;
            }
        }
    }
    return 0;
}

/* "Sample Rate: 100 kHz" and "dt = 4e-6" in one cell, with or without a mark of comments in front. */
static void add_from_one_cell(collector *to, long line, const char *text) {
    char key[UP_FACT_TEXT_MAX], value[UP_FACT_TEXT_MAX];
    while (*text != '\0' && strchr("#%;/!*' \t\"", *text) != NULL) {
        text++;
    }
    const char *mark = strpbrk(text, ":=");
    if (mark == NULL && add_spoken_rate(to, line, text)) {
        return;
    }
    if (mark == NULL || mark == text) {
        (void)up_fact_add(to->recording, line, 1, "", text, NAN, "", &to->failed);
        return;
    }
    snprintf(key, sizeof key, "%.*s", (int)(mark - text < 90 ? mark - text : 90), text);
    for (size_t n = strlen(key); n > 0 && key[n - 1] == ' '; n--) {
        key[n - 1] = '\0';
    }
    mark++;
    while (*mark == ' ' || *mark == '\t') {
        mark++;
    }
    snprintf(value, sizeof value, "%.95s", mark);
    add_statement(to, line, 1, key, value, "");
}

static void add_from_cells(collector *to, long line, const up_cells *cells, int last) {
    char text[4][UP_FACT_TEXT_MAX], joined[UP_FACT_TEXT_MAX];
    int filled = 0, value_column = 0;
    size_t at = 0;
    joined[0] = '\0';
    for (int k = 0; k < cells->count && k < last; k++) {
        if (cells->cell[k].from == cells->cell[k].to) {
            continue;
        }
        if (filled < 4) {
            up_cell_text(cells->cell[k].from, cells->cell[k].to, text[filled], sizeof text[filled]);
        }
        if (filled == 1) {
            value_column = k + 1;
        }
        if (filled > 0 && at + 2 < sizeof joined) {
            char more[UP_FACT_TEXT_MAX];
            up_cell_text(cells->cell[k].from, cells->cell[k].to, more, sizeof more);
            at += (size_t)snprintf(joined + at, sizeof joined - at, "%s%s", at > 0 ? "  " : "", more);
            at = at < sizeof joined ? at : sizeof joined - 1;
        }
        filled++;
    }
    if (filled == 1) {
        add_from_one_cell(to, line, text[0]);
    } else if (filled > 1) {
        char key[UP_FACT_TEXT_MAX];
        const char *bare = text[0];
        while (*bare != '\0' && strchr("#%/!*' ", *bare) != NULL) {
            bare++;
        }
        snprintf(key, sizeof key, "%s", bare);
        for (size_t n = strlen(key); n > 0 && (key[n - 1] == ':' || key[n - 1] == '=' || key[n - 1] == ' '); n--) {
            key[n - 1] = '\0';
        }
        const int facts = to->recording->fact_count;
        add_statement(to, line, value_column, key, text[1], filled > 2 ? text[2] : "");
        if (filled > 2 && to->recording->fact_count > facts) {
            up_fact *fact = &to->recording->fact[facts];
            snprintf(fact->value, sizeof fact->value, "%s", joined);
        }
    }
}

/* Statements in the columns of the header rows that no sample uses: a name, and a number in the row below. */
static void add_from_headers(collector *to, const up_head *head) {
    up_cells names, below;
    const up_table *table = to->table;
    if (table->names < 0 || table->names + 1 >= head->count) {
        return;
    }
    up_cells_split(head->from[table->names], head->to[table->names], table->dialect.separator, &names);
    const int line = table->units > table->names ? table->units : table->names + 1;
    up_cells_split(head->from[line], head->to[line], table->dialect.separator, &below);
    for (int k = 0; k < names.count && k < below.count; k++) {
        char key[UP_FACT_TEXT_MAX], value[UP_FACT_TEXT_MAX];
        if (k < table->width && table->use[k] != UP_USE_EMPTY) {
            continue;
        }
        up_cell_text(names.cell[k].from, names.cell[k].to, key, sizeof key);
        up_cell_text(below.cell[k].from, below.cell[k].to, value, sizeof value);
        if (key[0] != '\0' && value[0] != '\0') {
            add_statement(to, line + 1, k + 1, key, value, "");
        }
    }
}

int up_facts_collect(const up_head *head, const up_table *table, up_units *units, up_recording *recording) {
    collector to = {table, units, recording, 0};
    up_cells cells;
    for (int i = 0; i < table->first && !to.failed; i++) {
        if (i == table->names || i == table->units || i == table->above) {
            continue;
        }
        up_cells_split(head->from[i], head->to[i], table->dialect.separator, &cells);
        add_from_cells(&to, i + 1, &cells, UP_COLUMNS_MAX);
    }
    add_from_headers(&to, head);
    for (int i = table->first; table->beside > 0 && i < head->count && !to.failed; i++) {
        up_cells_split(head->from[i], head->to[i], table->dialect.separator, &cells);
        add_from_cells(&to, i + 1, &cells, table->beside);
    }
    return to.failed ? 3 : 0;
}

/* ---- looking them up ---- */

up_fact *up_fact_find(up_recording *recording, up_key meaning) {
    for (int i = 0; i < recording->fact_count; i++) {
        up_fact *fact = &recording->fact[i];
        const int wants_text = meaning == UP_KEY_UNIT || meaning == UP_KEY_TIME_UNIT || meaning == UP_KEY_NAME;
        if (up_key_meaning(fact->key) == meaning && (wants_text ? fact->value[0] != '\0' : isfinite(fact->number))) {
            return fact;
        }
    }
    return NULL;
}

static double in_seconds(up_recording *recording, up_units *units, const up_fact *fact) {
    const char *unit = fact->unit;
    char first[UP_COLUMN_UNIT_MAX];
    if (unit[0] == '\0') {
        up_fact *time_unit = up_fact_find(recording, UP_KEY_TIME_UNIT);
        snprintf(first, sizeof first, "%.*s", time_unit != NULL ? (int)strcspn(time_unit->value, " ") : 1,
                 time_unit != NULL ? time_unit->value : "s");
        unit = first;
    }
    const up_unit_meaning meaning = up_unit_look(units, unit);
    return meaning.dimension == UP_DIMENSION_TIME ? fact->number * meaning.factor : (double)NAN;
}

double up_stated_interval(up_recording *recording, up_units *units, up_fact **fact) {
    *fact = up_fact_find(recording, UP_KEY_INTERVAL);
    if (*fact != NULL) {
        double seconds = in_seconds(recording, units, *fact);
        if (!isfinite(seconds)) { /* "sampling: 100 Hz" by the name of an interval */
            seconds = 1 / up_rate_in_hertz(units, (*fact)->number, (*fact)->unit);
        }
        if (isfinite(seconds) && seconds > 0) {
            return seconds;
        }
    }
    *fact = up_fact_find(recording, UP_KEY_RATE);
    if (*fact != NULL) {
        const double hertz = up_rate_in_hertz(units, (*fact)->number, (*fact)->unit);
        if (isfinite(hertz) && hertz > 0) {
            return 1 / hertz;
        }
    }
    *fact = NULL;
    return NAN;
}

double up_stated_start(up_recording *recording, up_units *units, up_fact **fact) {
    *fact = up_fact_find(recording, UP_KEY_START);
    return *fact != NULL ? in_seconds(recording, units, *fact) : (double)NAN;
}

#include "io/campaign_columns.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "io/trace.h"

static const struct {
    const char *name;
    up_column_kind kind;
    const char *unit, *text;
} first_columns[UP_COLUMN_HEADLINES] = {
#define UP_COLUMN_ROW(id, kind, unit, text) {#id, UP_COLUMN_##kind, unit, text},
    UP_COLUMN_LIST(UP_COLUMN_ROW)
#undef UP_COLUMN_ROW
};

/* ---- the list ---- */

const char *up_column_name(int column) {
    if (column < 0 || column >= UP_COLUMN_COUNT) {
        return NULL;
    }
    return column < UP_COLUMN_HEADLINES ? first_columns[column].name
           : column < UP_COLUMN_DRAWN   ? up_headline_name((up_headline)(column - UP_COLUMN_HEADLINES))
                                        : up_drawn_name((up_drawn)(column - UP_COLUMN_DRAWN));
}

const char *up_column_unit(int column) {
    if (column < 0 || column >= UP_COLUMN_COUNT) {
        return NULL;
    }
    return column < UP_COLUMN_HEADLINES ? first_columns[column].unit
           : column < UP_COLUMN_DRAWN   ? up_headline_unit((up_headline)(column - UP_COLUMN_HEADLINES))
                                        : up_drawn_unit((up_drawn)(column - UP_COLUMN_DRAWN));
}

const char *up_column_text(int column) {
    if (column < 0 || column >= UP_COLUMN_COUNT) {
        return NULL;
    }
    return column < UP_COLUMN_HEADLINES ? first_columns[column].text
           : column < UP_COLUMN_DRAWN   ? up_headline_text((up_headline)(column - UP_COLUMN_HEADLINES))
                                        : up_drawn_text((up_drawn)(column - UP_COLUMN_DRAWN));
}

up_column_kind up_column_kind_of(int column) {
    return column >= 0 && column < UP_COLUMN_HEADLINES ? first_columns[column].kind : UP_COLUMN_NUMBER;
}

/* ---- reading a row ---- */

int64_t up_column_whole(const up_closing_row *row, int column) {
    const int finished = row->status == UP_OK;
    switch (column) {
    case UP_COLUMN_number:
        return (int64_t)row->number;
    case UP_COLUMN_reversals:
        return finished ? row->reversals : -1;
    case UP_COLUMN_false_reversal:
        return finished ? row->false_reversal : -1;
    case UP_COLUMN_halvings:
        return row->halvings;
    default:
        return -1;
    }
}

static const char *status_word(int32_t status) {
    static const char *const words[UP_STATUS_COUNT] = {
        [UP_BAD_VALUE] = "bad_value",   [UP_BAD_GEOMETRY] = "bad_geometry",
        [UP_BAD_OPTION] = "bad_option", [UP_MEMORY_TOO_SMALL] = "memory_too_small",
        [UP_STEP_LIMIT] = "step_limit", [UP_NOT_FINITE] = "not_finite",
        [UP_STOPPED] = "stopped"};
    return status > 0 && status < UP_STATUS_COUNT ? words[status] : NULL;
}

const char *up_column_word(const up_closing_row *row, int column, char *text, size_t size) {
    if (column == UP_COLUMN_trouble) {
        return status_word(row->status);
    }
    if (row->status != UP_OK) {
        return NULL;
    }
    if (column == UP_COLUMN_ended) {
        return up_trace_word(up_end_name((up_end)row->end), text, size);
    }
    if (column == UP_COLUMN_turned) {
        return row->turned >= 0 ? up_turned_word((up_turned)row->turned) : NULL;
    }
    return column == UP_COLUMN_verdict && row->verdict >= 0 ? up_verdict_word((up_verdict_result)row->verdict) : NULL;
}

double up_column_number(const up_closing_row *row, int column) {
    if (column >= UP_COLUMN_DRAWN && column < UP_COLUMN_COUNT) {
        return row->drawn[column - UP_COLUMN_DRAWN];
    }
    if (row->status != UP_OK) {
        return UP_ABSENT;
    }
    if (column >= UP_COLUMN_HEADLINES && column < UP_COLUMN_DRAWN) {
        return row->headline[column - UP_COLUMN_HEADLINES];
    }
    return column == UP_COLUMN_severity ? row->severity : UP_ABSENT;
}

/* ---- writing one ---- */

void up_column_set_whole(up_closing_row *row, int column, int64_t value) {
    switch (column) {
    case UP_COLUMN_number:
        row->number = (uint64_t)value;
        break;
    case UP_COLUMN_reversals:
        row->reversals = value < 0 ? 0 : (int32_t)value;
        break;
    case UP_COLUMN_false_reversal:
        row->false_reversal = value == 1;
        break;
    case UP_COLUMN_halvings:
        row->halvings = (int32_t)value;
        break;
    default:
        break;
    }
}

static int end_of(const char *word) {
    char text[32];
    for (int e = 0; e < UP_END_COUNT; e++) {
        if (strcmp(up_trace_word(up_end_name((up_end)e), text, sizeof text), word) == 0) {
            return e;
        }
    }
    return -1;
}

static int turned_of(const char *word) {
    for (int t = 0; t < UP_TURNED_COUNT; t++) {
        if (strcmp(up_turned_word((up_turned)t), word) == 0) {
            return t;
        }
    }
    return -1;
}

static int verdict_of(const char *word) {
    for (int v = UP_VERDICT_PASSED; v <= UP_VERDICT_UNKNOWN; v++) {
        if (strcmp(up_verdict_word((up_verdict_result)v), word) == 0) {
            return v;
        }
    }
    return -1;
}

static int status_of(const char *word) {
    for (int s = 0; s < UP_STATUS_COUNT; s++) {
        const char *const known = status_word(s);
        if (known && strcmp(known, word) == 0) {
            return s;
        }
    }
    return -1;
}

int up_column_set_word(up_closing_row *row, int column, const char *word) {
    int found = 0;
    if (column == UP_COLUMN_trouble) {
        found = word ? status_of(word) : UP_OK;
        row->status = found < 0 ? UP_BAD_VALUE : found;
    } else if (column == UP_COLUMN_ended) {
        found = word ? end_of(word) : 0;
        row->end = found < 0 ? 0 : found;
    } else if (column == UP_COLUMN_turned) {
        found = word ? turned_of(word) : 0;
        row->turned = word ? found : -1;
    } else if (column == UP_COLUMN_verdict) {
        found = word ? verdict_of(word) : 0;
        row->verdict = word ? found : -1;
    }
    return found < 0 ? -1 : 0;
}

void up_column_set_number(up_closing_row *row, int column, double value) {
    if (column >= UP_COLUMN_DRAWN && column < UP_COLUMN_COUNT) {
        row->drawn[column - UP_COLUMN_DRAWN] = value;
    } else if (column >= UP_COLUMN_HEADLINES) {
        row->headline[column - UP_COLUMN_HEADLINES] = value;
    } else if (column == UP_COLUMN_severity) {
        row->severity = value;
    }
}

#include "apps/cli/read_json.h"

#include <jansson.h>
#include <math.h>

#include "io/json_run.h"

/* Names may have been cut inside a character, and paths need not be UTF-8: JSON must be. */
static json_t *text_json(const char *text) {
    json_t *made = json_string(text);
    if (made == NULL) {
        char plain[UP_NOTE_TEXT_MAX];
        size_t at = 0;
        for (; text[at] != '\0' && at + 1 < sizeof plain; at++) {
            plain[at] = (char)((unsigned char)text[at] < 0x80 ? text[at] : '?');
        }
        plain[at] = '\0';
        made = json_string(plain);
    }
    return made;
}

static json_t *number_or_null(long number) {
    return number > 0 ? json_integer(number) : json_null();
}

static json_t *facts(const up_recording *recording) {
    json_t *list = json_array();
    for (int i = 0; i < recording->fact_count; i++) {
        const up_fact *fact = &recording->fact[i];
        json_t *one = json_object();
        up_json_set(one, "line", number_or_null(fact->line));
        up_json_set(one, "key", text_json(fact->key));
        up_json_set(one, "value", text_json(fact->value));
        up_json_set(one, "number", up_json_number(fact->number));
        up_json_set(one, "unit", text_json(fact->unit));
        up_json_set(one, "used", json_boolean(fact->used));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *column_json(const up_column *column, int number) {
    json_t *one = json_object();
    const int quantity = column->role == UP_ROLE_SIGNAL || column->role == UP_ROLE_TWIN;
    up_json_set(one, "number", json_integer(number));
    up_json_set(one, "name", text_json(column->name));
    up_json_set(one, "unit", text_json(column->unit));
    up_json_set(one, "unit_from", text_json(column->unit_from));
    up_json_set(one, "role", json_string(up_role_word(column->role)));
    up_json_set(one, "quantity", quantity ? json_string(up_signal_word(column->signal)) : json_null());
    up_json_set(one, "on_glass", json_boolean(quantity && column->on_glass));
    up_json_set(one, "why", text_json(column->why));
    up_json_set(one, "si_unit", quantity ? json_string(up_signal_unit(column->signal, column->on_glass)) : json_null());
    up_json_set(one, "factor", up_json_number(column->factor));
    up_json_set(one, "offset", up_json_number(column->offset));
    up_json_set(one, "time", column->base >= 0 ? json_integer(column->base) : json_null());
    up_json_set(one, "twin_of", column->twin_of >= 0 ? json_integer(column->twin_of + 1) : json_null());
    up_json_set(one, "samples", json_integer((json_int_t)column->count));
    up_json_set(one, "missing", json_integer((json_int_t)column->missing));
    up_json_set(one, "unreadable", json_integer((json_int_t)column->unreadable));
    up_json_set(one, "unreadable_line", number_or_null(column->unreadable_line));
    up_json_set(one, "unreadable_column", number_or_null(column->unreadable_column));
    up_json_set(one, "wild", json_integer((json_int_t)column->spikes));
    up_json_set(one, "low", up_json_number(column->low));
    up_json_set(one, "high", up_json_number(column->high));
    up_json_set(one, "step", up_json_number(column->step));
    up_json_set(one, "clipped_low", json_integer((json_int_t)column->clipped_low));
    up_json_set(one, "clipped_high", json_integer((json_int_t)column->clipped_high));
    up_json_set(one, "overrange", json_integer((json_int_t)column->over));
    json_t *first = json_array();
    for (size_t i = 0; column->value != NULL && i < column->count && i < 3; i++) {
        json_array_append_new(first, up_json_number(column->value[i]));
    }
    up_json_set(one, "first", first);
    return one;
}

static const char *how_word(up_time_how how) {
    static const char *const words[] = {
        [UP_TIME_COLUMN] = "column",     [UP_TIME_STAMPS] = "stamps", [UP_TIME_STATED] = "stated",
        [UP_TIME_NUMBERED] = "numbered", [UP_TIME_SAID] = "said",     [UP_TIME_FORMAT] = "format",
        [UP_TIME_STRIDE] = "rows",       [UP_TIME_NONE] = "none",
    };
    return words[how];
}

static json_t *base_json(const up_time_base *base) {
    json_t *one = json_object(), *gaps = json_array();
    up_json_set(one, "from", json_string(how_word(base->how)));
    up_json_set(one, "column", base->column >= 0 ? json_integer(base->column + 1) : json_null());
    up_json_set(one, "reason", text_json(base->reason));
    up_json_set(one, "samples", json_integer((json_int_t)base->count));
    up_json_set(one, "start", up_json_number(base->start));
    up_json_set(one, "interval", up_json_number(base->interval));
    up_json_set(one, "rate_Hz", up_json_number(1 / base->interval));
    up_json_set(one, "even", json_boolean(isfinite(base->interval)));
    up_json_set(one, "every_row", json_integer(base->stride));
    up_json_set(one, "usual", up_json_number(base->usual));
    up_json_set(one, "shortest", up_json_number(base->shortest));
    up_json_set(one, "longest", up_json_number(base->longest));
    up_json_set(one, "rounded_to", up_json_number(base->rounded_to));
    up_json_set(one, "stated", up_json_number(base->stated));
    for (int g = 0; g < base->gap_count; g++) {
        json_t *gap = json_object();
        up_json_set(gap, "after", up_json_number(base->gap[g].at));
        up_json_set(gap, "length", up_json_number(base->gap[g].length));
        json_array_append_new(gaps, gap);
    }
    up_json_set(one, "gaps", gaps);
    up_json_set(one, "gap_count", json_integer((json_int_t)base->gaps));
    return one;
}

static json_t *notes(const up_recording *recording) {
    json_t *list = json_array();
    for (int i = 0; i < recording->note_count; i++) {
        json_t *one = json_object();
        up_json_set(one, "warning", json_boolean(recording->note[i].warning));
        up_json_set(one, "line", number_or_null(recording->note[i].line));
        up_json_set(one, "column", number_or_null(recording->note[i].column));
        up_json_set(one, "text", text_json(recording->note[i].text));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *recording_json(const up_recording *recording) {
    static const char *const kinds[] = {[UP_FILE_TEXT] = "text", [UP_FILE_MAT] = "mat", [UP_FILE_WAV] = "wav"};
    json_t *one = json_object(), *columns = json_array(), *bases = json_array();
    const char separator[2] = {recording->separator, '\0'}, decimal[2] = {recording->decimal, '\0'};
    up_json_set(one, "file", text_json(recording->path));
    up_json_set(one, "kind", json_string(kinds[recording->kind]));
    up_json_set(one, "encoding", text_json(recording->encoding));
    up_json_set(one, "separator", json_string(separator));
    up_json_set(one, "decimal", json_string(decimal));
    up_json_set(one, "rows_quoted", json_boolean(recording->rows_quoted));
    up_json_set(one, "names_line", number_or_null(recording->names_line));
    up_json_set(one, "units_line", number_or_null(recording->units_line));
    up_json_set(one, "first_line", number_or_null(recording->first_line));
    up_json_set(one, "last_line", number_or_null(recording->last_line));
    up_json_set(one, "rows", json_integer((json_int_t)recording->rows));
    up_json_set(one, "parts", json_integer(recording->parts));
    up_json_set(one, "part", json_integer(recording->part));
    up_json_set(one, "prose_lines", json_integer((json_int_t)recording->prose));
    up_json_set(one, "ragged_rows", json_integer((json_int_t)recording->ragged));
    up_json_set(one, "mended_times", json_integer((json_int_t)recording->mended_times));
    up_json_set(one, "begun", recording->begun[0] != '\0' ? text_json(recording->begun) : json_null());
    up_json_set(one, "preamble", facts(recording));
    for (int i = 0; i < recording->column_count; i++) {
        json_array_append_new(columns, column_json(&recording->column[i], i + 1));
    }
    for (int i = 0; i < recording->base_count; i++) {
        json_array_append_new(bases, base_json(&recording->base[i]));
    }
    up_json_set(one, "columns", columns);
    up_json_set(one, "times", bases);
    up_json_set(one, "notes", notes(recording));
    return one;
}

int up_read_print_json(const up_recording *recordings, int count, FILE *out) {
    json_t *answer = json_object(), *list = json_array();
    for (int i = 0; i < count; i++) {
        json_array_append_new(list, recording_json(&recordings[i]));
    }
    up_json_set(answer, "recordings", list);
    return up_json_print(answer, "read", NULL, out);
}

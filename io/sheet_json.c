#include "io/sheet_json.h"

#include <jansson.h>
#include <math.h>

#include "io/entry_texts.h"
#include "io/sheet_quantity.h"
#include "io/sheet_reader.h"

static json_t *number_or_null(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

/* Adds one key; a value that could not be made leaves `failed` set and the rest goes on. */
static void put(json_t *object, const char *key, json_t *value, int *failed) {
    *failed |= json_object_set_new(object, key, value) != 0;
}

static void put_place(json_t *object, up_place place, int *failed) {
    put(object, "line", place.line > 0 ? json_integer(place.line) : json_null(), failed);
    put(object, "column", place.line > 0 ? json_integer(place.column) : json_null(), failed);
}

static json_t *finding_json(const up_finding *finding, int *failed) {
    json_t *object = json_object();
    put(object, "code", json_string(up_finding_word(finding->code)), failed);
    put(object, "severity", json_string(finding->severity == UP_SEVERITY_ERROR ? "error" : "warning"), failed);
    put_place(object, (up_place){finding->line, finding->column}, failed);
    put(object, "entry", json_string(finding->entry), failed);
    put(object, "found", json_string(finding->found), failed);
    put(object, "expected", json_string(finding->expected), failed);
    put(object, "mend", json_string(finding->mend), failed);
    return object;
}

static json_t *number_json(const up_sheet *sheet, up_number number, int *failed) {
    const up_entry_text *text = up_entry_text_of_number(number);
    double value = sheet->known.values.number[number];
    json_t *object = json_object();
    put(object, "value", number_or_null(up_number_shown(number, value)), failed);
    put(object, "unit", json_string(text->unit), failed);
    put(object, "tolerance",
        up_is_absent(value) ? json_null()
                            : number_or_null(up_number_shown_difference(number, sheet->known.spread[number])),
        failed);
    put(object, "from", up_is_absent(value) ? json_null() : json_string(up_mark_word(sheet->known.mark[number])),
        failed);
    put_place(object, sheet->number_place[number], failed);
    if (sheet->number_note[number] != NULL) {
        put(object, "note", json_string(sheet->number_note[number]), failed);
    }
    return object;
}

static json_t *choice_json(const up_sheet *sheet, up_choice choice, int *failed) {
    char word[64];
    json_t *object = json_object();
    up_choice_word(choice, sheet->known.values.choice[choice], word, sizeof word);
    put(object, "value", json_string(word), failed);
    put(object, "from", json_string(up_mark_word(sheet->known.choice_mark[choice])), failed);
    put_place(object, sheet->choice_place[choice], failed);
    if (sheet->choice_note[choice] != NULL) {
        put(object, "note", json_string(sheet->choice_note[choice]), failed);
    }
    return object;
}

static json_t *points_json(const up_sheet *sheet, int *failed) {
    const up_values *values = &sheet->known.values;
    json_t *list = json_array();
    for (int i = 0; i < values->drag_count; i++) {
        json_t *pair = json_array();
        *failed |= json_array_append_new(pair, json_real(1e3 * values->drag_position[i])) != 0;
        *failed |= json_array_append_new(pair, json_real(values->drag_force[i])) != 0;
        *failed |= json_array_append_new(list, pair) != 0;
    }
    return list;
}

static void put_entries(json_t *root, const up_sheet *sheet, int *failed) {
    json_t *entries = json_object(), *assumed = json_array();
    int family = 1 << sheet->known.values.family;
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        int is_given = entry.is_choice ? up_sheet_has_choice(sheet, (up_choice)entry.index)
                                       : up_sheet_has_number(sheet, (up_number)entry.index);
        int is_used = (up_entry_families(entry) & family) != 0;
        int is_known = entry.is_choice || !up_is_absent(sheet->known.values.number[entry.index]);
        if (!is_used && !is_given) {
            continue;
        }
        put(entries, up_entry_key(entry),
            entry.is_choice ? choice_json(sheet, (up_choice)entry.index, failed)
                            : number_json(sheet, (up_number)entry.index, failed),
            failed);
        up_mark mark = entry.is_choice ? sheet->known.choice_mark[entry.index] : sheet->known.mark[entry.index];
        if (is_known && mark == UP_MARK_ASSUMED) {
            *failed |= json_array_append_new(assumed, json_string(up_entry_key(entry))) != 0;
        }
    }
    put(root, "entries", entries, failed);
    put(root, "drag_points", points_json(sheet, failed), failed);
    put(root, "assumed", assumed, failed);
}

int up_sheet_write_json(const up_sheet *sheet, const up_findings *findings, FILE *out) {
    int failed = 0;
    char word[64];
    json_t *root = json_object(), *list = json_array();
    put(root, "sheet", json_string(sheet->path), &failed);
    put(root, "title", json_string(sheet->title), &failed);
    put(root, "notes", json_string(sheet->notes), &failed);
    up_choice_word(UP_CHOICE_family, sheet->known.values.family, word, sizeof word);
    put(root, "family", json_string(word), &failed);
    put(root, "usable", json_boolean(findings->errors == 0), &failed);
    put(root, "errors", json_integer(findings->errors), &failed);
    put(root, "warnings", json_integer(findings->warnings), &failed);
    for (int i = 0; i < findings->count; i++) {
        failed |= json_array_append_new(list, finding_json(&findings->item[i], &failed)) != 0;
    }
    put(root, "findings", list, &failed);
    put_entries(root, sheet, &failed);
    failed |= root == NULL || json_dumpf(root, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) != 0;
    fputc('\n', out);
    json_decref(root);
    return failed ? -1 : 0;
}

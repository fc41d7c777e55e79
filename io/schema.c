#include "io/schema.h"

#include <jansson.h>
#include <string.h>

#include "io/sheet_quantity.h"
#include "io/sheet_reader.h"
#include "io/sheet_sections.h"

/* A number as docs/sheet-format.md describes it, then anything: units and tolerances are for `check`. */
#define NUMBER_PATTERN "[+-]?([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][+-]?[0-9]+)?"
static const char with_unit_pattern[] = "^ *" NUMBER_PATTERN "( *\\.\\. *" NUMBER_PATTERN ")? *(1/|[^0-9. ±+,-]).*$";
static const char plain_pattern[] = "^ *" NUMBER_PATTERN "( *\\.\\. *" NUMBER_PATTERN ")?([^0-9.,].*)?$";

static json_t *texts(const char *type) {
    return json_pack("{s:s}", "type", type);
}

static json_t *marks_json(void) {
    json_t *words = json_array();
    for (int i = 0; i < UP_MARK_COUNT; i++) {
        json_array_append_new(words, json_string(up_mark_word((up_mark)i)));
    }
    return json_pack("{s:o}", "enum", words);
}

/* {type: object} of the long form; value is taken over. */
static json_t *long_form(json_t *value, int has_tolerance) {
    json_t *properties = json_pack("{s:o, s:o, s:o}", "value", value, "from", marks_json(), "note", texts("string"));
    if (has_tolerance) {
        json_object_set_new(properties, "tolerance", json_pack("{s:[s,s]}", "type", "string", "number"));
    }
    return json_pack("{s:s, s:o, s:[s], s:b}", "type", "object", "properties", properties, "required", "value",
                     "additionalProperties", 0);
}

static json_t *number_value(up_number number) {
    const up_entry_text *text = up_entry_text_of_number(number);
    int is_plain = strcmp(text->unit, "1") == 0 || strcmp(text->unit, "count") == 0;
    json_t *written =
        json_pack("{s:s, s:s}", "type", "string", "pattern", is_plain ? plain_pattern : with_unit_pattern);
    if (!is_plain) {
        return written;
    }
    double low, high;
    up_number_bounds(number, &low, &high);
    json_t *bare = json_pack("{s:s, s:f, s:f}", "type", up_number_is_whole(number) ? "integer" : "number", "minimum",
                             up_number_shown(number, low), "maximum", up_number_shown(number, high));
    return json_pack("{s:[o,o]}", "anyOf", bare, written);
}

static json_t *number_schema(up_number number) {
    const up_entry_text *text = up_entry_text_of_number(number);
    char description[600], low[80], high[80];
    double least, most;
    up_number_bounds(number, &least, &most);
    snprintf(description, sizeof description, "%s From %s to %s.", text->how,
             up_show_number(number, least, low, sizeof low), up_show_number(number, most, high, sizeof high));
    return json_pack("{s:s, s:[o,o,o]}", "description", description, "anyOf", number_value(number),
                     long_form(number_value(number), 1), texts("null"));
}

/* The words for completion, and a word followed by its origin. */
static json_t *choice_value(up_choice choice) {
    char word[64], pattern[400];
    json_t *words = json_array();
    int count = up_choice_words_count(choice),
        at = snprintf(pattern, sizeof pattern, "^(%s) (", up_entry_text_of_choice(choice)->words);
    for (int i = 0; i < count; i++) {
        json_array_append_new(words, json_string(up_choice_word(choice, i, word, sizeof word)));
    }
    for (int i = 0; i < UP_MARK_COUNT; i++) {
        at += snprintf(pattern + at, sizeof pattern - (size_t)at, "%s%s", i == 0 ? "" : "|", up_mark_word((up_mark)i));
    }
    snprintf(pattern + at, sizeof pattern - (size_t)at, ")$");
    return json_pack("{s:[{s:o},{s:s,s:s}]}", "anyOf", "enum", words, "type", "string", "pattern", pattern);
}

static json_t *choice_schema(up_choice choice) {
    return json_pack("{s:s, s:[o,o,o]}", "description", up_entry_text_of_choice(choice)->how, "anyOf",
                     choice_value(choice), long_form(choice_value(choice), 0), texts("null"));
}

static json_t *points_schema(void) {
    json_t *pair =
        json_pack("{s:s, s:{s:s}, s:i, s:i}", "type", "array", "items", "type", "string", "minItems", 2, "maxItems", 2);
    return json_pack("{s:s, s:[s,s], s:o, s:i}", "description",
                     "Extra drag along the travel: pairs of position and force, from the bottom up.", "type", "array",
                     "null", "items", pair, "maxItems", (int)UP_DRAG_POINTS_MAX);
}

static json_t *section_schema(const char *section) {
    json_t *properties = json_object();
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        const char *name = up_key_in_section(up_entry_key(entry), section);
        if (name != NULL) {
            json_object_set_new(properties, name,
                                entry.is_choice ? choice_schema((up_choice)entry.index)
                                                : number_schema((up_number)entry.index));
        }
    }
    const char *points = up_key_in_section(UP_DRAG_POINTS_KEY, section);
    if (points != NULL) {
        json_object_set_new(properties, points, points_schema());
    }
    json_t *schema =
        json_pack("{s:[s,s], s:o, s:b}", "type", "object", "null", "properties", properties, "additionalProperties", 0);
    if (strcmp(section, "regulator") == 0) {
        json_object_set_new(schema, "type", json_string("object"));
        json_object_set_new(schema, "required", json_pack("[s]", "family"));
    }
    return schema;
}

static json_t *sheet_schema(void) {
    char section[UP_SECTION_NAME_MAX];
    json_t *notes = json_pack("{s:[s,s], s:{s:s}}", "type", "string", "array", "items", "type", "string");
    json_t *properties = json_pack("{s:{s:i}, s:o, s:o}", "format", "const", (int)UP_SHEET_FORMAT, "title",
                                   texts("string"), "notes", notes);
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_section_opened(i, section)[0] != '\0') {
            json_object_set_new(properties, section, section_schema(section));
        }
    }
    return json_pack("{s:s, s:s, s:s, s:o, s:[s], s:b}", "$schema", "http://json-schema.org/draft-07/schema#", "title",
                     "Door sheet of upstop", "type", "object", "properties", properties, "required", "regulator",
                     "additionalProperties", 0);
}

int up_schema_write(FILE *out) {
    json_t *schema = sheet_schema();
    int failed = schema == NULL || json_dumpf(schema, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) != 0;
    fputc('\n', out);
    json_decref(schema);
    return failed ? -1 : 0;
}

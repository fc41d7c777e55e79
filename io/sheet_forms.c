/* What short and long form have in common, and the small tools of the reader. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/sheet_reader.h"
#include "io/sheet_suggest.h"

enum { QUOTED_MAX = 60 };

void up_complain(up_reader *reader, up_finding_code code, up_place place, const char *entry, const char *found,
                 const char *expected, const char *mend) {
    up_findings_add(reader->findings, code, UP_SEVERITY_ERROR, place.line, place.column, entry, found, expected, mend);
}

void up_warn(up_reader *reader, up_finding_code code, up_place place, const char *entry, const char *found,
             const char *expected, const char *mend) {
    up_findings_add(reader->findings, code, UP_SEVERITY_WARNING, place.line, place.column, entry, found, expected,
                    mend);
}

char *up_quoted(const char *text, char *out, size_t size) {
    size_t length = strlen(text);
    if (length <= QUOTED_MAX) {
        snprintf(out, size, "\"%s\"", text);
        return out;
    }
    length = QUOTED_MAX;
    while (length > 0 && ((unsigned char)text[length] & 0xc0) == 0x80) { /* never in the middle of a character */
        length--;
    }
    snprintf(out, size, "\"%.*s...\"", (int)length, text);
    return out;
}

char *up_keep(up_reader *reader, const char *text) {
    size_t length = strlen(text);
    char *copy = malloc(length + 1);
    if (copy == NULL) {
        reader->out_of_memory = 1;
        return NULL;
    }
    memcpy(copy, text, length + 1);
    return copy;
}

int up_node_is_empty(const up_node *node) {
    return node->kind == UP_NODE_TEXT && !node->quoted &&
           (node->text[0] == '\0' || strcmp(node->text, "~") == 0 || strcmp(node->text, "null") == 0);
}

static const char form_keys[] = "value, tolerance, from, note";

static const up_node **form_slot(up_forms *forms, const char *key) {
    return strcmp(key, "value") == 0       ? &forms->value
           : strcmp(key, "tolerance") == 0 ? &forms->tolerance
           : strcmp(key, "from") == 0      ? &forms->from
           : strcmp(key, "note") == 0      ? &forms->note
                                           : NULL;
}

static void complain_form_key(up_reader *reader, const char *key, const up_node *member) {
    static const char *const words[] = {"value", "tolerance", "from", "note"};
    const char *best = NULL;
    int apart = 0;
    char found[UP_PHRASE_MAX], mend[UP_PHRASE_MAX];
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        up_suggest(member->key, words[i], &best, &apart);
    }
    snprintf(mend, sizeof mend, best != NULL ? "did you mean %s?" : "take the line out", best);
    up_complain(reader, UP_FOUND_UNKNOWN_ENTRY, member->key_place, key, up_quoted(member->key, found, sizeof found),
                form_keys, mend);
}

int up_take_forms(up_reader *reader, const char *key, const up_node *node, up_forms *forms) {
    *forms = (up_forms){0};
    if (node->kind == UP_NODE_TEXT) {
        forms->value = node;
        return 1;
    }
    if (node->kind == UP_NODE_LIST) {
        up_complain(reader, UP_FOUND_WRONG_SHAPE, node->place, key, "a list", "one value",
                    "write one value; a range is written 390..394 mm");
        return 0;
    }
    for (const up_node *member = node->first; member != NULL; member = member->next) {
        const up_node **slot = form_slot(forms, member->key);
        if (slot == NULL) {
            complain_form_key(reader, key, member);
        } else if (*slot != NULL) {
            up_complain(reader, UP_FOUND_DUPLICATE, member->key_place, key, member->key, "each key once",
                        "keep one of the two lines");
        } else if (member->kind != UP_NODE_TEXT) {
            up_complain(reader, UP_FOUND_WRONG_SHAPE, member->place, key, "a mapping or list", "a text or number",
                        "write it on one line");
        } else {
            *slot = member;
        }
    }
    if (forms->value == NULL) {
        up_complain(reader, UP_FOUND_MISSING, node->place, key, "a long form without value:", form_keys,
                    "add a line value: under the entry");
    }
    return forms->value != NULL;
}

int up_take_from(up_reader *reader, const char *key, const up_forms *forms, int *has_mark, up_mark *mark) {
    char found[UP_PHRASE_MAX];
    if (forms->from == NULL || up_node_is_empty(forms->from)) {
        return 1;
    }
    if (*has_mark) {
        up_complain(reader, UP_FOUND_DUPLICATE, forms->from->place, key, "the origin twice", "one origin",
                    "give it in value: or in from:, not in both");
        return 0;
    }
    if (!up_mark_read(forms->from->text, mark)) {
        up_complain(reader, UP_FOUND_UNKNOWN_WORD, forms->from->place, key,
                    up_quoted(forms->from->text, found, sizeof found), "measured, counted, read-off, assumed or fitted",
                    "write one of these words");
        return 0;
    }
    *has_mark = 1;
    return 1;
}

int up_take_note(up_reader *reader, const up_forms *forms, char **note) {
    if (forms->note == NULL || up_node_is_empty(forms->note)) {
        return 1;
    }
    *note = up_keep(reader, forms->note->text);
    return *note != NULL;
}

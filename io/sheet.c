#include "io/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/sheet_reader.h"
#include "io/sheet_sections.h"
#include "io/sheet_suggest.h"
#include "io/sheet_text.h"

enum { KEY_MAX = 96 };

/* ---- unknown names ---- */

static int is_section(const char *name) {
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_key_in_section(up_entry_key(up_entry_at(i)), name) != NULL) {
            return 1;
        }
    }
    return 0;
}

static void complain_section(up_reader *reader, const up_node *node) {
    char found[UP_PHRASE_MAX], expected[UP_PHRASE_MAX] = "title, notes, format", mend[UP_PHRASE_MAX];
    char names[UP_ENTRY_COUNT][UP_SECTION_NAME_MAX];
    const char *best = NULL;
    int apart = 0;
    size_t at = strlen(expected);
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_section_opened(i, names[i])[0] != '\0') {
            up_suggest(node->key, names[i], &best, &apart);
            at += (size_t)snprintf(expected + at, sizeof expected - at, ", %s", names[i]);
        }
    }
    up_entry_ref entry;
    const char *dot = strchr(node->key, '.');
    if (up_entry_find(node->key, &entry)) {
        snprintf(mend, sizeof mend,
                 "write the section %.*s: on a line of its own and under it, indented, %s:", (int)(dot - node->key),
                 node->key, dot + 1);
    } else if (best != NULL) {
        snprintf(mend, sizeof mend, "did you mean %s?", best);
    } else {
        snprintf(mend, sizeof mend, "move the lines into one of these sections or take them out");
    }
    up_complain(reader, UP_FOUND_UNKNOWN_ENTRY, node->key_place, node->key, up_quoted(node->key, found, sizeof found),
                expected, mend);
}

static void complain_entry(up_reader *reader, const char *section, const up_node *node) {
    char key[KEY_MAX], found[UP_PHRASE_MAX], expected[UP_PHRASE_MAX], mend[UP_PHRASE_MAX];
    const char *best = NULL, *elsewhere = NULL;
    int apart = 0;
    size_t at = (size_t)snprintf(expected, sizeof expected, "one of");
    snprintf(key, sizeof key, "%s.%.40s", section, node->key);
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        const char *candidate = up_entry_key(up_entry_at(i)), *tail = up_key_in_section(candidate, section);
        if (tail != NULL) {
            up_suggest(node->key, tail, &best, &apart);
            if (at < sizeof expected) {
                at += (size_t)snprintf(expected + at, sizeof expected - at, " %s", tail);
            }
        } else if (strcmp(strchr(candidate, '.') + 1, node->key) == 0) {
            elsewhere = candidate;
        }
    }
    if (best != NULL || elsewhere != NULL) {
        snprintf(mend, sizeof mend, "did you mean %s?", best != NULL ? best : elsewhere);
    } else {
        snprintf(mend, sizeof mend, "look the name up in docs/sheet-format.md, or make it a comment with #");
    }
    up_complain(reader, UP_FOUND_UNKNOWN_ENTRY, node->key_place, key, up_quoted(node->key, found, sizeof found),
                expected, mend);
}

/* ---- entries ---- */

/* Remembers the place; returns 0 when the entry was there already. */
static int first_time(up_reader *reader, const char *key, up_place *kept, const up_node *node) {
    char found[UP_PHRASE_MAX];
    if (kept->line > 0) {
        snprintf(found, sizeof found, "it again; the first stands in line %d", kept->line);
        up_complain(reader, UP_FOUND_DUPLICATE, node->key_place, key, found, "each entry once",
                    "keep one of the two lines");
        return 0;
    }
    *kept = node->place;
    return 1;
}

static const char *family_word(up_family family, char *out, size_t size) {
    return up_choice_word(UP_CHOICE_family, (int)family, out, size);
}

static void warn_family(up_reader *reader, up_entry_ref entry, const up_node *node) {
    char found[UP_PHRASE_MAX], word[40];
    if ((up_entry_families(entry) & (1 << reader->family)) != 0) {
        return;
    }
    snprintf(found, sizeof found, "an entry that a %s regulator has no use for",
             family_word(reader->family, word, sizeof word));
    up_warn(reader, UP_FOUND_NOT_FOR_FAMILY, node->key_place, up_entry_key(entry), found, "only entries of this family",
            "take the line out, or look at regulator.family");
}

static void read_entry(up_reader *reader, const char *section, const up_node *node) {
    char key[KEY_MAX];
    up_entry_ref entry;
    up_sheet *sheet = reader->sheet;
    int is_points = strlen(node->key) < KEY_MAX / 2 && snprintf(key, sizeof key, "%s.%s", section, node->key) > 0 &&
                    strcmp(key, UP_DRAG_POINTS_KEY) == 0;
    if (!is_points && (strlen(node->key) >= KEY_MAX / 2 || !up_entry_find(key, &entry))) {
        complain_entry(reader, section, node);
        return;
    }
    if (up_node_is_empty(node)) {
        up_warn(reader, UP_FOUND_DOUBTFUL, node->key_place, key, "a name without a value",
                "a value; as it stands the entry counts as left out", "write the value, or take the line out");
        return;
    }
    if (is_points) {
        if (first_time(reader, key, &sheet->drag_place, node)) {
            up_read_drag_points(reader, node);
        }
    } else if (entry.is_choice) {
        if (first_time(reader, key, &sheet->choice_place[entry.index], node)) {
            warn_family(reader, entry, node);
            up_read_choice(reader, (up_choice)entry.index, node);
        }
    } else if (first_time(reader, key, &sheet->number_place[entry.index], node)) {
        warn_family(reader, entry, node);
        up_read_number(reader, (up_number)entry.index, node);
    }
}

static void read_section(up_reader *reader, const up_node *node) {
    if (node->kind == UP_NODE_MAP) {
        for (const up_node *member = node->first; member != NULL; member = member->next) {
            read_entry(reader, node->key, member);
        }
    } else if (!up_node_is_empty(node)) {
        up_complain(reader, UP_FOUND_WRONG_SHAPE, node->place, node->key,
                    node->kind == UP_NODE_LIST ? "a list" : "a value", "a section: entries indented under its name",
                    "write each entry on its own line, indented by two blanks");
    }
}

/* ---- title, notes, format ---- */

/* Several notes become lines of one text. */
static char *join_notes(up_reader *reader, const up_node *list) {
    size_t length = 1, at = 0;
    for (const up_node *note = list->first; note != NULL; note = note->next) {
        if (note->kind != UP_NODE_TEXT) {
            up_complain(reader, UP_FOUND_WRONG_SHAPE, note->place, "notes", "a mapping or list", "a text",
                        "write each note as one text; put quotes around it when it holds a colon");
            return NULL;
        }
        length += strlen(note->text) + 1;
    }
    char *joined = calloc(1, length);
    if (joined == NULL) {
        reader->out_of_memory = 1;
        return NULL;
    }
    for (const up_node *note = list->first; note != NULL; note = note->next) {
        at += (size_t)snprintf(joined + at, length - at, "%s%s", note == list->first ? "" : "\n", note->text);
    }
    return joined;
}

static void read_text(up_reader *reader, const up_node *node, char **kept) {
    char *text = NULL;
    if (*kept != NULL) {
        up_complain(reader, UP_FOUND_DUPLICATE, node->key_place, node->key, "it again", "once", "keep one of the two");
    } else if (node->kind == UP_NODE_TEXT) {
        text = up_keep(reader, up_node_is_empty(node) ? "" : node->text);
    } else if (node->kind == UP_NODE_LIST && strcmp(node->key, "notes") == 0) {
        text = join_notes(reader, node);
    } else {
        up_complain(reader, UP_FOUND_WRONG_SHAPE, node->place, node->key, "a mapping or list", "a text",
                    "write it on one line; put quotes around it when it holds a colon");
    }
    if (text != NULL) {
        *kept = text;
    }
}

static void read_format(up_reader *reader, const up_node *node) {
    char found[UP_PHRASE_MAX];
    if (node->kind != UP_NODE_TEXT || strcmp(node->text, "1") != 0) {
        up_complain(reader, UP_FOUND_NOT_SUPPORTED, node->place, "format",
                    node->kind == UP_NODE_TEXT ? up_quoted(node->text, found, sizeof found) : "a mapping or list",
                    "1, the format this program reads", "use a newer program, or write the sheet anew");
    }
}

/* ---- the whole sheet ---- */

static int member_count(const up_node *root, const char *key, const up_node *until) {
    int count = 0;
    for (const up_node *member = root->first; member != NULL && member != until; member = member->next) {
        count += strcmp(member->key, key) == 0;
    }
    return count;
}

static void read_member(up_reader *reader, const up_node *root, const up_node *node) {
    if (strcmp(node->key, "title") == 0) {
        read_text(reader, node, &reader->sheet->title);
    } else if (strcmp(node->key, "notes") == 0) {
        read_text(reader, node, &reader->sheet->notes);
    } else if (strcmp(node->key, "format") == 0) {
        read_format(reader, node);
    } else if (strlen(node->key) < KEY_MAX / 2 && is_section(node->key)) {
        if (member_count(root, node->key, node) > 0) {
            up_complain(reader, UP_FOUND_DUPLICATE, node->key_place, node->key, "the section again",
                        "each section once", "move its lines up to the first");
        }
        read_section(reader, node);
    } else {
        complain_section(reader, node);
    }
}

static const up_node *member_of(const up_node *map, const char *key) {
    for (const up_node *member = map->kind == UP_NODE_MAP ? map->first : NULL; member != NULL; member = member->next) {
        if (strcmp(member->key, key) == 0) {
            return member;
        }
    }
    return NULL;
}

/* The family decides which typical values stand in for what is left out, so it is looked up before all else; what is
 * wrong with it is said when its line is read. */
static up_family find_family(const up_node *root) {
    const up_node *regulator = root == NULL ? NULL : member_of(root, "regulator");
    const up_node *node = regulator == NULL ? NULL : member_of(regulator, "family");
    if (node != NULL && node->kind == UP_NODE_MAP) {
        node = member_of(node, "value");
    }
    if (node != NULL && node->kind == UP_NODE_TEXT) {
        char word[40];
        for (int i = 0; i < UP_FAMILY_COUNT; i++) {
            up_choice_word(UP_CHOICE_family, i, word, sizeof word);
            size_t length = strlen(word);
            if (strncmp(node->text, word, length) == 0 &&
                (node->text[length] == '\0' || node->text[length] == ' ' || node->text[length] == ',')) {
                return (up_family)i;
            }
        }
    }
    return UP_FAMILY_CROSSED_ARMS;
}

static void start_from_typical(up_reader *reader, const up_node *root) {
    up_sheet *sheet = reader->sheet;
    reader->family = find_family(root);
    up_values_fallback(reader->family, &reader->typical);
    up_values_fallback_spread(reader->family, reader->typical_spread);
    sheet->known.values = reader->typical;
    memcpy(sheet->known.spread, reader->typical_spread, sizeof sheet->known.spread);
}

static void read_root(up_reader *reader, const up_tree *tree) {
    const up_node *root = tree->root;
    if (root == NULL || (tree->complete && up_node_is_empty(root))) {
        if (tree->complete) {
            up_complain(reader, UP_FOUND_MISSING, (up_place){0, 0}, "", "nothing: the sheet is empty",
                        "a door sheet with at least regulator: family:", "start from `upstop new --family F`");
        }
        return;
    }
    if (root->kind != UP_NODE_MAP) {
        up_complain(reader, UP_FOUND_WRONG_SHAPE, root->place, "", "a list or a text",
                    "sections with entries indented under them", "start from `upstop new --family F`");
        return;
    }
    for (const up_node *member = root->first; member != NULL; member = member->next) {
        read_member(reader, root, member);
    }
    if (tree->complete && !up_sheet_has_choice(reader->sheet, UP_CHOICE_family)) {
        up_complain(reader, UP_FOUND_MISSING, (up_place){1, 1}, "regulator.family", "no family",
                    "single-arm, crossed-arms, cable or rack", "add the section regulator: with the line family:");
    }
}

static int finish(up_reader *reader, int out_of_memory) {
    up_sheet *sheet = reader->sheet;
    if (sheet->title == NULL) {
        sheet->title = up_keep(reader, "");
    }
    if (sheet->notes == NULL) {
        sheet->notes = up_keep(reader, "");
    }
    if (reader->findings->errors == 0 && !out_of_memory) {
        up_check_door(reader);
    }
    up_findings_sort(reader->findings);
    if (out_of_memory || reader->out_of_memory || reader->findings->out_of_memory) {
        return 3;
    }
    return reader->findings->errors > 0 ? 2 : 0;
}

int up_sheet_read_with(up_units *units, const char *text, size_t size, const char *name, up_sheet *sheet,
                       up_findings *findings) {
    up_reader reader = {.sheet = sheet, .findings = findings, .units = units};
    up_tree tree = {0};
    *sheet = (up_sheet){0};
    sheet->path = up_keep(&reader, name);
    if (size > UP_SHEET_SIZE_MAX) {
        up_complain(&reader, UP_FOUND_FILE_UNREADABLE, (up_place){0, 0}, "", "more than 1 MiB of text",
                    "a door sheet: some hundred lines", "this is some other file");
    } else {
        up_tree_read(text, size, &tree, findings);
    }
    start_from_typical(&reader, tree.root);
    read_root(&reader, &tree);
    int status = finish(&reader, tree.out_of_memory);
    up_tree_free(&tree);
    return status;
}

int up_sheet_read_text(const char *text, size_t size, const char *name, up_sheet *sheet, up_findings *findings) {
    up_units units;
    up_units_init(&units);
    int status = up_sheet_read_with(&units, text, size, name, sheet, findings);
    up_units_free(&units);
    return status;
}

int up_sheet_read_file(const char *path, up_sheet *sheet, up_findings *findings) {
    char *text = NULL;
    size_t size = 0;
    const char *name = strcmp(path, "-") == 0 ? "stdin" : path;
    int status = up_text_read_file(path, UP_SHEET_SIZE_MAX, &text, &size, findings);
    if (status == 0) {
        status = up_sheet_read_text(text, size, name, sheet, findings);
        free(text);
        return status;
    }
    up_reader reader = {.sheet = sheet, .findings = findings};
    *sheet = (up_sheet){0};
    sheet->path = up_keep(&reader, name);
    start_from_typical(&reader, NULL);
    int finished = finish(&reader, status == 3);
    return finished != 0 ? finished : status;
}

void up_sheet_free(up_sheet *sheet) {
    free(sheet->path);
    free(sheet->title);
    free(sheet->notes);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        free(sheet->number_note[i]);
    }
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        free(sheet->choice_note[i]);
    }
    *sheet = (up_sheet){0};
}

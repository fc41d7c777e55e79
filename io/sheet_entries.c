#include "io/sheet_entries.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/entry_texts.h"

/* Length of the section's name in a key. */
static int section_of(const char *key) {
    return (int)strcspn(key, ".");
}

typedef struct text {
    char *letters;
    size_t used, room;
    int broken;
} text;

static void add(text *t, const char *letters, size_t count) {
    if (t->broken) {
        return;
    }
    if (t->used + count + 1 > t->room) {
        const size_t room = 2 * (t->used + count + 1);
        char *const more = realloc(t->letters, room);
        if (!more) {
            t->broken = 1;
            return;
        }
        t->letters = more;
        t->room = room;
    }
    if (!t->letters) {
        return;
    }
    memcpy(t->letters + t->used, letters, count);
    t->used += count;
    t->letters[t->used] = '\0';
}

static void add_text(text *t, const char *letters) {
    add(t, letters, strlen(letters));
}

/* Length of a line without its end. */
static size_t line_length(const char *line) {
    return strcspn(line, "\r\n");
}

static size_t end_length(const char *at) {
    return at[0] == '\r' && at[1] == '\n' ? 2 : at[0] != '\0';
}

static up_place place_of(const up_sheet *sheet, const char *key) {
    up_entry_ref ref;
    if (!up_entry_find(key, &ref)) {
        return (up_place){0, 0};
    }
    return ref.is_choice ? sheet->choice_place[ref.index] : sheet->number_place[ref.index];
}

/* "  name: value # words": where the value begins; 0 when the line is not of that kind. */
static size_t value_in(const char *line, size_t length, const char *name) {
    size_t at = strspn(line, " ");
    const size_t size = strlen(name);
    if (at == 0 || at + size >= length || strncmp(line + at, name, size) != 0 || line[at + size] != ':') {
        return 0;
    }
    at += size + 1;
    const size_t blank = strspn(line + at, " \t");
    const char first = line[at + blank];
    return blank == 0 || at + blank >= length || strchr("{[|>&*\"'!#", first) ? 0 : at + blank;
}

/* Length of the value: up to a comment, without blanks at its end. */
static size_t value_length(const char *value, size_t length) {
    size_t end = 0;
    while (end < length && !(value[end] == '#' && end > 0 && isblank((unsigned char)value[end - 1]))) {
        end++;
    }
    while (end > 0 && isblank((unsigned char)value[end - 1])) {
        end--;
    }
    return end;
}

/* Copies one line with the entry's new text. Returns 0, or -1 when it is no line that can be changed. */
static int change_line(text *out, const char *line, const up_sheet_entry *entry) {
    const size_t length = line_length(line);
    const size_t value = value_in(line, length, entry->key + section_of(entry->key) + 1);
    if (value == 0) {
        return -1;
    }
    const size_t old = value_length(line + value, length - value);
    add(out, line, value);
    add_text(out, entry->text);
    if (old != strlen(entry->text) || strncmp(line + value, entry->text, old) != 0) {
        add_text(out, "  # was: ");
        add(out, line + value, length - value);
    }
    return 0;
}

static int is_section(const char *line, const char *key) {
    const size_t size = (size_t)section_of(key);
    const size_t length = line_length(line);
    if (strncmp(line, key, size) != 0 || line[size] != ':') {
        return 0;
    }
    const size_t blank = size + 1 + strspn(line + size + 1, " \t");
    return blank >= length || line[blank] == '#';
}

/* The entries that the old sheet left out, below the head of their section. */
static void add_missing(text *out, const up_sheet *sheet, const up_sheet_entry *entries, int count, const char *section,
                        int indent, int *done) {
    for (int i = 0; i < count; i++) {
        if (!done[i] && place_of(sheet, entries[i].key).line == 0 && is_section(section, entries[i].key)) {
            char line[2 * UP_SHEET_ENTRY_TEXT];
            snprintf(line, sizeof line, "\n%*s%s: %s", indent, "", entries[i].key + section_of(entries[i].key) + 1,
                     entries[i].text);
            add_text(out, line);
            done[i] = 1;
        }
    }
}

static int indent_after(const char *line) {
    const char *next = line + line_length(line);
    while (*next) {
        next += end_length(next);
        const size_t blank = strspn(next, " ");
        if (next[blank] != '#' && next[blank] != '\n' && next[blank] != '\r') {
            return blank > 0 && blank <= 16 ? (int)blank : 2;
        }
        next += line_length(next);
    }
    return 2;
}

static const char *change_text(const char *old, const up_sheet *sheet, const up_sheet_entry *entries, int count,
                               int *done, text *out) {
    int number = 1;
    for (const char *line = old; *line; number++) {
        const size_t length = line_length(line);
        int changed = -1;
        for (int i = 0; i < count; i++) {
            changed = place_of(sheet, entries[i].key).line == number ? i : changed;
        }
        if (changed >= 0 && change_line(out, line, &entries[changed]) != 0) {
            return entries[changed].key;
        }
        if (changed < 0) {
            add(out, line, length);
            add_missing(out, sheet, entries, count, line, indent_after(line), done);
        }
        const size_t end = end_length(line + length);
        add(out, line + length, end);
        line += length + end;
    }
    return NULL;
}

/* Sections that the old sheet does not have. */
static void add_sections(text *out, const up_sheet *sheet, const up_sheet_entry *entries, int count, const int *done) {
    const char *last = "";
    for (int i = 0; i < count; i++) {
        char line[2 * UP_SHEET_ENTRY_TEXT];
        const int section = section_of(entries[i].key);
        if (done[i] || place_of(sheet, entries[i].key).line > 0) {
            continue;
        }
        if (strncmp(entries[i].key, last, (size_t)section + 1) != 0) {
            const int fresh = out->used == 0 || out->letters[out->used - 1] == '\n';
            snprintf(line, sizeof line, "%s\n%.*s:\n", fresh ? "" : "\n", section, entries[i].key);
            add_text(out, line);
            last = entries[i].key;
        }
        snprintf(line, sizeof line, "  %s: %s\n", entries[i].key + section + 1, entries[i].text);
        add_text(out, line);
    }
}

char *up_sheet_with(const char *old, const up_sheet *sheet, const up_sheet_entry *entries, int count,
                    const char **entry) {
    int done[UP_SHEET_ENTRIES_MAX] = {0};
    text out = {0};
    *entry = NULL;
    if (count > UP_SHEET_ENTRIES_MAX) {
        return NULL;
    }
    *entry = change_text(old, sheet, entries, count, done, &out);
    if (!*entry) {
        add_sections(&out, sheet, entries, count, done);
    }
    if (*entry || out.broken) {
        free(out.letters);
        return NULL;
    }
    return out.letters;
}

#include "io/tuned_entries.h"

#include <string.h>

#include "io/entry_texts.h"

/* ---- words ---- */

char *up_tuned_show(up_tuned what, double value, char *out, size_t size) {
    const up_number number = up_tuned_number(what);
    const up_entry_text *text = up_entry_text_of_number(number);
    const int plain = strcmp(text->unit, "count") == 0 || strcmp(text->unit, "1") == 0;
    snprintf(out, size, "%.10g%s%s", up_number_shown(number, value), plain ? "" : " ", plain ? "" : text->unit);
    return out;
}

static void number_entry(const up_tuning *tuning, up_tuned what, up_tuned_entry *entry) {
    const up_number number = up_tuned_number(what);
    const char *unit = up_entry_text_of_number(number)->unit;
    char shown[32];
    entry->key = up_entry_text_of_number(number)->key;
    up_tuned_show(what, tuning->value[what], shown, sizeof shown);
    if (up_number_is_whole(number)) {
        snprintf(entry->text, sizeof entry->text, "%s assumed", shown);
    } else {
        snprintf(entry->text, sizeof entry->text, "%s \u00b10 %s assumed", shown, unit);
    }
}

static void word_entry(up_choice choice, int index, up_tuned_entry *entry) {
    char word[32];
    entry->key = up_entry_text_of_choice(choice)->key;
    snprintf(entry->text, sizeof entry->text, "%s assumed", up_choice_word(choice, index, word, sizeof word));
}

int up_tuned_entries(const up_tuning *tuning, up_tuned_entry entries[UP_TUNED_ENTRIES]) {
    int count = 0;
    number_entry(tuning, UP_TUNED_zone_low, &entries[count++]);
    word_entry(UP_CHOICE_detect_principle, tuning->principle, &entries[count++]);
    word_entry(UP_CHOICE_detect_profile, tuning->profile, &entries[count++]);
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (i != UP_TUNED_zone_low && up_tuned_is_used(tuning, (up_tuned)i)) {
            number_entry(tuning, (up_tuned)i, &entries[count++]);
        }
    }
    return count;
}

/* Length of the section's name in a key. */
static int section_of(const char *key) {
    return (int)strcspn(key, ".");
}

int up_tuned_entries_write(const up_tuning *tuning, const char *const *comment, FILE *file) {
    up_tuned_entry entries[UP_TUNED_ENTRIES];
    const int count = up_tuned_entries(tuning, entries);
    for (const char *const *line = comment; *line; line++) {
        fprintf(file, "# %s\n", *line);
    }
    for (int i = 0; i < count; i++) {
        const int section = section_of(entries[i].key);
        if (i == 0 || strncmp(entries[i].key, entries[i - 1].key, (size_t)section + 1) != 0) {
            fprintf(file, "%.*s:\n", section, entries[i].key);
        }
        fprintf(file, "  %s: %s\n", entries[i].key + section + 1, entries[i].text);
    }
    return ferror(file) ? -1 : 0;
}

char *up_sheet_with_entries(const char *old, const up_sheet *sheet, const up_tuning *tuning, const char **entry) {
    up_tuned_entry entries[UP_TUNED_ENTRIES];
    return up_sheet_with(old, sheet, entries, up_tuned_entries(tuning, entries), entry);
}

#include "io/entry_texts.h"

#include <string.h>

#define DEGREES_CELSIUS "degC"
static const double zero_celsius = 273.15;

static const up_entry_text number_texts[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, per_si, fallback, spread, low, high, families, source, how) \
    {key, unit, per_si, source, how},
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static const up_choice_text choice_texts[UP_CHOICE_COUNT] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, key, words, fallback, families, how) {key, words, how, families},
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static const up_entry_ref entry_order[UP_ENTRY_COUNT] = {
#define UP_NUMBER(id, ...) {0, UP_NUMBER_##id},
#define UP_CHOICE(id, ...) {1, UP_CHOICE_##id},
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

const up_entry_text *up_entry_text_of_number(up_number number) {
    return &number_texts[number];
}

const up_choice_text *up_entry_text_of_choice(up_choice choice) {
    return &choice_texts[choice];
}

/* Start and length of the word at `index`; NULL past the end. */
static const char *word_at(const char *words, int index, size_t *length) {
    for (int i = 0;; i++) {
        *length = strcspn(words, "|");
        if (i == index) {
            return words;
        }
        if (words[*length] == '\0') {
            return NULL;
        }
        words += *length + 1;
    }
}

char *up_choice_word(up_choice choice, int index, char *out, size_t size) {
    size_t length = 0;
    const char *word = index >= 0 ? word_at(choice_texts[choice].words, index, &length) : NULL;
    if (size == 0) {
        return out;
    }
    if (word == NULL) {
        length = 0;
    } else if (length >= size) {
        length = size - 1;
    }
    if (length > 0) {
        memcpy(out, word, length);
    }
    out[length] = '\0';
    return out;
}

int up_choice_index(up_choice choice, const char *word) {
    size_t length = 0;
    for (int i = 0;; i++) {
        const char *candidate = word_at(choice_texts[choice].words, i, &length);
        if (candidate == NULL) {
            return -1;
        }
        if (strlen(word) == length && memcmp(word, candidate, length) == 0) {
            return i;
        }
    }
}

int up_choice_words_count(up_choice choice) {
    int count = 1;
    for (const char *at = choice_texts[choice].words; *at != '\0'; at++) {
        count += *at == '|';
    }
    return count;
}

up_entry_ref up_entry_at(int place) {
    return entry_order[place];
}

const char *up_entry_key(up_entry_ref entry) {
    return entry.is_choice ? choice_texts[entry.index].key : number_texts[entry.index].key;
}

int up_entry_families(up_entry_ref entry) {
    return entry.is_choice ? choice_texts[entry.index].families : up_number_families((up_number)entry.index);
}

int up_entry_find(const char *key, up_entry_ref *entry) {
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (strcmp(key, up_entry_key(entry_order[i])) == 0) {
            *entry = entry_order[i];
            return 1;
        }
    }
    return 0;
}

static double offset_of(up_number number) {
    return strcmp(number_texts[number].unit, DEGREES_CELSIUS) == 0 ? zero_celsius : 0.0;
}

double up_number_shown(up_number number, double si) {
    return si * number_texts[number].per_si - offset_of(number);
}

double up_number_shown_difference(up_number number, double si) {
    return si * number_texts[number].per_si;
}

double up_number_si(up_number number, double shown) {
    return (shown + offset_of(number)) / number_texts[number].per_si;
}

double up_number_si_difference(up_number number, double shown) {
    return shown / number_texts[number].per_si;
}

int up_number_is_whole(up_number number) {
    /* What is counted on the assembled door may have a fraction: five turns and a half. */
    return strcmp(number_texts[number].unit, "count") == 0 && strncmp(number_texts[number].key, "measured.", 9) != 0;
}

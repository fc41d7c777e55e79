/* The texts of core/door/entries.def for people: key, unit, source and how to measure; and the change between SI and
 * the unit shown. Everything is static storage and valid for every up_number and up_choice. */
#ifndef UPSTOP_IO_ENTRY_TEXTS_H
#define UPSTOP_IO_ENTRY_TEXTS_H

#include <stddef.h>

#include "core/door/values.h"

typedef struct up_entry_text {
    const char *key;    /* "glass.mass"                                                        */
    const char *unit;   /* "kg"; "1" for a plain number, "count" for a count                   */
    double per_si;      /* how many of that unit make one SI unit (degC: offset by 273.15 too) */
    const char *source; /* of the typical value; "" when there is none                         */
    const char *how;    /* how to measure or count it                                          */
} up_entry_text;

typedef struct up_choice_text {
    const char *key;   /* "regulator.family" */
    const char *words; /* "single-arm|crossed-arms|cable|rack" */
    const char *how;
    int families; /* bits UP_FOR_... that use it */
} up_choice_text;

const up_entry_text *up_entry_text_of_number(up_number number);
const up_choice_text *up_entry_text_of_choice(up_choice choice);

/* The word of a choice by index, copied into out (always terminated; "" outside the list). Returns out. */
char *up_choice_word(up_choice choice, int index, char *out, size_t size);
/* Index of a word, -1 when it is none of them. */
int up_choice_index(up_choice choice, const char *word);
int up_choice_words_count(up_choice choice);

/* All entries in the order of the list. */
typedef struct up_entry_ref {
    int is_choice; /* 1: index is an up_choice, 0: an up_number */
    int index;
} up_entry_ref;
enum { UP_ENTRY_COUNT = UP_NUMBER_COUNT + UP_CHOICE_COUNT };
up_entry_ref up_entry_at(int place); /* place 0..UP_ENTRY_COUNT-1 */
const char *up_entry_key(up_entry_ref entry);
int up_entry_families(up_entry_ref entry);

/* Entry with this key; returns 1 and fills *entry, or 0. */
int up_entry_find(const char *key, up_entry_ref *entry);

/* A value, and a difference (a tolerance), in the unit shown. Absent stays absent. */
double up_number_shown(up_number number, double si);
double up_number_shown_difference(up_number number, double si);
double up_number_si(up_number number, double shown);
double up_number_si_difference(up_number number, double shown);

/* Whole numbers only (teeth, starts, poles)? */
int up_number_is_whole(up_number number);

/* For people: "3.6 kg", and "3.60 kg ±0.10" with both rounded to the second digit of the tolerance; "10" for a
 * count; "unknown" for an absent value. A spread of 0 or NaN is left out. Returns out. */
char *up_show_number(up_number number, double si, char *out, size_t size);
char *up_show_interval(up_number number, double si, double spread_si, char *out, size_t size);
/* The same for any quantity already in `unit`; "1", "count" and "" print no unit. */
char *up_show_quantity(double value, double spread, const char *unit, char *out, size_t size);

#endif

/* A tuned setting as entries of a door sheet. */
#ifndef UPSTOP_IO_TUNED_ENTRIES_H
#define UPSTOP_IO_TUNED_ENTRIES_H

#include <stdio.h>

#include "analysis/tuning.h"
#include "io/sheet.h"

enum { UP_TUNED_ENTRIES = UP_TUNED_COUNT + 2, UP_TUNED_TEXT = 64 };

typedef struct up_tuned_entry {
    const char *key;          /* "detector.threshold"    */
    char text[UP_TUNED_TEXT]; /* "81.5 N ±0 N assumed" */
} up_tuned_entry;

/* The entries that the setting uses, section by section in the order of the list; returns how many. */
int up_tuned_entries(const up_tuning *tuning, up_tuned_entry entries[UP_TUNED_ENTRIES]);

/* A number of a setting for people, "81.5 N", as it is written. Returns out. */
char *up_tuned_show(up_tuned what, double value, char *out, size_t size);

/* As YAML sections to be copied into a sheet; each comment line without the leading #, ended by NULL. Returns 0, or -1 when
 * the stream refuses a write. */
int up_tuned_entries_write(const up_tuning *tuning, const char *const *comment, FILE *file);

/* A whole sheet: the text of the old one with these entries put in, each changed line with what it was before. The rest
 * stays as it was, to the letter. NULL when memory is short, or when an entry is written in a way that cannot be changed
 * line by line (long form, several on one line): then *entry is its key, otherwise NULL. The result is freed by the
 * caller. */
char *up_sheet_with_entries(const char *old, const up_sheet *sheet, const up_tuning *tuning, const char **entry);

#endif

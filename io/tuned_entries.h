/* A tuned setting as entries of a door sheet. */
#ifndef UPSTOP_IO_TUNED_ENTRIES_H
#define UPSTOP_IO_TUNED_ENTRIES_H

#include <stdio.h>

#include "analysis/tuning.h"
#include "io/sheet.h"
#include "io/sheet_entries.h"

enum { UP_TUNED_ENTRIES = UP_TUNED_COUNT + 2 };

typedef up_sheet_entry up_tuned_entry;

/* The entries that the setting uses, section by section in the order of the list; returns how many. */
int up_tuned_entries(const up_tuning *tuning, up_tuned_entry entries[UP_TUNED_ENTRIES]);

/* A number of a setting for people, "81.5 N", as it is written. Returns out. */
char *up_tuned_show(up_tuned what, double value, char *out, size_t size);

/* As YAML sections to be copied into a sheet; each comment line without the leading #, ended by NULL. Returns 0, or -1 when
 * the stream refuses a write. */
int up_tuned_entries_write(const up_tuning *tuning, const char *const *comment, FILE *file);

/* A whole sheet with them: up_sheet_with. */
char *up_sheet_with_entries(const char *old, const up_sheet *sheet, const up_tuning *tuning, const char **entry);

#endif

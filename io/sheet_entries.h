/* Entries put into the text of a door sheet, the rest of it left as it is. */
#ifndef UPSTOP_IO_SHEET_ENTRIES_H
#define UPSTOP_IO_SHEET_ENTRIES_H

#include "io/sheet.h"

enum { UP_SHEET_ENTRIES_MAX = 64, UP_SHEET_ENTRY_TEXT = 64 };

typedef struct up_sheet_entry {
    const char *key;                /* "detector.threshold"; static storage */
    char text[UP_SHEET_ENTRY_TEXT]; /* "81.5 N ±0 N assumed"                */
} up_sheet_entry;

/* A whole sheet: the text of the old one with these entries put in, section by section in the order of the list, each changed
 * line with what it was before. The rest stays as it was, to the letter. NULL when memory is short, when there are more than
 * UP_SHEET_ENTRIES_MAX, or when an entry is written in a way that cannot be changed line by line (long form, several on one
 * line): then *entry is its key, otherwise NULL. The result is freed by the caller. */
char *up_sheet_with(const char *old, const up_sheet *sheet, const up_sheet_entry *entries, int count,
                    const char **entry);

#endif

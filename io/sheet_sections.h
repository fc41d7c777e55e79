/* The sections of the sheet in the order in which they first appear in the list of entries. */
#ifndef UPSTOP_IO_SHEET_SECTIONS_H
#define UPSTOP_IO_SHEET_SECTIONS_H

#include <stddef.h>

#include "io/entry_texts.h"

enum { UP_SECTION_NAME_MAX = 32 };

/* Name of the section that the entry at this place of the list is the first of; "" when it is not. Returns out. */
char *up_section_opened(int place, char out[UP_SECTION_NAME_MAX]);

/* The part of key behind "section.", or NULL when it belongs to another section. */
const char *up_key_in_section(const char *key, const char *section);

/* Do regulators of the families (bits) use any entry of the section? */
int up_section_used(const char *section, int families);

#endif

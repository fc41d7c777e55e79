/* A door sheet to fill in. */
#ifndef UPSTOP_IO_SHEET_BLANK_H
#define UPSTOP_IO_SHEET_BLANK_H

#include <stdio.h>

#include "core/door/values.h"

/* Writes a sheet for the family: cautions, how to write a value, then every entry the family uses, as a comment with its
 * typical value. bare: 1 leaves out how each entry is measured. The sheet is usable as it stands. */
void up_sheet_write_blank(up_family family, int bare, FILE *out);

#endif

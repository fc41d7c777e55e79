/* JSON Schema of the door sheet and the table of its documentation, both from the one list of entries. */
#ifndef UPSTOP_IO_SCHEMA_H
#define UPSTOP_IO_SCHEMA_H

#include <stdio.h>

/* JSON Schema, draft 7, the one editors understand. Bounds of values with a unit are beyond it; `check` holds them.
 * Returns 0, or -1 when there is no memory or out cannot be written. */
int up_schema_write(FILE *out);

/* The tables of docs/sheet-format.md, in Markdown, between and without its two marker lines. */
void up_entry_table_write(FILE *out);

#endif

/* A read sheet and its findings as JSON; keys and units in docs/json.md. */
#ifndef UPSTOP_IO_SHEET_JSON_H
#define UPSTOP_IO_SHEET_JSON_H

#include <stdio.h>

#include "io/sheet.h"

/* Returns 0, or -1 when there is no memory or out cannot be written. */
int up_sheet_write_json(const up_sheet *sheet, const up_findings *findings, FILE *out);

#endif

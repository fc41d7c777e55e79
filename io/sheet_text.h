/* Bytes before they are a sheet: reading a whole file, and refusing what is no plain UTF-8 text. */
#ifndef UPSTOP_IO_SHEET_TEXT_H
#define UPSTOP_IO_SHEET_TEXT_H

#include <stddef.h>

#include "io/findings.h"

/* Reads a file ("-": standard input) of at most `limit` bytes into memory that the caller frees.
 * Returns 0; 2 with a finding; 3 out of memory. */
int up_text_read_file(const char *path, size_t limit, char **text, size_t *size, up_findings *findings);

/* 1: UTF-8 without control characters; *skip is the length of a byte order mark in front. 0: a finding was added. */
int up_text_is_clean(const char *text, size_t size, size_t *skip, up_findings *findings);

#endif

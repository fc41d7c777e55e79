/* Files appear whole or not at all: written beside their place under another name, then renamed. */
#ifndef UPSTOP_IO_WRITE_FILE_H
#define UPSTOP_IO_WRITE_FILE_H

#include <stddef.h>
#include <stdio.h>

typedef struct up_output {
    FILE *file;      /* write here; NULL when not open */
    char *path;      /* where it will stand            */
    char *temporary; /* where it stands meanwhile      */
} up_output;

/* Opens a new file beside path (in the same folder). An existing file at path stays until the commit replaces it; a
 * path that names a symbolic link is followed. Returns 0, or -1 with errno set. */
int up_output_open(up_output *output, const char *path);

/* Writes everything to disk and renames. Returns 0, or -1 with errno set; then nothing is left behind. Either way the
 * output is closed and may be forgotten. */
int up_output_commit(up_output *output);

/* Throws away what was written. Harmless when not open. */
void up_output_abandon(up_output *output);

/* All three for a block of memory. */
int up_write_file(const char *path, const void *data, size_t size);

#endif

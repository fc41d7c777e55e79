/* A text stream in blocks of whole lines, in UTF-8 (or, when it is none, in the bytes it has), whatever stood in the file.
 *
 * UTF-16 is converted by iconv, a byte order mark and NUL bytes are dropped, a lone CR ends a line where the file has no
 * LF. Memory is one block, larger only for a line that is longer than one. */
#ifndef UPSTOP_IO_RECORDING_SOURCE_H
#define UPSTOP_IO_RECORDING_SOURCE_H

#include <stddef.h>
#include <stdio.h>

/* What may be read behind a block without harm. */
enum { UP_SOURCE_MARGIN = 64 };

typedef enum up_source_status {
    UP_SOURCE_OK,
    UP_SOURCE_UNREADABLE, /* the operating system says so, errno tells  */
    UP_SOURCE_BINARY,     /* bytes that no text has                     */
    UP_SOURCE_LONG_LINE,  /* a line beyond 16 MiB                       */
    UP_SOURCE_ENCODING,   /* a sequence that is no UTF-16               */
    UP_SOURCE_MEMORY
} up_source_status;

typedef struct up_source {
    FILE *file;
    const char *encoding; /* "UTF-8", "UTF-16LE", "UTF-16BE", "Latin 1"; static */
    size_t nul_bytes;
    size_t given; /* bytes of text handed out so far                          */
    int lone_cr;  /* 1: CR ends lines                                         */
    int ended;    /* 1: nothing more in the file                              */
    char *text;   /* [begin, end) is not handed out yet; UP_SOURCE_MARGIN bytes behind end are readable */
    size_t room, begin, end;
    char *raw; /* bytes before conversion                                  */
    size_t raw_count;
    void *converter; /* iconv_t; NULL: none */
} up_source;

/* Reads the first block and finds the encoding. The caller closes the file. */
up_source_status up_source_open(up_source *source, FILE *file);

/* The next whole lines; the last one is given a line end when it has none. *from == *to: nothing left. Valid until the
 * next call. The first call hands out what up_source_open read. */
up_source_status up_source_next(up_source *source, const char **from, const char **to);

void up_source_close(up_source *source);

#endif

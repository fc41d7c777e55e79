#include "io/recording/source.h"

#include <errno.h>
#include <iconv.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 1 << 20, RAW_BLOCK = 1 << 18, LONGEST_LINE = 16 << 20 };

static const char *const UTF8 = "UTF-8", *const LATIN1 = "Latin 1";

/* Is the text UTF-8? A sequence cut off at the end counts as good. */
static int is_utf8(const unsigned char *text, size_t size) {
    for (size_t i = 0; i < size;) {
        const unsigned char c = text[i++];
        const int more = c < 0x80                ? 0
                         : c >= 0xc2 && c < 0xe0 ? 1
                         : (c & 0xf0) == 0xe0    ? 2
                         : c >= 0xf0 && c < 0xf5 ? 3
                                                 : -1;
        if (more < 0) {
            return 0;
        }
        for (int k = 0; k < more && i < size; k++) {
            if ((text[i++] & 0xc0) != 0x80) {
                return 0;
            }
        }
    }
    return 1;
}

/* UTF-16 by its byte order mark, or by NULs in every other byte of what is mostly plain text. */
static const char *wide_encoding(const unsigned char *text, size_t size) {
    if (size >= 2 && text[0] == 0xff && text[1] == 0xfe) {
        return "UTF-16LE";
    }
    if (size >= 2 && text[0] == 0xfe && text[1] == 0xff) {
        return "UTF-16BE";
    }
    size_t zero[2] = {0, 0}, pairs = (size < 4096 ? size : 4096) / 2;
    for (size_t i = 0; i < 2 * pairs; i++) {
        zero[i & 1] += text[i] == 0;
    }
    if (pairs >= 8 && zero[1] > pairs * 9 / 10 && zero[0] < pairs / 10) {
        return "UTF-16LE";
    }
    if (pairs >= 8 && zero[0] > pairs * 9 / 10 && zero[1] < pairs / 10) {
        return "UTF-16BE";
    }
    return NULL;
}

static int make_room(up_source *source, size_t wanted) {
    if (source->room >= wanted + UP_SOURCE_MARGIN) {
        return 1;
    }
    char *larger = realloc(source->text, wanted + UP_SOURCE_MARGIN);
    if (larger == NULL) {
        return 0;
    }
    source->text = larger;
    source->room = wanted + UP_SOURCE_MARGIN;
    return 1;
}

/* Bytes that UTF-16 makes at most one and a half as long. */
static up_source_status convert(up_source *source) {
    char *in = source->raw, *out = source->text + source->end;
    size_t in_left = source->raw_count, out_left = source->room - UP_SOURCE_MARGIN - source->end;
    const size_t before = out_left;
    const size_t done = iconv((iconv_t)source->converter, &in, &in_left, &out, &out_left);
    source->end += before - out_left;
    if (done == (size_t)-1 && errno == EILSEQ) {
        return UP_SOURCE_ENCODING;
    }
    memmove(source->raw, in, in_left);
    source->raw_count = in_left;
    return UP_SOURCE_OK;
}

/* NULs out, lone CRs to line ends, in what was added from `at` on. */
static void clean(up_source *source, size_t at) {
    char *text = source->text;
    if (memchr(text + at, 0, source->end - at) != NULL) {
        size_t kept = at;
        for (size_t i = at; i < source->end; i++) {
            if (text[i] != '\0') {
                text[kept++] = text[i];
            }
        }
        source->nul_bytes += source->end - kept;
        source->end = kept;
    }
    if (source->lone_cr) {
        for (size_t i = at; i < source->end; i++) {
            text[i] = text[i] == '\r' ? '\n' : text[i];
        }
    }
}

static up_source_status read_more(up_source *source) {
    const size_t at = source->end;
    if (source->converter != NULL) {
        if (!make_room(source, source->end + 2 * RAW_BLOCK)) {
            return UP_SOURCE_MEMORY;
        }
        source->raw_count += fread(source->raw + source->raw_count, 1, RAW_BLOCK - source->raw_count, source->file);
        const up_source_status status = convert(source);
        if (status != UP_SOURCE_OK) {
            return status;
        }
    } else {
        if (!make_room(source, source->end + BLOCK)) {
            return UP_SOURCE_MEMORY;
        }
        source->end += fread(source->text + source->end, 1, BLOCK, source->file);
    }
    if (ferror(source->file)) {
        return UP_SOURCE_UNREADABLE;
    }
    source->ended = feof(source->file) != 0;
    clean(source, at);
    return UP_SOURCE_OK;
}

/* Control characters that no text of an instrument has. */
static int looks_binary(const char *text, size_t size) {
    size_t odd = 0;
    for (size_t i = 0; i < size; i++) {
        const unsigned char c = (unsigned char)text[i];
        odd += c < 0x20 && c != '\t' && c != '\n' && c != '\r' && c != '\f' && c != 0x1a && c != 0x1b;
    }
    return odd > 4 && odd > size / 50;
}

static up_source_status find_encoding(up_source *source) {
    const unsigned char *text = (const unsigned char *)source->text;
    const char *wide = wide_encoding(text, source->end);
    if (wide != NULL) {
        iconv_t opened = iconv_open("UTF-8", wide);
        source->raw = malloc(RAW_BLOCK);
        source->converter = (intptr_t)opened == -1 ? NULL : opened;
        if (source->converter == NULL || source->raw == NULL) {
            return UP_SOURCE_MEMORY;
        }
        source->encoding = wide;
        return UP_SOURCE_OK;
    }
    source->encoding = is_utf8(text, source->end) ? UTF8 : LATIN1;
    return UP_SOURCE_OK;
}

/* The first bytes were read before the encoding was known: through the converter with them. */
static up_source_status convert_first(up_source *source) {
    const size_t size = source->end;
    char *first = malloc(size + 1);
    if (first == NULL || !make_room(source, 2 * size + BLOCK)) {
        free(first);
        return UP_SOURCE_MEMORY;
    }
    memcpy(first, source->text, size);
    source->end = 0;
    up_source_status status = UP_SOURCE_OK;
    for (size_t at = 0; at < size && status == UP_SOURCE_OK;) {
        const size_t piece = size - at < RAW_BLOCK - source->raw_count ? size - at : RAW_BLOCK - source->raw_count;
        memcpy(source->raw + source->raw_count, first + at, piece);
        source->raw_count += piece;
        at += piece;
        status = convert(source);
    }
    free(first);
    return status;
}

static void drop_mark(up_source *source) {
    if (source->end >= 3 && memcmp(source->text, "\xef\xbb\xbf", 3) == 0) {
        source->end -= 3;
        memmove(source->text, source->text + 3, source->end);
    }
}

up_source_status up_source_open(up_source *source, FILE *file) {
    *source = (up_source){.file = file, .encoding = UTF8};
    if (!make_room(source, BLOCK)) {
        return UP_SOURCE_MEMORY;
    }
    source->end = fread(source->text, 1, BLOCK, file);
    if (ferror(file)) {
        return UP_SOURCE_UNREADABLE;
    }
    source->ended = feof(file) != 0;
    up_source_status status = find_encoding(source);
    if (status == UP_SOURCE_OK && source->converter != NULL) {
        status = convert_first(source);
    }
    if (status != UP_SOURCE_OK) {
        return status;
    }
    drop_mark(source);
    source->lone_cr = source->end > 0 && memchr(source->text, '\n', source->end) == NULL &&
                      memchr(source->text, '\r', source->end) != NULL;
    clean(source, 0);
    return looks_binary(source->text, source->end < 65536 ? source->end : 65536) ? UP_SOURCE_BINARY : UP_SOURCE_OK;
}

static size_t behind_last_line(const up_source *source, size_t from) {
    for (size_t i = source->end; i > from; i--) {
        if (source->text[i - 1] == '\n') {
            return i;
        }
    }
    return source->begin;
}

up_source_status up_source_next(up_source *source, const char **from, const char **to) {
    size_t looked = source->begin, end;
    while ((end = behind_last_line(source, looked)) == source->begin) {
        if (source->ended) {
            end = source->end;
            if (end > source->begin) {
                source->text[source->end++] = '\n'; /* the margin has room for it */
                end = source->end;
            }
            break;
        }
        memmove(source->text, source->text + source->begin, source->end - source->begin);
        source->end -= source->begin;
        source->begin = 0;
        looked = source->end;
        if (source->end > LONGEST_LINE) {
            return UP_SOURCE_LONG_LINE;
        }
        const up_source_status status = read_more(source);
        if (status != UP_SOURCE_OK) {
            return status;
        }
    }
    memset(source->text + source->end, 0, UP_SOURCE_MARGIN / 2);
    *from = source->text + source->begin;
    *to = source->text + end;
    source->given += end - source->begin;
    source->begin = end;
    return UP_SOURCE_OK;
}

void up_source_close(up_source *source) {
    if (source->converter != NULL) {
        (void)iconv_close((iconv_t)source->converter);
    }
    free(source->text);
    free(source->raw);
    *source = (up_source){0};
}

#include "io/sheet_text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int unreadable(up_findings *findings, const char *found, const char *mend) {
    up_findings_add(findings, UP_FOUND_FILE_UNREADABLE, UP_SEVERITY_ERROR, 0, 0, "", found, "a door sheet: a text file",
                    mend);
    return 2;
}

static int too_long(up_findings *findings, size_t limit) {
    char found[80];
    snprintf(found, sizeof found, "a file of more than %zu bytes", limit);
    return unreadable(findings, found, "a door sheet has some hundred lines; this is some other file");
}

static int read_stream(FILE *file, size_t limit, char **text, size_t *size, up_findings *findings) {
    size_t capacity = 16384, length = 0;
    char *buffer = malloc(capacity);
    while (buffer != NULL) {
        length += fread(buffer + length, 1, capacity - length, file);
        if (length > limit) {
            free(buffer);
            return too_long(findings, limit);
        }
        if (length < capacity) {
            break;
        }
        capacity *= 2;
        char *larger = realloc(buffer, capacity);
        if (larger == NULL) {
            free(buffer);
        }
        buffer = larger;
    }
    if (buffer == NULL) {
        return 3;
    }
    if (ferror(file)) {
        free(buffer);
        return unreadable(findings, strerror(errno), "look at the disk and the file's permissions");
    }
    *text = buffer;
    *size = length;
    return 0;
}

int up_text_read_file(const char *path, size_t limit, char **text, size_t *size, up_findings *findings) {
    if (strcmp(path, "-") == 0) {
        return read_stream(stdin, limit, text, size, findings);
    }
    FILE *file = fopen(path, "rb");
    struct stat what;
    if (file == NULL) {
        return unreadable(findings, strerror(errno),
                          "look at the name; `upstop new --family F` writes a sheet to start from");
    }
    int status;
    if (fstat(fileno(file), &what) == 0 && S_ISDIR(what.st_mode)) {
        status = unreadable(findings, "a directory", "name the file in it");
    } else {
        status = read_stream(file, limit, text, size, findings);
    }
    fclose(file);
    return status;
}

/* Length of the UTF-8 character at text, 0 when it is none (too long a form, surrogate, past the end). */
static size_t character_length(const unsigned char *text, size_t left) {
    static const unsigned long lowest[5] = {0, 0, 0x80, 0x800, 0x10000};
    size_t length = text[0] < 0x80   ? 1
                    : text[0] < 0xc0 ? 0
                    : text[0] < 0xe0 ? 2
                    : text[0] < 0xf0 ? 3
                    : text[0] < 0xf8 ? 4
                                     : 0;
    if (length <= 1) {
        return length;
    }
    if (length > left) {
        return 0;
    }
    unsigned long code = text[0] & (0x7fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80) {
            return 0;
        }
        code = code << 6 | (text[i] & 0x3fu);
    }
    return code < lowest[length] || code > 0x10ffff || (code >= 0xd800 && code < 0xe000) ? 0 : length;
}

static int is_forbidden(unsigned char c) {
    return (c < 0x20 && c != '\n' && c != '\r' && c != '\t') || c == 0x7f;
}

static void report_byte(unsigned char c, int line, int column, up_findings *findings) {
    char found[64];
    if (c == 0) {
        snprintf(found, sizeof found, "a NUL byte");
    } else if (c < 0x80) {
        snprintf(found, sizeof found, "the control character 0x%02x", c);
    } else {
        snprintf(found, sizeof found, "the byte 0x%02x, which is not UTF-8", c);
    }
    up_findings_add(findings, UP_FOUND_TEXT_BROKEN, UP_SEVERITY_ERROR, line, column, "", found, "plain UTF-8 text",
                    "save the file as UTF-8 from your editor (write +/- where ± makes trouble)");
}

int up_text_is_clean(const char *text, size_t size, size_t *skip, up_findings *findings) {
    const unsigned char *bytes = (const unsigned char *)text;
    *skip = size >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    if (size >= 2 && (memcmp(text, "\xff\xfe", 2) == 0 || memcmp(text, "\xfe\xff", 2) == 0)) {
        up_findings_add(findings, UP_FOUND_TEXT_BROKEN, UP_SEVERITY_ERROR, 1, 1, "", "UTF-16 text", "plain UTF-8 text",
                        "save the file as UTF-8 from your editor");
        return 0;
    }
    int line = 1, column = 1;
    for (size_t i = *skip; i < size;) {
        size_t length = character_length(bytes + i, size - i);
        if (length == 0 || is_forbidden(bytes[i])) {
            report_byte(bytes[i], line, column, findings);
            return 0;
        }
        if (bytes[i] == '\n') {
            line++;
            column = 1;
        } else {
            column++;
        }
        i += length;
    }
    return 1;
}

#include "apps/cli/files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "io/sheet.h"

int up_cli_same_file(const char *a, const char *b) {
    struct stat one, other;
    return strcmp(a, b) == 0 ||
           (stat(a, &one) == 0 && stat(b, &other) == 0 && one.st_dev == other.st_dev && one.st_ino == other.st_ino);
}

char *up_cli_read_whole(const char *path) {
    char *const text = malloc(UP_SHEET_SIZE_MAX + 1);
    FILE *const file = text ? fopen(path, "rb") : NULL;
    if (!file) {
        free(text);
        return NULL;
    }
    const size_t size = fread(text, 1, UP_SHEET_SIZE_MAX, file);
    text[size] = '\0';
    fclose(file);
    return text;
}

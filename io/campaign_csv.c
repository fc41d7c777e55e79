#include "io/campaign_csv.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "io/campaign_columns.h"
#include "io/trace.h"
#include "io/write_file.h"

enum { DIGITS = 9, REFUSED = 4 };

static void print_names(FILE *file) {
    for (int c = 0; c < UP_COLUMN_COUNT; c++) {
        const char *const unit = up_column_unit(c);
        fprintf(file, unit[0] ? "%s%s [%s]" : "%s%s", c > 0 ? "," : "", up_column_name(c), unit);
    }
    fputc('\n', file);
}

static int print_row(void *context, up_closing_row *row) {
    FILE *const file = context;
    char text[32];
    for (int c = 0; c < UP_COLUMN_COUNT; c++) {
        if (c > 0) {
            fputc(',', file);
        }
        if (up_column_kind_of(c) == UP_COLUMN_WHOLE) {
            const int64_t whole = up_column_whole(row, c);
            if (whole >= 0) {
                fprintf(file, "%" PRId64, whole);
            }
        } else if (up_column_kind_of(c) == UP_COLUMN_WORD) {
            const char *const word = up_column_word(row, c, text, sizeof text);
            fputs(word ? word : "", file);
        } else {
            up_trace_print_number(file, up_column_number(row, c), DIGITS);
        }
    }
    return fputc('\n', file) == EOF ? REFUSED : 0;
}

int up_campaign_write_csv(up_store *store, uint64_t count, const char *path, const char **why) {
    up_output output;
    if (up_output_open(&output, path) != 0) {
        *why = strerror(errno);
        return 3;
    }
    print_names(output.file);
    const int status = up_store_read(store, 1, count, print_row, output.file);
    if (status != 0) {
        *why = status == REFUSED ? strerror(errno) : up_store_message(store);
        up_output_abandon(&output);
        return 3;
    }
    if (up_output_commit(&output) != 0) {
        *why = strerror(errno);
        return 3;
    }
    return 0;
}

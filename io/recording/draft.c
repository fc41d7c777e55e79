#include "io/recording/draft.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void up_note_add(up_recording *recording, int warning, long line, int column, const char *format, ...) {
    if (recording->note == NULL) {
        recording->note = calloc(UP_NOTES_MAX, sizeof *recording->note);
    }
    if (recording->note == NULL || recording->note_count >= UP_NOTES_MAX) {
        recording->notes_left_out++;
        return;
    }
    up_note *note = &recording->note[recording->note_count++];
    *note = (up_note){.warning = warning, .line = line, .column = column};
    va_list arguments;
    va_start(arguments, format);
    /* NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): clang-tidy 14 loses sight of va_start among several files */
    vsnprintf(note->text, sizeof note->text, format, arguments);
    va_end(arguments);
}

int up_problem_set(up_problem *problem, long line, int column, const char *found, const char *expected,
                   const char *mend) {
    *problem = (up_problem){.line = line, .column = column};
    snprintf(problem->found, sizeof problem->found, "%s", found);
    snprintf(problem->expected, sizeof problem->expected, "%s", expected);
    snprintf(problem->mend, sizeof problem->mend, "%s", mend);
    return 2;
}

long up_draft_line(const up_draft *draft, size_t row) {
    return draft->rows != NULL ? up_rows_line(draft->rows, draft->recording->part_row + row) : 0;
}

up_column *up_column_add(up_draft *draft, const char *name, const char *unit, const char *unit_from) {
    up_recording *recording = draft->recording;
    if (recording->column == NULL) {
        recording->column = calloc(UP_COLUMNS_MAX, sizeof *recording->column);
    }
    if (recording->column == NULL || recording->column_count >= UP_COLUMNS_MAX) {
        return NULL;
    }
    const int at = recording->column_count++;
    up_column *column = &recording->column[at];
    *column = (up_column){.role = UP_ROLE_UNKNOWN,
                          .signal = UP_SIGNAL_COUNT,
                          .factor = 1,
                          .base = -1,
                          .twin_of = -1,
                          .low = NAN,
                          .high = NAN,
                          .step = NAN,
                          .low_clip = NAN,
                          .high_clip = NAN,
                          .unit_from = unit_from != NULL ? unit_from : "",
                          .why = ""};
    snprintf(column->name, sizeof column->name, "%s", name);
    snprintf(column->unit, sizeof column->unit, "%s", unit);
    draft->column_of[at] = at;
    draft->said_of[at] = -1;
    return column;
}

char *up_column_called(const up_recording *recording, int column, char *out, size_t size) {
    if (recording->column[column].name[0] != '\0') {
        snprintf(out, size, "\"%.60s\"", recording->column[column].name);
    } else {
        snprintf(out, size, "column %d", column + 1);
    }
    return out;
}

int up_draft_finish(up_draft *draft) {
    static int (*const stages[])(up_draft *) = {up_columns_meaning, up_bases_find, up_bases_split, up_bases_cut};
    for (size_t i = 0; i < sizeof stages / sizeof stages[0]; i++) {
        const int status = stages[i](draft);
        if (status != 0) {
            return status;
        }
    }
    up_columns_judge(draft);
    return 0;
}

#include "tests/unit/recording_shape.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

int shape_near(double a, double b) {
    return fabs(a - b) <= 1e-9 * fabs(b) + 1e-13;
}

void shape_read(const char *name, const up_recording_options *said, up_recording *recording) {
    char path[512];
    up_recording_options options;
    up_problem problem;
    up_recording_options_usual(&options);
    snprintf(path, sizeof path, "%s/tests/recordings/%s", UPSTOP_SOURCE_DIR, name);
    if (up_recording_read(path, said != NULL ? said : &options, recording, &problem) != 0) {
        fail_msg("%s:%ld: %s", name, problem.line, problem.found);
    }
}

static void check_column(const wanted *shape, const up_recording *recording, int at) {
    const wanted_column *want = &shape->column[at];
    const up_column *column = &recording->column[at];
    if (strcmp(column->name, want->name) != 0 || strcmp(column->unit, want->unit) != 0) {
        fail_msg("%s: column %d is \"%s\" [%s], not \"%s\" [%s]", shape->file, at + 1, column->name, column->unit,
                 want->name, want->unit);
    }
    if (column->role != want->role || column->signal != want->signal || column->missing != want->missing) {
        fail_msg("%s: \"%s\" is %s of %s with %zu missing", shape->file, column->name, up_role_word(column->role),
                 up_signal_word(column->signal), column->missing);
    }
    if (column->signal != UP_SIGNAL_COUNT &&
        (want->row >= column->count || !shape_near(column->value[want->row], want->value))) {
        fail_msg("%s: \"%s\" has %.9g in sample %zu, not %.9g", shape->file, column->name,
                 want->row < column->count ? column->value[want->row] : NAN, want->row, want->value);
    }
}

static void check_notes(const wanted *shape, const up_recording *recording) {
    int found = shape->note == NULL;
    for (int i = 0; i < recording->note_count; i++) {
        const up_note *note = &recording->note[i];
        if (shape->note == NULL && note->warning) {
            fail_msg("%s: a warning that nobody asked for: %s", shape->file, note->text);
        }
        found |= shape->note != NULL && strstr(note->text, shape->note) != NULL &&
                 (shape->line == 0 || note->line == shape->line);
    }
    if (!found) {
        fail_msg("%s: no remark \"%s\" for line %ld", shape->file, shape->note, shape->line);
    }
}

void shape_check(const wanted *shape) {
    up_recording recording;
    shape_read(shape->file, NULL, &recording);
    const up_time_base *base = &recording.base[0];
    if (base->how != shape->how || base->count != shape->samples || !shape_near(base->start, shape->start) ||
        (isnan(shape->interval) ? !isnan(base->interval) : !shape_near(base->interval, shape->interval))) {
        fail_msg("%s: time by way %d, %zu samples from %.9g s every %.9g s", shape->file, (int)base->how, base->count,
                 base->start, base->interval);
    }
    int columns = 0;
    while (columns < 5 && shape->column[columns].name != NULL) {
        columns++;
    }
    assert_int_equal(recording.column_count, columns);
    for (int i = 0; i < columns; i++) {
        check_column(shape, &recording, i);
    }
    check_notes(shape, &recording);
    up_recording_free(&recording);
}

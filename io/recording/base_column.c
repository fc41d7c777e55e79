/* A time base out of one column: of times, of stamps, or of sample numbers made into times. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/bases.h"
#include "io/recording/stamp.h"
#include "io/recording/times.h"

/* So many times missing at the end are filled in; more, and the column is one of a group that ended earlier. */
enum { TIMES_LOST_AT_END = 3 };

int up_column_has_numbers(const up_column *column) {
    return column->value != NULL && column->role != UP_ROLE_TEXT && column->role != UP_ROLE_EMPTY;
}

up_time_base *up_base_add(up_draft *draft) {
    up_recording *recording = draft->recording;
    if (recording->base_count >= UP_BASES_MAX) {
        return NULL;
    }
    up_time_base *base = &recording->base[recording->base_count++];
    *base = (up_time_base){.how = UP_TIME_NONE,
                           .column = -1,
                           .of = -1,
                           .stride = 1,
                           .interval = NAN,
                           .shortest = NAN,
                           .longest = NAN,
                           .usual = NAN,
                           .rounded_to = NAN,
                           .stated = NAN};
    return base;
}

/* Times of day begin again at midnight; dates and times of day in two columns belong together. */
static void add_dates(up_draft *draft, int at) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *date = &recording->column[i];
        if (i == at || draft->stamp_has[i] != UP_STAMP_DATE || date->value == NULL) {
            continue;
        }
        for (size_t k = 0; k < column->count; k++) {
            column->value[k] += date->value[k];
        }
        if (draft->rows != NULL) {
            snprintf(recording->begun, sizeof recording->begun, "%.39s %.39s",
                     draft->rows->column[draft->column_of[i]].first_text,
                     draft->rows->column[draft->column_of[at]].first_text);
        }
        draft->stamp_has[at] |= UP_STAMP_DATE;
        return;
    }
}

void up_stamps_to_times(up_draft *draft, int at) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    const up_raw_column *raw = draft->rows != NULL ? &draft->rows->column[draft->column_of[at]] : NULL;
    snprintf(recording->begun, sizeof recording->begun, "%s", raw != NULL ? raw->first_text : "");
    if (draft->stamp_has[at] == UP_STAMP_CLOCK) {
        add_dates(draft, at);
    }
    double days = 0;
    for (size_t k = 1; k < column->count && draft->stamp_has[at] == UP_STAMP_CLOCK; k++) {
        if (column->value[k] + days < column->value[k - 1] - 43200) {
            days += 86400;
        }
        column->value[k] += days;
    }
    const double first = column->count > 0 && isfinite(column->value[0]) ? column->value[0] : 0;
    for (size_t k = 0; k < column->count; k++) {
        column->value[k] -= first;
    }
}

static void shift_parts(up_recording *recording, size_t from, size_t count) {
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->value != NULL && column->count > from) {
            const size_t left = column->count - from < count ? column->count - from : count;
            memmove(column->value, column->value + from, left * sizeof *column->value);
            column->count = left;
        }
    }
}

/* Which part of a recording whose time starts anew. */
static int choose_part(up_draft *draft, const up_times *times) {
    up_recording *recording = draft->recording;
    int chosen = 0;
    for (int i = 1; i < times->parts; i++) {
        if (times->part[i + 1] - times->part[i] > times->part[chosen + 1] - times->part[chosen]) {
            chosen = i;
        }
    }
    recording->parts = times->parts;
    if (draft->options->part > times->parts) {
        char found[80], expected[80];
        snprintf(found, sizeof found, "--part %d", draft->options->part);
        snprintf(expected, sizeof expected, "1 to %d: so many times does time start in this file", times->parts);
        return up_problem_set(draft->problem, 0, 0, found, expected, "leave --part away to read the longest part");
    }
    chosen = draft->options->part > 0 ? draft->options->part - 1 : chosen;
    recording->part = chosen + 1;
    if (times->parts > 1) {
        const size_t from = times->part[chosen], count = times->part[chosen + 1] - from;
        up_note_add(recording, 1, up_draft_line(draft, times->part[1]), 0,
                    "time starts anew here%s: part %d of %d is kept, %zu of %zu rows; --part chooses another",
                    times->parts > 2 ? " and again later" : "", chosen + 1, times->parts, count, times->n);
        recording->part_row = from;
        shift_parts(recording, from, count);
    }
    return 0;
}

static void tell_about_times(up_draft *draft, const up_column *column, const up_time_base *base, double stated,
                             int agrees) {
    up_recording *recording = draft->recording;
    if (!agrees && stated > 0 && base->count > 2) {
        const double mean = isfinite(base->interval) ? base->interval : base->usual;
        if (fabs(mean / stated - 1) > 1e-3) {
            up_note_add(
                recording, 1, recording->first_line, 0,
                "the preamble states %.6g s between samples, but \"%.40s\" steps by %.6g s: the column was believed",
                stated, column->name, mean);
        }
    }
    if (isnan(base->interval) && base->gaps == 0 && base->count > 2) {
        up_note_add(recording, 1, recording->first_line, 0, "times are not spaced evenly: steps from %.6g to %.6g s",
                    base->shortest, base->longest);
    }
}

/* One base from one column of times (or numbers made into times). */
int up_base_from_column(up_draft *draft, int at, up_time_how how, double stated, double grain, int first_base) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    up_time_base *base = up_base_add(draft);
    if (base == NULL || column->count == 0) {
        return 0;
    }
    up_times times = {.t = column->value, .n = column->count};
    /* A slow group's own times end earlier. */
    while (times.n > 0 && isnan(times.t[times.n - 1])) {
        times.n--;
    }
    if (first_base && column->count - times.n <= TIMES_LOST_AT_END) {
        times.n = column->count;
    }
    if (!up_times_mend(&times) && times.n > 1) {
        char found[UP_NOTE_TEXT_MAX], called[80];
        snprintf(found, sizeof found, "times that do not rise in %s",
                 up_column_called(recording, at, called, sizeof called));
        return up_problem_set(draft->problem, recording->first_line, 0, found, "times that rise from row to row",
                              "say which column is the time with --column, or the rate with --rate");
    }
    recording->mended_times += times.mended;
    if (times.mended > 0) {
        recording->mended_line = up_draft_line(draft, times.first_mended);
        up_note_add(recording, 1, recording->mended_line, 0,
                    "%zu time%s missing or out of order, put right from the neighbours", times.mended,
                    times.mended > 1 ? "s" : "");
    }
    if (first_base) {
        const int status = choose_part(draft, &times);
        if (status != 0) {
            return status;
        }
    }
    const size_t count = first_base ? times.part[recording->part] - times.part[recording->part - 1] : times.n;
    int agrees = 0;
    base->how = how;
    base->column = at;
    up_times_judge(times.t, count, stated, grain, base, &agrees);
    tell_about_times(draft, column, base, how == UP_TIME_NUMBERED ? (double)NAN : stated, agrees);
    if (isnan(base->interval)) {
        const size_t moved = up_times_spread(times.t, count);
        if (moved > 0) {
            up_note_add(recording, 1, 0, 0, "%zu times equal the one before them; they were drawn apart", moved);
        }
        base->time = column->value;
        column->value = NULL;
    } else {
        free(column->value);
        column->value = NULL;
    }
    return 0;
}

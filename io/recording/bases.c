/* When the samples were taken: a time base for every column. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/draft.h"
#include "io/recording/facts.h"
#include "io/recording/stamp.h"
#include "io/recording/times.h"

static int has_numbers(const up_column *column) {
    return column->value != NULL && column->role != UP_ROLE_TEXT && column->role != UP_ROLE_EMPTY;
}

/* Rising by one from row to row, whole numbers. */
static int counts_by_one(const up_column *column) {
    const size_t look = column->count < 1000 ? column->count : 1000;
    for (size_t i = 0; i < look; i++) {
        if (!(floor(column->value[i]) == column->value[i]) || (i > 0 && column->value[i] != column->value[i - 1] + 1)) {
            return 0;
        }
    }
    return look >= 2;
}

static int rises(const up_column *column) {
    const size_t look = column->count < 1000 ? column->count : 1000;
    for (size_t i = 1; i < look; i++) {
        if (!(column->value[i] > column->value[i - 1])) {
            return 0;
        }
    }
    return look >= 3;
}

static int count_of_role(const up_recording *recording, up_role role) {
    int count = 0;
    for (int i = 0; i < recording->column_count; i++) {
        count += recording->column[i].role == role;
    }
    return count;
}

/* Columns without a word about them: the first may still be the time or the number of the sample. */
static void look_at_first(up_draft *draft, double stated) {
    up_recording *recording = draft->recording;
    if (count_of_role(recording, UP_ROLE_TIME) > 0 && isfinite(stated)) {
        /* Named time, but it counts samples: the preamble states how far they are apart. */
        for (int i = 0; i < recording->column_count; i++) {
            up_column *column = &recording->column[i];
            if (column->role == UP_ROLE_TIME && draft->said_of[i] < 0 && draft->stamp_has[i] == 0 &&
                counts_by_one(column) && fabs(column->factor / stated - 1) > 1e-3) {
                column->role = UP_ROLE_NUMBERING;
                column->why = "it counts by one, and the preamble states another interval";
                up_note_add(recording, 1, recording->names_line, 0,
                            "\"%s\" counts samples by one; it was taken for their number, since the preamble states "
                            "%.6g s between them",
                            column->name, stated);
            }
        }
    }
    up_column *first = recording->column_count > 0 ? &recording->column[0] : NULL;
    if (first == NULL || first->role != UP_ROLE_UNKNOWN || !has_numbers(first) || draft->said_of[0] >= 0 ||
        recording->column_count < 2 || count_of_role(recording, UP_ROLE_TIME) > 0) {
        return;
    }
    if (counts_by_one(first)) {
        first->role = UP_ROLE_NUMBERING;
        first->why = "it counts by one";
    } else if (rises(first) && !isfinite(stated)) {
        first->role = UP_ROLE_TIME;
        first->why = "the first column, and it rises";
        up_note_add(recording, 1, recording->first_line, 0,
                    "the first column rises from row to row: taken for time in s; --column 1=time[ms] says otherwise");
    }
}

static up_time_base *add_base(up_draft *draft) {
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

/* ---- no times in the file ---- */

static int ask_for_rate(up_draft *draft) {
    const up_recording *recording = draft->recording;
    const long line = recording->names_line > 0 ? recording->names_line : recording->first_line;
    return up_problem_set(draft->problem, line, 0,
                          "samples without a time: no column of times, no interval and no rate in the preamble",
                          "how often the instrument sampled",
                          "say it, such as --rate 10kHz or --rate 100us (samples a second, or the time between two)");
}

static size_t longest_column(const up_recording *recording) {
    size_t count = 0;
    for (int i = 0; i < recording->column_count; i++) {
        count = recording->column[i].count > count ? recording->column[i].count : count;
    }
    return count;
}

static void even_base(up_time_base *base, size_t count, double start, double interval) {
    base->count = count;
    base->start = start;
    base->interval = base->shortest = base->longest = base->usual = interval;
}

static void use_base_everywhere(up_recording *recording, int base) {
    for (int i = 0; i < recording->column_count; i++) {
        if (has_numbers(&recording->column[i]) && recording->column[i].base < 0) {
            recording->column[i].base = base;
        }
    }
}

static int stated_base(up_draft *draft, double stated, up_fact *fact) {
    up_recording *recording = draft->recording;
    up_time_base *base = add_base(draft);
    up_fact *start_fact = NULL;
    double start = up_stated_start(recording, &draft->units, &start_fact);
    if (isfinite(draft->options->rate)) {
        base->how = UP_TIME_SAID;
        start = isfinite(draft->options->start) ? draft->options->start : 0;
        stated = 1 / draft->options->rate;
        snprintf(base->reason, sizeof base->reason, "said with --rate");
    } else if (isfinite(draft->format_interval)) {
        base->how = UP_TIME_FORMAT;
        start = 0;
        stated = draft->format_interval;
        snprintf(base->reason, sizeof base->reason, "the file's format carries it");
    } else {
        base->how = UP_TIME_STATED;
        fact->used = 1;
        snprintf(base->reason, sizeof base->reason, "\"%.60s\" in the preamble%s", fact->key,
                 isfinite(start) ? ", which also states the start" : "");
        if (start_fact != NULL && isfinite(start)) {
            start_fact->used = 1;
        }
        start = isfinite(start) ? start : 0;
    }
    base->stated = stated;
    even_base(base, longest_column(recording), start, stated);
    use_base_everywhere(recording, recording->base_count - 1);
    return 0;
}

/* ---- times of a column ---- */

/* Sample numbers become times: number 0 or 1 is the start. */
static void numbers_to_times(up_column *column, double start, double interval) {
    const double from = column->count > 0 && column->value[0] == 1 ? 1 : 0;
    for (size_t i = 0; i < column->count; i++) {
        column->value[i] = start + (column->value[i] - from) * interval;
    }
}

/* Times of day begin again at midnight; dates and times of day in two columns belong together. */
static void stamps_to_times(up_draft *draft, int at) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    const up_raw_column *raw = draft->rows != NULL ? &draft->rows->column[draft->column_of[at]] : NULL;
    snprintf(recording->begun, sizeof recording->begun, "%s", raw != NULL ? raw->first_text : "");
    for (int i = 0; i < recording->column_count; i++) {
        up_column *date = &recording->column[i];
        if (i != at && draft->stamp_has[i] == UP_STAMP_DATE && draft->stamp_has[at] == UP_STAMP_CLOCK &&
            date->value != NULL) {
            for (size_t k = 0; k < column->count; k++) {
                column->value[k] += date->value[k];
            }
            if (raw != NULL) {
                snprintf(recording->begun, sizeof recording->begun, "%.39s %.39s",
                         draft->rows->column[draft->column_of[i]].first_text, raw->first_text);
            }
            return;
        }
    }
    double days = 0;
    for (size_t k = 1; k < column->count && draft->stamp_has[at] == UP_STAMP_CLOCK; k++) {
        if (column->value[k] + days < column->value[k - 1] - 43200) {
            days += 86400;
        }
        column->value[k] += days;
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
static int base_from_column(up_draft *draft, int at, up_time_how how, double stated, int first_base) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    up_time_base *base = add_base(draft);
    if (base == NULL || column->count == 0) {
        return 0;
    }
    up_times times = {.t = column->value, .n = column->count};
    /* A slow group's own times end earlier. */
    while (times.n > 0 && isnan(times.t[times.n - 1])) {
        times.n--;
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
    /* Times since 1970 or since the instrument was switched on: the first sample is zero. */
    if (count > 0 && fabs(times.t[0]) > 1e8) {
        const double shift = times.t[0];
        for (size_t i = 0; i < count; i++) {
            times.t[i] -= shift;
        }
        up_note_add(recording, 0, recording->first_line, 0, "times count from %.3f s; the first sample was made zero",
                    shift);
    }
    up_times_judge(times.t, count, stated, base, &agrees);
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

/* Each column goes with the nearest base on its left, or the first one. */
static void assign_bases(up_draft *draft) {
    up_recording *recording = draft->recording;
    int base = 0;
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        for (int b = 0; b < recording->base_count; b++) {
            base = recording->base[b].column == i ? b : base;
        }
        if (has_numbers(column) && column->base < 0) {
            column->base = base;
            column->count = column->count < recording->base[base].count ? column->count : recording->base[base].count;
        }
    }
}

/* A column of times gives a base when values follow before the next one; the best of neighbours: numbers before stamps. */
static int gives_base(const up_draft *draft, int at) {
    const up_recording *recording = draft->recording;
    if (draft->stamp_has[at] == UP_STAMP_DATE) {
        for (int i = 0; i < recording->column_count; i++) {
            if (i != at && recording->column[i].role == UP_ROLE_TIME) {
                return 0;
            }
        }
    }
    const int better_exists = draft->stamp_has[at] != 0;
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *other = &recording->column[i];
        if (i == at || other->role != UP_ROLE_TIME || draft->stamp_has[i] == UP_STAMP_DATE || !has_numbers(other)) {
            continue;
        }
        int between = 0;
        for (int k = (i < at ? i : at) + 1; k < (i < at ? at : i); k++) {
            between += has_numbers(&recording->column[k]) && recording->column[k].role != UP_ROLE_TIME &&
                       recording->column[k].role != UP_ROLE_NUMBERING;
        }
        if (between == 0 && ((better_exists && draft->stamp_has[i] == 0 && rises(other)) ||
                             ((draft->stamp_has[i] != 0) == (draft->stamp_has[at] != 0) && i < at))) {
            return 0;
        }
    }
    return 1;
}

static int bases_from_times(up_draft *draft, double stated, up_fact *fact) {
    up_recording *recording = draft->recording;
    int status = 0, done = 0;
    for (int i = 0; i < recording->column_count && status == 0; i++) {
        up_column *column = &recording->column[i];
        if (column->role != UP_ROLE_TIME || !has_numbers(column) || !gives_base(draft, i)) {
            continue;
        }
        if (draft->stamp_has[i] != 0) {
            stamps_to_times(draft, i);
        } else if (column->factor != 1) {
            for (size_t k = 0; k < column->count; k++) {
                column->value[k] *= column->factor;
            }
        }
        status = base_from_column(draft, i, draft->stamp_has[i] != 0 ? UP_TIME_STAMPS : UP_TIME_COLUMN,
                                  done ? (double)NAN : stated, !done && draft->one_table);
        done = 1;
        if (status == 0 && fact != NULL && recording->base[0].interval == stated) {
            fact->used = 1;
        }
    }
    return status;
}

static int base_from_numbers(up_draft *draft, double stated, up_fact *fact) {
    up_recording *recording = draft->recording;
    up_fact *start_fact = NULL;
    const double start = up_stated_start(recording, &draft->units, &start_fact);
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->role == UP_ROLE_NUMBERING && has_numbers(column) && rises(column)) {
            numbers_to_times(column, isfinite(start) ? start : 0, stated);
            const int status = base_from_column(draft, i, UP_TIME_NUMBERED, stated, draft->one_table);
            fact->used = 1;
            if (start_fact != NULL && isfinite(start)) {
                start_fact->used = 1;
            }
            snprintf(recording->base[0].reason, sizeof recording->base[0].reason, "sample numbers, with %s\"%.40s\" %s",
                     isfinite(start) ? "the start and " : "", fact->key, "stated above");
            return status;
        }
    }
    return -1;
}

int up_bases_find(up_draft *draft) {
    up_recording *recording = draft->recording;
    up_fact *fact = NULL;
    const double stated = up_stated_interval(recording, &draft->units, &fact);
    int status = -1;
    recording->parts = recording->part = 1;
    if (longest_column(recording) == 0) {
        return up_problem_set(draft->problem, recording->first_line, 0, "no column of numbers", "samples",
                              "export the samples as numbers");
    }
    look_at_first(draft, isfinite(draft->options->rate) ? 1 / draft->options->rate : stated);
    if (isfinite(draft->options->rate) || isfinite(draft->format_interval)) {
        status = stated_base(draft, stated, fact);
    } else if (count_of_role(recording, UP_ROLE_TIME) > 0) {
        status = bases_from_times(draft, stated, fact);
    }
    if (status < 0 && isfinite(stated)) {
        status = base_from_numbers(draft, stated, fact);
        status = status < 0 ? stated_base(draft, stated, fact) : status;
    }
    if (status < 0 || (status == 0 && recording->base_count == 0)) {
        return ask_for_rate(draft);
    }
    if (status == 0) {
        assign_bases(draft);
    }
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->role == UP_ROLE_TIME || column->role == UP_ROLE_NUMBERING || column->role == UP_ROLE_NOTHING) {
            free(column->value);
            column->value = NULL;
            column->base = -1;
        }
    }
    return status;
}

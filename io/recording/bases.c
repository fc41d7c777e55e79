/* When the samples were taken: a time base for every column. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/bases.h"
#include "io/recording/draft.h"
#include "io/recording/facts.h"
#include "io/recording/stamp.h"

/* Rising by one from row to row, whole numbers. */
int up_column_counts_by_one(const up_column *column) {
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

/* A column of times whose unit nobody tells: the stated interval may, or the size of a count from 1970. */
static void find_time_unit(up_draft *draft, int at, double stated) {
    static const struct {
        const char *unit;
        double factor, from; /* s; counts from 1970 are as large as this or larger */
    } tried[] = {{"s", 1, 0}, {"ms", 1e-3, 1e11}, {"us", 1e-6, 1e14}, {"ns", 1e-9, 1e17}};
    up_column *column = &draft->recording->column[at];
    char called[80];
    const double first = column->value[0], last = column->value[column->count - 1];
    const double step = (last - first) / (double)(column->count > 1 ? column->count - 1 : 1);
    for (int i = 0; i < 4; i++) {
        if (isfinite(stated) && fabs(step * tried[i].factor / stated - 1) < 0.01) {
            column->factor = tried[i].factor;
            snprintf(column->unit, sizeof column->unit, "%s", tried[i].unit);
            column->unit_from = "by the interval stated in the preamble";
            return;
        }
    }
    int best = 0;
    for (int i = 1; i < 4; i++) {
        best = first >= tried[i].from ? i : best;
    }
    column->factor = tried[best].factor;
    snprintf(column->unit, sizeof column->unit, "%s", tried[best].unit);
    column->unit_from = "assumed";
    up_note_add(draft->recording, 1, draft->recording->names_line, 0,
                "%s has no unit that is known: taken for %s; --column says otherwise",
                up_column_called(draft->recording, at, called, sizeof called), tried[best].unit);
}

/* Columns without a word about them: the first may still be the time or the number of the sample. */
static void look_at_first(up_draft *draft, double stated) {
    up_recording *recording = draft->recording;
    if (count_of_role(recording, UP_ROLE_TIME) > 0 && isfinite(stated)) {
        /* Named time, but it counts samples: the preamble states how far they are apart. */
        for (int i = 0; i < recording->column_count; i++) {
            up_column *column = &recording->column[i];
            if (column->role == UP_ROLE_TIME && draft->said_of[i] < 0 && draft->stamp_has[i] == 0 &&
                up_column_counts_by_one(column) && fabs(column->factor / stated - 1) > 1e-3) {
                column->role = UP_ROLE_NUMBERING;
                column->why = "it counts by one, and the preamble states another interval";
                up_note_add(recording, 1, recording->names_line, 0,
                            "\"%s\" counts samples by one; it was taken for their number, since the preamble states "
                            "%.6g s between them",
                            column->name, stated);
            }
        }
    }
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *column = &recording->column[i];
        if (column->role == UP_ROLE_TIME && draft->said_of[i] < 0 && draft->stamp_has[i] == 0 && column->count > 0 &&
            up_column_has_numbers(column) && strcmp(column->why, "its name") == 0) {
            find_time_unit(draft, i, stated);
        }
    }
    up_column *first = recording->column_count > 0 ? &recording->column[0] : NULL;
    if (first == NULL || first->role != UP_ROLE_UNKNOWN || !up_column_has_numbers(first) || draft->said_of[0] >= 0 ||
        recording->column_count < 2 || count_of_role(recording, UP_ROLE_TIME) > 0) {
        return;
    }
    if (up_column_counts_by_one(first)) {
        first->role = UP_ROLE_NUMBERING;
        first->why = "it counts by one";
    } else if (rises(first)) {
        const double step = (first->value[first->count - 1] - first->value[0]) / (double)(first->count - 1);
        const int as_stated = isfinite(stated) && fabs(step / stated - 1) < 0.01;
        if (as_stated || !isfinite(stated)) {
            first->role = UP_ROLE_TIME;
            first->why = "the first column, and it rises";
        }
        if (!isfinite(stated)) {
            up_note_add(
                recording, 1, recording->first_line, 0,
                "the first column rises from row to row: taken for time in s; --column 1=time[ms] says otherwise");
        }
    }
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
        if (up_column_has_numbers(&recording->column[i]) && recording->column[i].base < 0) {
            recording->column[i].base = base;
        }
    }
}

static int stated_base(up_draft *draft, double stated, up_fact *fact) {
    up_recording *recording = draft->recording;
    up_time_base *base = up_base_add(draft);
    up_fact *start_fact = NULL;
    double start = up_stated_start(recording, draft->units, &start_fact);
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

/* ---- times of a column: base_column.c ---- */

/* Sample numbers become times: number 0 or 1 is the start. */
static void numbers_to_times(up_column *column, double start, double interval) {
    const double from = column->count > 0 && column->value[0] == 1 ? 1 : 0;
    for (size_t i = 0; i < column->count; i++) {
        column->value[i] = start + (column->value[i] - from) * interval;
    }
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
        if (up_column_has_numbers(column) && column->base < 0) {
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
        if (i == at || other->role != UP_ROLE_TIME || draft->stamp_has[i] == UP_STAMP_DATE ||
            !up_column_has_numbers(other)) {
            continue;
        }
        int between = 0;
        for (int k = (i < at ? i : at) + 1; k < (i < at ? at : i); k++) {
            between += up_column_has_numbers(&recording->column[k]) && recording->column[k].role != UP_ROLE_TIME &&
                       recording->column[k].role != UP_ROLE_NUMBERING;
        }
        if (between == 0 && ((better_exists && draft->stamp_has[i] == 0 && rises(other)) ||
                             ((draft->stamp_has[i] != 0) == (draft->stamp_has[at] != 0) && i < at))) {
            return 0;
        }
    }
    return 1;
}

/* To seconds; times since 1970 or since the instrument was switched on begin at zero. Returns how fine they were. */
static double to_seconds(up_draft *draft, up_column *column) {
    const double first = column->count > 0 && isfinite(column->value[0]) ? column->value[0] : 0;
    const double shift = fabs(first * column->factor) > 1e8 ? first : 0;
    if (shift != 0) {
        up_note_add(draft->recording, 0, draft->recording->first_line, 0,
                    "times count from %.15g %s; the first sample was made zero", shift,
                    column->factor == 1 ? "s" : column->unit);
    }
    for (size_t k = 0; k < column->count && (shift != 0 || column->factor != 1); k++) {
        column->value[k] = (column->value[k] - shift) * column->factor;
    }
    return fabs(shift) * column->factor * 2.3e-16;
}

static int bases_from_times(up_draft *draft, double stated, up_fact *fact) {
    up_recording *recording = draft->recording;
    int status = 0, done = 0;
    for (int i = 0; i < recording->column_count && status == 0; i++) {
        up_column *column = &recording->column[i];
        if (column->role != UP_ROLE_TIME || !up_column_has_numbers(column) || !gives_base(draft, i)) {
            continue;
        }
        double grain = 0;
        if (draft->stamp_has[i] != 0) {
            up_stamps_to_times(draft, i);
        } else {
            grain = to_seconds(draft, column);
        }
        status = up_base_from_column(draft, i, draft->stamp_has[i] != 0 ? UP_TIME_STAMPS : UP_TIME_COLUMN,
                                     done ? (double)NAN : stated, grain, !done && draft->one_table);
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
    const double start = up_stated_start(recording, draft->units, &start_fact);
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->role == UP_ROLE_NUMBERING && up_column_has_numbers(column) && rises(column)) {
            numbers_to_times(column, isfinite(start) ? start : 0, stated);
            const int status = up_base_from_column(draft, i, UP_TIME_NUMBERED, stated, 0, draft->one_table);
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
    const double stated = up_stated_interval(recording, draft->units, &fact);
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

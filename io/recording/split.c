/* Channels at other rates in one table, and the piece of time that was asked for. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/draft.h"

/* Where a column has values. */
typedef struct presence {
    size_t count, first, last; /* values; rows of the first and the last */
    size_t stride;             /* the usual distance between two         */
    double regular;            /* share of the distances that are it     */
} presence;

static presence look(const up_column *column) {
    presence out = {.first = column->count};
    size_t before = 0, steps = 0, same = 0;
    for (size_t i = 0; i < column->count; i++) {
        if (isnan(column->value[i])) {
            continue;
        }
        if (out.count == 0) {
            out.first = i;
        } else {
            const size_t distance = i - before;
            if (out.stride == 0 || distance < out.stride) {
                out.stride = distance;
                same = 0;
            }
            same += distance == out.stride;
            steps++;
        }
        before = i;
        out.count++;
    }
    out.last = before;
    out.regular = steps > 0 ? (double)same / (double)steps : 0;
    return out;
}

static void take_every(up_column *column, size_t phase, size_t stride, size_t count) {
    for (size_t i = 0; i < count; i++) {
        column->value[i] = column->value[phase + i * stride];
    }
    column->count = count;
    double *smaller = realloc(column->value, (count > 0 ? count : 1) * sizeof *smaller);
    column->value = smaller != NULL ? smaller : column->value;
}

/* A base that is every stride-th sample of another from phase on: made anew or found again. */
static int strided_base(up_recording *recording, int of, size_t stride, size_t phase, size_t count) {
    for (int b = 0; b < recording->base_count; b++) {
        const up_time_base *base = &recording->base[b];
        if (base->of == of && base->stride == (int)stride && base->phase == (int)phase && base->count >= count) {
            return b;
        }
    }
    if (recording->base_count >= UP_BASES_MAX) {
        return -1;
    }
    const up_time_base *whole = &recording->base[of];
    up_time_base *base = &recording->base[recording->base_count];
    *base = (up_time_base){.how = UP_TIME_STRIDE,
                           .column = whole->column,
                           .of = of,
                           .stride = (int)stride,
                           .phase = (int)phase,
                           .count = count,
                           .shortest = NAN,
                           .longest = NAN,
                           .usual = NAN,
                           .rounded_to = NAN,
                           .stated = NAN,
                           .interval = NAN};
    if (isfinite(whole->interval)) {
        base->interval = whole->interval * (double)stride;
        base->start = whole->start + whole->interval * (double)phase;
    } else {
        base->time = malloc((count > 0 ? count : 1) * sizeof *base->time);
        if (base->time == NULL) {
            return -1;
        }
        for (size_t i = 0; i < count; i++) {
            base->time[i] = whole->time[phase + i * stride];
        }
        base->start = count > 0 ? base->time[0] : 0;
    }
    snprintf(base->reason, sizeof base->reason, "one row in %zu has a value", stride);
    return recording->base_count++;
}

/* Values here and there: each with its own time. */
static int scattered_base(up_recording *recording, up_column *column, size_t present) {
    if (recording->base_count >= UP_BASES_MAX) {
        return 0;
    }
    const up_time_base *whole = &recording->base[column->base];
    double *time = malloc((present > 0 ? present : 1) * sizeof *time);
    if (time == NULL) {
        return 3;
    }
    size_t at = 0;
    for (size_t i = 0; i < column->count; i++) {
        if (!isnan(column->value[i])) {
            time[at] = whole->time != NULL ? whole->time[i] : whole->start + whole->interval * (double)i;
            column->value[at++] = column->value[i];
        }
    }
    up_time_base *base = &recording->base[recording->base_count];
    *base = (up_time_base){.how = UP_TIME_STRIDE,
                           .column = whole->column,
                           .of = column->base,
                           .stride = 0,
                           .count = present,
                           .time = time,
                           .start = present > 0 ? time[0] : 0,
                           .interval = NAN,
                           .shortest = NAN,
                           .longest = NAN,
                           .usual = NAN,
                           .rounded_to = NAN,
                           .stated = NAN};
    snprintf(base->reason, sizeof base->reason, "values in some rows only, each with its row's time");
    column->count = present;
    column->base = recording->base_count++;
    return 0;
}

static int split_column(up_draft *draft, int at) {
    up_recording *recording = draft->recording;
    up_column *column = &recording->column[at];
    size_t none = 0;
    for (size_t i = 0; i < column->count && !draft->complete[at]; i++) {
        none += isnan(column->value[i]) != 0;
    }
    if (none == 0) {
        return 0;
    }
    const presence found = look(column);
    column->empty = column->count - found.count;
    if (found.count == 0 || (double)found.count > 0.6 * (double)column->count) {
        return 0;
    }
    char called[80];
    up_column_called(recording, at, called, sizeof called);
    if (found.stride >= 2 && found.regular > 0.9) {
        const size_t phase = found.first % found.stride, rows = column->count;
        const size_t count = (rows - 1 - phase) / found.stride + 1;
        const int base = strided_base(recording, column->base, found.stride, phase, count);
        if (base >= 0) {
            take_every(column, phase, found.stride, count);
            column->base = base;
            up_note_add(recording, 0, up_draft_line(draft, phase), 0,
                        "%s has a value in one row of %zu: a slower channel", called, found.stride);
        }
        return 0;
    }
    if (found.stride == 1 && found.regular > 0.9) { /* one stretch */
        if (found.first == 0) {
            column->count = found.last + 1;
            up_note_add(recording, 1, up_draft_line(draft, found.last), 0, "%s ends here, before the others", called);
        }
        return 0;
    }
    up_note_add(recording, 1, 0, 0, "%s has values in %zu of %zu rows only, here and there", called, found.count,
                column->count);
    return scattered_base(recording, column, found.count);
}

int up_bases_split(up_draft *draft) {
    up_recording *recording = draft->recording;
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->value != NULL && column->base >= 0) {
            const int status = split_column(draft, i);
            if (status != 0) {
                return status;
            }
        }
    }
    return 0;
}

/* ---- --from and --to ---- */

static double time_at(const up_time_base *base, size_t i) {
    return base->time != NULL ? base->time[i] : base->start + base->interval * (double)i;
}

/* The first sample at or after a time. */
static size_t first_after(const up_time_base *base, double time) {
    size_t low = 0, high = base->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (time_at(base, middle) < time) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static void cut_base(up_recording *recording, int b, size_t from, size_t to) {
    up_time_base *base = &recording->base[b];
    const double start = from < base->count ? time_at(base, from) : base->start;
    int kept = 0;
    if (base->time != NULL) {
        memmove(base->time, base->time + from, (to - from) * sizeof *base->time);
    }
    for (int g = 0; g < base->gap_count; g++) {
        if (base->gap[g].row > from && base->gap[g].row < to) {
            base->gap[kept] = base->gap[g];
            base->gap[kept++].row -= from;
        }
    }
    base->gaps -= (size_t)(base->gap_count - kept);
    base->gap_count = kept;
    base->count = to - from;
    base->start = start;
    for (int i = 0; i < recording->column_count; i++) {
        up_column *column = &recording->column[i];
        if (column->base == b && column->value != NULL) {
            const size_t end = column->count < to ? column->count : to;
            column->count = end > from ? end - from : 0;
            memmove(column->value, column->value + (end > from ? from : 0), column->count * sizeof *column->value);
        }
    }
}

int up_bases_cut(up_draft *draft) {
    up_recording *recording = draft->recording;
    const double from = draft->options->from, to = draft->options->to;
    size_t left = 0;
    if (isnan(from) && isnan(to)) {
        return 0;
    }
    double first = INFINITY, last = -INFINITY;
    for (int b = 0; b < recording->base_count; b++) {
        up_time_base *base = &recording->base[b];
        if (base->count == 0) {
            continue;
        }
        first = fmin(first, time_at(base, 0));
        last = fmax(last, time_at(base, base->count - 1));
        const size_t begin = isnan(from) ? 0 : first_after(base, from);
        size_t end = isnan(to) ? base->count : first_after(base, to);
        if (end < base->count && time_at(base, end) <= to) {
            end++;
        }
        cut_base(recording, b, begin < end ? begin : end, end);
        left += base->count;
    }
    if (left == 0) {
        char found[UP_NOTE_TEXT_MAX], expected[UP_NOTE_TEXT_MAX];
        snprintf(found, sizeof found, "no sample between --from and --to");
        snprintf(expected, sizeof expected, "times between %.9g and %.9g s", first, last);
        return up_problem_set(draft->problem, 0, 0, found, expected, "choose another piece of the recording");
    }
    return 0;
}

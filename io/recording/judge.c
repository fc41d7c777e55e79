/* What the numbers themselves tell about the instrument: range, steps, clipping, wild samples; and their way to SI. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/draft.h"

enum { SAMPLED = 4096, CLIP_RUN = 3 };

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The smallest difference between values, if (nearly) all values are apart by multiples of it. NaN otherwise. *levels: how
 * many different values were among those looked at. */
static double quantisation(const up_column *column, int *levels) {
    static const size_t most = SAMPLED;
    double *some = malloc(SAMPLED * sizeof *some);
    size_t count = 0, stride = column->count / most + 1;
    double step = INFINITY;
    *levels = 0;
    if (some == NULL) {
        return NAN;
    }
    for (size_t i = 0; i < column->count && count < most; i += stride) {
        if (!isnan(column->value[i])) {
            some[count++] = column->value[i];
        }
    }
    qsort(some, count, sizeof *some, by_size);
    const double dust = count > 0 ? 1e-12 * fmax(fabs(some[0]), fabs(some[count - 1])) : 0;
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || some[i] - some[i - 1] > dust) {
            ++*levels;
            step = i > 0 && some[i] - some[i - 1] < step ? some[i] - some[i - 1] : step;
        }
    }
    size_t off = 0;
    for (size_t i = 1; i < count && isfinite(step); i++) {
        const double times = (some[i] - some[i - 1]) / step;
        off += fabs(times - round(times)) > 0.02 * fmax(1, times * 0.01);
    }
    /* Values that are nearly all different are no steps of an instrument but its digits. */
    const int good = isfinite(step) && off <= count / 50 && *levels >= 2 && 4 * (size_t)*levels <= 3 * count;
    free(some);
    return good ? step : (double)NAN;
}

/* A quick look before the closer one: is an end of the range reached often enough to be a run? */
static int rests_at_an_end(const up_column *column) {
    size_t high = 0, low = 0;
    for (size_t i = 0; i < column->count; i++) {
        high += column->value[i] == column->high;
        low += column->value[i] == column->low;
    }
    return high >= CLIP_RUN || low >= CLIP_RUN;
}

/* Does the column stay at an end of its range for whole runs that it jumped into? A peak that is merely flat is entered by
 * single steps; a level that the signal rests on is entered once or twice. */
static size_t clipped_at(const up_column *column, double end, double step, double range) {
    size_t total = 0, abrupt = 0, runs = 0;
    const double least_jump = isnan(step) ? 1e-3 * range : 2.5 * step;
    for (size_t i = 0; i < column->count;) {
        if (column->value[i] != end) {
            i++;
            continue;
        }
        size_t stop = i;
        while (stop < column->count && column->value[stop] == end) {
            stop++;
        }
        if (stop - i >= CLIP_RUN) {
            const double before = i > 0 ? fabs(column->value[i - 1] - end) : 0;
            const double after = stop < column->count ? fabs(column->value[stop] - end) : 0;
            runs++;
            abrupt += before > least_jump || after > least_jump;
            total += stop - i;
        }
        i = stop;
    }
    return runs > 0 && 2 * abrupt > runs && total <= column->count / 2 ? total : 0;
}

/* Four at a time, so that one comparison need not wait for the one before. */
static void find_range(up_column *column) {
    enum { LANES = 4 };
    double low[LANES], high[LANES];
    size_t missing[LANES] = {0}, i = 0;
    for (int k = 0; k < LANES; k++) {
        low[k] = INFINITY;
        high[k] = -INFINITY;
    }
    for (; i + LANES <= column->count; i += LANES) {
        for (size_t k = 0; k < LANES; k++) {
            const double value = column->value[i + k];
            low[k] = value < low[k] ? value : low[k]; /* false for NaN */
            high[k] = value > high[k] ? value : high[k];
            missing[k] += isnan(value) != 0;
        }
    }
    for (; i < column->count; i++) {
        const double value = column->value[i];
        low[0] = value < low[0] ? value : low[0];
        high[0] = value > high[0] ? value : high[0];
        missing[0] += isnan(value) != 0;
    }
    for (int k = 1; k < LANES; k++) {
        low[0] = low[k] < low[0] ? low[k] : low[0];
        high[0] = high[k] > high[0] ? high[k] : high[0];
        missing[0] += missing[k];
    }
    column->missing = missing[0];
    column->low = missing[0] == column->count ? (double)NAN : low[0];
    column->high = missing[0] == column->count ? (double)NAN : high[0];
}

/* ---- wild samples ---- */

/* Values beyond [low, high] of all the others, one at a time with ordinary neighbours. Returns how many there are. */
static size_t beyond(up_column *column, double low, double high, int take_out) {
    size_t found = 0;
    for (size_t i = 0; i < column->count; i++) {
        const double value = column->value[i];
        if (!(value < low || value > high)) {
            continue;
        }
        const double before = i > 0 ? column->value[i - 1] : low,
                     after = i + 1 < column->count ? column->value[i + 1] : low;
        if (!take_out && (before < low || before > high || after < low || after > high)) {
            return column->count; /* two in a row: no single samples */
        }
        if (take_out) {
            if (column->spikes++ == 0) {
                column->spike_row = i;
                column->spike_value = value;
            }
            column->value[i] = NAN;
        }
        found++;
    }
    return found;
}

/* Single samples many times farther out than all the others are read errors. The range of the others is told from the
 * middle 99.8 % of up to SAMPLED values, four times as wide at both sides. */
static void take_out_wild(up_draft *draft, up_column *column, const char *called) {
    static const size_t most = SAMPLED;
    double *some = malloc(SAMPLED * sizeof *some);
    size_t count = 0, stride = column->count / most + 1;
    for (size_t i = 0; some != NULL && i < column->count && count < most; i += stride) {
        if (!isnan(column->value[i])) {
            some[count++] = column->value[i];
        }
    }
    if (some == NULL || count < 20) {
        free(some);
        return;
    }
    qsort(some, count, sizeof *some, by_size);
    const size_t tail = count / 500 + 1;
    const double low = some[tail], high = some[count - 1 - tail], wide = high - low;
    free(some);
    const double least = low - 4 * wide, most_high = high + 4 * wide;
    if (!(wide > 0) || (column->low >= least && column->high <= most_high)) {
        return;
    }
    const size_t found = beyond(column, least, most_high, 0);
    if (found == 0 || found > column->count / 500 + 2) {
        return;
    }
    if (draft->options->keep_spikes) {
        up_note_add(draft->recording, 1, 0, 0, "%s: %zu single wild samples were kept, as said", called, found);
        return;
    }
    (void)beyond(column, least, most_high, 1);
    const size_t row = column->base >= 0 && draft->recording->base[column->base].of < 0 ? column->spike_row : 0;
    up_note_add(draft->recording, 1, row > 0 ? up_draft_line(draft, row) : 0, 0,
                "%s: %zu single sample%s far beyond all others, the first %.6g: taken for read errors, left out "
                "(--keep-spikes keeps them)",
                called, found, found > 1 ? "s" : "", column->spike_value);
    find_range(column);
}

/* ---- all of it ---- */

static void to_si(up_column *column) {
    const double factor = column->factor, offset = column->offset;
    if (factor == 1 && offset == 0) {
        return;
    }
    for (size_t i = 0; i < column->count; i++) {
        column->value[i] = factor * column->value[i] + offset;
    }
    const double low = factor * column->low + offset, high = factor * column->high + offset;
    const double low_clip = factor * column->low_clip + offset, high_clip = factor * column->high_clip + offset;
    const size_t clipped = column->clipped_low;
    column->low = factor < 0 ? high : low;
    column->high = factor < 0 ? low : high;
    column->low_clip = factor < 0 ? high_clip : low_clip;
    column->high_clip = factor < 0 ? low_clip : high_clip;
    if (factor < 0) {
        column->clipped_low = column->clipped_high;
        column->clipped_high = clipped;
    }
    column->step *= fabs(factor);
    column->spike_value = factor * column->spike_value + offset;
}

static void judge(up_draft *draft, int at) {
    up_column *column = &draft->recording->column[at];
    char called[80];
    int levels = 0;
    up_column_called(draft->recording, at, called, sizeof called);
    find_range(column);
    if (column->role == UP_ROLE_SIGNAL && column->signal != UP_SIGNAL_PULSES) {
        take_out_wild(draft, column, called);
    }
    column->step = quantisation(column, &levels);
    const double range = column->high - column->low;
    if (levels > 8 && range > 0 && rests_at_an_end(column) && column->signal != UP_SIGNAL_PULSES) {
        column->clipped_high = clipped_at(column, column->high, column->step, range);
        column->clipped_low = column->low == 0 ? 0 : clipped_at(column, column->low, column->step, range);
        column->high_clip = column->clipped_high > 0 ? column->high : (double)NAN;
        column->low_clip = column->clipped_low > 0 ? column->low : (double)NAN;
    }
    to_si(column);
    const size_t clipped = column->clipped_high + column->clipped_low + column->over;
    if (clipped > 0 && column->role == UP_ROLE_SIGNAL) {
        up_note_add(draft->recording, 1, 0, 0,
                    "%s: clipped by the instrument in %zu sample%s: what lies beyond is lost", called, clipped,
                    clipped > 1 ? "s" : "");
    }
    if (column->unreadable > 0) {
        up_note_add(draft->recording, 1, column->unreadable_line, column->unreadable_column,
                    "%s: %zu cell%s no number can be read from, the first \"%s\": taken for missing", called,
                    column->unreadable, column->unreadable > 1 ? "s" : "", column->unreadable_text);
    }
    if (column->role == UP_ROLE_UNKNOWN) {
        char name[UP_FACT_TEXT_MAX];
        const int blank = strchr(column->name, ' ') != NULL;
        snprintf(name, sizeof name, "%d", at + 1);
        if (column->name[0] != '\0') {
            snprintf(name, sizeof name, "%.60s", column->name);
        }
        up_note_add(draft->recording, 1, draft->recording->names_line, 0,
                    "%s: what it measures is not known; say it, such as --column %s%s=current[A]%s", called,
                    blank ? "'" : "", name, blank ? "'" : "");
    }
}

void up_columns_judge(up_draft *draft) {
    for (int i = 0; i < draft->recording->column_count; i++) {
        if (draft->recording->column[i].value != NULL && draft->recording->column[i].count > 0) {
            judge(draft, i);
        }
    }
}

#include "analysis/fit/pulse_edges.h"

#include <math.h>
#include <string.h>

enum { BINS = 256 };

/* Share of the scatter that the two levels must explain: noise of any size has 0.64 (normal), even spread 0.75, two
 * clean levels nearly 1. */
static const double two_levels = 0.78;

typedef struct histogram {
    double low, width;
    double count[BINS], sum;
} histogram;

static void fill(const up_track *track, histogram *h) {
    double low = INFINITY, high = -INFINITY;
    memset(h, 0, sizeof *h);
    for (size_t i = 0; i < track->count; i++) {
        if (isfinite(track->value[i])) {
            low = fmin(low, track->value[i]);
            high = fmax(high, track->value[i]);
        }
    }
    h->low = low;
    h->width = (high - low) / BINS;
    if (!(h->width > 0)) {
        return;
    }
    for (size_t i = 0; i < track->count; i++) {
        if (isfinite(track->value[i])) {
            const double place = (track->value[i] - low) / h->width;
            h->count[place < BINS - 1 ? (int)place : BINS - 1]++;
            h->sum++;
        }
    }
}

/* Bin that begins the upper class; 0 when there is none. */
static int split(const histogram *h, double *explained) {
    double whole = 0, squares = 0;
    for (int b = 0; b < BINS; b++) {
        whole += b * h->count[b];
        squares += (double)b * b * h->count[b];
    }
    const double mean = whole / h->sum, variance = squares / h->sum - mean * mean;
    double below = 0, moment = 0, best = 0;
    int first = 0, last = 0;
    for (int b = 0; b + 1 < BINS; b++) {
        below += h->count[b];
        moment += b * h->count[b];
        const double above = h->sum - below;
        if (below > 0 && above > 0) {
            const double apart = moment / below - (whole - moment) / above;
            const double between = below * above / (h->sum * h->sum) * apart * apart;
            if (between > best * (1 + 1e-12)) {
                best = between;
                first = last = b + 1;
            } else if (between > best * (1 - 1e-12)) {
                last = b + 1;
            }
        }
    }
    *explained = variance > 0 ? best / variance : 0;
    return (first + last) / 2; /* the middle of an empty valley */
}

/* The level that a class stands at: its median; its scatter: by the median of deviations. Slopes of edges, which a
 * mean would take in, stay out. */
static double quantile(const histogram *h, int from, int to, double share) {
    double sum = 0, passed = 0;
    for (int b = from; b < to; b++) {
        sum += h->count[b];
    }
    for (int b = from; b < to; b++) {
        if (h->count[b] > 0 && passed + h->count[b] >= share * sum) {
            return h->low + h->width * (b + (share * sum - passed) / h->count[b]);
        }
        passed += h->count[b];
    }
    return h->low + h->width * to;
}

up_levels up_levels_find(const up_track *track) {
    up_levels l = {0, NAN, NAN, NAN, NAN, NAN};
    histogram h;
    fill(track, &h);
    if (!(h.width > 0) || h.sum < 8) {
        return l;
    }
    double explained;
    const int at = split(&h, &explained);
    if (at <= 0 || explained < two_levels) {
        return l;
    }
    l.low = quantile(&h, 0, at, 0.5);
    l.high = quantile(&h, at, BINS, 0.5);
    const double low_scatter = quantile(&h, 0, at, 0.75) - quantile(&h, 0, at, 0.25);
    const double high_scatter = quantile(&h, at, BINS, 0.75) - quantile(&h, at, BINS, 0.25);
    l.noise = fmax(low_scatter, high_scatter) / 1.349; /* quarters of a normal lie 1.349 standard deviations apart */
    const double span = l.high - l.low, middle = 0.5 * (l.low + l.high);
    const double half = fmin(fmax(3 * l.noise, 0.1 * span), 0.35 * span);
    l.two = span > 4 * l.noise;
    l.rises_at = middle + half;
    l.falls_at = middle - half;
    return l;
}

static double time_of(const up_track *track, size_t i) {
    return isnan(track->interval) ? track->time[i] : track->start + (double)i * track->interval;
}

/* Where the level passes the middle at or before sample i, which lies beyond it. */
static double crossing(const up_track *track, const up_levels *l, size_t i, int up, double *error) {
    const double middle = 0.5 * (l->low + l->high);
    size_t j = i;
    while (j > 0 && !(up ? track->value[j - 1] < middle : track->value[j - 1] > middle)) {
        j--;
    }
    if (j == 0) {
        *error = NAN;
        return time_of(track, 0);
    }
    const double before = track->value[j - 1], after = track->value[j], jump = fabs(after - before);
    const double step = time_of(track, j) - time_of(track, j - 1);
    const double part = jump > 0 ? (middle - before) / (after - before) : 0.5;
    /* A jump from level to level may have been anywhere between the samples; on a slope the noise decides. */
    *error = jump > 0.7 * (l->high - l->low) ? step / sqrt(12.0) : fmin(l->noise * step / jump, step / sqrt(12.0));
    return time_of(track, j - 1) + step * (*error < step / sqrt(12.0) ? part : 0.5);
}

size_t up_rises_find(const up_track *track, const up_levels *l, up_rise *rise, size_t capacity) {
    size_t found = 0;
    int state = -1; /* not known before the first sample beyond a threshold */
    for (size_t i = 0; i < track->count; i++) {
        const double v = track->value[i];
        if (v >= l->rises_at && state != 1) {
            if (state == 0) {
                if (rise && found < capacity) {
                    rise[found].time = crossing(track, l, i, 1, &rise[found].error);
                    rise[found].fall = NAN;
                }
                found++;
            }
            state = 1;
        } else if (v <= l->falls_at && state != 0) {
            if (state == 1 && found > 0 && rise && found <= capacity) {
                double error;
                rise[found - 1].fall = crossing(track, l, i, 0, &error);
            }
            state = 0;
        }
    }
    return found;
}

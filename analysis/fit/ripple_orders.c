/* Lines that keep a fixed ratio to a path: the recording is laid out over the path's own angle, in which they stand
 * still and sharp, while what does not turn with the motor is smeared. */
#include <math.h>
#include <string.h>

#include "analysis/fit/ripple_parts.h"

enum { BRIDGED = 3 }; /* frames without a line that a stretch may reach over */

/* Adds the spectra of half overlapping stretches between two angles. */
static int add_stretches(const up_ripple_signal *s, double from, double to, double per_sample, up_spectrum *spectrum,
                         int length, float *sample, float *power, float *sum) {
    const double span = length * per_sample;
    const int bins = up_spectrum_bins(spectrum);
    int stretches = 0;
    for (double middle = from + 0.5 * span; middle + 0.5 * span <= to; middle += 0.5 * span) {
        if (!up_ripple_cut(s, middle, per_sample, length, sample)) {
            continue;
        }
        up_spectrum_power(spectrum, sample, power);
        up_spectrum_over_floor(spectrum, power, 0);
        for (int k = 0; k < bins; k++) {
            sum[k] += power[k];
        }
        stretches++;
    }
    return stretches;
}

static int stands_out(const float *sum, int bins, int k) {
    for (int far = 1; far <= 24; far++) {
        const float times = far <= 6 ? 8 : 60;
        if ((k - far >= 0 && sum[k - far] > times * sum[k]) || (k + far < bins && sum[k + far] > times * sum[k])) {
            return 0;
        }
    }
    return 1;
}

/* The strongest lines, in order of place. */
static void collect(const float *sum, int bins, double threshold, up_ripple_orders *o) {
    const int low = (int)(o->lowest / o->step), high = (int)(o->highest / o->step);
    o->count = 0;
    for (int k = low < 1 ? 1 : low; k < high && k + 1 < bins; k++) {
        if (!(sum[k] > threshold && sum[k] >= sum[k - 1] && sum[k] > sum[k + 1] && stands_out(sum, bins, k))) {
            continue;
        }
        double height;
        const double place = o->step * up_spectrum_peak(sum, bins, k, k, &height);
        int at = o->count;
        if (o->count == UP_RIPPLE_LINES_MAX) { /* the weakest makes room */
            at = 0;
            for (int i = 1; i < o->count; i++) {
                at = o->power[i] < o->power[at] ? i : at;
            }
            if (o->power[at] >= height) {
                continue;
            }
            for (int i = at; i + 1 < o->count; i++) {
                o->order[i] = o->order[i + 1];
                o->power[i] = o->power[i + 1];
            }
            at = --o->count;
        }
        o->order[at] = place;
        o->power[at] = height;
        o->count++;
    }
}

/* The path's own line is order 1 by definition; what its frequencies were off by on the whole comes out of the rest. */
static void settle(const float *sum, int bins, up_ripple_orders *o) {
    const int one = (int)lrint(1 / o->step);
    double height;
    const double at = o->step * up_spectrum_peak(sum, bins, one - 6, one + 6, &height);
    if (!(at > 0)) {
        return;
    }
    for (int i = 0; i < o->count; i++) {
        o->order[i] /= at;
    }
    o->step /= at;
}

void up_ripple_orders_find(up_ripple_signal *s, const up_ripple_path *path, up_spectrum *spectrum, float *sample,
                           float *power, float *sum, double top, up_ripple_orders *o) {
    const int bins = up_spectrum_bins(spectrum), length = bins - 1;
    double fastest = 0;
    for (size_t f = 0; f < s->frames; f++) {
        fastest = isfinite(path->frequency[f]) ? fmax(fastest, path->frequency[f]) : fastest;
    }
    memset(o, 0, sizeof *o);
    if (!(fastest > 0)) {
        return;
    }
    up_ripple_bend(s, path->frequency, 0.1);
    memset(sum, 0, (size_t)bins * sizeof *sum);
    const double per_sample = fastest * s->interval;
    for (size_t f = 0; f < s->frames; f++) {
        if (!isfinite(path->frequency[f])) {
            continue;
        }
        size_t last = f;
        for (size_t next = f + 1; next < s->frames && next <= last + 1 + BRIDGED; next++) {
            last = isfinite(path->frequency[next]) ? next : last;
        }
        const double from = up_ripple_angle_at(s, (double)(f * (size_t)s->hop) - 0.25 * s->length);
        const double to = up_ripple_angle_at(s, (double)(last * (size_t)s->hop) + 0.25 * s->length);
        o->stretches += add_stretches(s, from, to, per_sample, spectrum, length, sample, power, sum);
        f = last;
    }
    if (o->stretches == 0) {
        return;
    }
    for (int k = 0; k < bins; k++) {
        sum[k] /= (float)o->stretches;
    }
    o->step = 1 / (2 * length * per_sample);
    o->lowest = 8 * o->step;
    o->highest = fmin(0.45 / per_sample, top / fastest);
    /* Noise alone averages to 1 with a spread of 1 over the root of the stretches (half overlapping ones count nearly
     * fully under this window) and a long tail when they are few. */
    const double m = o->stretches;
    collect(sum, bins, 1 + 5 / sqrt(m) + 10 / m, o);
    settle(sum, bins, o);
}

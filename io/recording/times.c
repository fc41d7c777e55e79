#include "io/recording/times.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLED = 4096 };

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median step of up to SAMPLED places spread over all; those that fall are left out. */
static double usual_step(const double *t, size_t n) {
    static const size_t most = SAMPLED;
    double *steps = malloc(SAMPLED * sizeof *steps);
    size_t count = 0, stride = n / most + 1;
    double usual = NAN;
    if (steps == NULL) {
        return NAN;
    }
    for (size_t i = 1; i < n && count < most; i += stride) {
        const double step = t[i] - t[i - 1];
        if (step >= 0) { /* not for NaN */
            steps[count++] = step;
        }
    }
    if (count > 0) {
        qsort(steps, count, sizeof *steps, by_size);
        usual = steps[count / 2];
        if (usual == 0) { /* printed more coarsely than they follow one another */
            double sum = 0;
            for (size_t i = 0; i < count; i++) {
                sum += steps[i];
            }
            usual = sum / (double)count;
        }
    }
    free(steps);
    return usual > 0 ? usual : (double)NAN;
}

static void count_mended(up_times *times, size_t at) {
    if (times->mended++ == 0) {
        times->first_mended = at;
    }
}

static void fill_missing(up_times *times) {
    double *t = times->t;
    size_t i = 0;
    while (i < times->n) {
        if (isfinite(t[i])) {
            i++;
            continue;
        }
        size_t end = i;
        while (end < times->n && !isfinite(t[end])) {
            count_mended(times, end++);
        }
        for (size_t k = i; k < end; k++) {
            if (i > 0 && end < times->n && t[end] > t[i - 1]) {
                t[k] = t[i - 1] + (t[end] - t[i - 1]) * (double)(k - i + 1) / (double)(end - i + 1);
            } else if (i > 0) {
                t[k] = t[i - 1] + times->usual * (double)(k - i + 1);
            } else if (end < times->n) {
                t[k] = t[end] - times->usual * (double)(end - k);
            }
        }
        i = end;
    }
}

static void add_part(up_times *times, size_t at) {
    if (times->parts < UP_PARTS_MAX) {
        times->part[times->parts++] = at;
    }
}

/* A fall between i - 1 and i: one of the two is wrong by itself, or time starts anew. */
static void mend_fall(up_times *times, size_t i) {
    double *t = times->t;
    const double most = 3 * times->usual;
    if (i == 1 && times->n > 2 && t[2] > t[1]) { /* the first stamp is out of order */
        t[0] = t[1] - (t[2] - t[1]);
        count_mended(times, 0);
    } else if (i + 1 < times->n && t[i + 1] > t[i - 1] && t[i + 1] - t[i - 1] < most) {
        t[i] = 0.5 * (t[i - 1] + t[i + 1]);
        count_mended(times, i);
    } else if (i >= 2 && t[i] > t[i - 2] && t[i] - t[i - 2] < most && i - 1 > times->part[times->parts - 1]) {
        t[i - 1] = 0.5 * (t[i - 2] + t[i]);
        count_mended(times, i - 1);
    } else {
        add_part(times, i);
    }
}

int up_times_mend(up_times *times) {
    times->usual = usual_step(times->t, times->n);
    times->parts = 0;
    add_part(times, 0);
    if (isnan(times->usual)) {
        times->part[1] = times->n;
        return 0;
    }
    fill_missing(times);
    for (size_t i = 1; i < times->n; i++) {
        if (times->t[i] < times->t[i - 1]) {
            mend_fall(times, i);
        }
    }
    times->part[times->parts] = times->n;
    return 1;
}

/* ---- even or not ---- */

double up_roundest(double low, double high) {
    const double middle = 0.5 * (low + high);
    if (!(middle > 0)) {
        return middle;
    }
    for (int digits = 1; digits <= 9; digits++) {
        char text[40];
        for (int reciprocal = 0; reciprocal < 2; reciprocal++) {
            snprintf(text, sizeof text, "%.*e", digits - 1, reciprocal ? 1 / middle : middle);
            const double round = strtod(text, NULL), value = reciprocal ? 1 / round : round;
            if (value >= low && value <= high) {
                return value;
            }
        }
    }
    return middle;
}

/* Second differences of times that are printed rounded to q are multiples of q. Smallest and largest of those that are more
 * than the digits of a double. */
static void second_differences(const double *t, size_t n, double usual, double *least, double *most) {
    const double dust = 1e-13 * fmax(fabs(t[0]), fabs(t[n - 1])) + 1e-7 * usual;
    const size_t stride = n / 100000 + 1;
    *least = INFINITY;
    *most = 0;
    for (size_t i = 2; i < n; i += stride) {
        const double twice = fabs(t[i] - 2 * t[i - 1] + t[i - 2]);
        if (twice > dust && twice < 1.5 * usual + *least) {
            *least = twice < *least ? twice : *least;
            *most = twice > *most ? twice : *most;
        }
    }
    if (*most == 0) {
        *least = 0;
    }
}

static double off_the_line(const double *t, size_t n, double interval) {
    double most = 0;
    for (size_t i = 0; i < n; i++) {
        const double off = fabs(t[i] - (t[0] + (double)i * interval));
        most = off > most ? off : most;
    }
    return most;
}

static void find_gaps(const double *t, size_t n, double usual, double least, up_time_base *base) {
    const double limit = 1.5 * usual + 1.01 * least;
    base->shortest = INFINITY;
    base->longest = 0;
    for (size_t i = 1; i < n; i++) {
        const double step = t[i] - t[i - 1];
        base->shortest = step < base->shortest ? step : base->shortest;
        base->longest = step > base->longest ? step : base->longest;
        if (step > limit) {
            if (base->gap_count < UP_GAPS_MAX) {
                base->gap[base->gap_count++] = (up_gap){i, t[i - 1], step};
            }
            base->gaps++;
        }
    }
}

void up_times_judge(const double *t, size_t n, double stated, up_time_base *base, int *agrees) {
    *agrees = 0;
    base->count = n;
    base->start = n > 0 ? t[0] : 0;
    base->interval = base->rounded_to = NAN;
    base->stated = stated;
    if (n < 2) {
        base->interval = stated;
        return;
    }
    const double usual = usual_step(t, n), mean = (t[n - 1] - t[0]) / (double)(n - 1);
    double least, most;
    second_differences(t, n, usual, &least, &most);
    find_gaps(t, n, usual, least, base);
    if (base->gaps > 0 && !(stated > 0 && fabs(mean / stated - 1) < 1e-3 && most < stated)) {
        /* Gaps among times that are not spaced evenly are only long steps; among evenly spaced ones samples are missing. */
        snprintf(base->reason, sizeof base->reason, "the steps are %.6g s, but for %zu gap%s", usual, base->gaps,
                 base->gaps > 1 ? "s" : "");
        return;
    }
    const double dust = 1e-12 * fmax(fabs(t[0]), fabs(t[n - 1])) + 1e-6 * mean;
    const double off = off_the_line(t, n, mean), off_stated = stated > 0 ? off_the_line(t, n, stated) : (double)INFINITY;
    const double slack = (1.01 * most + dust) / (double)(n - 1) + 1e-6 * mean;
    if (off_stated <= 1.01 * most + dust && fabs(stated - mean) <= slack) {
        base->interval = stated;
        base->rounded_to = most > 0 ? least : (double)NAN;
        *agrees = 1;
    } else if (off <= 1.01 * least + dust || off <= 0.05 * mean) {
        base->interval = up_roundest(mean - (least + dust) / (double)(n - 1), mean + (least + dust) / (double)(n - 1));
        base->rounded_to = least > 0 && off <= 1.01 * least + dust ? least : (double)NAN;
    }
    base->gaps = 0; /* of an even base: what looked like one was rounding */
    base->gap_count = 0;
}

size_t up_times_spread(double *t, size_t n) {
    size_t moved = 0;
    for (size_t i = 0; i + 1 < n;) {
        size_t end = i + 1;
        while (end < n && t[end] <= t[i]) {
            end++;
        }
        if (end > i + 1) {
            const double next = end < n ? t[end] : t[i] + (i > 0 ? t[i] - t[i - 1] : 1e-9);
            for (size_t k = i + 1; k < end; k++) {
                t[k] = t[i] + (next - t[i]) * (double)(k - i) / (double)(end - i);
                moved++;
            }
        }
        i = end;
    }
    return moved;
}

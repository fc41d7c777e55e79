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

/* Times that are printed rounded to q are multiples of it, and their second differences too. */
typedef struct rounding {
    double q;      /* the smallest second difference beyond the digits of a double; 0: none          */
    double most;   /* the largest one between steps that are no gaps                                 */
    int multiples; /* 1: all steps are multiples of q                                                */
} rounding;

static rounding look_for_rounding(const double *t, size_t n, double usual, double dust) {
    rounding found = {.q = INFINITY, .multiples = 1};
    const size_t stride = n / 200000 + 1;
    for (size_t i = 2; i < n; i += stride) {
        const double one = t[i] - t[i - 1], two = t[i - 1] - t[i - 2], twice = fabs(one - two);
        if (twice > dust) {
            found.q = twice < found.q ? twice : found.q;
            if (one < 2.1 * usual && two < 2.1 * usual) {
                found.most = twice > found.most ? twice : found.most;
            }
        }
    }
    found.q = isfinite(found.q) ? found.q : 0;
    for (size_t i = 1; i < n && found.q > 0; i += stride) {
        const double times = (t[i] - t[i - 1]) / found.q;
        found.multiples &= fabs(times - round(times)) < 1e-3 + 2 * dust / found.q;
    }
    return found;
}

/* Times printed with a fixed count of significant digits are rounded more coarsely as they grow: the rounding of the largest,
 * or 0 when they carry more than nine digits. */
static double rounding_of_digits(const double *t, size_t n) {
    const double largest = fmax(fabs(t[0]), fabs(t[n - 1]));
    const size_t stride = n / 2000 + 1;
    for (int digits = 4; digits <= 9 && largest > 0; digits++) {
        int all = 1;
        for (size_t i = 0; i < n && all; i += stride) {
            char text[40];
            snprintf(text, sizeof text, "%.*e", digits - 1, t[i]);
            all = fabs(strtod(text, NULL) - t[i]) <= 1e-12 * fabs(t[i]);
        }
        if (all) {
            return pow(10, floor(log10(largest)) - digits + 1);
        }
    }
    return 0;
}

static double off_the_line(const double *t, size_t n, double interval) {
    double most = 0;
    for (size_t i = 0; i < n; i++) {
        const double off = fabs(t[i] - (t[0] + (double)i * interval));
        most = off > most ? off : most;
    }
    return most;
}

static void find_gaps(const double *t, size_t n, double usual, up_time_base *base) {
    const double limit = 1.5 * usual;
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

void up_times_judge(const double *t, size_t n, double stated, double grain, up_time_base *base, int *agrees) {
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
    const double dust = 4e-16 * fmax(fabs(t[0]), fabs(t[n - 1])) + 1e-7 * usual + 4 * grain;
    rounding round = look_for_rounding(t, n, usual, dust);
    find_gaps(t, n, usual, base);
    base->usual = usual;
    /* A sample lost here and there looks like rounding; few long steps are gaps, many that keep to a line are rounding. */
    int may_round = round.q > 0 && round.multiples && (round.q < 0.5 * usual || base->gaps >= 3);
    const double off = off_the_line(t, n, mean),
                 off_stated = stated > 0 ? off_the_line(t, n, stated) : (double)INFINITY;
    const double line_dust = dust + 1e-6 * mean;
    const double width = fmax(round.q, round.most);
    double allowed = may_round ? 1.01 * round.q : 0;
    if (off > allowed + line_dust && off_stated > width) {
        const double coarse = rounding_of_digits(t, n);
        if (off <= 1.01 * coarse) {
            allowed = 1.01 * coarse;
            round.q = coarse;
            may_round = 1;
        }
    }
    if (off_stated <= (may_round ? 1.01 * width : 0) + line_dust) {
        base->interval = stated;
        base->rounded_to = may_round ? round.q : (double)NAN;
        *agrees = 1;
    } else if (off <= allowed + line_dust || (off <= 0.05 * mean && base->gaps == 0)) {
        const double slack = ((may_round ? round.q : 0) + 2 * dust) / (double)(n - 1);
        base->interval = up_roundest(mean - slack, mean + slack);
        base->rounded_to = may_round && off <= 1.01 * round.q + line_dust ? round.q : (double)NAN;
    } else if (base->gaps > 0) {
        return;
    }
    base->gaps = 0; /* of an even base: what looked like one was rounding; of an uneven one it is only a longer step */
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

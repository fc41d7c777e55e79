/* Whether a line moves with the motor. An artefact of the sampling (a switching supply, the mains, a clock) stays where
 * it is, whatever the motor does. */
#include <math.h>
#include <stdlib.h>

#include "analysis/fit/ripple_parts.h"

static int by_size(const void *a, const void *b) {
    const float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

double up_ripple_quantile(float *value, size_t count, double share) {
    if (count == 0) {
        return NAN;
    }
    qsort(value, count, sizeof *value, by_size);
    return value[(size_t)(share * (double)(count - 1) + 0.5)];
}

/* ln of the ratio of the ninth to the first tenth. */
static double spread(const float *value, size_t count, float *scratch) {
    size_t known = 0;
    for (size_t i = 0; i < count; i++) {
        if (value[i] > 0) {
            scratch[known++] = value[i];
        }
    }
    const double low = up_ripple_quantile(scratch, known, 0.1);
    return known >= 4 ? log(up_ripple_quantile(scratch, known, 0.9) / low) : NAN;
}

static int together(const up_ripple_signal *s, const up_ripple_path *path, size_t f, double least) {
    return path->frequency[f] > 0 && s->guide[f] > least;
}

typedef struct line_fit {
    double slope;    /* of ln line over ln guide                    */
    double variance; /* of ln guide, where both are known           */
    double scatter;  /* of ln line - ln guide, standard deviation   */
} line_fit;

static line_fit fit(const up_ripple_signal *s, const up_ripple_path *path, double least) {
    double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
    for (size_t f = 0; f < s->frames; f++) {
        if (together(s, path, f, least)) {
            const double a = log((double)s->guide[f]), b = log((double)path->frequency[f]);
            n++;
            x += a;
            y += b;
            xx += a * a;
            xy += a * b;
            yy += b * b;
        }
    }
    const double vx = n > 3 ? (xx - x * x / n) / n : 0, vy = n > 3 ? (yy - y * y / n) / n : 0;
    const double both = n > 3 ? (xy - x * y / n) / n : 0;
    return (line_fit){vx > 0 ? both / vx : NAN, vx, sqrt(fmax(vx + vy - 2 * both, 0))};
}

up_ripple_motion up_ripple_moves(const up_ripple_signal *s, const up_ripple_path *path, float *scratch,
                                 double *guide_log, int *confirmed) {
    double fastest = 0;
    for (size_t f = 0; f < s->frames; f++) {
        fastest = s->guide[f] > 0 ? fmax(fastest, s->guide[f]) : fastest;
    }
    const double least = 0.25 * fastest;
    size_t known = 0;
    for (size_t f = 0; f < s->frames; f++) {
        if (together(s, path, f, least)) {
            scratch[known++] = (float)log((double)path->frequency[f] / s->guide[f]);
        }
    }
    *guide_log = up_ripple_quantile(scratch, known, 0.5);
    const double moved = spread(path->frequency, s->frames, scratch);
    *confirmed = 0;
    const line_fit with = known > 3 ? fit(s, path, least) : (line_fit){NAN, 0, 0};
    /* A guide that moves by 3 % or more (standard deviation) tells lines apart. A line folded over half the sampling rate
     * falls when the speed rises, or rises at least three times as much; a path that changed from line to line scatters. */
    if (with.variance > 0.03 * 0.03) {
        if (with.slope < -0.3 || with.slope > 2 || with.scatter > 0.08) {
            return UP_RIPPLE_AGAINST;
        }
        *confirmed = with.slope > 0.5;
        return with.slope < 0.5 ? UP_RIPPLE_STAYS : UP_RIPPLE_WITH_MOTOR;
    }
    return moved > 0.004 ? UP_RIPPLE_WITH_MOTOR : UP_RIPPLE_STEADY;
}

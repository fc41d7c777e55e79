/* Lines that stay where they are, whatever the motor does: found by being there while it rests or while its speed moves,
 * and taken out of the samples, so that the motor's lines can cross them. */
#include <math.h>

#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

enum { CLUSTERS = 64, AROUND = 16 /* frames on either side over which size and phase of a line are taken */ };

typedef struct cluster {
    double sum, squares; /* of frequencies, Hz, less the first */
    double rest_sum;     /* the same of frames at rest, where nothing of the motor disturbs it */
    double first;
    int frames, rests;
} cluster;

static int by_frames(const cluster *c, int count) {
    int least = 0;
    for (int i = 1; i < count; i++) {
        least = c[i].frames < c[least].frames ? i : least;
    }
    return least;
}

static void note(cluster *c, int *count, double frequency, double width, int rest) {
    for (int i = 0; i < *count; i++) {
        const double off = frequency - c[i].first;
        if (fabs(off - c[i].sum / c[i].frames) < width) {
            c[i].sum += off;
            c[i].squares += off * off;
            c[i].frames++;
            c[i].rests += rest;
            c[i].rest_sum += rest ? off : 0;
            return;
        }
    }
    const int at = *count < CLUSTERS ? (*count)++ : by_frames(c, CLUSTERS);
    c[at] = (cluster){0, 0, 0, frequency, 1, rest};
}

/* The window's own feet beside a much stronger line are no lines. peaks: highest first. */
static int is_foot(const float *place, const float *power, int i, double resolution) {
    for (int j = 0; j < i; j++) {
        if (power[j] > 300 * power[i] && fabs((double)place[j] - place[i]) < 8 * resolution) {
            return 1;
        }
    }
    return 0;
}

/* How far the guide moves while the motor runs: ratio of the ninth to the first tenth; 1 without guide. */
static double guide_moves(const up_ripple_signal *s, float *scratch) {
    double fastest = 0;
    size_t known = 0;
    for (size_t f = 0; f < s->frames; f++) {
        fastest = s->guide[f] > 0 ? fmax(fastest, s->guide[f]) : fastest;
    }
    for (size_t f = 0; f < s->frames; f++) {
        if (s->guide[f] > 0.25 * fastest) {
            scratch[known++] = s->guide[f];
        }
    }
    const double low = up_ripple_quantile(scratch, known, 0.1);
    return known > 3 ? up_ripple_quantile(scratch, known, 0.9) / low : 1;
}

/* What a line of one frequency amounts to in each frame's step: cosine and sine parts, against one clock for the whole
 * recording. part: (2 x frames). */
static void demodulate(const up_ripple_signal *s, double frequency, float *part) {
    const double turn = 2 * UP_PI * frequency * s->interval, c = up_cos(turn), d = up_sin(turn);
    const size_t hop = (size_t)s->hop;
    for (size_t f = 0; f < s->frames; f++) {
        const double phase = fmod((double)(f * hop) * frequency * s->interval, 1) * 2 * UP_PI;
        double x = up_cos(phase), y = up_sin(phase), real = 0, imaginary = 0, mean = 0, unit_x = 0, unit_y = 0;
        size_t n = 0;
        for (; n < hop && f * hop + n < s->count; n++) {
            const double v = s->value[f * hop + n];
            real += v * x;
            imaginary += v * y;
            mean += v;
            unit_x += x;
            unit_y += y;
            const double next = x * c - y * d;
            y = x * d + y * c;
            x = next;
        }
        part[2 * f] = n ? (float)(2 * (real - mean / (double)n * unit_x) / (double)n) : 0;
        part[2 * f + 1] = n ? (float)(2 * (imaginary - mean / (double)n * unit_y) / (double)n) : 0;
    }
}

/* The frequency from how the phase goes on from step to step; only steps at rest when `at_rest`. */
static double refine(const up_ripple_signal *s, double frequency, int at_rest, const float *part) {
    double real = 0, imaginary = 0;
    for (size_t f = 0; f + 2 < s->frames; f++) {
        if (s->poor[f] || s->poor[f + 1] || (at_rest && !(s->rest[f] && s->rest[f + 1]))) {
            continue;
        }
        const double a = part[2 * f], b = part[2 * f + 1], c = part[2 * f + 2], d = part[2 * f + 3];
        real += a * c + b * d;
        imaginary += b * c - a * d; /* cosine and sine parts of cos(wt + p): cos p, -sin p */
    }
    const double ahead = real != 0 || imaginary != 0 ? atan2(imaginary, real) : 0;
    return frequency + ahead / (2 * UP_PI * s->hop * s->interval);
}

/* Takes a line out; its size and phase may drift slowly: what is taken off is a mean over AROUND steps on either side,
 * weighted by a triangle. */
static void take_out(up_ripple_signal *s, double frequency, const float *part) {
    const double turn = 2 * UP_PI * frequency * s->interval, c = up_cos(turn), d = up_sin(turn);
    const size_t hop = (size_t)s->hop;
    for (size_t f = 0; f < s->frames; f++) {
        double real = 0, imaginary = 0, weights = 0;
        for (int k = -AROUND; k <= AROUND; k++) {
            const size_t at = f + (size_t)k;
            if (at < s->frames) {
                const double w = AROUND + 1 - (k < 0 ? -k : k);
                real += w * part[2 * at];
                imaginary += w * part[2 * at + 1];
                weights += w;
            }
        }
        real /= weights;
        imaginary /= weights;
        const double phase = fmod((double)(f * hop) * frequency * s->interval, 1) * 2 * UP_PI;
        double x = up_cos(phase), y = up_sin(phase);
        for (size_t n = 0; n < hop && f * hop + n < s->count; n++) {
            s->value[f * hop + n] -= (float)(real * x + imaginary * y);
            const double next = x * c - y * d;
            y = x * d + y * c;
            x = next;
        }
    }
}

int up_ripple_fixed(up_ripple_signal *s, const up_ripple_map *map, float *scratch, double *frequency) {
    cluster c[CLUSTERS];
    int count = 0, frames = 0, rests = 0, found = 0;
    const double resolution = 1 / (s->length * s->interval);
    for (size_t f = 0; f < s->frames; f++) {
        if (s->poor[f]) {
            continue;
        }
        const int rest = s->rest[f];
        frames++;
        rests += rest;
        const float *place = map->peak_place + f * UP_RIPPLE_PEAKS, *power = map->peak_power + f * UP_RIPPLE_PEAKS;
        for (int i = 0; i < UP_RIPPLE_PEAKS && power[i] > 0; i++) {
            if (!is_foot(place, power, i, resolution)) {
                note(c, &count, place[i], 0.4 * resolution, rest);
            }
        }
    }
    const int moves = guide_moves(s, scratch) > 1.1;
    for (int i = 0; i < count && found < UP_RIPPLE_ARTEFACTS; i++) {
        const double mean = c[i].sum / c[i].frames;
        const double spread = sqrt(fmax(c[i].squares / c[i].frames - mean * mean, 0));
        const int at_rest = rests >= 4 && 10 * c[i].rests > 6 * rests && 10 * c[i].frames > 4 * frames;
        const int all_along = moves && 10 * c[i].frames > 7 * frames;
        if ((at_rest || all_along) && spread < 0.15 * resolution) {
            frequency[found] = c[i].first + (at_rest ? c[i].rest_sum / c[i].rests : mean);
            for (int round = 0; round < 2; round++) {
                demodulate(s, frequency[found], scratch);
                frequency[found] = refine(s, frequency[found], at_rest, scratch);
            }
            demodulate(s, frequency[found], scratch);
            take_out(s, frequency[found++], scratch);
        }
    }
    return found;
}

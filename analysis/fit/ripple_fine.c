/* Speeds of the frames: all lines of the reading taken together, each frame bent by the path so that a changing speed
 * does not smear it. */
#include <math.h>

#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

enum { LINES = 5, TRIES = 61 };

static const double search = 0.012; /* share of the path's frequency that is searched on either side */

typedef struct chosen {
    int count, taken;    /* lines; lines taken out of the recording */
    const double *fixed; /* (taken) Hz of these                     */
    double order[LINES]; /* in orders of the path, exact fractions */
    double weight[LINES];
} chosen;

/* Orders that are worth a look: parts and multiples of the commutation, and the first few of the shaft. */
static int has_name(int order, int n) {
    return order <= 2 || order % n == 0 || 2 * order == n || 2 * order == 3 * n || 3 * order == n || 3 * order == 2 * n;
}

/* Of the lines seen those with a name; the ones that tell the speed best (order^2 times power) when they are many. */
static chosen choose(const up_ripple_orders *o, int line, int n) {
    chosen c = {.count = 1, .order = {1}, .weight = {1e30}};
    for (int i = 0; i < o->count; i++) {
        const double order = o->order[i] * line, whole = floor(order + 0.5);
        if (whole < 1 || fabs(order - whole) / line > 1.5 * o->step || whole == line || o->power[i] < 4 ||
            !has_name((int)whole, n)) {
            continue;
        }
        const double weight = o->order[i] * o->order[i] * o->power[i];
        if (c.count == LINES && c.weight[LINES - 1] > weight) {
            continue;
        }
        int at = c.count < LINES ? c.count++ : LINES - 1;
        while (at > 1 && c.weight[at - 1] < weight) {
            c.order[at] = c.order[at - 1];
            c.weight[at] = c.weight[at - 1];
            at--;
        }
        c.order[at] = whole / line;
        c.weight[at] = weight;
    }
    return c;
}

static double between(const float *power, int bins, double place) {
    if (!(place >= 1) || place >= bins - 2) {
        return 0;
    }
    const int k = (int)place;
    return power[k] + (place - k) * ((double)power[k + 1] - power[k]);
}

/* Frequency of the path's line in one frame, Hz: where the lines together are highest, then their exact places
 * weighted by what each is worth. */
typedef struct found {
    double frequency, error, power; /* Hz, Hz (standard deviation), over floor */
} found;

/* A line's place is never better than this, in resolution steps: neighbours and what is left of the bend move it. */
static const double place_least = 0.02;
/* Where a line was taken out, a little of the motor's went with it or of the other stayed (resolution steps). */
static const double place_beside = 0.15, beside = 2.5;

/* Variance of a line's place, in resolution steps: noise, the least there is, and a line taken out close by. */
static double place_variance(const chosen *c, double height, double place, double per_bin) {
    double variance = pow(up_spectrum_place_error(height), 2) + place_least * place_least;
    for (int i = 0; i < c->taken; i++) {
        if (fabs(place - c->fixed[i] / per_bin) < 2 * beside) {
            variance += place_beside * place_beside;
        }
    }
    return variance;
}

/* Exact places of the lines near a frequency, weighted by what each is worth; a line that contradicts the best one
 * (four standard deviations) is somebody else's and left out. */
static found settle(const chosen *c, const float *power, int bins, double per_bin, double at) {
    double value[LINES], error[LINES], height[LINES];
    int best = -1;
    for (int i = 0; i < c->count; i++) {
        const double place = c->order[i] * at / per_bin;
        const double exact = up_spectrum_peak(power, bins, (int)(place - 0.7), (int)(place + 1.7), &height[i]);
        error[i] = NAN;
        value[i] = NAN;
        if (height[i] > 5 && fabs(exact - place) < 1.8) {
            error[i] = sqrt(place_variance(c, height[i], exact, per_bin)) * 2 * per_bin / c->order[i];
            value[i] = exact * per_bin / c->order[i];
            best = best < 0 || error[i] < error[best] ? i : best;
        }
    }
    found f = {NAN, NAN, 0};
    double weights = 0, sum = 0;
    for (int i = 0; i < c->count && best >= 0; i++) {
        if (error[i] > 0 && fabs(value[i] - value[best]) < 4 * hypot(error[i], error[best])) {
            weights += 1 / (error[i] * error[i]);
            sum += value[i] / (error[i] * error[i]);
            f.power += height[i];
        }
    }
    f.frequency = sum / weights;
    f.error = sqrt(1 / weights);
    return f;
}

static found look(const chosen *c, const float *power, int bins, double per_bin, double expected) {
    double best = -1, at = expected;
    /* At least a resolution step of the highest line, or the lowest lines alone could not move. */
    double highest_order = 0;
    for (int i = 0; i < c->count; i++) {
        highest_order = fmax(highest_order, c->order[i]);
    }
    const double reach = fmax(search * expected, 2 * per_bin / highest_order);
    for (int t = 0; t < TRIES; t++) {
        const double tried = expected + reach * (2.0 * t / (TRIES - 1) - 1);
        double sum = 0;
        for (int i = 0; i < c->count; i++) {
            sum += between(power, bins, c->order[i] * tried / per_bin);
        }
        if (sum > best) {
            best = sum;
            at = tried;
        }
    }
    return settle(c, power, bins, per_bin, at);
}

/* Speeds bend within a frame: the window's mean differs from the middle by half the second derivative times the
 * window's variance (0.02 length^2), which is 0.16 of the second difference from frame to frame. Where a run begins or
 * ends only one side is known, and the frame reaches into what is not: the whole difference and more may be missing. */
static void widen(up_ripple_speed *speed, size_t count) {
    for (size_t f = 0; f < count; f++) {
        if (isnan(speed[f].speed)) {
            continue;
        }
        const double before = f > 0 ? speed[f - 1].speed : NAN, after = f + 1 < count ? speed[f + 1].speed : NAN;
        double bend = 0;
        if (isfinite(before) && isfinite(after)) {
            bend = 0.16 * (before - 2 * speed[f].speed + after);
        } else if (isfinite(before) || isfinite(after)) {
            bend = 0.7 * ((isfinite(before) ? before : after) - speed[f].speed);
        } else {
            bend = 0.02 * speed[f].speed;
        }
        speed[f].half = sqrt(speed[f].half * speed[f].half + 4 * bend * bend);
    }
}

void up_ripple_fine(up_ripple_signal *s, const up_ripple_path *path, const up_ripple_orders *o, up_spectrum *spectrum,
                    float *sample, float *power, float *smooth, up_ripple_result *r) {
    const int line = r->reading[0].line, bins = up_spectrum_bins(spectrum);
    const double per_bin = 1 / (2 * s->length * s->interval), to_speed = 2 * UP_PI / line;
    chosen c = choose(o, line, r->reading[0].per_turn);
    c.taken = r->artefacts;
    c.fixed = r->artefact;
    const double threshold = 7 + 2 * c.count;
    size_t told = 0;
    up_ripple_smooth(s, path->frequency, smooth);
    up_ripple_bend(s, smooth, 0.1);
    for (size_t f = 0; f < s->frames; f++) {
        up_ripple_speed *to = &r->speed[f];
        const double expected = smooth[f], middle = (double)(f * (size_t)s->hop) - 0.5;
        if (!(expected > 0)) {
            continue;
        }
        const double per_sample = expected * s->interval; /* of angle: the frame keeps its length in time */
        if (!up_ripple_cut(s, up_ripple_angle_at(s, middle), per_sample, s->length, sample)) {
            continue;
        }
        up_spectrum_power(spectrum, sample, power);
        up_spectrum_over_floor(spectrum, power, 0);
        const found at = look(&c, power, bins, per_bin, expected);
        if (!(at.power > threshold)) {
            continue;
        }
        to->speed = at.frequency * to_speed;
        to->half = to_speed * sqrt(1.96 * 1.96 * 1.3 * at.error * at.error + 4e-8 * at.frequency * at.frequency);
        to->over_noise = at.power;
        told++;
    }
    widen(r->speed, s->frames);
    r->share_told = (double)told / (double)s->frames;
}

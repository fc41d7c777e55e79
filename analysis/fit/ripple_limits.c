/* What a recording cannot tell: sampled too slowly, filtered, buried in noise. */
#include <math.h>

#include "analysis/fit/commutation.h"
#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

static const double seen_from = 12; /* power over the noise of one bin at which a line is surely followed          */
static const double always_ripples = 0.003; /* of the mean current: a brushed motor's ripple is more (common practice: a
                                              * few per cent; no source)                                                   */

/* Amplitude of a ripple that would just have been seen, over the mean current: from the noise between 200 Hz and 3 kHz
 * while the motor runs (mean of logarithms: it lies below the logarithm of the mean by Euler's constant for noise). */
double up_ripple_smallest_seen(up_ripple_desk *d) {
    const up_ripple_signal *s = &d->signal;
    const double per_bin = 1 / (2 * s->length * s->interval), frames = (double)d->map.sampled;
    double sum = 0;
    int bins = 0;
    for (int k = (int)(200 / per_bin) + 1; k < s->length && k * per_bin < 3000; k++) {
        sum += d->map.log_power[k];
        bins++;
    }
    size_t known = 0;
    for (size_t f = 0; f < s->frames; f++) {
        if (!s->rest[f]) {
            d->scratch[known++] = s->load[f];
        }
    }
    const double typical = up_ripple_quantile(d->scratch, known, 0.5);
    if (d->request->track->signal != UP_SIGNAL_CURRENT || bins == 0 || frames < 1 || !(typical > 0)) {
        return NAN;
    }
    const double noise = exp(sum / bins / frames + 0.5772156649015329);
    return sqrt(6 * seen_from * noise / s->length) / typical;
}

/* Commutations a turn when bars and poles are both given, otherwise 0. */
static int per_turn_known(const up_ripple_request *q) {
    return q->segments && q->poles ? up_commutations(q->segments, q->poles) : 0;
}

/* The guide's fast speeds, rev/s; NaN without. */
static double guide_speed(up_ripple_desk *d, double share) {
    size_t known = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        if (isfinite(d->signal.guide[f])) {
            d->scratch[known++] = d->signal.guide[f];
        }
    }
    return up_ripple_quantile(d->scratch, known, share);
}

void up_ripple_say_rate(up_ripple_desk *d) {
    up_ripple_result *r = d->result;
    const double fast = guide_speed(d, 0.95);
    const int n = per_turn_known(d->request);
    r->rate = 1 / d->signal.raw_interval;
    r->rate_wanted = n && isfinite(fast) ? 2.5 * n * fast * (1 + d->request->guide_tolerance) : NAN;
}

/* Does the ripple of the guide's fast speeds lie above what this sampling shows? */
int up_ripple_too_slow(up_ripple_desk *d) {
    const double fast = guide_speed(d, 0.75);
    const int n = per_turn_known(d->request);
    return n && isfinite(fast) && n * fast * (1 - d->request->guide_tolerance) > 0.48 / d->signal.raw_interval;
}

up_ripple_verdict up_ripple_why_not(up_ripple_desk *d, const up_ripple_search *found) {
    /* A folded line falls when the speed rises; but only where forty commutations a turn could fold. */
    if (guide_speed(d, 0.95) < 0.15 * d->signal.free_speed) {
        return UP_RIPPLE_AT_REST;
    }
    if (up_ripple_too_slow(d)) {
        return UP_RIPPLE_TOO_SLOW;
    }
    if (found->against && 40 * guide_speed(d, 0.95) > 0.5 / d->signal.raw_interval) {
        return UP_RIPPLE_TOO_SLOW;
    }
    if (d->result->smallest_seen < always_ripples) {
        return UP_RIPPLE_FILTERED;
    }
    return found->stayed || d->result->artefacts > 0 ? UP_RIPPLE_ARTEFACT : UP_RIPPLE_NONE;
}

/* Without a guide that moves nobody sees that a line was folded over half the sampling rate: could the ripple lie beyond
 * it, within the bounds of speed (or at the guide's)? */
int up_ripple_may_be_folded(up_ripple_desk *d, const up_ripple_search *found) {
    if (found->confirmed) {
        return 0;
    }
    double highest = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        highest = d->kept.frequency[f] > 0 ? fmax(highest, d->kept.frequency[f]) : highest;
    }
    const double fast =
        d->signal.guided ? guide_speed(d, 0.95) * (1 + d->request->guide_tolerance) : d->request->fastest / (2 * UP_PI);
    const int n = found->readings.reading[0].per_turn;
    if ((1 / d->signal.raw_interval - highest) / n > fast) {
        return 0;
    }
    d->result->rate_wanted = 2.5 * n * fast;
    return 1;
}

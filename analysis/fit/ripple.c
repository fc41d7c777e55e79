#include "analysis/fit/ripple.h"

#include <math.h>
#include <string.h>

#include "analysis/fit/commutation.h"
#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

enum {
    BASES = 5,       /* lines that are followed before the search is given up */
    STRETCH = 4,     /* stretches over angle are so many frames long          */
    FRAMES_LEAST = 4 /* for a path                                            */
};

static const double seen_from = 12; /* power over the noise of one bin at which a line is surely followed          */
static const double always_ripples = 0.003; /* of the mean current: a brushed motor's ripple is more (common practice: a
                                              * few per cent; no source)                                                   */
static const double top_frequency = 6000;   /* Hz: no ripple of a door's motor lies above it                          */
static const double least_gain = 12;        /* a path must gain: what paths through noise alone stay below            */
static const double least_evidence = 0;     /* ln: the lines are rather the motor's than anything's                   */

void up_ripple_request_default(up_ripple_request *request) {
    *request = (up_ripple_request){.brush_drop = 0,
                                   .resistance = NAN,
                                   .constant = NAN,
                                   .guide_tolerance = 0.2,
                                   .slowest = 20,
                                   .fastest = 800,
                                   .frame = 0};
}

const char *up_ripple_verdict_text(up_ripple_verdict verdict) {
    static const char *const text[] = {
        [UP_RIPPLE_TOLD] = "the speed can be told",
        [UP_RIPPLE_AMBIGUOUS] = "a line moves with the motor, but which part of a turn it stands for is open",
        [UP_RIPPLE_NONE] = "no line of the motor stands above the noise",
        [UP_RIPPLE_FILTERED] = "the recording was filtered: nothing is left where the ripple would be",
        [UP_RIPPLE_TOO_SLOW] = "the sampling is too slow for the ripple",
        [UP_RIPPLE_ARTEFACT] = "the only lines there are do not move with the motor",
        [UP_RIPPLE_TOO_SHORT] = "the recording is too short",
    };
    const int known = (int)verdict >= 0 && verdict < UP_RIPPLE_VERDICTS;
    return known ? text[verdict] : "no such verdict";
}

/* ---- memory ------------------------------------------------------------------------------------------------------ */

typedef struct desk {
    const up_ripple_request *request;
    up_ripple_result *result;
    up_ripple_signal signal;
    up_ripple_map map;
    up_ripple_path path, kept; /* the one looked at, the best so far */
    up_ripple_orders orders;
    up_spectrum *frame, *stretch; /* frames, stretches over angle */
    float *sample, *power, *sum, *scratch;
} desk;

static int stretch_length(const up_ripple_signal *s) {
    return STRETCH * s->length;
}

static void take(desk *d, up_room *room) {
    up_ripple_signal *s = &d->signal;
    up_ripple_map *m = &d->map;
    const size_t frames = s->frames, states = (size_t)(m->states > 0 ? m->states : 1);
    const size_t longest = (size_t)stretch_length(s), plan = up_spectrum_memory(s->length);
    const size_t long_plan = up_spectrum_memory((int)longest);
    d->result->speed = up_room_take(room, frames, sizeof *d->result->speed);
    up_ripple_signal_take(s, room);
    m->edge = up_room_take(room, states + 1, sizeof *m->edge);
    m->score = up_room_take(room, frames * states, sizeof *m->score);
    m->from = up_room_take(room, frames * states, sizeof *m->from);
    m->best = up_room_take(room, states, sizeof *m->best);
    m->next = up_room_take(room, states, sizeof *m->next);
    m->rest_from = up_room_take(room, frames, sizeof *m->rest_from);
    m->peak_place = up_room_take(room, frames * UP_RIPPLE_PEAKS, sizeof *m->peak_place);
    m->peak_power = up_room_take(room, frames * UP_RIPPLE_PEAKS, sizeof *m->peak_power);
    m->log_power = up_room_take(room, (size_t)s->length + 1, sizeof *m->log_power);
    d->path.frequency = up_room_take(room, frames, sizeof *d->path.frequency);
    d->kept.frequency = up_room_take(room, frames, sizeof *d->kept.frequency);
    d->scratch = up_room_take(room, 2 * frames, sizeof *d->scratch);
    d->sample = up_room_take(room, longest, sizeof *d->sample);
    d->power = up_room_take(room, longest + 1, sizeof *d->power);
    d->sum = up_room_take(room, longest + 1, sizeof *d->sum);
    d->frame = up_spectrum_prepare(s->length, up_room_take(room, 1, plan), plan);
    d->stretch = up_spectrum_prepare((int)longest, up_room_take(room, 1, long_plan), long_plan);
}

static void plan(const up_ripple_request *request, desk *d, up_ripple_result *result) {
    memset(d, 0, sizeof *d);
    d->request = request;
    d->result = result;
    up_ripple_signal_plan(request, &d->signal);
    if (d->signal.length == 0) {
        return;
    }
    const double resolution = 1 / (d->signal.length * d->signal.interval);
    d->map.lowest = fmax(4 * resolution, request->slowest / (2 * UP_PI));
    d->map.top = fmin(0.45 / d->signal.interval, top_frequency);
    d->map.states = up_ripple_states(d->map.lowest, d->map.top);
}

static int sensible(const up_ripple_request *q) {
    return q->track && q->track->count > 0 && q->track->value &&
           (q->track->signal == UP_SIGNAL_CURRENT || q->track->signal == UP_SIGNAL_SOUND) && q->slowest > 0 &&
           q->fastest > q->slowest && q->segments >= 0 && q->segments != 1 && q->segments <= 200 &&
           (q->poles == 0 || (q->poles >= 2 && q->poles <= 12 && q->poles % 2 == 0)) &&
           (!q->voltage || isnan(q->constant) || (q->guide_tolerance > 0 && isfinite(q->resistance)));
}

size_t up_ripple_memory(const up_ripple_request *request) {
    if (!sensible(request)) {
        return 0;
    }
    desk d;
    up_ripple_result nothing;
    plan(request, &d, &nothing);
    if (d.signal.length == 0) {
        return 0;
    }
    up_room room = {NULL, 0, 0, 0};
    take(&d, &room);
    return room.taken + UP_ROOM_ALIGNED;
}

/* ---- why not ----------------------------------------------------------------------------------------------------- */

/* Amplitude of a ripple that would just have been seen, over the mean current: from the noise between 200 Hz and 3 kHz
 * while the motor runs (mean of logarithms: it lies below the logarithm of the mean by Euler's constant for noise). */
static double smallest_seen(desk *d) {
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
static double guide_speed(desk *d, double share) {
    size_t known = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        if (isfinite(d->signal.guide[f])) {
            d->scratch[known++] = d->signal.guide[f];
        }
    }
    return up_ripple_quantile(d->scratch, known, share);
}

static void say_rate(desk *d) {
    up_ripple_result *r = d->result;
    const double fast = guide_speed(d, 0.95);
    const int n = per_turn_known(d->request);
    r->rate = 1 / d->signal.raw_interval;
    r->rate_wanted = n && isfinite(fast) ? 2.5 * n * fast * (1 + d->request->guide_tolerance) : NAN;
}

/* Does the ripple of the guide's fast speeds lie above what this sampling shows? */
static int too_slow(desk *d) {
    const double fast = guide_speed(d, 0.75);
    const int n = per_turn_known(d->request);
    return n && isfinite(fast) && n * fast * (1 - d->request->guide_tolerance) > 0.48 / d->signal.raw_interval;
}

static up_ripple_verdict why_not(desk *d, int stayed, int against) {
    if (against) {
        return UP_RIPPLE_TOO_SLOW;
    }
    if (d->result->smallest_seen < always_ripples) {
        return UP_RIPPLE_FILTERED;
    }
    return stayed || d->result->artefacts > 0 ? UP_RIPPLE_ARTEFACT : UP_RIPPLE_NONE;
}

/* ---- the search -------------------------------------------------------------------------------------------------- */

typedef struct search {
    int stayed, against; /* lines that were refused                      */
    int have;            /* 1: `kept` holds a path                       */
    int steady;          /* of the kept one                              */
    double evidence;
    up_ripple_orders orders;
    up_ripple_result readings;
} search;

static void keep(desk *d, search *found, double evidence, const up_ripple_result *readings, int steady) {
    float *swap = d->kept.frequency;
    d->kept = d->path;
    d->path.frequency = swap;
    found->have = 1;
    found->evidence = evidence;
    found->steady = steady;
    found->orders = d->orders;
    found->readings = *readings;
}

static double median_line(desk *d) {
    size_t known = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        if (d->path.frequency[f] > 0) {
            d->scratch[known++] = d->path.frequency[f];
        }
    }
    return up_ripple_quantile(d->scratch, known, 0.5);
}

static void refuse(desk *d, search *found, up_ripple_motion motion) {
    up_ripple_result *r = d->result;
    if (motion == UP_RIPPLE_AGAINST) {
        found->against++;
        return;
    }
    found->stayed++;
    if (r->artefacts < UP_RIPPLE_ARTEFACTS) {
        r->artefact[r->artefacts++] = median_line(d);
    }
}

/* Follows the strongest line, then the next, until one is the motor's. */
static void look_for(desk *d, search *found) {
    memset(found, 0, sizeof *found);
    for (int base = 0; base < BASES; base++) {
        up_ripple_path_find(&d->signal, &d->map, &d->path);
        if (d->path.frames < FRAMES_LEAST || d->path.gain < least_gain) {
            return;
        }
        double guide_log;
        const up_ripple_motion motion = up_ripple_moves(&d->signal, &d->path, d->scratch, &guide_log);
        up_ripple_path_erase(&d->signal, &d->map, &d->path);
        if (motion == UP_RIPPLE_STAYS || motion == UP_RIPPLE_AGAINST) {
            refuse(d, found, motion);
            continue;
        }
        up_ripple_orders_find(&d->signal, &d->path, d->stretch, d->sample, d->power, d->sum, d->map.top, &d->orders);
        if (d->orders.count == 0) {
            up_ripple_orders_find(&d->signal, &d->path, d->frame, d->sample, d->power, d->sum, d->map.top, &d->orders);
        }
        up_ripple_result readings = *d->result;
        const double evidence = up_ripple_read(d->request, &d->orders, median_line(d), guide_log, &readings);
        if (evidence < least_evidence) {
            continue;
        }
        if (motion == UP_RIPPLE_WITH_MOTOR) {
            if (found->have && found->steady) { /* that one stood still while this one moves */
                found->stayed++;
            }
            keep(d, found, evidence, &readings, 0);
            return;
        }
        if (!found->have || evidence > found->evidence) {
            keep(d, found, evidence, &readings, 1);
        }
    }
}

/* Without a guide that moves nobody sees that a line was folded over half the sampling rate: could the ripple lie beyond
 * it, within the bounds of speed (or at the guide's)? */
static int may_be_folded(desk *d, const search *found) {
    if (d->signal.guided && !found->steady) {
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

static void tell(desk *d, const search *found) {
    up_ripple_result *r = d->result;
    if (may_be_folded(d, found)) {
        r->verdict = UP_RIPPLE_TOO_SLOW;
        return;
    }
    const int artefacts = r->artefacts;
    double artefact[UP_RIPPLE_ARTEFACTS];
    memcpy(artefact, r->artefact, sizeof artefact);
    *r = found->readings;
    r->artefacts = artefacts;
    memcpy(r->artefact, artefact, sizeof artefact);
    r->steady = found->steady;
    r->verdict = r->speed_likelihood >= 0.95 ? UP_RIPPLE_TOLD : UP_RIPPLE_AMBIGUOUS;
    up_ripple_fine(&d->signal, &d->kept, &found->orders, d->frame, d->sample, d->power, d->path.frequency, r);
    size_t known = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        if (isfinite(r->speed[f].speed) && d->signal.guide[f] > 0) {
            d->scratch[known++] = (float)(r->speed[f].speed / (2 * UP_PI * d->signal.guide[f]));
        }
    }
    r->guide_ratio = up_ripple_quantile(d->scratch, known, 0.5);
}

up_status up_ripple_find(const up_ripple_request *request, void *memory, size_t size, up_ripple_result *result) {
    memset(result, 0, sizeof *result);
    result->verdict = UP_RIPPLE_TOO_SHORT;
    result->rate = result->rate_wanted = result->smallest_seen = result->guide_ratio = NAN;
    if (!sensible(request)) {
        return UP_BAD_OPTION;
    }
    desk d;
    plan(request, &d, result);
    if (d.signal.length == 0) {
        return UP_BAD_OPTION;
    }
    result->rate = 1 / d.signal.raw_interval;
    if (d.signal.frames < FRAMES_LEAST || d.signal.count < (size_t)d.signal.length) {
        return UP_OK;
    }
    up_room room = up_room_of(memory, size);
    take(&d, &room);
    if (!memory || room.short_of || !d.frame || !d.stretch) {
        result->speed = NULL;
        return UP_MEMORY_TOO_SMALL;
    }
    up_ripple_signal_fill(request, &d.signal);
    result->count = d.signal.frames;
    for (size_t f = 0; f < d.signal.frames; f++) {
        const double time = d.signal.start + ((double)(f * (size_t)d.signal.hop) - 0.5) * d.signal.interval;
        result->speed[f] = (up_ripple_speed){time, NAN, NAN, NAN};
    }
    say_rate(&d);
    if (d.map.states < 20 || too_slow(&d)) {
        result->verdict = UP_RIPPLE_TOO_SLOW;
        return UP_OK;
    }
    up_ripple_bend(&d.signal, d.signal.guide, 0.15);
    up_ripple_map_fill(&d.signal, d.frame, d.sample, d.power, &d.map);
    result->artefacts = up_ripple_fixed(&d.signal, &d.map, d.scratch, result->artefact);
    if (result->artefacts > 0) {
        up_ripple_map_fill(&d.signal, d.frame, d.sample, d.power, &d.map);
    }
    result->smallest_seen = smallest_seen(&d);
    search found;
    look_for(&d, &found);
    if (found.have) {
        tell(&d, &found);
    } else {
        result->verdict = why_not(&d, found.stayed, found.against);
    }
    return UP_OK;
}

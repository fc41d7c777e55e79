#include "analysis/fit/ripple.h"

#include <math.h>
#include <string.h>

#include "analysis/fit/commutation.h"
#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

enum {
    STRETCH = 4, /* stretches over angle are so many frames long */
};

static const double top_frequency = 6000; /* Hz: no ripple of a door's motor lies above it                          */

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
        [UP_RIPPLE_AT_REST] = "by voltage and current the motor hardly turned",
        [UP_RIPPLE_TOO_SHORT] = "the recording is too short",
    };
    const int known = (int)verdict >= 0 && verdict < UP_RIPPLE_VERDICTS;
    return known ? text[verdict] : "no such verdict";
}

/* ---- memory ------------------------------------------------------------------------------------------------------ */

static int stretch_length(const up_ripple_signal *s) {
    return STRETCH * s->length;
}

static void take(up_ripple_desk *d, up_room *room) {
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

static void plan(const up_ripple_request *request, up_ripple_desk *d, up_ripple_result *result) {
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
    up_ripple_desk d;
    up_ripple_result nothing;
    plan(request, &d, &nothing);
    if (d.signal.length == 0) {
        return 0;
    }
    up_room room = {NULL, 0, 0, 0};
    take(&d, &room);
    return room.taken + UP_ROOM_ALIGNED;
}

/* ---- the answer -------------------------------------------------------------------------------------------------- */

static void tell(up_ripple_desk *d, const up_ripple_search *found) {
    up_ripple_result *r = d->result;
    if (up_ripple_may_be_folded(d, found)) {
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
    up_ripple_desk d;
    plan(request, &d, result);
    if (d.signal.length == 0) {
        return UP_BAD_OPTION;
    }
    result->rate = 1 / d.signal.raw_interval;
    if (d.signal.frames < UP_RIPPLE_FRAMES_LEAST || d.signal.count < (size_t)d.signal.length) {
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
    up_ripple_say_rate(&d);
    if (d.map.states < 20) {
        result->verdict = UP_RIPPLE_TOO_SLOW;
        return UP_OK;
    }
    up_ripple_bend(&d.signal, d.signal.guide, 0.15);
    up_ripple_map_fill(&d.signal, d.frame, d.sample, d.power, &d.map);
    result->artefacts = up_ripple_fixed(&d.signal, &d.map, d.scratch, result->artefact);
    if (result->artefacts > 0) {
        up_ripple_map_fill(&d.signal, d.frame, d.sample, d.power, &d.map);
    }
    result->smallest_seen = up_ripple_smallest_seen(&d);
    up_ripple_search found;
    up_ripple_search_for(&d, &found);
    if (found.have && (found.confirmed || !up_ripple_too_slow(&d))) {
        tell(&d, &found);
    } else {
        result->verdict = up_ripple_why_not(&d, &found);
    }
    return UP_OK;
}

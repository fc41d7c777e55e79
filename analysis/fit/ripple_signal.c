/* The recording made even, thinned, with the coarse guide beside it; frames cut from it, bent when speed changes. */
#include <math.h>
#include <string.h>

#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

/* Nothing of a door's motor lies above 8 kHz: faster samplings are averaged down to 16 kHz or a little more. */
static const double enough_rate = 16000;
/* Below this current a brush drop fades out, A. */
static const double fading_current = 0.2;

/* Of the largest mean current of a frame: below it the motor is off, and there is no ripple to be found. */
static const float resting = 0.03F;

static double mean_interval(const up_track *track) {
    if (!isnan(track->interval)) {
        return track->interval;
    }
    if (!track->time || track->count < 2) {
        return NAN;
    }
    return (track->time[track->count - 1] - track->time[0]) / (double)(track->count - 1);
}

int up_ripple_frame_length(const up_ripple_request *request, double interval) {
    const double wanted = (request->frame > 0 ? request->frame : 0.1) / interval;
    int length = 64;
    while (length < (1 << 20) && length * 1.4142 < wanted) {
        length *= 2;
    }
    return length;
}

void up_ripple_signal_plan(const up_ripple_request *request, up_ripple_signal *s) {
    memset(s, 0, sizeof *s);
    const up_track *track = request->track;
    s->raw_interval = mean_interval(track);
    if (!(s->raw_interval > 0) || !isfinite(s->raw_interval)) {
        return;
    }
    const double parts = floor(1 / (enough_rate * s->raw_interval));
    const size_t thin = parts >= 2 ? (size_t)fmin(parts, 1e6) : 1;
    s->interval = s->raw_interval * (double)thin;
    s->start = (isnan(track->interval) ? track->time[0] : track->start) + 0.5 * (double)(thin - 1) * s->raw_interval;
    s->count = track->count / thin;
    s->length = up_ripple_frame_length(request, s->interval);
    s->hop = s->length / 4;
    s->frames = s->count / (size_t)s->hop + 1;
}

void up_ripple_signal_take(up_ripple_signal *s, up_room *room) {
    s->value = up_room_take(room, s->count, sizeof *s->value);
    s->missing = up_room_take(room, s->count, sizeof *s->missing);
    s->angle = up_room_take(room, s->count, sizeof *s->angle);
    s->guide = up_room_take(room, s->frames, sizeof *s->guide);
    s->load = up_room_take(room, s->frames, sizeof *s->load);
    s->poor = up_room_take(room, s->frames, sizeof *s->poor);
    s->rest = up_room_take(room, s->frames, sizeof *s->rest);
}

/* A track read at rising times; straight lines between samples, NaN outside and beside missing ones. */
typedef struct reader {
    const up_track *track;
    size_t at;
} reader;

static double time_of(const up_track *track, size_t i) {
    return isnan(track->interval) ? track->time[i] : track->start + (double)i * track->interval;
}

static double read_at(reader *r, double time) {
    const up_track *track = r->track;
    if (track->count < 2 || time < time_of(track, 0) || time > time_of(track, track->count - 1)) {
        return NAN;
    }
    if (!isnan(track->interval)) {
        const double place = (time - track->start) / track->interval;
        r->at = place < (double)(track->count - 2) ? (size_t)place : track->count - 2;
    }
    while (r->at + 2 < track->count && time_of(track, r->at + 1) < time) {
        r->at++;
    }
    const double before = time_of(track, r->at), after = time_of(track, r->at + 1);
    const double part = after > before ? (time - before) / (after - before) : 0;
    return track->value[r->at] + part * (track->value[r->at + 1] - track->value[r->at]);
}

static int is_missing(const up_track *track, double value) {
    return !isfinite(value) || value <= track->low_clip || value >= track->high_clip;
}

/* Even samples; each the mean of `thin` raw ones. */
static void fill_values(const up_track *track, up_ripple_signal *s) {
    const size_t thin = (size_t)(s->interval / s->raw_interval + 0.5);
    reader r = {track, 0};
    double last = 0;
    size_t i = 0;
    for (size_t k = 0; k < s->count; k++) {
        double sum = 0;
        size_t good = 0;
        for (size_t part = 0; part < thin; part++, i++) {
            const double at = time_of(track, 0) + (double)i * s->raw_interval;
            const double value =
                isnan(track->interval) ? read_at(&r, fmin(at, time_of(track, track->count - 1))) : track->value[i];
            if (!is_missing(track, value)) {
                sum += value;
                good++;
            }
        }
        s->missing[k] = good == 0;
        last = good ? sum / (double)good : last;
        s->value[k] = (float)last;
    }
}

/* Magnitude of the speed that voltage and current allow, rev/s: |u - R i - U_br sign(i)| / K / 2 pi. */
static double coarse(const up_ripple_request *q, double voltage, double current) {
    const double drop = q->brush_drop * fmin(fmax(current / fading_current, -1), 1);
    return fabs(voltage - q->resistance * current - drop) / q->constant / (2 * UP_PI);
}

/* The guide smoothed by a triangle as wide as half a frame, so that shaft orders do not bend the frames. */
static void fill_guide(const up_ripple_request *q, up_ripple_signal *s) {
    const up_track *current = q->current ? q->current : q->track;
    s->guided = q->voltage && q->constant > 0 && (q->current || q->track->signal == UP_SIGNAL_CURRENT);
    for (size_t f = 0; f < s->frames; f++) {
        s->guide[f] = NAN;
    }
    if (!s->guided) {
        return;
    }
    reader voltage = {q->voltage, 0}, amperes = {current, 0};
    const size_t hop = (size_t)s->hop;
    double behind = 0, behind_weight = 0; /* the rising half of the triangle that ends at this frame */
    for (size_t f = 0; f < s->frames; f++) {
        double rise = 0, fall = 0, rise_weight = 0, fall_weight = 0;
        for (size_t j = 0; j < hop && f * hop + j < s->count; j++) {
            const double time = s->start + (double)(f * hop + j) * s->interval;
            const double u = read_at(&voltage, time), e = coarse(q, u, read_at(&amperes, time));
            s->free_speed = fmax(s->free_speed, isfinite(u) ? fabs(u) / q->constant / (2 * UP_PI) : 0);
            if (isfinite(e)) {
                const double up = ((double)j + 0.5) / (double)hop;
                rise += up * e;
                rise_weight += up;
                fall += (1 - up) * e;
                fall_weight += 1 - up;
            }
        }
        const double weight = behind_weight + fall_weight;
        s->guide[f] = weight > 0.25 * (double)hop ? (float)((behind + fall) / weight) : NAN;
        behind = rise;
        behind_weight = rise_weight;
    }
}

static void fill_frames(const up_track *track, up_ripple_signal *s) {
    const ptrdiff_t half = s->length / 2;
    float most = 0;
    for (size_t f = 0; f < s->frames; f++) {
        const ptrdiff_t middle = (ptrdiff_t)(f * (size_t)s->hop);
        double sum = 0, size = 0;
        ptrdiff_t bad = 0;
        for (ptrdiff_t i = middle - half; i < middle + half; i++) {
            if (i < 0 || i >= (ptrdiff_t)s->count || s->missing[i]) {
                bad++;
                continue;
            }
            sum += s->value[i];
            size += (double)s->value[i] * s->value[i];
        }
        const double good = (double)(2 * half - bad), mean = good > 0 ? sum / good : 0;
        s->load[f] =
            (float)(track->signal == UP_SIGNAL_CURRENT ? fabs(mean)
                                                       : sqrt(fmax(good > 0 ? size / good - mean * mean : 0, 0)));
        s->poor[f] = (double)bad > 0.2 * s->length;
        most = s->load[f] > most ? s->load[f] : most;
    }
    for (size_t f = 0; f < s->frames; f++) {
        s->rest[f] = track->signal == UP_SIGNAL_CURRENT && s->load[f] < resting * most;
    }
}

void up_ripple_signal_fill(const up_ripple_request *request, up_ripple_signal *s) {
    fill_values(request->track, s);
    fill_guide(request, s);
    fill_frames(request->track, s);
}

/* ---- bent frames ------------------------------------------------------------------------------------------------- */

/* Frequency at frame f where it may have gaps: the nearest known ones, straight in time between. */
typedef struct bridge {
    const float *frequency;
    size_t frames, before, after; /* known frames round about; before > after: none on that side */
    int any;
} bridge;

static double bridged(bridge *b, size_t f) {
    if (isfinite(b->frequency[f])) {
        b->before = f;
        b->any = 1;
        return b->frequency[f];
    }
    if (b->after <= f) {
        b->after = f;
        while (b->after < b->frames && !isfinite(b->frequency[b->after])) {
            b->after++;
        }
    }
    if (!b->any) {
        return b->after < b->frames ? b->frequency[b->after] : 1;
    }
    if (b->after >= b->frames) {
        return b->frequency[b->before];
    }
    const double part = (double)(f - b->before) / (double)(b->after - b->before);
    return b->frequency[b->before] + part * ((double)b->frequency[b->after] - b->frequency[b->before]);
}

void up_ripple_bend(up_ripple_signal *s, const float *frequency, double least_share) {
    double largest = 0;
    for (size_t f = 0; f < s->frames; f++) {
        largest = isfinite(frequency[f]) ? fmax(largest, frequency[f]) : largest;
    }
    const double least = largest > 0 ? least_share * largest : 1;
    bridge b = {frequency, s->frames, 0, 0, 0};
    double angle = 0, now = fmax(bridged(&b, 0), least);
    for (size_t f = 0; f < s->frames; f++) {
        const double then = f + 1 < s->frames ? fmax(bridged(&b, f + 1), least) : now;
        for (int j = 0; j < s->hop; j++) {
            const size_t i = f * (size_t)s->hop + (size_t)j;
            if (i >= s->count) {
                return;
            }
            s->angle[i] = angle;
            angle += (now + (then - now) * (j + 0.5) / s->hop) * s->interval;
        }
        now = then;
    }
}

/* Least squares parabolas over five frames (Savitzky and Golay's 17, 12, -3): the noise of single frames would bend the
 * next look at them. The guide has no say here: shaft orders in the current shake it more than the path. */
void up_ripple_smooth(const up_ripple_signal *s, const float *frequency, float *to) {
    static const double weight[] = {17, 12, -3};
    for (size_t f = 0; f < s->frames; f++) {
        double sum = 0, weights = 0;
        for (size_t d = 0; d < 3 && frequency[f] > 0; d++) {
            /* One side alone would shift a rising value: a neighbour counts when its mirror image is known. */
            if (f >= d && f + d < s->frames && frequency[f - d] > 0 && frequency[f + d] > 0) {
                const double w = d ? weight[d] : 0.5 * weight[0];
                sum += w * ((double)frequency[f - d] + frequency[f + d]);
                weights += 2 * w;
            }
        }
        to[f] = weights > 0 ? (float)(sum / weights) : NAN;
    }
}

double up_ripple_angle_at(const up_ripple_signal *s, double sample) {
    if (sample <= 0) {
        return s->angle[0];
    }
    if (sample >= (double)(s->count - 1)) {
        return s->angle[s->count - 1];
    }
    const size_t i = (size_t)sample;
    return s->angle[i] + (sample - (double)i) * (s->angle[i + 1] - s->angle[i]);
}

/* First sample at or behind which the angle lies: the last i with angle[i] <= wanted. */
static size_t find(const up_ripple_signal *s, double wanted) {
    size_t low = 0, high = s->count;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (s->angle[middle] <= wanted) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

int up_ripple_cut(const up_ripple_signal *s, double middle_angle, double per_sample, int length, float *out) {
    const double first = middle_angle - 0.5 * (length - 1) * per_sample;
    size_t at = find(s, first);
    int outside = 0;
    for (int j = 0; j < length; j++) {
        const double wanted = first + j * per_sample;
        while (at + 1 < s->count && s->angle[at + 1] <= wanted) {
            at++;
        }
        if (at + 1 >= s->count) {
            outside++;
            out[j] = s->value[s->count - 1];
            continue;
        }
        if (wanted < s->angle[0]) {
            outside++;
            out[j] = s->value[0];
            continue;
        }
        const double part = (wanted - s->angle[at]) / (s->angle[at + 1] - s->angle[at]);
        out[j] = (float)(s->value[at] + part * ((double)s->value[at + 1] - s->value[at]));
    }
    return 5 * outside <= length;
}

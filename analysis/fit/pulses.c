#include "analysis/fit/pulses.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/pulse_edges.h"
#include "analysis/fit/room.h"
#include "core/base/up_math.h"

enum { TURNS_LEAST = 8 };

void up_pulses_request_default(up_pulses_request *request) {
    *request = (up_pulses_request){.track = NULL, .per_turn = 1, .rest = 0.25};
}

const char *up_pulses_verdict_text(up_pulses_verdict verdict) {
    static const char *const text[] = {
        [UP_PULSES_TOLD] = "pulses found",
        [UP_PULSES_NO_LEVELS] = "the lead does not stand at two levels",
        [UP_PULSES_TOO_SLOW] = "the sampling is too slow for the pulses: some may have fallen between samples",
        [UP_PULSES_FEW] = "fewer than three pulses in a row",
    };
    const int known = (int)verdict >= 0 && verdict < UP_PULSES_VERDICTS;
    return known ? text[verdict] : "no such verdict";
}

static int sensible(const up_pulses_request *q) {
    return q->track && q->track->value && q->track->count > 0 && q->per_turn >= 1 &&
           q->per_turn <= UP_PULSES_PER_TURN && q->rest > 0 && (!isnan(q->track->interval) || q->track->time);
}

typedef struct desk {
    up_rise *rise;
    double *scratch, *error; /* (rises) */
    up_pulse *pulse;
} desk;

static desk take(up_room *room, size_t rises) {
    desk d;
    d.rise = up_room_take(room, rises, sizeof *d.rise);
    d.scratch = up_room_take(room, rises, sizeof *d.scratch);
    d.error = up_room_take(room, rises, sizeof *d.error);
    d.pulse = up_room_take(room, rises, sizeof *d.pulse);
    return d;
}

static size_t memory_for(size_t rises) {
    up_room room = {NULL, 0, 0, 0};
    take(&room, rises);
    return room.taken + UP_ROOM_ALIGNED;
}

size_t up_pulses_memory(const up_pulses_request *request) {
    if (!sensible(request)) {
        return 0;
    }
    const up_levels levels = up_levels_find(request->track);
    return memory_for(levels.two ? up_rises_find(request->track, &levels, NULL, 0) : 0);
}

/* ---- medians ----------------------------------------------------------------------------------------------------- */

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *value, size_t count) {
    if (count == 0) {
        return NAN;
    }
    qsort(value, count, sizeof *value, by_size);
    return 0.5 * (value[(count - 1) / 2] + value[count / 2]);
}

/* ---- edges that are none ----------------------------------------------------------------------------------------- */

/* What a period near rise i should be: the median of the next and the last few. */
static double usual(const up_rise *rise, size_t first, size_t end, size_t i) {
    double near[11];
    size_t count = 0;
    const size_t from = i > first + 5 ? i - 5 : first;
    for (size_t j = from; j + 1 < end && count < 11; j++) {
        near[count++] = rise[j + 1].time - rise[j].time;
    }
    return median(near, count);
}

static double mismatch(double period, double expected) {
    return period > 0 ? fabs(log(period / expected)) : INFINITY;
}

/* How far a period is from one, two or three usual ones (the others lost). */
static double mismatch_of_any(double period, double expected) {
    return fmin(mismatch(period, expected), fmin(mismatch(period, 2 * expected), mismatch(period, 3 * expected)));
}

/* Removes rises that cut a period in two: a period below 0.45 of the usual makes one of its two rises suspect, and the one
 * goes without which the period on its other side fits best. Keeps the rises of first..end in place, returns the new end;
 * extra[i] counts what went from the period behind rise i. */
static size_t drop_doubled(up_rise *rise, double *extra, size_t first, size_t end) {
    size_t kept = first; /* rises first..kept-1 are judged, the last of them against i */
    for (size_t i = first; i < end; i++) {
        extra[i] = 0;
    }
    for (size_t i = first; i < end; i++) {
        const double expected = usual(rise, i, end, i),
                     period = kept > first ? rise[i].time - rise[kept - 1].time : NAN;
        if (!(period < 0.45 * expected) || i + 1 >= end) {
            rise[kept++] = rise[i];
            continue;
        }
        const double without_this = mismatch_of_any(rise[i + 1].time - rise[kept - 1].time, expected);
        const double without_last =
            kept > first + 1 ? mismatch_of_any(rise[i].time - rise[kept - 2].time, expected) : INFINITY;
        if (fmin(without_this, without_last) > 0.3) {
            rise[kept++] = rise[i];
        } else if (without_this <= without_last) {
            extra[kept - 1]++;
            rise[kept - 1].fall = rise[i].fall; /* the last fall before the next rise ends the high part */
        } else {
            extra[kept - 2] += 1 + extra[kept - 1];
            extra[kept - 1] = 0;
            rise[kept - 1] = rise[i];
        }
    }
    return kept;
}

/* ---- strokes ----------------------------------------------------------------------------------------------------- */

static void add_pulse(const desk *d, up_pulses_result *r, const double *extra, size_t i, int last) {
    const up_rise *rise = &d->rise[i];
    up_pulse *p = &d->pulse[r->count];
    const double period = last ? NAN : d->rise[i + 1].time - rise->time;
    const int clean = !last && extra[i] == 0 && rise->fall < d->rise[i + 1].time;
    *p = (up_pulse){.time = rise->time,
                    .period = period,
                    .duty = clean ? (rise->fall - rise->time) / period : NAN,
                    .speed = NAN,
                    .half = NAN,
                    .doubled = (int)extra[i]};
    d->error[r->count] = last ? NAN : hypot(rise->error, d->rise[i + 1].error);
    r->count++;
}

static void add_stroke(const desk *d, up_pulses_result *r, size_t first, size_t end) {
    const size_t kept = drop_doubled(d->rise, d->scratch, first, end);
    const size_t from = r->count;
    for (size_t i = first; i < kept; i++) {
        add_pulse(d, r, d->scratch, i, i + 1 == kept);
    }
    if (r->strokes == UP_PULSES_STROKES) {
        r->strokes_left_out++;
        return;
    }
    r->stroke[r->strokes++] = (up_pulses_stroke){.first = from,
                                                 .end = r->count,
                                                 .start = d->rise[first].time,
                                                 .finish = d->rise[kept - 1].time,
                                                 .seen = end - first,
                                                 .doubled = end - kept};
}

/* First sample of a track at or after a time. */
static size_t sample_at(const up_track *t, double time) {
    if (!isnan(t->interval)) {
        const double place = ceil((time - t->start) / t->interval);
        return place <= 0 ? 0 : place >= (double)t->count ? t->count : (size_t)place;
    }
    size_t low = 0, high = t->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (t->time[middle] < time) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Does the voltage fade below a third of its height at the first of two times, or change sign, between them? */
static int fades(const up_track *voltage, double from, double to) {
    if (!voltage || voltage->count == 0) {
        return 0;
    }
    const size_t first = sample_at(voltage, from), end = sample_at(voltage, to);
    for (size_t i = first; i < end; i++) {
        if (voltage->value[i] * voltage->value[first] < voltage->value[first] * voltage->value[first] / 3) {
            return 1;
        }
    }
    return 0;
}

static void split_strokes(const up_pulses_request *q, const desk *d, size_t rises, up_pulses_result *r) {
    size_t first = 0;
    for (size_t i = 0; i < rises; i++) {
        if (i + 1 == rises || d->rise[i + 1].time - d->rise[i].time > q->rest ||
            fades(q->voltage, d->rise[i].time, d->rise[i + 1].time)) {
            add_stroke(d, r, first, i + 1);
            first = i + 1;
        }
    }
}

/* ---- lost pulses, places, shares --------------------------------------------------------------------------------- */

/* Length of the period behind pulse i in whole pulses, if the turn is as uneven as r->share says. */
static double whole_share(const up_pulses_result *r, int place, int pulses) {
    double sum = 0;
    for (int k = 0; k < pulses; k++) {
        sum += r->share[(place + k) % r->per_turn];
    }
    return sum;
}

/* Median period per pulse of up to three known periods from i on in one direction; NaN when there is none. */
static double beside(const up_pulses_result *r, const up_pulses_stroke *s, size_t i, int direction) {
    double near[3];
    size_t count = 0;
    for (size_t j = i; count < 3;) {
        if (direction < 0 ? j == s->first : j + 2 >= s->end) {
            break;
        }
        j = direction < 0 ? j - 1 : j + 1;
        const up_pulse *p = &r->pulse[j];
        near[count++] = p->period / whole_share(r, p->place, p->lost + 1);
    }
    return median(near, count);
}

/* Do the periods grow towards pulse i from both sides? Then it turned round or nearly stopped there. */
static int slows_towards(const up_pulses_result *r, const up_pulses_stroke *s, size_t i) {
    if (i < s->first + 2 || i + 3 >= s->end) {
        return 0;
    }
    double each[5];
    for (size_t k = 0; k < 5; k++) {
        const up_pulse *p = &r->pulse[i - 2 + k];
        each[k] = p->period / whole_share(r, p->place, p->lost + 1);
    }
    return each[1] > 1.15 * each[0] && each[3] > 1.15 * each[4];
}

/* First and last periods of a stroke are left alone: from standstill the first is twice as long as the second by
 * itself. */
static void find_lost(up_pulses_result *r, up_pulses_stroke *s) {
    s->lost = 0;
    int place = r->pulse[s->first].place; /* 0 at first, later what put_in_step found */
    for (size_t i = s->first; i < s->end; i++) {
        up_pulse *p = &r->pulse[i];
        p->place = place;
        const double before = i > s->first ? beside(r, s, i, -1) : NAN, after = beside(r, s, i, 1);
        p->lost = 0;
        if (before > 0 && after > 0) {
            const double expected = sqrt(before * after);
            int best = 0;
            for (int lost = 1; lost <= 4; lost++) {
                const double now = mismatch(p->period, expected * whole_share(r, place, best + 1));
                best = mismatch(p->period, expected * whole_share(r, place, lost + 1)) < now ? lost : best;
            }
            /* Speeding up or slowing down by a third from pulse to pulse, the two sides differ as much as that. */
            p->lost = mismatch(before, after) < 0.5 && !slows_towards(r, s, i) ? best : 0;
        }
        if (p->lost > 0) {
            p->duty = NAN;
        }
        s->lost += (size_t)p->lost;
        place = (place + 1 + p->lost) % r->per_turn;
    }
    s->count = s->seen - s->doubled + s->lost;
}

/* Shares of the places of a turn: each period over the mean of the turn around it, medians over all turns. Strokes are
 * counted from places of their own; the turn of a later stroke is put in step with the first by its best match. */
static size_t learn_place(const up_pulses_result *r, const up_pulses_stroke *s, int place, double *scratch) {
    size_t count = 0;
    const size_t turn = (size_t)r->per_turn;
    for (size_t i = s->first; i + 1 < s->end; i++) {
        if (r->pulse[i].place != place || r->pulse[i].lost > 0 || i < s->first + turn || i + turn + 1 > s->end) {
            continue;
        }
        double around = 0; /* the turns that end and begin with this period: a steady change of speed cancels */
        int whole = 1;
        for (size_t k = 0; k < turn; k++) {
            whole = whole && r->pulse[i + k].lost == 0 && r->pulse[i - k].lost == 0;
            around += r->pulse[i + k].period + r->pulse[i - k].period;
        }
        if (whole && isfinite(around)) {
            scratch[count++] = r->pulse[i].period * 2 * (double)turn / around;
        }
    }
    return count;
}

static void learn(up_pulses_result *r, double *scratch) {
    const up_pulses_stroke *longest = &r->stroke[0];
    for (int k = 1; k < r->strokes; k++) {
        longest = r->stroke[k].count > longest->count ? &r->stroke[k] : longest;
    }
    double share[UP_PULSES_PER_TURN], sum = 0;
    int good = 1;
    for (int place = 0; place < r->per_turn; place++) {
        const size_t turns = learn_place(r, longest, place, scratch);
        good = good && turns >= TURNS_LEAST;
        share[place] = median(scratch, turns);
        sum += share[place];
    }
    r->shares_learned = good && sum > 0;
    for (int place = 0; place < r->per_turn; place++) {
        r->share[place] = r->shares_learned ? share[place] * r->per_turn / sum : 1;
    }
}

/* Turns the places of a stroke by `by` and returns how badly its periods then fit the shares. */
static double fit_of(const up_pulses_result *r, const up_pulses_stroke *s, int by) {
    double sum = 0;
    for (size_t i = s->first + 1; i + 1 < s->end; i++) {
        const up_pulse *a = &r->pulse[i - 1], *b = &r->pulse[i];
        if (a->lost == 0 && b->lost == 0 && b->period > 0) {
            const double ratio = log(b->period / a->period);
            const double expected =
                log(r->share[(b->place + by) % r->per_turn] / r->share[(a->place + by) % r->per_turn]);
            sum += fmin((ratio - expected) * (ratio - expected), 0.1);
        }
    }
    return sum;
}

static void put_in_step(up_pulses_result *r, const up_pulses_stroke *s) {
    int best = 0;
    for (int by = 1; by < r->per_turn; by++) {
        best = fit_of(r, s, by) < fit_of(r, s, best) ? by : best;
    }
    for (size_t i = s->first; i < s->end; i++) {
        r->pulse[i].place = (r->pulse[i].place + best) % r->per_turn;
    }
}

/* ---- speeds ------------------------------------------------------------------------------------------------------ */

static double turned(const up_pulses_result *r, const up_pulse *p) {
    return whole_share(r, p->place, p->lost + 1) / r->per_turn;
}

/* Scatter of periods round a course that is straight over three of them: median of second differences of logarithms
 * (a second difference of independent values has sqrt(6) times their deviation; the median of a normal's magnitude is
 * 0.6745 of it). */
static double scatter_of(const up_pulses_result *r, double *scratch) {
    size_t count = 0;
    for (size_t i = 1; i + 1 < r->count; i++) {
        const up_pulse *p = &r->pulse[i - 1];
        const double a = p[0].period / turned(r, &p[0]), b = p[1].period / turned(r, &p[1]);
        const double c = p[2].period / turned(r, &p[2]);
        if (a > 0 && b > 0 && c > 0) {
            scratch[count++] = fabs(log(a * c / (b * b)));
        }
    }
    return median(scratch, count) / 0.6745 / sqrt(6.0);
}

static void tell_speeds(const desk *d, up_pulses_result *r) {
    r->scatter = scatter_of(r, d->scratch);
    for (size_t i = 0; i < r->count; i++) {
        up_pulse *p = &r->pulse[i];
        if (p->period > 0) {
            const double timing = d->error[i] / p->period, scatter = r->scatter > 0 ? r->scatter : 0;
            p->speed = 2 * UP_PI * turned(r, p) / p->period;
            p->half = 1.96 * p->speed * fmax(timing, scatter);
        }
    }
    for (int place = 0; place < r->per_turn; place++) {
        size_t count = 0;
        for (size_t i = 0; i < r->count; i++) {
            if (r->pulse[i].place == place && isfinite(r->pulse[i].duty)) {
                d->scratch[count++] = r->pulse[i].duty;
            }
        }
        r->duty[place] = median(d->scratch, count);
    }
}

static up_pulses_verdict judge(const up_pulses_request *q, const desk *d, const up_pulses_result *r) {
    size_t longest = 0, count = 0;
    for (int k = 0; k < r->strokes; k++) {
        longest = r->stroke[k].count > longest ? r->stroke[k].count : longest;
    }
    if (longest < 3) {
        return UP_PULSES_FEW;
    }
    for (size_t i = 0; i < r->count; i++) {
        if (r->pulse[i].period > 0) {
            d->scratch[count++] = r->pulse[i].period;
        }
    }
    const up_track *t = q->track;
    const double interval =
        isnan(t->interval) ? (t->time[t->count - 1] - t->time[0]) / (double)(t->count - 1) : t->interval;
    return median(d->scratch, count) < 4 * interval ? UP_PULSES_TOO_SLOW : UP_PULSES_TOLD;
}

up_status up_pulses_find(const up_pulses_request *request, void *memory, size_t size, up_pulses_result *result) {
    memset(result, 0, sizeof *result);
    if (!sensible(request)) {
        return UP_BAD_OPTION;
    }
    const up_levels levels = up_levels_find(request->track);
    result->per_turn = request->per_turn;
    result->low = levels.low;
    result->high = levels.high;
    result->rises_at = levels.rises_at;
    result->falls_at = levels.falls_at;
    result->scatter = NAN;
    for (int place = 0; place < UP_PULSES_PER_TURN; place++) {
        result->share[place] = 1;
        result->duty[place] = NAN;
    }
    result->verdict = UP_PULSES_NO_LEVELS;
    if (!levels.two) {
        return UP_OK;
    }
    const size_t rises = up_rises_find(request->track, &levels, NULL, 0);
    if (!memory || size < memory_for(rises)) {
        return UP_MEMORY_TOO_SMALL;
    }
    up_room room = up_room_of(memory, size);
    const desk d = take(&room, rises);
    up_rises_find(request->track, &levels, d.rise, rises);
    result->pulse = d.pulse;
    split_strokes(request, &d, rises, result);
    /* The shares tell lost pulses apart better, and knowing these the shares: twice round. */
    for (int round = 0; round < 2 && result->strokes > 0; round++) {
        for (int k = 0; k < result->strokes; k++) {
            find_lost(result, &result->stroke[k]);
        }
        if (round == 0) {
            learn(result, d.scratch);
        }
        for (int k = 0; k < result->strokes && result->shares_learned; k++) {
            put_in_step(result, &result->stroke[k]);
        }
    }
    tell_speeds(&d, result);
    result->verdict = judge(request, &d, result);
    return UP_OK;
}

/* Takes the fast changes out of a recording, sample by sample: the rise of the current with the armature locked, the
 * run-up without load, the coast. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"

enum { TRANSIENTS_MOST = (int)(sizeof((up_fit_work *)0)->transient / sizeof((up_fit_work *)0)->transient[0]) };
enum { RISE_SAMPLES_LEAST = 4, COAST_SAMPLES = 300, FAST_MOST = 400, SLOW_MOST = 150 };

static const double LOCKED_SPAN = 0.03; /* s of a locked rise that are looked at */
static const double FAST = 4e-3;        /* s behind a switch-on in which every sample counts */
static const double RUN_UP_MORE = 0.03; /* s behind the end of a run-up */

static void drop(up_transient *t) {
    free(t->time);
    *t = (up_transient){0};
}

static int make_room(up_transient *t, size_t room) {
    *t = (up_transient){.extra = {-1, -1}};
    t->time = malloc(3 * room * sizeof *t->time);
    if (!t->time) {
        return -1;
    }
    t->leads = t->time + room;
    t->current = t->leads + room;
    return 0;
}

/* Samples from start to end; more than there is room for are averaged in blocks. Returns -1 without memory. */
static int take(up_course *course, double start, double end, int room, up_transient *t) {
    up_aligned *const a = &course->aligned;
    up_moment m;
    const double expected = (end - start) / course->sample_interval;
    const int block = 1 + (int)(expected / room);
    if (make_room(t, (size_t)room) != 0) {
        return -1;
    }
    double sum[3] = {0, 0, 0};
    int in_block = 0;
    up_aligned_seek(a, start);
    while (up_course_next(course, &m) && m.time <= end && t->count < (size_t)room) {
        if (isnan(m.current) || isnan(m.leads)) {
            break; /* behind a gap nothing is known of the state */
        }
        sum[0] += m.time;
        sum[1] += m.leads;
        sum[2] += m.current;
        if (++in_block == block) {
            t->time[t->count] = sum[0] / block;
            t->leads[t->count] = sum[1] / block;
            t->current[t->count++] = sum[2] / block;
            sum[0] = sum[1] = sum[2] = 0;
            in_block = 0;
        }
    }
    return 0;
}

static void cut_front(up_transient *t, size_t first) {
    t->count -= first;
    memmove(t->time, t->time + first, t->count * sizeof *t->time);
    memmove(t->leads, t->leads + first, t->count * sizeof *t->leads);
    memmove(t->current, t->current + first, t->count * sizeof *t->current);
}

/* Cuts off what is in front of the switch: the first sample with nearly the whole voltage stays. */
static void begin_at_switch(up_transient *t) {
    size_t first = 0;
    double most = 0;
    for (size_t k = 0; k < t->count; k++) {
        most = fmax(most, fabs(t->leads[k]));
    }
    while (first < t->count && fabs(t->leads[first]) < 0.5 * most) {
        first++;
    }
    cut_front(t, first);
}

/* Leaves out the first so many seconds, but never the last ten samples. */
static void skip(up_transient *t, double time) {
    size_t first = 0;
    while (first + 10 < t->count && t->time[first] < t->time[0] + time) {
        first++;
    }
    cut_front(t, first);
}

/* Behind the first fast part the samples are averaged in blocks: the curve is smooth there and the noise is not. */
static void thin(up_transient *t, double fast) {
    size_t kept = 0;
    while (kept < t->count && t->time[kept] < t->time[0] + fast && kept < FAST_MOST) {
        kept++;
    }
    const size_t block = (t->count - kept) / SLOW_MOST + 1;
    for (size_t from = kept; from + block <= t->count; from += block) {
        double sum[3] = {0, 0, 0};
        for (size_t k = from; k < from + block; k++) {
            sum[0] += t->time[k];
            sum[1] += t->leads[k];
            sum[2] += t->current[k];
        }
        t->time[kept] = sum[0] / (double)block;
        t->leads[kept] = sum[1] / (double)block;
        t->current[kept++] = sum[2] / (double)block;
    }
    t->count = kept;
}

static void add_extra(up_fit_work *work, up_transient *t, int place, double start, double deviation) {
    t->extra[place] = work->extras;
    work->extra_start[work->extras] = start;
    work->extra_deviation[work->extras] = deviation;
    work->extras++;
}

static void add_group(up_fit_work *work, up_fit_group_kind kind, int recording, int rows, up_transient *t,
                      double deviation) {
    if (work->groups < UP_FIT_GROUPS_MAX) {
        work->group[work->groups++] = (up_fit_group){.kind = kind,
                                                     .recording = recording,
                                                     .first = work->rows,
                                                     .rows = rows,
                                                     .deviation = deviation,
                                                     .widening = 1,
                                                     .transient = t};
        work->rows += rows;
    }
}

/* The winding's rise above the air at a time. */
static void warm_at(const up_course *course, double time, up_transient *t) {
    for (size_t k = 0; k < course->clock.count && course->clock.at[k].time <= time; k++) {
        t->rise = course->clock.at[k].rise;
        t->box_rise = course->clock.at[k].box_rise;
    }
}

/* ---- a locked rise -------------------------------------------------------------------------------------------------------- */

/* Time at which the current first passes a share of its end value, s; NaN: never. */
static double passes(const up_transient *t, double share) {
    double end = 0;
    const size_t tail = t->count / 4 + 1;
    for (size_t k = t->count - tail; k < t->count; k++) {
        end += t->current[k] / (double)tail;
    }
    for (size_t k = 1; k < t->count; k++) {
        const double before = t->current[k - 1] / end, here = t->current[k] / end;
        if (before < share && here >= share) {
            return t->time[k - 1] + (t->time[k] - t->time[k - 1]) * (share - before) / (here - before);
        }
    }
    return NAN;
}

/* A rise through resistance and inductance takes 0.288 time constants from 20 to 40 % and 0.489 from 40 to 63.2 % (from
 * 1 - exp(-t)); behind a filter as slow as itself it takes 0.552 and 0.770 (from 1 - (1 + t) exp(-t)): 0.59 against 0.72. */
static int looks_filtered(const up_transient *t) {
    const double a = passes(t, 0.2), b = passes(t, 0.4), c = passes(t, 0.632);
    return b - a > 0.66 * (c - b);
}

/* A locked armature's current only rises; one that gives way dips. Edges tell too. */
static int gives_way(const up_course *course, const up_transient *t) {
    double most = 0, end = 0;
    for (size_t k = 0; k < t->count; k++) {
        const double here = fabs(t->current[k]);
        end = 0.9 * end + 0.1 * here;
        most = end > most ? end : most;
    }
    for (size_t k = 0; k < course->edges.count; k++) {
        if (course->edges.at[k].time > t->time[0] && course->edges.at[k].time < t->time[t->count - 1]) {
            return 1;
        }
    }
    return end < 0.93 * most;
}

static int take_locked(up_fit_work *work, int recording, const up_segment *s) {
    up_course *const course = &work->course[recording];
    up_transient *const t = &work->transient[work->transients];
    const double before = 3 * course->clock_step;
    if (take(course, s->start - before, fmin(s->start + LOCKED_SPAN, s->end), UP_FIT_SAMPLES_MAX, t) != 0) {
        return -1;
    }
    begin_at_switch(t);
    const double rise = t->count > 8 ? passes(t, 0.632) - t->time[0] : NAN;
    if (!(rise > RISE_SAMPLES_LEAST * course->sample_interval)) {
        work->advice |= 1u << UP_FIT_ADVICE_SLOW_SAMPLES;
        drop(t);
        return 0;
    }
    if (looks_filtered(t)) {
        work->advice |= 1u << UP_FIT_ADVICE_FILTERED_CURRENT;
        drop(t);
        return 0;
    }
    if (gives_way(course, t)) {
        work->advice |= 1u << UP_FIT_ADVICE_GAVE_WAY;
        drop(t);
        return 0;
    }
    thin(t, FAST);
    warm_at(course, t->time[0], t);
    t->direction = s->direction;
    add_extra(work, t, 0, t->current[0], NAN);
    add_group(work, UP_FIT_GROUP_LOCKED, recording, (int)t->count, t, 0.01 * course->most_current);
    work->transients++;
    return 0;
}

/* ---- run-up and coast without load ---------------------------------------------------------------------------------------- */

static int take_run_up(up_fit_work *work, int recording, double start, double end, int direction) {
    up_course *const course = &work->course[recording];
    up_transient *const t = &work->transient[work->transients];
    if (take(course, start - 3 * course->clock_step, end + RUN_UP_MORE, UP_FIT_SAMPLES_MAX, t) != 0) {
        return -1;
    }
    begin_at_switch(t);
    if (t->count < 20 || t->time[t->count - 1] - t->time[0] > 2) {
        drop(t);
        return 0;
    }
    const double constant = work->door.inductance / (work->door.winding_resistance + work->door.source_resistance);
    const int slow = course->sample_interval > 0.12 * constant;
    if (slow) {
        /* Between two samples the current bends too much for a straight line: begin where it no longer does. */
        skip(t, 6 * constant);
    }
    thin(t, FAST);
    warm_at(course, t->time[0], t);
    t->direction = direction;
    const double kick = work->door.torque_constant * fabs(t->current[1]) * work->door.per_armature_inertia;
    const double reached = (t->leads[0] - work->door.winding_resistance * t->current[0]) / work->door.torque_constant;
    add_extra(work, t, 0, t->current[0], NAN);
    add_extra(work, t, 1, slow ? reached : 0, slow ? NAN : 1 + kick * course->sample_interval);
    add_group(work, UP_FIT_GROUP_RUN_UP, recording, (int)t->count, t, 0.01 * course->most_current);
    work->transients++;
    return 0;
}

/* Coasting with open leads: the voltage shows the speed. It ends where a tenth of it is left, before friction at rest. */
static int take_coast(up_fit_work *work, int recording, const up_segment *s) {
    up_course *const course = &work->course[recording];
    up_transient *const t = &work->transient[work->transients];
    if (take(course, s->start + 1.5 * course->clock_step, s->end, COAST_SAMPLES, t) != 0) {
        return -1;
    }
    size_t count = 0;
    const double start = t->count ? fabs(t->leads[0]) : 0;
    while (count < t->count && fabs(t->leads[count]) > 0.15 * start &&
           fabs(t->current[count]) < 2 * course->little_current) {
        count++;
    }
    t->count = count;
    if (count < 10 || start < 0.1 * course->most_voltage) {
        drop(t);
        return 0;
    }
    warm_at(course, t->time[0], t);
    t->direction = t->leads[0] < 0 ? -1 : 1;
    add_extra(work, t, 0, t->leads[0] / work->door.torque_constant, NAN);
    add_group(work, UP_FIT_GROUP_COAST, recording, (int)count, t, 0.01 * course->most_voltage);
    work->transients++;
    return 0;
}

static int is_start(const up_course *course, int i) {
    const up_happening here = course->segment[i].happening;
    const int driven = here == UP_HAPPENING_SWITCHING || here == UP_HAPPENING_STALL || here == UP_HAPPENING_RUN_UP ||
                       here == UP_HAPPENING_STEADY;
    return driven && (i == 0 || course->segment[i - 1].happening == UP_HAPPENING_REST);
}

/* End of the run-up that begins with segment i; NaN: it does not come to a steady run. */
static double run_up_end(const up_course *course, int i) {
    for (; i < course->segments; i++) {
        const up_happening here = course->segment[i].happening;
        if (here == UP_HAPPENING_STEADY) {
            return course->segment[i].start;
        }
        if (here == UP_HAPPENING_REST || here == UP_HAPPENING_COAST) {
            break;
        }
    }
    return NAN;
}

int up_fit_take_transients(up_fit_work *work, int recording) {
    up_course *const course = &work->course[recording];
    const up_fit_setting setting = work->request->recording[recording].setting;
    int taken[3] = {0, 0, 0}, status = 0;
    if (course->aligned.leads.track == NULL || setting == UP_FIT_WITH_GLASS) {
        return 0;
    }
    for (int i = 0; i < course->segments && status == 0; i++) {
        const up_segment *const s = &course->segment[i];
        if (work->transients >= TRANSIENTS_MOST || work->extras + 2 > UP_FIT_EXTRAS_MAX) {
            break;
        }
        if (setting == UP_FIT_LOCKED && is_start(course, i) && taken[0] < 3) {
            status = take_locked(work, recording, s);
            taken[0]++;
        } else if (setting == UP_FIT_FREE && is_start(course, i) && taken[1] < 2) {
            const double end = run_up_end(course, i);
            status = isnan(end) ? 0 : take_run_up(work, recording, s->start, end, s->direction);
            taken[1]++;
        } else if (setting == UP_FIT_FREE && s->happening == UP_HAPPENING_COAST && taken[2] < 2) {
            status = take_coast(work, recording, s);
            taken[2]++;
        }
    }
    return status;
}

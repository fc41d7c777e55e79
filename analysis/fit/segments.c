/* Cuts a recording into rest, switching, run-up, steady run, stall and coast, tick by tick of its clock. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/course.h"

static const double SETTLED = 0.93;      /* of the usual speed: from there on the run is steady */
static const double RUN_UP_MOST = 0.15;  /* s: what is still slow then is slow */
static const double STALL_LEAST = 0.03;  /* s */
static const double EDGE_PATIENCE = 6;   /* usual gaps between edges after which it stands */
static const double STANDS_SHARE = 0.25; /* of the voltage left to the motion, by the sheet: less counts as none */
static const double SPEED_SHARE = 0.03;  /* of the highest speed: below that it stands */

const char *up_happening_word(up_happening happening) {
    static const char *const word[] = {"rest", "switching", "run-up", "steady run", "stall", "coast"};
    return (unsigned)happening < UP_HAPPENING_COUNT ? word[happening] : "";
}

/* ---- motion ------------------------------------------------------------------------------------------------------------ */

static int by_value(const void *one, const void *other) {
    const double a = *(const double *)one, b = *(const double *)other;
    return a < b ? -1 : a > b;
}

/* The usual gap between two edges, s. */
static double usual_gap(const up_anchors *edges) {
    enum { LOOKS = 501 };
    double gap[LOOKS];
    size_t count = 0;
    const size_t stride = 1 + edges->count / LOOKS;
    for (size_t k = 1; k < edges->count && count < LOOKS; k += stride) {
        gap[count++] = edges->at[k].time - edges->at[k - 1].time;
    }
    if (count == 0) {
        return INFINITY;
    }
    qsort(gap, count, sizeof *gap, by_value);
    return gap[count / 2];
}

/* First edge after a time. */
static size_t edge_after(const up_anchors *edges, double time) {
    size_t low = 0, high = edges->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (edges->at[middle].time <= time) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Without a motion track: what the voltage leaves to the motion, with the sheet's resistance and drop. Good enough to tell
 * running from standing, no more. */
static double speed_by_voltage(const up_course *course, size_t tick) {
    const size_t half = 4;
    const up_anchor *const a = &course->clock.at[tick > half ? tick - half - 1 : 0];
    const up_anchor *const b =
        &course->clock.at[tick + half < course->clock.count ? tick + half : course->clock.count - 1];
    const double time = b->time - a->time;
    if (!(time > 0) || course->aligned.leads.track == NULL || course->held) {
        return 0;
    }
    const double amps = (b->current - a->current) / time, drop = course->drop * (b->brush - a->brush) / time;
    const double speed = ((b->leads - a->leads) / time - course->resistance * amps - drop) / course->torque_constant;
    const double volts = fabs(b->leads - a->leads) / time;
    return fabs(speed) * course->torque_constant < STANDS_SHARE * volts ? 0 : speed;
}

/* Speed around a tick of the clock, rad/s: over one turn of the encoder's shaft, or of the track. NaN: not known. */
static double speed_at(const up_course *course, size_t tick, double gap) {
    const up_anchors *const edges = &course->edges;
    if (course->motion == UP_MOTION_UNKNOWN || course->motion == UP_MOTION_RIPPLE) {
        return speed_by_voltage(course, tick);
    }
    if (course->motion != UP_MOTION_PULSES) {
        const size_t from = tick > 0 ? tick - 1 : 0;
        const size_t to = tick + 1 < course->clock.count ? tick + 1 : tick;
        const up_anchor *const a = &course->clock.at[from], *const b = &course->clock.at[to];
        return b->time > a->time ? (b->angle - a->angle) / (b->time - a->time) : 0;
    }
    const size_t next = edge_after(edges, course->clock.at[tick].time);
    if (next == 0 || next >= edges->count) {
        return 0;
    }
    const up_anchor *const a = &edges->at[next - 1], *const b = &edges->at[next];
    return b->time - a->time > EDGE_PATIENCE * gap ? 0 : (b->angle - a->angle) / (b->time - a->time);
}

/* ---- states ------------------------------------------------------------------------------------------------------------- */

static void add(up_course *course, up_happening happening, double start, double end, int direction) {
    if (course->segments > 0) {
        up_segment *const last = &course->segment[course->segments - 1];
        if (last->happening == happening && last->direction == direction) {
            last->end = end;
            return;
        }
    }
    if (course->segments < UP_SEGMENTS_MAX) {
        course->segment[course->segments++] = (up_segment){happening, start, end, direction};
    }
}

static up_happening happening_at(const up_course *course, size_t tick, double speed, double usual) {
    const up_anchor *const a = &course->clock.at[tick - 1], *const b = &course->clock.at[tick];
    const double time = b->time - a->time;
    const double amps = (b->current - a->current) / time;
    const double volts = fabs(b->leads - a->leads) / time;
    const int leads = course->aligned.leads.track != NULL;
    const int shorted = leads && volts < 0.1 * course->most_voltage;
    const int driven = fabs(amps) > course->little_current && !shorted;
    const int moving = fabs(speed) > SPEED_SHARE * usual;
    if (driven) {
        return !moving ? UP_HAPPENING_STALL : fabs(speed) < SETTLED * usual ? UP_HAPPENING_RUN_UP : UP_HAPPENING_STEADY;
    }
    return moving ? UP_HAPPENING_COAST : UP_HAPPENING_REST;
}

/* A stall comes after motion or lasts. */
static void tidy(up_course *course) {
    for (int i = 0; i < course->segments; i++) {
        up_segment *const s = &course->segment[i];
        if (s->happening == UP_HAPPENING_STALL && s->end - s->start < STALL_LEAST) {
            s->happening = UP_HAPPENING_SWITCHING;
        }
    }
    int kept = 0;
    for (int i = 1; i < course->segments; i++) {
        up_segment *const last = &course->segment[kept];
        const up_segment *const s = &course->segment[i];
        if (s->happening == last->happening && s->direction == last->direction) {
            last->end = s->end;
        } else {
            course->segment[++kept] = *s;
        }
    }
    course->segments = course->segments > 0 ? kept + 1 : 0;
}

/* The usual speed of a drive: that above which half of the moving ticks are, rad/s. */
static double usual_speed(const up_course *course, double gap) {
    enum { LOOKS = 2001 };
    double speed[LOOKS];
    size_t count = 0;
    const size_t stride = 1 + course->clock.count / LOOKS;
    double most = 0;
    for (size_t k = 1; k < course->clock.count; k += stride) {
        const double here = fabs(speed_at(course, k, gap));
        most = here > most ? here : most;
    }
    for (size_t k = 1; k < course->clock.count && count < LOOKS; k += stride) {
        const double here = fabs(speed_at(course, k, gap));
        if (here > 0.2 * most) {
            speed[count++] = here;
        }
    }
    if (count == 0) {
        return INFINITY;
    }
    qsort(speed, count, sizeof *speed, by_value);
    return speed[count / 2];
}

/* Slow running is a run-up only behind a standstill, and only for a while. */
static up_happening settle(up_happening before, up_happening here, double since) {
    const int late = before == UP_HAPPENING_STEADY || (before == UP_HAPPENING_RUN_UP && since > RUN_UP_MOST);
    return here == UP_HAPPENING_RUN_UP && late ? UP_HAPPENING_STEADY : here;
}

void up_course_segment(up_course *course) {
    const double gap = usual_gap(&course->edges);
    const double usual = usual_speed(course, gap);
    up_happening before = UP_HAPPENING_REST;
    double since = 0;
    course->segments = 0;
    for (size_t k = 1; k < course->clock.count; k++) {
        const up_anchor *const a = &course->clock.at[k - 1], *const b = &course->clock.at[k];
        if (b->time > a->time) {
            const up_happening seen = happening_at(course, k, speed_at(course, k, gap), usual);
            const up_happening here = settle(before, seen, a->time - since);
            since = here == before ? since : a->time;
            before = here;
            add(course, here, a->time, b->time, b->direction);
        }
    }
    tidy(course);
}

int up_course_moves(const up_course *course, double time) {
    for (int i = 0; i < course->segments; i++) {
        const up_segment *const s = &course->segment[i];
        if (time >= s->start && time < s->end) {
            return s->happening == UP_HAPPENING_RUN_UP || s->happening == UP_HAPPENING_STEADY ||
                   s->happening == UP_HAPPENING_COAST;
        }
    }
    return 0;
}

/* Cuts the course of a recording into windows: whole turns while it runs steadily, pieces of 20 ms while it stalls. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"
#include "core/base/up_math.h"

static const double SETTLE = 0.03;        /* s left out in front of an end */
static const double RUN_SETTLE = 0.15;    /* s behind a run-up, several of its time constants */
static const double GLASS_SETTLE = 0.35;  /* the same with the glass, which swings on its regulator after the start */
static const double STALL_SETTLE = 0.15;  /* s until everything is wound up and the armature no longer creeps */
static const double STANDS_SHARE = 0.985; /* of the largest mean current in a stall */
static const double PIECE = 0.02;         /* s */
static const double EDGE_SAMPLES = 200;   /* samples in a window at least, when edges bound it */
static const double LOCK_SETTLE = 0.02;   /* s behind a switch-on until the current has risen */

/* ---- windows ------------------------------------------------------------------------------------------------------------- */

static void difference(const up_anchor *a, const up_anchor *b, up_window *w) {
    *w = (up_window){.start = a->time,
                     .end = b->time,
                     .turned = b->angle - a->angle,
                     .leads = b->leads - a->leads,
                     .battery = b->battery - a->battery,
                     .current = b->current - a->current,
                     .brush = b->brush - a->brush,
                     .warmed = b->warmed - a->warmed,
                     .amps_gain = b->amps - a->amps,
                     .speed_gain = NAN,
                     .box_rise = 0.5 * (a->box_rise + b->box_rise),
                     .speed = (b->angle - a->angle) / (b->time - a->time),
                     .direction = b->direction};
}

/* Speed at an edge, over a turn of the encoder's shaft in front and one behind: its unevenness falls out. */
static double speed_at_edge(const up_anchors *edges, size_t k, size_t turn) {
    if (k < turn || k + turn >= edges->count) {
        return NAN;
    }
    const up_anchor *const a = &edges->at[k - turn], *const b = &edges->at[k + turn];
    return (b->angle - a->angle) / (b->time - a->time);
}

typedef struct cutter {
    up_fit_work *work;
    int recording;
    up_fit_reference place;
    up_window *window;
    int count;
    int clipped;
} cutter;

static up_window *keep(cutter *c, const up_anchor *a, const up_anchor *b, int stalled, int fine, double speed_gain) {
    if (c->count >= UP_FIT_WINDOWS_MAX || b->samples - a->samples < 2 || b->direction == 0) {
        return NULL;
    }
    if (b->spoilt != a->spoilt) {
        c->clipped = 1;
        return NULL;
    }
    if (!stalled && !fine && b->unseen != a->unseen) {
        return NULL; /* a bridged speed proves nothing */
    }
    up_window *const w = &c->window[c->count++];
    difference(a, b, w);
    w->recording = c->recording;
    w->stalled = stalled;
    w->fine = fine;
    w->speed_gain = speed_gain;
    if (stalled) {
        w->turned = w->speed = 0;
        w->place.travel = NAN;
    } else {
        up_fit_place_window(c->work, &c->place, 0.5 * (a->angle + b->angle), w);
    }
    return w;
}

static size_t first_behind(const up_anchors *anchors, double time) {
    size_t low = 0, high = anchors->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (anchors->at[middle].time < time) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Speed over so many turns around a window that the edges' uncertainty drowns; the load changes little
 * meanwhile. */
static void calm(const up_course *course, const up_segment *s, size_t from, size_t to, up_window *w) {
    const up_anchors *const edges = &course->edges;
    const size_t turn = (size_t)course->edges_a_turn;
    const double least = 3 * EDGE_SAMPLES * course->sample_interval;
    while (edges->at[to].time - edges->at[from].time < least && from >= turn && to + turn < edges->count &&
           edges->at[from - turn].time > s->start && edges->at[to + turn].time < s->end) {
        from -= turn;
        to += turn;
    }
    const up_anchor *const a = &edges->at[from], *const b = &edges->at[to];
    w->speed = (b->angle - a->angle) / (b->time - a->time);
}

static double settle_of(const cutter *c) {
    return c->work->request->recording[c->recording].setting == UP_FIT_WITH_GLASS ? GLASS_SETTLE : RUN_SETTLE;
}

static void cut_turns(cutter *c, const up_segment *s, size_t turns, int fine) {
    const up_course *const course = &c->work->course[c->recording];
    const up_anchors *const edges = &course->edges;
    const size_t turn = (size_t)course->edges_a_turn, width = turn * turns;
    size_t k = first_behind(edges, s->start + settle_of(c));
    for (; k + width < edges->count && edges->at[k + width].time < s->end - SETTLE; k += width) {
        const double gain = speed_at_edge(edges, k + width, turn) - speed_at_edge(edges, k, turn);
        up_window *const w = keep(c, &edges->at[k], &edges->at[k + width], 0, fine, gain);
        if (w && fine) {
            calm(course, s, k, k + width, w);
        }
    }
}

/* Gain of speed between two ticks, rad/s, from the ticks beside them; NaN at the ends. */
static double speed_gain_of(const cutter *c, size_t from, size_t to) {
    const up_anchors *const clock = &c->work->course[c->recording].clock;
    const size_t aside = (to - from) / 2 + 1;
    if (from < aside || to + aside >= clock->count) {
        return NAN;
    }
    const up_anchor *const a = &clock->at[from - aside], *const b = &clock->at[from + aside];
    const up_anchor *const e = &clock->at[to - aside], *const f = &clock->at[to + aside];
    return (f->angle - e->angle) / (f->time - e->time) - (b->angle - a->angle) / (b->time - a->time);
}

/* Time from which a stalled drive really stands: while it still winds itself up, its current rises. */
static double stands_from(const up_anchors *clock, const up_segment *s, double settle, double piece) {
    double most = 0;
    for (int look = 0; look < 2; look++) {
        size_t k = first_behind(clock, s->start + settle);
        while (k < clock->count) {
            const size_t next = first_behind(clock, clock->at[k].time + piece * 0.999);
            if (next >= clock->count || clock->at[next].time > s->end - 0.5 * SETTLE) {
                break;
            }
            const up_anchor *const a = &clock->at[k], *const b = &clock->at[next];
            const double amps = fabs(b->current - a->current) / (b->time - a->time);
            if (look == 1 && amps > STANDS_SHARE * most) {
                return a->time;
            }
            most = look == 0 ? fmax(most, amps) : most;
            k = next;
        }
    }
    return s->end;
}

static void cut_pieces(cutter *c, const up_segment *s, double settle, double piece, int stalled, int fine) {
    const up_anchors *const clock = &c->work->course[c->recording].clock;
    size_t k = first_behind(clock, stalled ? stands_from(clock, s, settle, piece) : s->start + settle);
    while (k < clock->count) {
        const size_t next = first_behind(clock, clock->at[k].time + piece * 0.999);
        if (next >= clock->count || clock->at[next].time > s->end - 0.5 * SETTLE) {
            break;
        }
        keep(c, &clock->at[k], &clock->at[next], stalled, fine, stalled ? 0 : speed_gain_of(c, k, next));
        k = next;
    }
}

/* How long the segments of a kind last together, s, and how many turns they hold. */
static double length_of(const up_course *course, up_happening happening) {
    double length = 0;
    for (int i = 0; i < course->segments; i++) {
        const up_segment *const s = &course->segment[i];
        length += s->happening == happening ? s->end - s->start : 0;
    }
    return length;
}

enum { NEIGHBOURS = 4, FINE_MOST = 350, COARSE_MOST = 150, STALL_MOST = 150 };

/* Turns in a window, so that there are no more than so many and it lasts for that long, s. */
static size_t turns_a_window(const up_course *course, int most, double least) {
    const double turn = course->edges_a_turn;
    const double running = length_of(course, UP_HAPPENING_STEADY) + length_of(course, UP_HAPPENING_RUN_UP);
    const double time = turn * running / fmax((double)course->edges.count, 1);
    const size_t by_room = 1 + (size_t)((double)course->edges.count / turn / most);
    const size_t by_time = time > 0 ? (size_t)ceil(least / time) : 1;
    return by_time > by_room ? by_time : by_room;
}

static void cut_run(cutter *c, const up_segment *s) {
    const up_course *const course = &c->work->course[c->recording];
    const double length = length_of(course, UP_HAPPENING_STEADY);
    if (course->motion == UP_MOTION_PULSES) {
        /* An edge is known to a sample: for voltages a window is so long that this is a small share of it. */
        cut_turns(c, s, turns_a_window(course, FINE_MOST, 0), 1);
        cut_turns(c, s, turns_a_window(course, COARSE_MOST, EDGE_SAMPLES * course->sample_interval), 0);
    } else if (course->motion != UP_MOTION_UNKNOWN) {
        cut_pieces(c, s, settle_of(c), fmax(PIECE, length / FINE_MOST), 0, 1);
        cut_pieces(c, s, settle_of(c), fmax(PIECE, length / COARSE_MOST), 0, 0);
    }
}

static void cut(cutter *c) {
    const up_course *const course = &c->work->course[c->recording];
    const int locked = c->work->request->recording[c->recording].setting == UP_FIT_LOCKED;
    const double piece = fmax(PIECE, length_of(course, UP_HAPPENING_STALL) / STALL_MOST);
    for (int i = 0; i < course->segments; i++) {
        const up_segment *const s = &course->segment[i];
        if (s->happening == UP_HAPPENING_STALL) {
            cut_pieces(c, s, locked ? LOCK_SETTLE : STALL_SETTLE, piece, 1, 0);
        } else if (s->happening == UP_HAPPENING_STEADY && !locked) {
            cut_run(c, s);
        }
    }
}

/* Rate of the speed at each fine window, by a straight line through its neighbours; with a voltage the speed that it leaves,
 * which is far smoother than what edges show. */
static void fill_rates(const up_fit_work *work, up_window *window, int count) {
    double p[UP_FIT_COUNT + UP_SQUARES_MOST] = {0}, speed[UP_FIT_WINDOWS_MAX];
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        p[q] = work->door.values.number[up_fit_number((up_fit_quantity)q)];
    }
    for (int k = 0; k < count; k++) {
        speed[k] = up_fit_speed(work, p, &window[k]);
    }
    for (int k = 0; k < count; k++) {
        const double middle = 0.5 * (window[k].start + window[k].end);
        double n = 0, t = 0, v = 0, tt = 0, tv = 0;
        for (int i = k - NEIGHBOURS < 0 ? 0 : k - NEIGHBOURS; i <= k + NEIGHBOURS && i < count; i++) {
            const double time = 0.5 * (window[i].start + window[i].end) - middle;
            const double reach = (NEIGHBOURS + 1) * (window[k].end - window[k].start);
            if (window[i].fine && !window[i].stalled && fabs(time) < reach) {
                n += 1;
                t += time;
                v += speed[i];
                tt += time * time;
                tv += time * speed[i];
            }
        }
        const double spread = n * tt - t * t;
        window[k].speed_rate = window[k].fine && spread > 0 ? (n * tv - t * v) / spread : 0;
    }
}

/* ---- counting ------------------------------------------------------------------------------------------------------------ */

/* Edges from stop to stop, and the count a turn that follows from kinematics. */
static void count_stroke(const up_fit_work *work, const up_course *course, up_fit_course *seen) {
    double at_stop[2] = {NAN, NAN};
    up_fit_reference r[2] = {{0, 0, 0}, {0, 0, 0}};
    for (int i = 1; i < course->segments; i++) {
        const up_segment *const s = &course->segment[i];
        if (s->happening == UP_HAPPENING_STALL && s->end - s->start > 3 * SETTLE && s->direction != 0) {
            const int top = s->direction > 0;
            up_fit_refer_to_stop(work, course, s, &r[top]);
            at_stop[top] = r[top].angle;
        }
    }
    const double angle = fabs(at_stop[1] - at_stop[0]);
    if (isnan(angle) || !(angle > 20)) {
        return;
    }
    const int on_armature = !work->door.encoder_on_output;
    const double turns = fabs(r[1].output - r[0].output) * (on_armature ? work->door.worm_ratio : 1) / (2 * UP_PI);
    seen->stroke_edges = angle / course->edge_angle;
    seen->pulses_a_turn = 0.5 * seen->stroke_edges / turns;
}

/* The count a turn by which the voltage's share of the motion gives the sheet's torque constant. */
static void count_by_constant(const up_fit_work *work, int recording, up_fit_course *seen) {
    const up_door *const d = &work->door;
    const up_values *const v = &work->request->known->values; /* the sheet's, whatever has been fitted meanwhile */
    const up_course *const course = &work->course[recording];
    double volts = 0, turned = 0;
    for (int k = 0; k < work->windows[recording]; k++) {
        const up_window *const w = &work->window[recording][k];
        if (!w->stalled && !w->fine) {
            const double resistance = v->winding_resistance + d->protector_resistance;
            volts += w->direction * (w->leads - resistance * w->current - v->brush_drop * w->brush);
            turned += w->direction * w->turned;
        }
    }
    const int on_armature = !d->encoder_on_output;
    if (volts > 0 && turned > 0 && course->aligned.leads.track) {
        const double pulses = turned / course->edge_angle / 2;
        const double turns = volts / v->torque_constant / (2 * UP_PI) * (on_armature ? 1 : d->per_worm_ratio);
        seen->pulses_by_constant = pulses / turns;
    }
}

static void show(const up_course *course, int place_known, up_fit_course *seen) {
    const up_anchors *const clock = &course->clock;
    *seen = (up_fit_course){.motion = course->motion,
                            .sample_interval = course->sample_interval,
                            .zero = course->zero,
                            .length = clock->count ? clock->at[clock->count - 1].time - clock->at[0].time : 0,
                            .edges = (double)course->edges.count,
                            .place_known = place_known,
                            .stroke_edges = NAN,
                            .pulses_a_turn = NAN,
                            .pulses_by_constant = NAN};
    const int most = (int)(sizeof seen->segment / sizeof seen->segment[0]);
    seen->segments = course->segments < most ? course->segments : most;
    memcpy(seen->segment, course->segment, (size_t)seen->segments * sizeof seen->segment[0]);
}

int up_fit_cut(up_fit_work *work, int recording, up_fit_course *seen) {
    cutter c = {.work = work, .recording = recording};
    c.window = malloc(UP_FIT_WINDOWS_MAX * sizeof *c.window);
    if (!c.window) {
        return -1;
    }
    work->window[recording] = c.window;
    up_fit_refer(work, recording, &c.place);
    work->offset[recording] = -1;
    if (c.place.known && work->course[recording].motion != UP_MOTION_POSITION && work->extras < UP_FIT_EXTRAS_MAX) {
        work->offset[recording] = work->extras;
        work->extra_start[work->extras] = 0.006;
        work->extra_deviation[work->extras++] = 0.006;
    }
    cut(&c);
    work->windows[recording] = c.count;
    fill_rates(work, c.window, c.count);
    work->advice |= c.clipped ? 1u << UP_FIT_ADVICE_CLIPPED : 0;
    show(&work->course[recording], c.place.known, seen);
    if (work->course[recording].motion == UP_MOTION_PULSES) {
        if (work->request->recording[recording].setting == UP_FIT_WITH_GLASS) {
            count_stroke(work, &work->course[recording], seen);
        }
        count_by_constant(work, recording, seen);
    }
    return 0;
}

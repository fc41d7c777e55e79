#include "analysis/fit/course.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/up_math.h"

static const double CLOCK_STEP = 2e-3; /* s */
enum { CLOCKS_MOST = 400000, ANCHORS_MOST = 4000000 };

typedef struct walk {
    up_course *course;
    const up_door *door;
    up_edges edges;
    double next_edge, next_clock;
    up_moment last;
    up_anchor now;
    double position_before;
    int begun, broken;
} walk;

static void keep(walk *w, up_anchors *anchors, const up_anchor *anchor) {
    if (anchors->count == anchors->room) {
        const size_t room = anchors->room ? 2 * anchors->room : 1024;
        up_anchor *const more = room <= ANCHORS_MOST ? realloc(anchors->at, room * sizeof *more) : NULL;
        if (!more) {
            w->broken = 1;
            return;
        }
        anchors->at = more;
        anchors->room = room;
    }
    anchors->at[anchors->count++] = *anchor;
}

/* ---- what the samples look like ----------------------------------------------------------------------------------------- */

static void survey(up_course *course) {
    up_aligned *const aligned = &course->aligned;
    const size_t stride = 1 + aligned->count / 200000;
    const up_track *const current = aligned->current.track;
    const double length = up_track_time(current, aligned->count - 1) - up_track_time(current, 0);
    course->sample_interval = length / (double)(aligned->count - 1);
    for (size_t k = 0; k < aligned->count; k += stride) {
        const double value = fabs(up_track_value(current, k));
        course->most_current = value > course->most_current ? value : course->most_current;
    }
    const up_track *const voltage = aligned->leads.track ? aligned->leads.track : aligned->battery.track;
    for (size_t k = 0; voltage && k < voltage->count; k += stride) {
        const double value = fabs(up_track_value(voltage, k));
        course->most_voltage = value > course->most_voltage ? value : course->most_voltage;
    }
    const double step = current->step > 0 ? current->step : 0;
    course->little_current = fmax(0.02 * course->most_current, fmin(3 * step, 0.2 * course->most_current));
    course->clock_step = fmax(fmax(CLOCK_STEP, 2 * course->sample_interval), length / CLOCKS_MOST);
}

/* A clamp that was not set to zero shows so where nothing flows: with hardly any voltage on the leads, or without one
 * recorded where little flows for long. */
static void find_zero(up_course *course) {
    up_aligned *const a = &course->aligned;
    up_moment m;
    double sum = 0, square = 0;
    long long count = 0;
    const double most = course->most_current;
    up_aligned_rewind(a);
    while (up_aligned_next(a, &m)) {
        const int still = a->leads.track ? fabs(m.leads) < 0.03 * course->most_voltage : 1;
        if (still && fabs(m.current) < 0.05 * most) {
            sum += m.current;
            square += m.current * m.current;
            count++;
        }
    }
    const double seconds = (double)count * course->sample_interval;
    if (count < 20 || seconds < 1e-3) {
        return;
    }
    /* A mean within its own uncertainty is no offset. */
    const double n = (double)count, mean = sum / n;
    const double step = a->current.track->step > 0 ? a->current.track->step : 0;
    const double scatter = fmax(sqrt(fmax(square / n - mean * mean, 0)), step / sqrt(12.0));
    course->zero = fabs(mean) > 4 * scatter / sqrt(n) ? mean : 0;
    course->most_current -= fmin(fabs(course->zero), 0.5 * most);
}

int up_course_next(up_course *course, up_moment *moment) {
    const int there = up_aligned_next(&course->aligned, moment);
    moment->current -= course->zero;
    return there;
}

static void choose_motion(up_course *course, const up_door *door) {
    const up_aligned *const aligned = &course->aligned;
    course->motion = course->motion == UP_MOTION_RIPPLE ? UP_MOTION_RIPPLE
                     : aligned->pulses                  ? UP_MOTION_PULSES
                     : aligned->speed.track             ? UP_MOTION_SPEED
                     : aligned->position.track          ? UP_MOTION_POSITION
                                                        : UP_MOTION_UNKNOWN;
    course->resistance = door->winding_resistance + door->protector_resistance;
    course->drop = door->brush_drop;
    course->torque_constant = door->torque_constant;
    course->edges_a_turn = door->edges_per_turn;
    course->edge_angle = door->edge_spacing * (door->encoder_on_output ? door->worm_ratio : 1);
}

/* ---- one step of the walk ----------------------------------------------------------------------------------------------- */

static double brush_share(double current) {
    return current / sqrt(current * current + UP_BRUSH_CURRENT * UP_BRUSH_CURRENT);
}

/* Two nodes, winding and case, with the sheet's resistances and capacities (docs/model.md, section 8). */
static void warm(walk *w, double current, double time) {
    const up_door *const d = w->door;
    up_anchor *const a = &w->now;
    const double copper = 1 + d->winding_coefficient * (d->temperature + a->rise - UP_ROOM_TEMPERATURE);
    const double heat =
        d->winding_resistance * copper * current * current + d->brush_drop * brush_share(current) * current;
    const double passed = (a->rise - a->box_rise) * d->winding_to_case;
    a->rise += time * (heat - passed) * d->per_winding_capacity;
    a->box_rise += time * (passed - a->box_rise * d->case_to_air) * d->per_case_capacity;
}

static double armature_angle(const walk *w, double position) {
    return w->course->aligned.position_on_glass
               ? w->door->worm_ratio * up_regulator_angle(w->door->regulator, &w->door->values, position)
               : position;
}

static int is_spoilt(const walk *w, const up_moment *m) {
    const up_aligned *const a = &w->course->aligned;
    return isnan(m->current) || (a->leads.track && isnan(m->leads)) || (a->battery.track && isnan(m->battery));
}

static int is_unseen(const walk *w, const up_moment *m) {
    switch (w->course->motion) {
    case UP_MOTION_SPEED:
    case UP_MOTION_RIPPLE:
        return isnan(m->speed);
    case UP_MOTION_POSITION:
        return isnan(m->position);
    case UP_MOTION_UNKNOWN:
    case UP_MOTION_PULSES:
    default:
        return 0;
    }
}

static double known(double value) {
    return isnan(value) ? 0 : value;
}

/* Speed by the voltage, with the sheet's numbers: bridges gaps of the ripple, so that the angle goes on. */
static double bridged_speed(const walk *w, const up_moment *m) {
    const up_course *const c = w->course;
    const int nothing = fabs(known(m->leads)) < 0.1 * c->most_voltage;
    const double volts = m->leads - c->resistance * m->current - c->drop * brush_share(m->current);
    const double speed = nothing || isnan(volts) ? 0 : volts / c->torque_constant;
    return speed * w->now.direction > 0 ? speed : 0;
}

/* From the last moment to this one, along straight lines. */
static void advance(walk *w, const up_moment *m) {
    const up_moment *const l = &w->last;
    up_anchor *const a = &w->now;
    const double time = m->time - l->time;
    const double current = 0.5 * (known(l->current) + known(m->current));
    a->time = m->time;
    a->leads += 0.5 * time * (known(l->leads) + known(m->leads));
    a->battery += 0.5 * time * (known(l->battery) + known(m->battery));
    a->current += time * current;
    a->brush += 0.5 * time * (brush_share(known(l->current)) + brush_share(known(m->current)));
    warm(w, current, time);
    a->warmed += time * current * a->rise;
    a->amps = known(m->current);
    if (w->course->motion == UP_MOTION_SPEED) {
        a->angle += 0.5 * time * (known(l->speed) + known(m->speed));
    }
    if (w->course->motion == UP_MOTION_RIPPLE) {
        const double speed = isnan(m->speed) ? bridged_speed(w, m) : w->now.direction * m->speed;
        a->angle += time * speed;
    }
    w->last = *m;
}

static void look_at_drive(walk *w, const up_moment *m) {
    const double volts = w->course->aligned.leads.track ? m->leads : m->current;
    if (fabs(m->current) > w->course->little_current) {
        const int sign = (isnan(volts) ? m->current : volts) < 0 ? -1 : 1;
        const int braking = w->course->aligned.leads.track && fabs(m->leads) < 0.1 * w->course->most_voltage;
        w->now.direction = braking ? w->now.direction : sign;
    }
}

/* Edges that fall between the last moment and this one get an anchor of their own. */
static void take_edges(walk *w, const up_moment *m) {
    while (w->next_edge <= m->time) {
        if (w->next_edge >= w->last.time) {
            const double share = m->time > w->last.time ? (w->next_edge - w->last.time) / (m->time - w->last.time) : 1;
            const up_moment between = {w->next_edge,
                                       w->last.current + share * (m->current - w->last.current),
                                       w->last.leads + share * (m->leads - w->last.leads),
                                       w->last.battery + share * (m->battery - w->last.battery),
                                       NAN,
                                       NAN};
            advance(w, &between);
            w->now.angle += w->now.direction * w->course->edge_angle;
            keep(w, &w->course->edges, &w->now);
        }
        w->next_edge = up_edges_next(&w->edges);
    }
}

static void take(walk *w, const up_moment *m) {
    if (!w->begun) {
        w->last = *m;
        w->now.time = m->time;
        w->next_clock = m->time;
        w->position_before = armature_angle(w, m->position);
        w->course->start_angle = w->course->aligned.position_on_glass ? w->position_before : NAN;
        w->begun = 1;
    }
    const double leads_before = w->last.leads;
    if (m->time < w->last.time) {
        return; /* a time stamp that steps back */
    }
    look_at_drive(w, m);
    if (w->course->motion == UP_MOTION_PULSES) {
        take_edges(w, m);
    }
    advance(w, m);
    if (w->course->motion == UP_MOTION_POSITION && !isnan(m->position)) {
        const double here = armature_angle(w, m->position);
        w->now.angle += isnan(w->position_before) ? 0 : here - w->position_before;
        w->position_before = here;
    }
    w->now.samples++;
    w->course->jumps += fabs(m->leads - leads_before) > 0.5 * w->course->most_voltage;
    w->now.spoilt += is_spoilt(w, m);
    w->now.unseen += is_unseen(w, m);
    if (m->time >= w->next_clock) {
        keep(w, &w->course->clock, &w->now);
        w->next_clock = fmax(w->next_clock + w->course->clock_step, m->time);
    }
}

up_status up_course_take(up_course *course, const up_recorded *recorded, const up_door *door, int held,
                         const up_track *ripple) {
    memset(course, 0, sizeof *course);
    course->held = held;
    if (up_aligned_open(&course->aligned, recorded) != 0 || course->aligned.count < 20) {
        return UP_BAD_OPTION;
    }
    walk w = {.course = course, .door = door};
    up_moment moment;
    if (ripple && course->aligned.leads.track) {
        course->aligned.speed = (up_cursor){ripple, 0};
        course->motion = UP_MOTION_RIPPLE;
    }
    survey(course);
    find_zero(course);
    choose_motion(course, door);
    up_edges_open(&w.edges, course->aligned.pulses);
    w.next_edge = up_edges_next(&w.edges);
    up_aligned_rewind(&course->aligned);
    while (up_course_next(course, &moment) && !w.broken) {
        take(&w, &moment);
    }
    if (w.broken) {
        return UP_MEMORY_TOO_SMALL;
    }
    up_course_segment(course);
    return UP_OK;
}

void up_course_free(up_course *course) {
    free(course->edges.at);
    free(course->clock.at);
    course->edges = course->clock = (up_anchors){0};
}

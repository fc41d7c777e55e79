#include "core/sim/span.h"

#include <stddef.h>

#include "core/base/up_math.h"

/* What counts as one in each state: local errors are held below tolerance times these. Chosen by trial on 120 random
 * closings: what costs steps (output and glass speed) is weighed by what it does to edge times, the rest is nearly free. */
static const double SCALE[UP_STATES] = {10.0, 40.0, 16.0, 0.025, 0.6, 0.006, 0.0006, 100.0};

static const double LONGEST = 0.03;   /* s, so that no guard can swing unseen while all is calm */
static const double SHORTEST = 1e-12; /* s, below which the run gives up                           */
/* s, longest first try after each kind of change; without the second the ledger would lose what a stiff damper takes up in
 * the first instant, which the motion itself does not show */
static const double FIRST_TRY[] = {[UP_CALM] = 0.03, [UP_BRISK] = 1e-4, [UP_SUDDEN] = 2e-5};

/* ---- interpolation ------------------------------------------------------------------------------------------------- */

double up_span_value(const up_span *span, int n, double after) {
    const double u = after / span->length;
    const double w = 1.0 - u;
    const double rise = span->y1[n] - span->y0[n];
    const double d0 = span->length * span->loads0.rate[n] - rise;
    const double d1 = rise - span->length * span->loads1.rate[n];
    return span->y0[n] + u * rise + u * w * (w * d0 + u * d1);
}

void up_span_state(const up_span *span, double after, double y[UP_STATES]) {
    for (int n = 0; n < UP_STATES; n++) {
        y[n] = up_span_value(span, n, after);
    }
}

void up_span_finish(const up_scene *scene, up_span *span) {
    const up_heat zero = scene->motion->heat;
    const up_heat *rate = &span->loads0.heat_rate;
    up_heat heat = {zero.winding + span->length * rate->winding, zero.box + span->length * rate->box,
                    zero.protector + span->length * rate->protector};
    const up_modes *modes = &scene->motion->modes;
    up_loads_at(scene->door, scene->world, modes, &heat, span->y1, &span->loads1);
    up_span_state(span, 0.5 * span->length, span->y_middle);
    const double half = 0.5 * span->length;
    heat = (up_heat){zero.winding + half * rate->winding, zero.box + half * rate->box,
                     zero.protector + half * rate->protector};
    up_loads_at(scene->door, scene->world, modes, &heat, span->y_middle, &span->middle);
}

/* ---- one step of a given length ---------------------------------------------------------------------------------------- */

typedef struct attempt {
    const up_scene *scene;
    up_piece piece;
    up_slopes slopes;
} attempt;

static attempt begin(const up_scene *scene, const up_span *span) {
    attempt a = {
        .scene = scene,
        .piece = {scene->door, scene->world, &scene->motion->modes, scene->motion->heat, span->loads0.heat_rate}};
    up_slopes_at(&a.piece, span->y0, &span->loads0, &a.slopes);
    scene->counts->jacobian_calls++;
    return a;
}

/* Error in units of the tolerance. */
static double try_length(const attempt *a, up_span *span, double length) {
    double error[UP_STATES];
    span->length = length;
    up_step(&a->piece, &a->slopes, span->y0, &span->loads0, length, span->y1, error);
    a->scene->counts->derivative_calls += 5;
    double sum = 0.0;
    for (int n = 0; n < UP_STATES; n++) {
        const double part = error[n] / (a->scene->tolerance * SCALE[n]);
        sum += part * part;
    }
    return up_sqrt(sum / UP_STATES);
}

/* ---- where a guard becomes negative ------------------------------------------------------------------------------------ */

typedef struct sighting {
    double value[UP_GUARDS];
} sighting;

static sighting look(const up_scene *scene, const double *y, const up_loads *loads) {
    sighting s;
    up_guards_at(scene->door, scene->world, &scene->motion->modes, y, loads, s.value);
    return s;
}

/* A guard that began a little below zero, where rounding left it, sleeps until it has been above or falls further. */
static int crossed(const sighting *from, const sighting *to, int guard) {
    return to->value[guard] < 0.0 && (from->value[guard] >= 0.0 || to->value[guard] < 2.0 * from->value[guard]);
}

static int any_crossed(const sighting *from, const sighting *to) {
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, to, guard)) {
            return 1;
        }
    }
    return 0;
}

/* All guards that are negative are so by less than their tolerance: near enough. */
static int near_enough(const sighting *from, const sighting *to) {
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, to, guard) && to->value[guard] < -up_guard_tolerance(guard)) {
            return 0;
        }
    }
    return 1;
}

/* Earliest straight-line crossing between two sightings, as a share of the way; weight bends it off a stale end. */
static double straight_crossing(const sighting *from, const sighting *low, const sighting *high, double weight) {
    double share = 1.0;
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, high, guard)) {
            const double above = weight * up_max(low->value[guard], 0.0);
            share = up_min(share, above / (above - high->value[guard]));
        }
    }
    return share;
}

/* A crossing as the interpolant shows it: when, of which guard, and how fast that guard falls there. */
typedef struct crossing {
    double after; /* s */
    int guard;
    double fall; /* per s */
} crossing;

/* First guess from the interpolant, where a look costs one evaluation and no step. */
static crossing guess(const up_scene *scene, const up_span *span, const sighting *from, sighting at_end) {
    double low = 0.0;
    double high = span->length;
    sighting at_low = *from;
    double weight = 1.0;
    const up_heat *heat = &scene->motion->heat;
    for (int i = 0; i < 12 && high - low > 1e-9; i++) {
        const double after =
            low + (high - low) * up_clamp(straight_crossing(from, &at_low, &at_end, weight), 0.02, 0.98);
        double y[UP_STATES];
        up_loads loads;
        up_span_state(span, after, y);
        up_loads_at(scene->door, scene->world, &scene->motion->modes, heat, y, &loads);
        scene->counts->derivative_calls++;
        const sighting here = look(scene, y, &loads);
        if (any_crossed(from, &here)) {
            high = after;
            at_end = here;
            if (near_enough(from, &here)) {
                break;
            }
            weight *= 0.5;
        } else {
            low = after;
            at_low = here;
            weight = 1.0;
        }
    }
    int guard = 0;
    while (!crossed(from, &at_end, guard)) {
        guard++;
    }
    return (crossing){high, guard, (at_low.value[guard] - at_end.value[guard]) / (high - low)};
}

/* Narrows [0, length] by real steps until the span ends just past the crossing. */
static void locate(const attempt *a, up_span *span, const sighting *from, sighting at_end) {
    const up_scene *scene = a->scene;
    const crossing seen = guess(scene, span, from, at_end);
    double low = 0.0;
    double high = span->length;
    sighting at_low = *from;
    double after = seen.after;
    double weight = 1.0;
    double made = high; /* length the span holds now */
    for (int i = 0; i < 60 && high - low > 1e-12 + 4e-16 * span->start; i++) {
        (void)try_length(a, span, after);
        up_span_finish(scene, span);
        made = after;
        scene->counts->locating_steps++;
        scene->counts->derivative_calls += 2;
        const sighting here = look(scene, span->y1, &span->loads1);
        if (any_crossed(from, &here)) {
            high = after;
            at_end = here;
            if (near_enough(from, &here)) {
                break;
            }
            weight *= 0.5;
        } else {
            low = after;
            at_low = here;
            weight = 1.0;
        }
        /* Newton with the interpolant's slope, aimed half a tolerance past the crossing; else the straight line */
        const double aim = here.value[seen.guard] + 0.5 * up_guard_tolerance(seen.guard);
        const double newton = after + aim / seen.fall;
        const double share = straight_crossing(from, &at_low, &at_end, weight) * (1.0 + 1e-4);
        const double straight = low + (high - low) * up_clamp(share, 1e-3, 1.0 - 1e-3);
        after = i < 3 && newton > low && newton < high ? newton : straight;
    }
    if (made != high) {
        (void)try_length(a, span, high);
        up_span_finish(scene, span);
    }
}

/* ---- the stepper ----------------------------------------------------------------------------------------------------------- */

static void restart(void *self, const up_scene *scene, int hurry) {
    up_own_stepper *memory = self;
    (void)scene;
    memory->next_length = up_min(memory->next_length, FIRST_TRY[hurry]);
}

static double fourth_root(double x) {
    return up_sqrt(up_sqrt(x));
}

static double next_length(double length, double error) {
    return up_min(LONGEST, length * up_clamp(0.9 / fourth_root(up_max(error, 1e-8)), 0.2, 5.0));
}

/* Where friction lets go as speed grows, the method would step over the runaway and call it damped: no step longer than
 * the time in which the fastest such growth is e-fold. */
static double longest_while_unstable(const up_slopes *slopes) {
    const double growth =
        up_max(slopes->armature_by_armature, up_max(slopes->output_by_output, slopes->glass_by_glass));
    return growth * LONGEST > 1.0 ? 1.0 / growth : LONGEST;
}

static int all_finite(const double *y) {
    double sum = 0.0;
    for (int n = 0; n < UP_STATES; n++) {
        sum += y[n];
    }
    return sum - sum == 0.0;
}

/* A crossing seen in the middle only is believed after a real step to there. */
static void look_for_crossing(const attempt *a, up_span *span) {
    const up_scene *scene = a->scene;
    const sighting from = look(scene, span->y0, &span->loads0);
    sighting here = look(scene, span->y_middle, &span->middle);
    if (any_crossed(&from, &here)) {
        (void)try_length(a, span, 0.5 * span->length);
        up_span_finish(scene, span);
        scene->counts->locating_steps++;
        scene->counts->derivative_calls += 2;
    }
    here = look(scene, span->y1, &span->loads1);
    span->fired = any_crossed(&from, &here);
    if (span->fired && !near_enough(&from, &here)) {
        locate(a, span, &from, here);
    }
}

static up_status advance(void *self, const up_scene *scene, double until, up_span *span) {
    up_own_stepper *memory = self;
    const attempt a = begin(scene, span);
    double length = up_min(memory->next_length, longest_while_unstable(&a.slopes));
    for (;;) {
        const double left = until - span->start;
        if (length > 0.6 * left) {
            length = length >= left ? left : 0.5 * left; /* no crumbs before a deadline */
        }
        const double error = try_length(&a, span, length);
        if (error <= 1.0) {
            if (!all_finite(span->y1)) {
                return UP_NOT_FINITE;
            }
            const double next = next_length(length, error);
            memory->next_length = length < left ? next : up_max(memory->next_length, next);
            break;
        }
        scene->counts->rejected_steps++;
        if (length <= SHORTEST) {
            return error == error ? UP_STEP_LIMIT : UP_NOT_FINITE;
        }
        length = error == error ? up_min(0.9 * length, next_length(length, error)) : 0.1 * length;
    }
    up_span_finish(scene, span);
    scene->counts->steps++;
    scene->counts->derivative_calls += 2;
    look_for_crossing(&a, span);
    return UP_OK;
}

static up_status cut(void *self, const up_scene *scene, double time, up_span *span) {
    (void)self;
    const attempt a = begin(scene, span);
    (void)try_length(&a, span, time - span->start);
    up_span_finish(scene, span);
    scene->counts->derivative_calls += 2;
    span->fired = 0;
    return all_finite(span->y1) ? UP_OK : UP_NOT_FINITE;
}

up_stepper up_own_stepper_make(up_own_stepper *memory) {
    *memory = (up_own_stepper){.next_length = FIRST_TRY[UP_SUDDEN]};
    return (up_stepper){memory, restart, advance, cut};
}

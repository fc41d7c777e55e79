#include "core/sim/span.h"

#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/crossing.h"
#include "core/sim/shaking.h"

static const double SHORTEST = 1e-12; /* s, below which the run gives up */
/* s, longest first try after each kind of change; without the second the ledger would lose what a stiff damper takes up in
 * the first instant, which the motion itself does not show */
static const double FIRST_TRY[] = {[UP_CALM] = 0.03, [UP_BRISK] = 1e-4, [UP_SUDDEN] = 2e-5};

/* ---- interpolation ------------------------------------------------------------------------------------------------- */

/* u: share of the span that is over. */
static inline double value_at(const up_span *span, int n, double u) {
    const double w = 1.0 - u;
    const double rise = span->y1[n] - span->y0[n];
    const double d0 = span->length * span->loads0.rate[n] - rise;
    const double d1 = rise - span->length * span->loads1.rate[n];
    return span->y0[n] + u * rise + u * w * (w * d0 + u * d1);
}

double up_span_value(const up_span *span, int n, double after) {
    return value_at(span, n, after / span->length);
}

void up_span_state(const up_span *span, double after, double y[UP_STATES]) {
    const double u = after / span->length;
    for (int n = 0; n < UP_STATES; n++) {
        y[n] = value_at(span, n, u);
    }
}

void up_span_finish(const up_scene *scene, up_span *span) {
    const up_heat zero = scene->motion->heat;
    const up_heat *rate = &span->loads0.heat_rate;
    up_heat heat = {zero.winding + span->length * rate->winding, zero.box + span->length * rate->box,
                    zero.protector + span->length * rate->protector};
    const up_modes *modes = &scene->motion->modes;
    up_loads_at(scene->door, scene->world, modes, &heat, span->start + span->length, span->y1, &span->loads1);
    up_span_state(span, 0.5 * span->length, span->y_middle);
    const double half = 0.5 * span->length;
    heat = (up_heat){zero.winding + half * rate->winding, zero.box + half * rate->box,
                     zero.protector + half * rate->protector};
    up_loads_at(scene->door, scene->world, modes, &heat, span->start + half, span->y_middle, &span->middle);
}

/* ---- one step of a given length ---------------------------------------------------------------------------------------- */

typedef struct attempt {
    const up_scene *scene;
    up_piece piece;
    up_slopes slopes;
} attempt;

static attempt begin(const up_scene *scene, const up_span *span) {
    attempt a = {.scene = scene,
                 .piece = {scene->door, scene->world, &scene->motion->modes, scene->motion->heat,
                           span->loads0.heat_rate, span->start}};
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
        const double part = error[n] / (a->scene->tolerance * UP_SPAN_SCALE[n]);
        sum += part * part;
    }
    return up_sqrt(sum / UP_STATES);
}

/* ---- where a guard becomes negative ------------------------------------------------------------------------------------ */

/* Narrows [0, length] by real steps until the span ends just past the crossing. */
static void locate(const attempt *a, up_span *span, const up_sighting *from, const up_sighting *at_end) {
    const up_scene *scene = a->scene;
    up_locator locator;
    up_locator_begin(&locator, scene, span, from, at_end);
    while (up_locator_wants(&locator, span->start)) {
        (void)try_length(a, span, locator.after);
        up_span_finish(scene, span);
        scene->counts->locating_steps++;
        scene->counts->derivative_calls += 2;
        const up_sighting here = up_look(scene, span->y1, &span->loads1);
        up_locator_note(&locator, &here);
    }
    if (locator.made != locator.high) {
        (void)try_length(a, span, locator.high);
        up_span_finish(scene, span);
    }
}

/* ---- the stepper ----------------------------------------------------------------------------------------------------------- */

void up_own_stepper_restart(void *self, const up_scene *scene, int hurry) {
    up_own_stepper *memory = self;
    (void)scene;
    memory->next_length = up_min(memory->next_length, FIRST_TRY[hurry]);
}

static double fourth_root(double x) {
    return up_sqrt(up_sqrt(x));
}

/* The length whose error would be a little below the tolerance. */
static double next_length(double length, double error) {
    return up_min(UP_SPAN_LONGEST, length * up_clamp(0.9 / fourth_root(up_max(error, 1e-8)), 0.2, 5.0));
}

up_status up_length_rejected(double *length, double error, double next) {
    if (*length <= SHORTEST) {
        return error == error ? UP_STEP_LIMIT : UP_NOT_FINITE;
    }
    *length = error == error ? up_min(0.9 * *length, next) : 0.1 * *length;
    return UP_OK;
}

void up_length_remember(up_own_stepper *memory, double length, double next, double left) {
    memory->next_length = length < left ? next : up_max(memory->next_length, next);
}

/* Where friction lets go as speed grows, the method would step over the runaway and call it damped: no step longer than
 * the time in which the fastest such growth is e-fold. */
static double longest_while_unstable(const up_slopes *slopes) {
    const double growth =
        up_max(slopes->armature_by_armature, up_max(slopes->output_by_output, slopes->glass_by_glass));
    return growth * UP_SPAN_LONGEST > 1.0 ? 1.0 / growth : UP_SPAN_LONGEST;
}

int up_all_finite(const double *y) {
    double sum = 0.0;
    for (int n = 0; n < UP_STATES; n++) {
        sum += y[n];
    }
    return sum - sum == 0.0;
}

/* A crossing seen in the middle only is believed after a real step to there. */
static void look_for_crossing(const attempt *a, up_span *span) {
    const up_scene *scene = a->scene;
    const up_sighting from = up_look(scene, span->y0, &span->loads0);
    up_sighting here = up_look(scene, span->y_middle, &span->middle);
    if (up_any_crossed(&from, &here)) {
        (void)try_length(a, span, 0.5 * span->length);
        up_span_finish(scene, span);
        scene->counts->locating_steps++;
        scene->counts->derivative_calls += 2;
    }
    here = up_look(scene, span->y1, &span->loads1);
    span->fired = up_any_crossed(&from, &here);
    if (span->fired && !up_near_enough(&from, &here)) {
        locate(a, span, &from, &here);
    }
}

static up_status advance(void *self, const up_scene *scene, double until, up_span *span) {
    up_own_stepper *memory = self;
    const attempt a = begin(scene, span);
    double length = up_min(memory->next_length, up_shaking_longest_step(scene->world, span->start));
    length = up_min(length, longest_while_unstable(&a.slopes));
    for (;;) {
        const double left = until - span->start;
        if (length > 0.6 * left) {
            length = length >= left ? left : 0.5 * left; /* no crumbs before a deadline */
        }
        const double error = try_length(&a, span, length);
        if (error <= 1.0) {
            if (!up_all_finite(span->y1)) {
                return UP_NOT_FINITE;
            }
            up_length_remember(memory, length, next_length(length, error), left);
            break;
        }
        scene->counts->rejected_steps++;
        const up_status status = up_length_rejected(&length, error, next_length(length, error));
        if (status != UP_OK) {
            return status;
        }
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
    return up_all_finite(span->y1) ? UP_OK : UP_NOT_FINITE;
}

up_stepper up_own_stepper_make(up_own_stepper *memory) {
    *memory = (up_own_stepper){.next_length = FIRST_TRY[UP_SUDDEN]};
    return (up_stepper){memory, up_own_stepper_restart, advance, cut};
}

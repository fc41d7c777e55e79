#include "tests/support/workbench.h"

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double FAR_AWAY = 1e6; /* m or rad */

static void nothing(const void *context, double at, up_table_point *point) {
    (void)context;
    (void)at;
    *point = (up_table_point){0, 0, 0};
}

/* A drum or pinion without end: context is the travel per radian. */
static void straight(const void *context, double at, up_table_point *point) {
    const double *ratio = context;
    *point = (up_table_point){*ratio * at, *ratio, 0};
}

static void must(int holds, const char *what) {
    if (!holds) {
        fprintf(stderr, "workbench: %s\n", what);
        abort();
    }
}

static void strip_electrical(up_door *d) {
    d->source_resistance = d->bridge_resistance = 0;
    d->winding_coefficient = d->magnet_coefficient = 0;
    d->brush_drop = 0;
    d->protection = UP_PROTECTION_NONE;
    d->protector_resistance = 0;
    d->motor_friction = d->motor_viscous = 0;
    d->worm_running = d->worm_extra = 0;
}

static void strip_mechanical(up_door *d) {
    d->damper_half_play = FAR_AWAY;
    d->damper_limit = d->damper_down_stop = 2 * FAR_AWAY;
    d->output_drag = d->output_loss = 0;
    d->balance_start = d->balance_slope = 0;
    d->tilt_share = 0;
    d->drag_start = d->drag_slope = 0;
    d->drag_count = 0;
    d->header_start = FAR_AWAY;
    d->header_friction = 0;
    d->travel = FAR_AWAY;
    d->limit_open_angle = FAR_AWAY;
    up_table_make(&d->weight, -1, 1, nothing, NULL);
    const double ratio = bare_ratio(d);
    up_table_make(&d->lift, 0, 100 / ratio, straight, &ratio);
    d->values.glass_lean = 1.5707963267948966; /* the glass slides level on a flat path: no height is gained */
    d->values.glass_curvature = 1e30;
}

void bare_door(workbench *bench) {
    memset(bench, 0, sizeof *bench);
    up_values values;
    up_values_fallback(UP_FAMILY_RACK, &values);
    must(up_door_prepare(&values, 293.15, &bench->door) == UP_OK, "the typical rack door cannot be prepared");
    strip_electrical(&bench->door);
    strip_mechanical(&bench->door);
    bare_glass_friction(&bench->door, 0, 0, 1, 0);
    bare_regulator(&bench->door, 0, 0);
    up_motion *motion = &bench->run.motion;
    motion->heat = (up_heat){293.15, 293.15, 293.15};
    motion->y[UP_TRAVEL] = 1; /* off the down-stop */
    up_modes_at_rest(&bench->door, &bench->run.world, motion->y, &motion->modes);
    motion->modes.bridge = UP_BRIDGE_OPEN;
}

void bare_motor(up_door *d, double resistance, double inductance, double constant, double inertia, double viscous) {
    d->winding_resistance = resistance;
    d->inductance = inductance;
    d->per_inductance = 1 / inductance;
    d->torque_constant = constant;
    d->armature_inertia = inertia;
    d->per_armature_inertia = 1 / inertia;
    d->motor_viscous = viscous;
}

void bare_glass(up_door *d, double mass) {
    d->mass = mass;
    d->per_mass = 1 / mass;
}

void bare_regulator(up_door *d, double stiffness, double damping) {
    d->stiffness = stiffness;
    d->damping = damping;
}

void bare_output(up_door *d, double inertia) {
    d->output_inertia = inertia;
    d->per_output_inertia = 1 / inertia;
}

void bare_glass_friction(up_door *d, double running, double static_extra, double speed, double viscous) {
    d->drag_start = running;
    d->static_extra = static_extra;
    d->per_stribeck_speed = 1 / speed;
    d->viscous = viscous;
}

double bare_ratio(const up_door *door) {
    up_lift_point point;
    up_lift(door, 0, &point);
    return point.ratio;
}

static void tell(void *context, up_event_kind kind) {
    const workbench *bench = context;
    if (bench->told != NULL) {
        bench->told(bench->context, kind);
    }
}

static void settle(workbench *bench, int hurry) {
    up_run_state *run = &bench->run;
    (void)up_settle(&bench->door, &run->world, &run->motion, &run->span.loads0, tell, bench);
    run->stepper.restart(run->stepper.self, &run->scene, hurry);
}

void workbench_start(workbench *bench, double tolerance) {
    up_run_state *run = &bench->run;
    up_run_options_default(&bench->options);
    bench->options.tolerance = tolerance;
    run->door = &bench->door;
    run->options = &bench->options;
    run->sink = &bench->sink;
    run->outcome = &bench->outcome;
    run->stepper = up_own_stepper_make(&bench->memory);
    run->scene = (up_scene){&bench->door, &run->world, &run->motion, tolerance, &run->counts};
    up_stocks_at(&bench->door, &run->world, run->motion.y, run->stock_at_start);
    run->outcome->start_travel = run->motion.y[UP_TRAVEL];
    settle(bench, UP_SUDDEN);
}

void workbench_run(workbench *bench, double until) {
    up_run_state *run = &bench->run;
    up_span *span = &run->span;
    while (run->motion.time < until) {
        span->start = run->motion.time;
        memcpy(span->y0, run->motion.y, sizeof span->y0);
        must(run->stepper.advance(run->stepper.self, &run->scene, until, span) == UP_OK, "the stepper gave up");
        if (bench->span != NULL) {
            bench->span(bench->context, run);
        }
        const int last = span->start + span->length >= until;
        up_run_commit(run);
        if (last) {
            run->motion.time = until;
        }
        if (span->fired) {
            settle(bench, UP_CALM);
        } else {
            span->loads0 = span->loads1;
        }
    }
}

double workbench_ledger_gap(workbench *bench) {
    const double stored_time = bench->outcome.time;
    up_run_close_books(&bench->run);
    bench->outcome.time = stored_time;
    return bench->outcome.ledger_gap;
}

/* One smooth piece of motion, from one accepted time to the next, before it is committed.
 *
 * A stepper produces spans; the run looks for encoder edges and ticks in them, may ask for a shorter one, and commits.
 * The one stepper of the library is in span.c; tests drive the same run with another integrator. */
#ifndef UPSTOP_SIM_SPAN_H
#define UPSTOP_SIM_SPAN_H

#include "core/sim/guards.h"
#include "core/sim/step.h"

/* s, so that no guard can swing unseen while all is calm */
#define UP_SPAN_LONGEST 0.03

/* What counts as one in each state: local errors are held below tolerance times these. Chosen by trial on 120 random
 * closings: what costs steps (output and glass speed) is weighed by what it does to edge times, the rest is nearly free. */
static const double UP_SPAN_SCALE[UP_STATES] = {10.0, 40.0, 16.0, 0.025, 0.6, 0.006, 0.0006, 100.0};

typedef struct up_span {
    double start, length; /* s                                                          */
    double y0[UP_STATES], y1[UP_STATES];
    up_loads loads0, loads1; /* at both ends, in the regimes of the piece                  */
    up_loads middle;         /* at the half, from the interpolant                          */
    double y_middle[UP_STATES];
    int fired; /* 1: a guard is negative at the end, regimes must be settled */
} up_span;

/* What a stepper is told about the run. */
typedef struct up_scene {
    const up_door *door;
    const up_world *world;
    up_motion *motion; /* at the span's start; regimes and temperatures hold for the whole span */
    double tolerance;
    up_run_counts *counts;
} up_scene;

/* How fast things may go after a change of regime. */
enum {
    UP_CALM,  /* all goes on smoothly                                                       */
    UP_BRISK, /* a hard contact: the motion hardly notices, the power into it settles fast  */
    UP_SUDDEN /* a bridge or supply step                                                    */
};

typedef struct up_stepper {
    void *self;
    /* Regimes, world or state were changed at scene->motion: begin anew. hurry: UP_CALM and so on. */
    void (*restart)(void *self, const up_scene *scene, int hurry);
    /* Fills *span from scene->motion to at most `until`. span->loads0 is filled by the caller. */
    up_status (*advance)(void *self, const up_scene *scene, double until, up_span *span);
    /* Shortens the span just made so that it ends at `time`, inside it. */
    up_status (*cut)(void *self, const up_scene *scene, double time, up_span *span);
} up_stepper;

/* The library's own: memory of its step size. */
typedef struct up_own_stepper {
    double next_length; /* s */
} up_own_stepper;

up_stepper up_own_stepper_make(up_own_stepper *memory);
void up_own_stepper_restart(void *self, const up_scene *scene, int hurry);

/* Its judgement of a step of `length` s with an error in units of the tolerance; next: the length that error suggests.
 * An error above 1 is rejected: *length becomes the one to try instead, or the run gives up. */
up_status up_length_rejected(double *length, double error, double next);
/* left: s to the deadline, when the step was begun. */
void up_length_remember(up_own_stepper *memory, double length, double next, double left);
int up_all_finite(const double *y);

/* Cubic interpolant of all states, `after` seconds into the span. */
void up_span_state(const up_span *span, double after, double y[UP_STATES]);
/* State number n of it. */
double up_span_value(const up_span *span, int n, double after);

/* Loads in the middle and at the end, from y0, y1 and loads0; a stepper's last act. */
void up_span_finish(const up_scene *scene, up_span *span);

#endif

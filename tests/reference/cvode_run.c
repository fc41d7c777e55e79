#include "tests/reference/cvode_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "core/sim/run_state.h"
#include "tests/reference/closed_form.h"

enum { WINDING = UP_STATES, BOX, PROTECTOR, STATES_MAX };

/* What counts as one in each state; the absolute tolerances are these times the relative one. */
static const double SCALE[STATES_MAX] = {10.0, 300.0, 4.0, 0.1, 5.0, 0.05, 0.005, 10.0, 100.0, 100.0, 100.0};

struct cvode_run {
    cvode_settings settings;
    int states; /* with temperatures or without */
    SUNContext context;
    void *cvode;
    N_Vector y, floor;
    SUNMatrix matrix;
    SUNLinearSolver linear;
    SUNNonlinearSolver fixed_point;
    closed_form form;
    const up_scene *scene;
    int fresh;                    /* 1: CVODE has to begin anew             */
    up_world world_then;          /* at the last restart                    */
    up_modes modes_then;          /* at the last restart                    */
    double y_then[UP_STATES];     /* at the end of the last span            */
    up_heat heat_then;            /* at the start of the span               */
    up_heat heat_end;             /* at its end                             */
    up_heat heat_rate;            /* K/s there, when heat is kept apart     */
    double heat_time;             /* s, start of the span                   */
    double guard_then[UP_GUARDS]; /* at the start of the span               */
    double looked_at;             /* s, time of `looked`                    */
    up_loads looked;              /* loads at the last look at the guards   */
    double guard_looked[UP_GUARDS];
    cvode_work work;
};

const char *cvode_method_name(cvode_method method) {
    static const char *const name[CVODE_METHODS] = {"bdf_jacobian", "bdf_differences", "adams_jacobian",
                                                    "adams_fixed_point"};
    return name[method];
}

cvode_settings cvode_settings_accurate(double tolerance) {
    return (cvode_settings){
        .method = CVODE_BDF_JACOBIAN, .tolerance = tolerance, .closed_form = 1, .books = 1, .longest = 0.03};
}

cvode_settings cvode_settings_fast(double tolerance) {
    return (cvode_settings){.method = CVODE_BDF_JACOBIAN,
                            .tolerance = tolerance,
                            .books = 1,
                            .heat_apart = 1,
                            .longest = 0.03,
                            .order = 4,
                            .newton = 0.6};
}

/* ---- the equations as CVODE asks for them ----------------------------------------------------------------------------- */

static up_heat heat_at(const cvode_run *run, double time, const double *y) {
    if (run->settings.heat_apart) {
        const double h = time - run->heat_time;
        return (up_heat){run->heat_then.winding + h * run->heat_rate.winding,
                         run->heat_then.box + h * run->heat_rate.box,
                         run->heat_then.protector + h * run->heat_rate.protector};
    }
    return (up_heat){y[WINDING], y[BOX], y[PROTECTOR]};
}

static void put_heat(const cvode_run *run, const up_heat *heat, double *y) {
    if (!run->settings.heat_apart) {
        y[WINDING] = heat->winding;
        y[BOX] = heat->box;
        y[PROTECTOR] = heat->protector;
    }
}

static void loads_at(const cvode_run *run, double time, const double *y, up_loads *loads) {
    const up_scene *s = run->scene;
    const up_heat heat = heat_at(run, time, y);
    if (run->settings.closed_form) {
        closed_form_loads(&run->form, s->world, &s->motion->modes, &heat, time, y, loads);
    } else {
        up_loads_at(s->door, s->world, &s->motion->modes, &heat, time, y, loads);
    }
}

static int rates(realtype t, N_Vector state, N_Vector rate, void *self) {
    cvode_run *run = self;
    double *to = N_VGetArrayPointer(rate);
    up_loads loads;
    loads_at(run, t, N_VGetArrayPointer(state), &loads);
    memcpy(to, loads.rate, sizeof loads.rate);
    put_heat(run, &loads.heat_rate, to);
    return 0;
}

/* How far below zero a guard counts as crossed: what the library allows itself at 1e-9 and above, a tenth at 1e-10. A body
 * that has just been let go stands still at first, and its guard at zero; rounding must not stop it again at once. */
static double slack(const cvode_run *run, int guard) {
    return fmin(1.0, 1e9 * run->settings.tolerance) * up_guard_tolerance(guard);
}

static int guards(realtype t, N_Vector state, realtype *guard, void *self) {
    cvode_run *run = self;
    const up_scene *s = run->scene;
    const double *y = N_VGetArrayPointer(state);
    loads_at(run, t, y, &run->looked);
    run->looked_at = t;
    up_guards_at(s->door, s->world, &s->motion->modes, y, &run->looked, run->guard_looked);
    for (int n = 0; n < UP_GUARDS; n++) {
        guard[n] = run->guard_looked[n] + slack(run, n);
    }
    return 0;
}

/* ---- Jacobian: only steers Newton's iteration, so the library's slopes serve the closed form as well ------------------- */

static void put_motion(const up_slopes *s, SUNMatrix m) {
    SM_ELEMENT_D(m, UP_CURRENT, UP_CURRENT) = s->current_by_current;
    SM_ELEMENT_D(m, UP_CURRENT, UP_ARMATURE_SPEED) = s->current_by_armature;
    SM_ELEMENT_D(m, UP_ARMATURE_SPEED, UP_CURRENT) = s->armature_by_current;
    SM_ELEMENT_D(m, UP_ARMATURE_SPEED, UP_ARMATURE_SPEED) = s->armature_by_armature;
    SM_ELEMENT_D(m, UP_ARMATURE_SPEED, UP_OUTPUT_SPEED) = s->armature_by_output;
    SM_ELEMENT_D(m, UP_ARMATURE_SPEED, UP_ARMATURE_ANGLE) = s->armature_by_armature_angle;
    SM_ELEMENT_D(m, UP_ARMATURE_SPEED, UP_OUTPUT_ANGLE) = s->armature_by_output_angle;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_ARMATURE_SPEED) = s->output_by_armature;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_OUTPUT_SPEED) = s->output_by_output;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_GLASS_SPEED) = s->output_by_glass;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_ARMATURE_ANGLE) = s->output_by_armature_angle;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_OUTPUT_ANGLE) = s->output_by_output_angle;
    SM_ELEMENT_D(m, UP_OUTPUT_SPEED, UP_TRAVEL) = s->output_by_travel;
    SM_ELEMENT_D(m, UP_GLASS_SPEED, UP_OUTPUT_SPEED) = s->glass_by_output;
    SM_ELEMENT_D(m, UP_GLASS_SPEED, UP_GLASS_SPEED) = s->glass_by_glass;
    SM_ELEMENT_D(m, UP_GLASS_SPEED, UP_OUTPUT_ANGLE) = s->glass_by_output_angle;
    SM_ELEMENT_D(m, UP_GLASS_SPEED, UP_TRAVEL) = s->glass_by_travel;
    SM_ELEMENT_D(m, UP_ARMATURE_ANGLE, UP_ARMATURE_SPEED) = 1.0;
    SM_ELEMENT_D(m, UP_OUTPUT_ANGLE, UP_OUTPUT_SPEED) = 1.0;
    SM_ELEMENT_D(m, UP_TRAVEL, UP_GLASS_SPEED) = 1.0;
    SM_ELEMENT_D(m, UP_FILTERED, UP_CURRENT) = s->filter;
    SM_ELEMENT_D(m, UP_FILTERED, UP_FILTERED) = -s->filter;
}

/* Temperatures change over seconds: their rows matter little, the columns that act on the motion are small but easy. */
static void put_heat_slopes(const up_door *door, const up_modes *modes, const double *y, const up_loads *l,
                            SUNMatrix m) {
    const double i = y[UP_CURRENT];
    const double copper = door->winding_resistance * door->winding_coefficient;
    const double magnet = door->torque_constant * door->magnet_coefficient;
    if (l->rate[UP_CURRENT] != 0.0) {
        SM_ELEMENT_D(m, UP_CURRENT, WINDING) = -copper * i / door->inductance;
        SM_ELEMENT_D(m, UP_CURRENT, BOX) = -magnet * y[UP_ARMATURE_SPEED] / door->inductance;
    }
    if (modes->slip[UP_ARMATURE] != 0) {
        SM_ELEMENT_D(m, UP_ARMATURE_SPEED, BOX) = magnet * i / door->armature_inertia;
    }
    SM_ELEMENT_D(m, WINDING, UP_CURRENT) = 2.0 * l->winding * i * door->per_winding_capacity;
    SM_ELEMENT_D(m, WINDING, WINDING) = -door->winding_to_case * door->per_winding_capacity;
    SM_ELEMENT_D(m, WINDING, BOX) = door->winding_to_case * door->per_winding_capacity;
    SM_ELEMENT_D(m, PROTECTOR, PROTECTOR) = -door->protector_to_case * door->per_protector_capacity;
    SM_ELEMENT_D(m, PROTECTOR, BOX) = door->protector_to_case * door->per_protector_capacity;
    SM_ELEMENT_D(m, BOX, WINDING) = door->winding_to_case * door->per_case_capacity;
    SM_ELEMENT_D(m, BOX, PROTECTOR) = door->protector_to_case * door->per_case_capacity;
    SM_ELEMENT_D(m, BOX, BOX) =
        -(door->winding_to_case + door->protector_to_case + door->case_to_air) * door->per_case_capacity;
}

static int jacobian(realtype t, N_Vector state, N_Vector rate, SUNMatrix m, void *self, N_Vector t1, N_Vector t2,
                    N_Vector t3) {
    const cvode_run *run = self;
    const up_scene *s = run->scene;
    const double *y = N_VGetArrayPointer(state);
    const up_piece piece = {s->door, s->world, &s->motion->modes, heat_at(run, t, y), {0, 0, 0}, t};
    up_loads loads;
    up_slopes slopes;
    (void)rate, (void)t1, (void)t2, (void)t3;
    up_loads_at(s->door, s->world, &s->motion->modes, &piece.heat, t, y, &loads);
    up_slopes_at(&piece, y, &loads, &slopes);
    put_motion(&slopes, m);
    if (!run->settings.heat_apart) {
        put_heat_slopes(s->door, &s->motion->modes, y, &loads, m);
    }
    return 0;
}

/* ---- from CVODE's steps to spans ---------------------------------------------------------------------------------------- */

/* State at a time that CVODE has just passed. */
static int state_at(cvode_run *run, double time) {
    return CVodeGetDky(run->cvode, time, 0, run->y);
}

/* Both ends and the middle of the span; run->y is the state at `time`. */
static int fill(cvode_run *run, double time, up_span *span) {
    double *y = N_VGetArrayPointer(run->y);
    span->length = time - span->start;
    memcpy(span->y1, y, sizeof span->y1);
    if (run->looked_at == time) {
        span->loads1 = run->looked;
    } else {
        loads_at(run, time, y, &span->loads1);
    }
    run->heat_end = heat_at(run, time, y);
    if (!run->settings.books) {
        span->middle = span->loads1;
        memcpy(span->y_middle, span->y1, sizeof span->y_middle);
        return 0;
    }
    const double half = span->start + 0.5 * span->length;
    const int bad = state_at(run, half);
    memcpy(span->y_middle, y, sizeof span->y_middle);
    loads_at(run, half, y, &span->middle);
    return bad;
}

/* Deadlines may leave less room than CVODE starts in: a straight line then. */
static void crumb(cvode_run *run, double until, up_span *span) {
    double *y = N_VGetArrayPointer(run->y);
    const double h = until - span->start;
    for (int n = 0; n < UP_STATES; n++) {
        y[n] = span->y0[n] + h * span->loads0.rate[n];
    }
    run->heat_end = run->heat_then;
    put_heat(run, &run->heat_then, y);
    memcpy(span->y1, y, sizeof span->y1);
    memcpy(span->y_middle, y, sizeof span->y_middle);
    loads_at(run, until, y, &span->loads1);
    span->middle = span->loads1;
    span->length = h;
    span->fired = 0;
    run->fresh = 1;
}

/* The library's rule: a guard that began below zero sleeps until it has been above or falls further. */
static int unseen(const cvode_run *run) {
    const double *end = run->guard_looked;
    for (int n = 0; n < UP_GUARDS; n++) {
        const double line = -slack(run, n);
        if (end[n] < line && (run->guard_then[n] >= line || end[n] < 2.0 * run->guard_then[n])) {
            return 1;
        }
    }
    return 0;
}

static int unseen_at(cvode_run *run, double time) {
    double guard[UP_GUARDS];
    if (run->looked_at != time) {
        (void)state_at(run, time);
        (void)guards(time, run->y, guard, run);
    }
    return unseen(run);
}

/* CVODE's root finder does not see a guard that begins below its line. */
static double halve(cvode_run *run, double low, double high) {
    while (high - low > 1e-13 + 4e-16 * high) {
        const double half = 0.5 * (low + high);
        if (unseen_at(run, half)) {
            high = half;
        } else {
            low = half;
        }
    }
    (void)unseen_at(run, high);
    run->work.sleepers++;
    return high;
}

static int library_sees_it(const cvode_run *run, double time) {
    const up_scene *s = run->scene;
    const double *y = N_VGetArrayPointer(run->y);
    const up_heat heat = heat_at(run, time, y);
    double guard[UP_GUARDS];
    up_loads loads;
    up_loads_at(s->door, s->world, &s->motion->modes, &heat, time, y, &loads);
    up_guards_at(s->door, s->world, &s->motion->modes, y, &loads, guard);
    for (int n = 0; n < UP_GUARDS; n++) {
        if (guard[n] < 0.0) {
            return 1;
        }
    }
    return 0;
}

/* Regimes are changed by the library's own guards; its tables differ from the closed form by some 1e-8 N: go on until
 * both agree. */
static double nudge(cvode_run *run, double time) {
    double own, more = 1e-13;
    (void)CVodeGetCurrentTime(run->cvode, &own);
    while (!library_sees_it(run, time) && time + more < own) {
        time += more;
        more *= 2.0;
        (void)state_at(run, time);
    }
    return time;
}

/* ---- the stepper ------------------------------------------------------------------------------------------------------- */

/* The limit contact acts on nothing that moves: CVODE need not notice. */
static int only_limit_changed(const cvode_run *run, const up_scene *scene) {
    up_modes now = scene->motion->modes;
    now.limit = run->modes_then.limit;
    return memcmp(&now, &run->modes_then, sizeof now) == 0 &&
           memcmp(scene->world, &run->world_then, sizeof run->world_then) == 0 &&
           memcmp(scene->motion->y, run->y_then, sizeof run->y_then) == 0;
}

static void restart(void *self, const up_scene *scene, int hurry) {
    cvode_run *run = self;
    (void)hurry;
    run->fresh |= !only_limit_changed(run, scene);
}

/* CVODE counts from its last restart. */
static void keep_work(cvode_run *run) {
    cvode_work *w = &run->work;
    long steps = 0, rates_made = 0, setups = 0, error_fails = 0, newton_fails = 0, looks = 0, jacobians = 0, more = 0;
    if (w->restarts == 0) {
        return;
    }
    (void)CVodeGetNumSteps(run->cvode, &steps);
    (void)CVodeGetNumRhsEvals(run->cvode, &rates_made);
    (void)CVodeGetNumLinSolvSetups(run->cvode, &setups);
    (void)CVodeGetNumErrTestFails(run->cvode, &error_fails);
    (void)CVodeGetNumNonlinSolvConvFails(run->cvode, &newton_fails);
    (void)CVodeGetNumGEvals(run->cvode, &looks);
    if (run->linear != NULL) {
        (void)CVodeGetNumJacEvals(run->cvode, &jacobians);
        (void)CVodeGetNumLinRhsEvals(run->cvode, &more);
    }
    w->steps += steps;
    w->rates += rates_made + more;
    w->jacobians += jacobians;
    w->guards += looks;
    w->setups += setups;
    w->error_fails += error_fails;
    w->newton_fails += newton_fails;
}

static int begin_anew(cvode_run *run, up_span *span) {
    const up_scene *scene = run->scene;
    double *y = N_VGetArrayPointer(run->y);
    memcpy(y, span->y0, sizeof span->y0);
    put_heat(run, &run->heat_then, y);
    if (run->settings.closed_form) {
        loads_at(run, span->start, y, &span->loads0);
    }
    run->modes_then = scene->motion->modes;
    run->world_then = *scene->world;
    keep_work(run);
    run->fresh = 0;
    run->work.restarts++;
    return CVodeReInit(run->cvode, span->start, run->y);
}

static up_status advance(void *self, const up_scene *scene, double until, up_span *span) {
    cvode_run *run = self;
    run->scene = scene;
    if (run->settings.heat_apart) {
        run->heat_end = scene->motion->heat;
        run->heat_rate = span->loads0.heat_rate;
    }
    run->heat_then = run->heat_end;
    run->heat_time = span->start;
    if (run->fresh && begin_anew(run, span) != 0) {
        return UP_NOT_FINITE;
    }
    scene->motion->heat = run->heat_then;
    up_guards_at(scene->door, scene->world, &scene->motion->modes, span->y0, &span->loads0, run->guard_then);
    run->looked_at = -1.0;
    double time;
    (void)CVodeSetStopTime(run->cvode, until);
    const int said = until - span->start < 1e-11 ? CV_TOO_CLOSE : CVode(run->cvode, until, run->y, &time, CV_ONE_STEP);
    scene->counts->steps++;
    if (said == CV_TOO_CLOSE) {
        crumb(run, until, span);
        return UP_OK;
    }
    if (said < 0) {
        return UP_NOT_FINITE;
    }
    span->fired = said == CV_ROOT_RETURN;
    if (!span->fired && unseen_at(run, time)) {
        span->fired = 1;
        time = halve(run, span->start, time);
    }
    if (span->fired && run->settings.closed_form) {
        time = nudge(run, time);
    }
    if (fill(run, time, span) != 0) {
        return UP_NOT_FINITE;
    }
    memcpy(run->y_then, span->y1, sizeof span->y1);
    return UP_OK;
}

static up_status cut(void *self, const up_scene *scene, double time, up_span *span) {
    cvode_run *run = self;
    (void)scene;
    run->looked_at = -1.0;
    run->fresh = 1;
    span->fired = 0;
    return state_at(run, time) == 0 && fill(run, time, span) == 0 ? UP_OK : UP_NOT_FINITE;
}

/* ---- making and running ------------------------------------------------------------------------------------------------ */

static int set_up_solver(cvode_run *run) {
    void *cvode = run->cvode;
    if (run->settings.method == CVODE_ADAMS_FIXED) {
        run->fixed_point = SUNNonlinSol_FixedPoint(run->y, 0, run->context);
        return run->fixed_point == NULL || CVodeSetNonlinearSolver(cvode, run->fixed_point) != 0;
    }
    run->matrix = SUNDenseMatrix(run->states, run->states, run->context);
    run->linear = run->matrix ? SUNLinSol_Dense(run->y, run->matrix, run->context) : NULL;
    if (run->linear == NULL || CVodeSetLinearSolver(cvode, run->linear, run->matrix) != 0) {
        return 1;
    }
    return run->settings.method != CVODE_BDF_DIFFERENCES && CVodeSetJacFn(cvode, jacobian) != 0;
}

static int set_up(cvode_run *run) {
    const cvode_settings *s = &run->settings;
    const int adams = s->method == CVODE_ADAMS_JACOBIAN || s->method == CVODE_ADAMS_FIXED;
    int falling[UP_GUARDS];
    for (int n = 0; n < UP_GUARDS; n++) {
        falling[n] = -1;
    }
    if (SUNContext_Create(NULL, &run->context) != 0) {
        return 1;
    }
    run->y = N_VNew_Serial(run->states, run->context);
    run->floor = N_VNew_Serial(run->states, run->context);
    run->cvode = CVodeCreate(adams ? CV_ADAMS : CV_BDF, run->context);
    if (run->y == NULL || run->floor == NULL || run->cvode == NULL) {
        return 1;
    }
    N_VConst(0.0, run->y);
    for (int n = 0; n < run->states; n++) {
        N_VGetArrayPointer(run->floor)[n] = s->tolerance * SCALE[n];
    }
    int bad = CVodeInit(run->cvode, rates, 0.0, run->y);
    bad |= CVodeSetErrFile(run->cvode, NULL);
    bad |= CVodeSVtolerances(run->cvode, s->tolerance, run->floor);
    bad |= CVodeSetUserData(run->cvode, run);
    bad |= CVodeRootInit(run->cvode, UP_GUARDS, guards);
    bad |= CVodeSetRootDirection(run->cvode, falling);
    bad |= CVodeSetNoInactiveRootWarn(run->cvode);
    bad |= CVodeSetMaxStep(run->cvode, s->longest);
    bad |= s->order > 0 && CVodeSetMaxOrd(run->cvode, s->order) != 0;
    bad |= s->newton > 0 && CVodeSetNonlinConvCoef(run->cvode, s->newton) != 0;
    return bad | set_up_solver(run);
}

cvode_run *cvode_run_make(const cvode_settings *settings) {
    cvode_run *run = calloc(1, sizeof *run);
    if (run == NULL) {
        return NULL;
    }
    run->settings = *settings;
    run->states = settings->heat_apart ? UP_STATES : STATES_MAX;
    if (set_up(run) != 0) {
        cvode_run_free(run);
        return NULL;
    }
    return run;
}

void cvode_run_free(cvode_run *run) {
    if (run == NULL) {
        return;
    }
    CVodeFree(&run->cvode);
    if (run->fixed_point != NULL) {
        SUNNonlinSolFree(run->fixed_point);
    }
    if (run->linear != NULL) {
        SUNLinSolFree(run->linear);
    }
    if (run->matrix != NULL) {
        SUNMatDestroy(run->matrix);
    }
    if (run->y != NULL) {
        N_VDestroy(run->y);
    }
    if (run->floor != NULL) {
        N_VDestroy(run->floor);
    }
    SUNContext_Free(&run->context);
    free(run);
}

up_status cvode_run_closing(cvode_run *run, const up_door *door, const up_run_options *options, const up_sink *sink,
                            up_outcome *outcome, up_run_counts *counts, cvode_work *work) {
    memset(&run->work, 0, sizeof run->work);
    run->fresh = 1;
    run->heat_end = (up_heat){door->temperature, door->temperature, door->temperature};
    if (run->settings.closed_form) {
        closed_form_make(&run->form, &door->values, door->temperature);
    }
    /* its root finder looks at the ends of its steps: none may stride over a push that lets a sticking body go */
    const double cells = options->shaking != NULL ? 0.5 * options->shaking->spacing : run->settings.longest;
    (void)CVodeSetMaxStep(run->cvode, fmin(cells, run->settings.longest));
    const up_stepper stepper = {run, restart, advance, cut};
    const up_status status = up_run_with(door, options, sink, outcome, counts, stepper);
    keep_work(run);
    if (work != NULL) {
        *work = run->work;
    }
    return status;
}

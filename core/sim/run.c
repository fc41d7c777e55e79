#include "core/sim/run.h"

#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/run_state.h"

static void tell(void *context, up_event_kind kind) {
    up_run_state *run = context;
    up_run_event(run, run->motion.time, kind);
}

/* Regimes for the present state; loads ready for the next span. */
void up_run_settle(up_run_state *run, int hurry) {
    const up_damper_regime before = run->motion.modes.damper;
    run->counts.mode_changes += (uint64_t)up_settle(run->door, &run->world, &run->motion, &run->span.loads0, tell, run);
    run->counts.derivative_calls++;
    if (hurry == UP_CALM && run->motion.modes.damper != before) {
        hurry = UP_BRISK;
    }
    run->stepper.restart(run->stepper.self, &run->scene, hurry);
}

/* ---- protector ------------------------------------------------------------------------------------------------------- */

/* Time inside the span at which the protector's temperature passes its mark; the span's end when it does not. */
double up_run_protector_passes(const up_run_state *run) {
    const up_span *span = &run->span;
    const up_door *door = run->door;
    const double end = span->start + span->length;
    if (door->protection == UP_PROTECTION_NONE) {
        return end;
    }
    const double from = run->motion.heat.protector;
    const double rise =
        span->length / 6.0 *
        (span->loads0.heat_rate.protector + 4.0 * span->middle.heat_rate.protector + span->loads1.heat_rate.protector);
    const double mark = run->motion.modes.tripped ? door->protector_reset : door->protector_trip;
    const int passes =
        run->motion.modes.tripped ? from > mark && from + rise <= mark : from < mark && from + rise >= mark;
    return passes ? span->start + span->length * up_clamp((mark - from) / rise, 1e-6, 1.0) : end;
}

static void change_protector(up_run_state *run) {
    up_modes *modes = &run->motion.modes;
    const double i = run->motion.y[UP_CURRENT];
    modes->tripped = !modes->tripped;
    run->motion.heat.protector = modes->tripped ? run->door->protector_trip : run->door->protector_reset;
    run->outcome->protector_trips += modes->tripped;
    if (modes->tripped && run->door->protection == UP_PROTECTION_BIMETAL) {
        run->outcome->ledger[UP_LEDGER_switching] += 0.5 * run->door->inductance * i * i;
        run->motion.y[UP_CURRENT] = 0.0;
    }
    up_run_event(run, run->motion.time, modes->tripped ? UP_EVENT_PROTECTOR_TRIPPED : UP_EVENT_PROTECTOR_RESET);
}

/* ---- end of the run --------------------------------------------------------------------------------------------------- */

static int nothing_due(const up_run_state *run) {
    const up_run_options *o = run->options;
    const int busy = run->controlled && run->controller.duty != UP_DUTY_REST;
    const int driven = run->motion.modes.bridge == UP_BRIDGE_RAISE || run->motion.modes.bridge == UP_BRIDGE_LOWER;
    return !busy && !driven && run->queued == 0 && run->next_switch >= o->switch_steps &&
           run->next_supply >= o->supply_steps && up_run_battery_deadline(run) >= o->time_limit;
}

/* At complete rest for the rest time, with nothing left to come. A window that starts takes a debounce and a relay. */
int up_run_is_over(up_run_state *run) {
    const double i = run->motion.y[UP_CURRENT];
    const int still = up_run_is_still(run, UP_ARMATURE) && up_run_is_still(run, UP_OUTPUT) &&
                      up_run_is_still(run, UP_GLASS) && i < 0.01 && i > -0.01;
    if (!still || !nothing_due(run)) {
        run->rest_since = UP_ABSENT;
    } else if (up_is_absent(run->rest_since)) {
        run->rest_since = run->motion.time;
    }
    const double reaction = up_run_next_deadline(run) < run->options->time_limit ? 1e9 : 0.0;
    const double wait = run->options->rest_time + reaction + run->door->values.debounce + 4 * run->door->tick;
    return run->motion.time >= run->options->time_limit || run->motion.time - run->rest_since >= wait;
}

/* ---- the loop ------------------------------------------------------------------------------------------------------------ */

double up_run_open_span(up_run_state *run) {
    if (up_run_due_now(run)) {
        up_run_settle(run, UP_SUDDEN);
    }
    up_span *span = &run->span;
    span->start = run->motion.time;
    for (int n = 0; n < UP_STATES; n++) {
        span->y0[n] = run->motion.y[n];
    }
    return up_run_next_deadline(run);
}

void up_run_trip_at_end(up_run_state *run) {
    up_run_commit(run);
    change_protector(run);
    up_run_settle(run, UP_SUDDEN);
}

int up_run_close_span(up_run_state *run, double deadline) {
    up_span *span = &run->span;
    const int fired = span->fired;
    const int at_deadline = span->start + span->length >= deadline;
    up_run_commit(run);
    if (at_deadline) {
        run->motion.time = deadline;
    }
    if (fired) {
        up_run_settle(run, UP_CALM);
    }
    return !fired;
}

int up_run_falls_at_once(up_run_state *run, double stop) {
    if (stop - run->span.start < 1e-12) {
        run->motion.time = up_max(stop, run->span.start);
        return 1;
    }
    return 0;
}

/* One span: make it, shorten it for what falls due inside, commit it, change regimes at its end. */
static up_status one_span(up_run_state *run) {
    up_span *span = &run->span;
    const double deadline = up_run_open_span(run);
    up_status status = run->stepper.advance(run->stepper.self, &run->scene, deadline, span);
    if (status != UP_OK) {
        return status;
    }
    const double trip = up_run_protector_passes(run);
    const int trips = trip < span->start + span->length;
    if (trips) {
        status = run->stepper.cut(run->stepper.self, &run->scene, trip, span);
    }
    const double stop = up_run_discrete(run);
    if (stop < span->start + span->length && status == UP_OK) {
        if (up_run_falls_at_once(run, stop)) {
            return UP_OK;
        }
        status = run->stepper.cut(run->stepper.self, &run->scene, stop, span);
    } else if (trips) {
        up_run_trip_at_end(run);
        return status;
    }
    if (up_run_close_span(run, deadline)) {
        span->loads0 = span->loads1;
    }
    return status;
}

static up_status loop(up_run_state *run) {
    while (!up_run_is_over(run)) {
        const up_status status = one_span(run);
        if (status != UP_OK) {
            return status;
        }
        if (run->steps_left-- == 0) {
            return UP_STEP_LIMIT;
        }
        if (run->sink->stop != NULL && run->sink->stop(run->sink->context)) {
            return UP_STOPPED;
        }
    }
    return UP_OK;
}

up_status up_run_start(up_run_state *run, const up_door *door, const up_run_options *options, const up_sink *sink,
                       up_outcome *outcome, up_stepper stepper) {
    static const up_sink nobody = {0};
    *run = (up_run_state){.door = door,
                          .options = options,
                          .sink = sink != NULL ? sink : &nobody,
                          .outcome = outcome,
                          .stepper = stepper};
    const up_status status = up_run_begin(run);
    if (status != UP_OK) {
        return status;
    }
    run->scene = (up_scene){door, &run->world, &run->motion, options->tolerance, &run->counts};
    up_stocks_at(door, &run->world, run->motion.y, run->stock_at_start);
    up_run_settle(run, UP_SUDDEN);
    return UP_OK;
}

void up_run_end(up_run_state *run, up_run_counts *counts) {
    if (run->options->memory != NULL) {
        *run->options->memory = run->controller.memory;
    }
    up_run_event(run, run->motion.time, UP_EVENT_RUN_ENDS);
    up_run_close_books(run);
    if (counts != NULL) {
        *counts = run->counts;
    }
}

up_status up_run_with(const up_door *door, const up_run_options *options, const up_sink *sink, up_outcome *outcome,
                      up_run_counts *counts, up_stepper stepper) {
    up_run_state run;
    up_status status = up_run_start(&run, door, options, sink, outcome, stepper);
    if (status != UP_OK) {
        return status;
    }
    status = loop(&run);
    up_run_end(&run, counts);
    return status;
}

up_status up_run(const up_door *door, const up_run_options *options, const up_sink *sink, up_outcome *outcome,
                 up_run_counts *counts) {
    up_own_stepper memory;
    return up_run_with(door, options, sink, outcome, counts, up_own_stepper_make(&memory));
}

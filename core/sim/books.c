/* What is written down of a run: samples, events, peaks, means, the energy ledger. */
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/run_state.h"

/* Slower than this nobody sees a body move, rad/s, rad/s, m/s: a tenth of a millimetre in ten seconds. */
static const double UNSEEN[UP_BODIES] = {0.1, 1e-3, 1e-5};

static const double TINY = 1e-30; /* A, rad, m and so on: nothing */

/* ---- trace ---------------------------------------------------------------------------------------------------------- */

static double lcm_of(int a, int b) {
    int x = a;
    int y = b;
    while (y != 0) {
        const int rest = x % y;
        x = y;
        y = rest;
    }
    return (double)a / x * b;
}

/* Commutation ripple rides on the current with lcm(segments, poles) humps a turn. It is how a scope shows the current;
 * it does not act back on the motion (docs/model.md). */
static double with_ripple(const up_door *door, double current, double armature_angle) {
    const double humps = lcm_of((int)door->values.segments, (int)door->values.poles);
    const double turn = armature_angle - 2 * UP_PI * __builtin_floor(armature_angle / (2 * UP_PI));
    return current * (1.0 + door->values.ripple * up_cos(humps * turn));
}

static void fill_electrical(const up_run_state *run, const double *y, const up_loads *l, up_sample *s) {
    const up_modes *modes = &run->motion.modes;
    const double i = y[UP_CURRENT];
    const int raising = modes->bridge == UP_BRIDGE_RAISE;
    const int lowering = modes->bridge == UP_BRIDGE_LOWER;
    const double drawn = raising ? i : (lowering ? -i : 0.0);
    s->battery_voltage = run->world.open_voltage - run->door->values.supply_resistance * drawn;
    s->motor_voltage =
        modes->bridge == UP_BRIDGE_OPEN ? l->torque_constant * y[UP_ARMATURE_SPEED] : l->source - l->loop * i;
    s->current = i;
    s->ripple_current = with_ripple(run->door, i, y[UP_ARMATURE_ANGLE]);
    s->filtered_current = y[UP_FILTERED];
}

static void fill_controller(const up_run_state *run, up_sample *s) {
    const up_controller *c = &run->controller;
    const int raising = run->controlled && c->duty == UP_DUTY_RAISE && c->detector.armed;
    s->limit_contact = run->motion.modes.limit != UP_LIMIT_IN_GAP;
    s->encoder_level = (double)(run->edge_index & 1);
    s->counted_opening = run->controlled && c->position_known
                             ? run->door->travel - up_travel_at_edges(run->door, (double)c->opening)
                             : UP_ABSENT;
    s->detector_excess = raising ? c->detector.excess / 16.0 : 0.0;
    s->detector_threshold = run->door->control.detector.threshold / 16.0;
}

static void give_sample(up_run_state *run, double time) {
    const double after = time - run->span.start;
    double y[UP_STATES];
    up_loads l;
    up_sample s = {.time = time};
    up_span_state(&run->span, after, y);
    up_loads_at(run->door, &run->world, &run->motion.modes, &run->motion.heat, time, y, &l);
    fill_electrical(run, y, &l, &s);
    s.armature_angle = y[UP_ARMATURE_ANGLE];
    s.armature_speed = y[UP_ARMATURE_SPEED];
    s.output_angle = y[UP_OUTPUT_ANGLE];
    s.output_speed = y[UP_OUTPUT_SPEED];
    s.damper_angle = l.windup;
    s.damper_torque = l.damper_torque;
    s.travel = y[UP_TRAVEL];
    s.speed = y[UP_GLASS_SPEED];
    s.lift_force = l.lift_force;
    s.friction_force = run->motion.modes.slip[UP_GLASS] != 0
                           ? l.glass_friction
                           : up_clamp(l.net[UP_GLASS], -l.hold_down[UP_GLASS], l.hold_up[UP_GLASS]);
    s.header_force = l.header_force;
    s.rod_force = l.rod_force;
    s.stop_force = l.up_force - l.down_force;
    s.winding_temperature = run->motion.heat.winding;
    s.case_temperature = run->motion.heat.box;
    fill_controller(run, &s);
    run->sink->sample(run->sink->context, &s);
}

void up_run_samples_before(up_run_state *run, double time) {
    const double interval = run->options->sample_interval;
    if (run->sink->sample == NULL || !(interval > 0)) {
        return;
    }
    while (run->next_sample < time) {
        give_sample(run, run->next_sample);
        run->next_sample += interval;
    }
}

/* What is told from inside a span shows the state of its instant, not of the span's start. */
static void state_at(const up_run_state *run, double time, double y[UP_STATES]) {
    const double after = time - run->span.start;
    if (time > run->motion.time && after <= run->span.length) {
        up_span_state(&run->span, after, y);
    } else {
        for (int n = 0; n < UP_STATES; n++) {
            y[n] = run->motion.y[n];
        }
    }
}

void up_run_event(up_run_state *run, double time, up_event_kind kind) {
    up_outcome *o = run->outcome;
    if (kind == UP_EVENT_GLASS_STARTS || kind == UP_EVENT_GLASS_TURNS) {
        run->glass_started = time;
        if (up_is_absent(o->start_delay)) {
            o->start_delay = time - run->options->switch_step[0].time;
        }
    } else if (kind == UP_EVENT_ROD_TOUCHED && up_is_absent(o->rod_touch_time)) {
        o->rod_touch_time = time;
    }
    if (run->sink->event != NULL) {
        double y[UP_STATES];
        state_at(run, time, y);
        const double depth = y[UP_TRAVEL] - run->world.rod_travel;
        const up_event event = {time,
                                y[UP_TRAVEL],
                                y[UP_GLASS_SPEED],
                                run->world.rod && depth > 0 ? run->world.rod_stiffness * depth : 0.0,
                                y[UP_CURRENT],
                                kind};
        run->sink->event(run->sink->context, &event);
    }
}

/* ---- peaks and means ----------------------------------------------------------------------------------------------- */

static void keep_peaks(up_run_state *run) {
    up_outcome *o = run->outcome;
    const up_span *span = &run->span;
    const up_loads *l = &span->loads1;
    o->peak_current = up_max(o->peak_current, up_abs(span->y_middle[UP_CURRENT]));
    o->peak_current = up_max(o->peak_current, up_abs(span->y1[UP_CURRENT]));
    o->peak_stop_force = up_max(o->peak_stop_force, up_max(l->up_force, l->down_force));
    o->peak_winding_temperature = up_max(o->peak_winding_temperature, run->motion.heat.winding);
    if (l->rod_force > o->peak_rod_force) {
        o->peak_rod_force = l->rod_force;
        o->peak_rod_time = span->start + span->length;
    }
    run->highest = up_max(run->highest, span->y1[UP_TRAVEL]);
    if (o->reversals > 0) {
        if (up_is_absent(o->reversal_travel) || run->highest > o->reversal_travel) {
            o->reversal_travel = run->highest;
        }
    }
}

/* Steady running: driven, the glass moves freely, the start is over. */
static void keep_means(up_run_state *run) {
    const up_modes *m = &run->motion.modes;
    const up_span *span = &run->span;
    const int driven = m->bridge == UP_BRIDGE_RAISE || m->bridge == UP_BRIDGE_LOWER;
    const int untouched = !m->header && !m->rod && !m->up_stop && !m->down_stop;
    const double start_over = 0.15; /* s after the glass began to move */
    if (!driven || !untouched || m->slip[UP_GLASS] == 0 || run->outcome->reversals > 0 ||
        !(span->start > run->glass_started + start_over)) {
        return;
    }
    run->mean_time += span->length;
    run->mean_current +=
        span->length / 6.0 * up_abs(span->y0[UP_CURRENT] + 4.0 * span->y_middle[UP_CURRENT] + span->y1[UP_CURRENT]);
    run->mean_distance += up_abs(span->y1[UP_TRAVEL] - span->y0[UP_TRAVEL]);
}

/* ---- ledger ------------------------------------------------------------------------------------------------------------ */

static double simpson(double length, double first, double middle, double last) {
    return length / 6.0 * (first + 4.0 * middle + last);
}

static void keep_flows(up_run_state *run) {
    const up_span *span = &run->span;
    const up_modes *modes = &run->motion.modes;
    double first[UP_FLOWS];
    double middle[UP_FLOWS];
    double last[UP_FLOWS];
    up_flows_at(run->door, modes, span->y0, &span->loads0, first);
    up_flows_at(run->door, modes, span->y_middle, &span->middle, middle);
    up_flows_at(run->door, modes, span->y1, &span->loads1, last);
    for (int n = 0; n < UP_FLOWS; n++) {
        run->outcome->ledger[n] += simpson(span->length, first[n], middle[n], last[n]);
    }
}

static void add_flows(up_run_state *run) {
    for (int n = 0; n < UP_FLOWS; n++) {
        run->outcome->ledger[n] += run->flow[n];
    }
}

static void keep_heat(up_run_state *run) {
    const up_span *span = &run->span;
    const up_heat *a = &span->loads0.heat_rate;
    const up_heat *m = &span->middle.heat_rate;
    const up_heat *b = &span->loads1.heat_rate;
    up_heat *heat = &run->motion.heat;
    heat->winding += simpson(span->length, a->winding, m->winding, b->winding);
    heat->box += simpson(span->length, a->box, m->box, b->box);
    heat->protector += simpson(span->length, a->protector, m->protector, b->protector);
}

/* The last instant at which anyone could have seen the glass move: a stop that only rounding decides does not count. */
static void keep_moving(up_run_state *run) {
    const up_span *span = &run->span;
    if (up_abs(span->y1[UP_GLASS_SPEED]) >= UNSEEN[UP_GLASS]) {
        run->last_moved = span->start + span->length;
    } else if (up_abs(span->y0[UP_GLASS_SPEED]) >= UNSEEN[UP_GLASS]) {
        double moving = 0.0;
        double still = span->length;
        while (still - moving > 1e-9) {
            const double after = 0.5 * (moving + still);
            if (up_abs(up_span_value(span, UP_GLASS_SPEED, after)) >= UNSEEN[UP_GLASS]) {
                moving = after;
            } else {
                still = after;
            }
        }
        run->last_moved = span->start + still;
    }
}

void up_run_commit(up_run_state *run) {
    const up_span *span = &run->span;
    if (run->flow == NULL) {
        keep_flows(run);
    } else {
        add_flows(run);
    }
    keep_means(run);
    keep_moving(run);
    up_run_samples_before(run, span->start + span->length);
    keep_heat(run);
    keep_peaks(run);
    run->motion.time = span->start + span->length;
    for (int n = 0; n < UP_STATES; n++) {
        /* a decaying current would crawl through the denormal numbers, at ten times the cost and to no end */
        run->motion.y[n] = span->y1[n] < TINY && span->y1[n] > -TINY ? 0.0 : span->y1[n];
    }
}

int up_run_is_still(const up_run_state *run, int body) {
    return run->motion.modes.slip[body] == 0 || up_abs(run->motion.y[UP_ARMATURE_SPEED + body]) < UNSEEN[body];
}

static up_end how_it_ended(const up_run_state *run) {
    const up_modes *m = &run->motion.modes;
    const int moved = !up_is_absent(run->outcome->start_delay);
    const int still = up_run_is_still(run, UP_GLASS);
    const int driven = m->bridge == UP_BRIDGE_RAISE || m->bridge == UP_BRIDGE_LOWER;
    if (run->outcome->reversals > 0 && !run->told_top) {
        return still && !driven ? UP_END_REVERSED : UP_END_RUNNING;
    }
    if (run->told_top) {
        return UP_END_CLOSED;
    }
    if (run->told_bottom) {
        return UP_END_OPENED;
    }
    if (driven) {
        return still && moved ? UP_END_STALLED : (still ? UP_END_HELD : UP_END_RUNNING);
    }
    if (!moved) {
        return UP_END_HELD;
    }
    if (run->told_released) {
        return UP_END_RELEASED;
    }
    return still ? UP_END_STOPPED_SHORT : UP_END_RUNNING;
}

void up_run_close_books(up_run_state *run) {
    up_outcome *o = run->outcome;
    double stock[UP_LEDGER_COUNT] = {0};
    up_stocks_at(run->door, &run->world, run->motion.y, stock);
    for (int n = UP_LEDGER_kinetic; n < UP_LEDGER_pushed; n++) {
        o->ledger[n] = stock[n] - run->stock_at_start[n];
    }
    o->final_travel = run->motion.y[UP_TRAVEL];
    o->ledger[UP_LEDGER_pushed] = -run->world.push * (o->final_travel - o->start_travel);
    double rest = 0.0;
    for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_COUNT; n++) {
        rest += o->ledger[n];
    }
    o->ledger_gap = o->ledger[UP_LEDGER_drawn] - rest;
    if (!(o->time > 0)) {
        o->time = run->motion.time;
    }
    const int moved =
        !up_is_absent(run->first_drive) && !up_is_absent(o->start_delay) && !up_is_absent(run->last_moved);
    o->moving_time = moved ? run->last_moved - run->first_drive : 0.0;
    o->running_current = run->mean_time > 0 ? run->mean_current / run->mean_time : 0.0;
    o->running_speed = run->mean_time > 0 ? run->mean_distance / run->mean_time : 0.0;
    o->reversed_distance = up_is_absent(o->reversal_travel) ? 0.0 : o->reversal_travel - o->final_travel;
    o->edges = run->edges_passed;
    o->end = how_it_ended(run);
}

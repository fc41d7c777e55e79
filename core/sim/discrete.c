/* What happens at instants inside a smooth piece: encoder edges, controller ticks, bridge changes. */
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/run_state.h"

static const double NEVER = 1e300;

/* ---- encoder ------------------------------------------------------------------------------------------------------ */

typedef struct shaft {
    int angle, speed; /* states of the encoder's shaft */
    int way;          /* the way it turns: +1, -1, 0   */
} shaft;

static shaft encoder_shaft(const up_run_state *run) {
    const int body = run->door->encoder_on_output ? UP_OUTPUT : UP_ARMATURE;
    return (shaft){UP_ARMATURE_ANGLE + body, UP_ARMATURE_SPEED + body, run->motion.modes.slip[body]};
}

/* Place of edge number k on the shaft, rad. */
static double edge_place(const up_door *door, int64_t k) {
    int64_t in_turn = k % door->edges_per_turn;
    if (in_turn < 0) {
        in_turn += door->edges_per_turn;
    }
    return ((double)k + door->edge_offset[in_turn]) * door->edge_spacing;
}

/* Angle of the shaft by the interpolant of degree five through angle, speed and acceleration at both ends; u in 0..1.
 * Errors of the cubic would be seen in edge times; these are below a nanosecond at the step lengths used. */
typedef struct quintic {
    double c[6];
    double per_rise; /* 1 / (angle at the end - angle at the start) */
} quintic;

static quintic shaft_motion(const up_span *span, shaft s) {
    const double h = span->length;
    const double a0 = span->y0[s.angle];
    const double v0 = h * span->y0[s.speed];
    const double b0 = 0.5 * h * h * span->loads0.rate[s.speed];
    const double rise = span->y1[s.angle] - a0 - v0 - b0;
    const double turn = h * span->y1[s.speed] - v0 - 2.0 * b0;
    const double curl = h * h * span->loads1.rate[s.speed] - 2.0 * b0;
    return (quintic){{a0, v0, b0, 10.0 * rise - 4.0 * turn + 0.5 * curl, -15.0 * rise + 7.0 * turn - curl,
                      6.0 * rise - 3.0 * turn + 0.5 * curl},
                     1.0 / (span->y1[s.angle] - a0)};
}

/* u at which the angle reaches `place`, known to lie in low..1; Newton from a straight line, kept inside by halving. The
 * last correction is below 1e-6 of the span, so what it leaves is below 1e-12. */
static double reach(const quintic *q, double place, double low, double way) {
    const double *c = q->c;
    double high = 1.0;
    double u = (place - c[0]) * q->per_rise;
    u = u > low && u < high ? u : 0.5 * (low + high);
    for (int i = 0; i < 60; i++) {
        const double miss = c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * (c[4] + u * c[5])))) - place;
        const double slope = c[1] + u * (2 * c[2] + u * (3 * c[3] + u * (4 * c[4] + u * 5 * c[5])));
        if (way * miss > 0) {
            high = u;
        } else {
            low = u;
        }
        const double newton = u - miss / slope;
        const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
        const double change = next - u;
        u = next;
        if (change < 1e-6 && change > -1e-6) {
            break;
        }
    }
    return u;
}

/* Time of the next edge in the span at or after `from`; NEVER when there is none. */
static double next_edge(const up_run_state *run, shaft s, const quintic *q, double from) {
    if (s.way == 0) {
        return NEVER;
    }
    const up_span *span = &run->span;
    const double place = edge_place(run->door, s.way > 0 ? run->edge_index : run->edge_index - 1);
    if (s.way * (span->y1[s.angle] - place) < 0) {
        return NEVER;
    }
    const double low = up_clamp((from - span->start) / span->length, 0.0, 1.0);
    return span->start + span->length * reach(q, place, low, s.way);
}

static int hears_edges(const up_run_state *run) {
    const up_detector *detector = &run->controller.detector;
    return run->door->control.detector.principle == UP_DETECTOR_BY_PACE || detector->by_pulses || !detector->armed;
}

/* What reaches the controller. */
static void take_edge(up_run_state *run, shaft s, double time) {
    const uint32_t now_us = (uint32_t)(uint64_t)(time * 1e6);
    const up_listener *listener = run->options->listener;
    const int32_t direction = s.way > 0 ? -1 : 1;
    up_controller_edge(&run->controller, &run->door->control, now_us, &run->measured, direction);
    if (listener != NULL) {
        listener->edge(listener->context, now_us, direction);
    }
    if (hears_edges(run)) {
        up_run_note_reading(run, time, run->controller.duty);
    }
}

static void pass_edge(up_run_state *run, shaft s, double time) {
    run->edge_index += s.way > 0 ? 1 : -1;
    run->edges_passed++;
    run->counts.edges++;
    if (run->sink->edge != NULL) {
        run->sink->edge(run->sink->context, time, (int)(run->edge_index & 1));
    }
    for (int arrivals = up_run_edge_arrivals(run, time); arrivals > 0; arrivals--) {
        take_edge(run, s, time);
    }
}

/* ---- controller ------------------------------------------------------------------------------------------------------ */

static void order_bridge(up_run_state *run, double time, up_bridge bridge) {
    if (run->queued < UP_BRIDGE_QUEUE) {
        run->queue[run->queued++] = (up_bridge_change){time, bridge};
    } else {
        run->queue[UP_BRIDGE_QUEUE - 1] = (up_bridge_change){time, bridge};
    }
}

static void tell_all(up_run_state *run, double time, unsigned told) {
    static const struct {
        unsigned bit;
        up_event_kind kind;
    } row[] = {{UP_TOLD_PINCH, UP_EVENT_PINCH_SEEN},     {UP_TOLD_STALL, UP_EVENT_STALL_SEEN},
               {UP_TOLD_REVERSAL, UP_EVENT_REVERSAL},    {UP_TOLD_TOP, UP_EVENT_TOP_FOUND},
               {UP_TOLD_BOTTOM, UP_EVENT_BOTTOM_FOUND},  {UP_TOLD_TOUCH_REFUSED, UP_EVENT_ONE_TOUCH_REFUSED},
               {UP_TOLD_REST, UP_EVENT_CONTROLLER_RESTS}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        if (told & row[i].bit) {
            up_run_event(run, time, row[i].kind);
        }
    }
    run->told_top |= (told & UP_TOLD_TOP) != 0;
    run->told_bottom |= (told & UP_TOLD_BOTTOM) != 0 && run->outcome->reversals == 0;
    run->told_released |= (told & UP_TOLD_RELEASED) != 0;
    if (told & UP_TOLD_REVERSAL) {
        run->outcome->reversals++;
        if (!(run->outcome->detection_time >= 0)) {
            run->outcome->detection_time = time;
        }
    }
    if (told & UP_TOLD_REST) {
        run->outcome->time = time;
    }
}

static void read_switch(up_run_state *run, double time) {
    const up_run_options *o = run->options;
    while (run->next_switch < o->switch_steps && o->switch_step[run->next_switch].time <= time) {
        run->hand = o->switch_step[run->next_switch].position;
        run->next_switch++;
        up_run_event(run, time, UP_EVENT_SWITCH);
    }
    const double off = o->ignition_off_time;
    if (run->powered && off == off && time >= off + run->door->retained_power) {
        run->powered = 0;
        up_run_event(run, time, UP_EVENT_POWER_LOST);
    }
}

static void tick(up_run_state *run, double time) {
    const up_span *span = &run->span;
    const double after = time - span->start;
    run->counts.ticks++;
    run->next_tick++;
    read_switch(run, time);
    if (run->battery == UP_BATTERY_OFF) {
        return;
    }
    const up_bridge bridge = run->motion.modes.bridge;
    const double drawn = bridge == UP_BRIDGE_RAISE   ? up_span_value(span, UP_CURRENT, after)
                         : bridge == UP_BRIDGE_LOWER ? -up_span_value(span, UP_CURRENT, after)
                                                     : 0.0;
    const double supply = run->world.open_voltage - run->door->source_resistance * drawn;
    run->measured = (up_measured){(uint32_t)(up_clamp(supply, 0.0, 65.0) * 1000.0), up_run_measured_ma(run, after)};
    const up_control_inputs inputs = {.now_us = (uint32_t)(uint64_t)(time * 1e6 + 0.5),
                                      .hand = (int)run->hand,
                                      .limit_closed = up_run_limit_closed(run) != 0,
                                      .powered = run->powered != 0,
                                      .supply_mv = run->measured.supply_mv,
                                      .current_ma = run->measured.current_ma};
    const up_duty duty = run->controller.duty;
    const unsigned told = up_controller_tick(&run->controller, &run->door->control, &inputs);
    if (run->options->listener != NULL) {
        run->options->listener->tick(run->options->listener->context, &inputs, told);
    }
    if (!hears_edges(run)) {
        up_run_note_reading(run, time, duty);
    }
    tell_all(run, time, told);
    if (run->controller.drive != run->asked) {
        static const up_bridge bridge_of[] = {UP_BRIDGE_BRAKE, UP_BRIDGE_RAISE, UP_BRIDGE_LOWER};
        run->asked = run->controller.drive;
        order_bridge(run, time + run->door->bridge_delay, bridge_of[run->asked]);
    }
}

/* ---- both, in order ------------------------------------------------------------------------------------------------------ */

double up_run_discrete(up_run_state *run) {
    const up_span *span = &run->span;
    const double end = span->start + span->length;
    const shaft s = encoder_shaft(run);
    const quintic q = shaft_motion(span, s);
    double edge = next_edge(run, s, &q, span->start);
    double at = run->controlled ? up_run_tick_time(run) : NEVER;
    for (;;) {
        const double stop = run->queued > 0 ? up_min(end, run->queue[0].time) : end;
        if (edge > stop && at > stop) {
            return stop;
        }
        up_run_samples_before(run, edge < at ? edge : at);
        if (edge <= at) {
            pass_edge(run, s, edge);
            edge = next_edge(run, s, &q, edge);
        } else {
            tick(run, at);
            at = up_run_tick_time(run);
        }
    }
}

/* ---- changes due at the end of a span ---------------------------------------------------------------------------------------- */

int up_run_set_bridge(up_run_state *run, up_bridge bridge) {
    static const up_event_kind kind[] = {[UP_BRIDGE_BRAKE] = UP_EVENT_BRIDGE_BRAKE,
                                         [UP_BRIDGE_RAISE] = UP_EVENT_BRIDGE_RAISE,
                                         [UP_BRIDGE_LOWER] = UP_EVENT_BRIDGE_LOWER,
                                         [UP_BRIDGE_OPEN] = UP_EVENT_BRIDGE_OPEN};
    if (run->motion.modes.bridge == bridge) {
        return 0;
    }
    run->motion.modes.bridge = bridge;
    up_run_event(run, run->motion.time, kind[bridge]);
    if (bridge == UP_BRIDGE_OPEN) {
        const double i = run->motion.y[UP_CURRENT];
        run->outcome->ledger[UP_LEDGER_switching] += 0.5 * run->door->inductance * i * i;
        run->motion.y[UP_CURRENT] = 0.0;
    }
    if ((bridge == UP_BRIDGE_RAISE || bridge == UP_BRIDGE_LOWER) && !(run->first_drive >= 0)) {
        run->first_drive = run->motion.time;
    }
    if (bridge == UP_BRIDGE_RAISE) {
        run->highest = run->motion.y[UP_TRAVEL];
    }
    return 1;
}

up_bridge up_run_bridge_of_hand(up_switch hand) {
    static const up_bridge bridge_of[] = {UP_BRIDGE_OPEN, UP_BRIDGE_RAISE, UP_BRIDGE_RAISE, UP_BRIDGE_LOWER,
                                          UP_BRIDGE_LOWER};
    return bridge_of[hand];
}

static int leads_due(up_run_state *run) {
    const up_run_options *o = run->options;
    int changed = 0;
    while (!run->controlled && run->next_switch < o->switch_steps &&
           o->switch_step[run->next_switch].time <= run->motion.time) {
        run->hand = o->switch_step[run->next_switch].position;
        up_run_event(run, run->motion.time, UP_EVENT_SWITCH);
        if (!o->leads_open && run->battery != UP_BATTERY_OFF) {
            changed |= up_run_set_bridge(run, up_run_bridge_of_hand(run->hand));
        }
        run->next_switch++;
    }
    return changed;
}

int up_run_due_now(up_run_state *run) {
    const up_run_options *o = run->options;
    int changed = up_run_battery_due(run);
    changed |= leads_due(run);
    while (run->queued > 0 && run->queue[0].time <= run->motion.time) {
        changed |= up_run_set_bridge(run, run->queue[0].bridge);
        run->queued--;
        for (int i = 0; i < run->queued; i++) {
            run->queue[i] = run->queue[i + 1];
        }
    }
    while (run->next_supply < o->supply_steps && o->supply_step[run->next_supply].time <= run->motion.time) {
        run->world.open_voltage = o->supply_step[run->next_supply].open_voltage;
        run->next_supply++;
        changed = 1;
        up_run_event(run, run->motion.time, UP_EVENT_SUPPLY_STEP);
    }
    return changed;
}

double up_run_next_deadline(const up_run_state *run) {
    const up_run_options *o = run->options;
    double next = up_min(o->time_limit, up_run_battery_deadline(run));
    if (run->queued > 0) {
        next = up_min(next, run->queue[0].time);
    }
    if (run->next_supply < o->supply_steps) {
        next = up_min(next, o->supply_step[run->next_supply].time);
    }
    if (!run->controlled && run->next_switch < o->switch_steps) {
        next = up_min(next, o->switch_step[run->next_switch].time);
    }
    return next;
}

/* What is broken while it runs: edges that do not arrive or arrive twice, late ticks, a stuck contact, a wrong current, a
 * battery that is taken away. */
#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "core/sim/run_state.h"

int up_faults_make_sense(const up_faults *f, double tick) {
    const int dead = up_is_absent(f->encoder_dead_time) || (f->encoder_dead_time >= 0 && f->encoder_dead_time <= 1e6);
    const int lost = up_is_absent(f->battery_lost_time) || (f->battery_lost_time >= 0 && f->battery_lost_time <= 1e6);
    const int back = up_is_absent(f->battery_back_time) ||
                     (f->battery_back_time > f->battery_lost_time && f->battery_back_time <= 1e6);
    return dead && lost && back && f->limit_stuck >= 0 && f->limit_stuck <= 2 && f->current_offset >= -1000.0 &&
           f->current_offset <= 1000.0 && f->tick_jitter >= 0 && f->tick_jitter <= 0.9 * tick;
}

int up_run_edge_arrivals(up_run_state *run, double time) {
    const up_faults *f = &run->options->faults;
    const uint64_t number = run->edges_passed;
    if (!run->controlled || !run->powered || run->battery == UP_BATTERY_OFF) {
        return 0;
    }
    if (time >= f->encoder_dead_time) {
        if (!run->encoder_died) {
            run->encoder_died = 1;
            up_run_event(run, time, UP_EVENT_ENCODER_DEAD);
        }
        return 0;
    }
    if (number == f->lost_edge) {
        up_run_event(run, time, UP_EVENT_EDGE_LOST);
        return 0;
    }
    const uint64_t missed_stream = 11;
    const double missed = run->door->missed_share;
    if (missed > 0 && up_random_unit(run->options->seed, missed_stream, number) < missed) {
        return 0;
    }
    if (number == f->doubled_edge) {
        up_run_event(run, time, UP_EVENT_EDGE_DOUBLED);
        return 2;
    }
    return 1;
}

double up_run_tick_time(const up_run_state *run) {
    const double nominal = (double)run->next_tick * run->door->tick;
    const uint64_t jitter_stream = 13;
    const double jitter = run->options->faults.tick_jitter;
    return jitter > 0 ? nominal + jitter * up_random_unit(run->options->seed, jitter_stream, run->next_tick) : nominal;
}

int up_run_limit_closed(const up_run_state *run) {
    const int stuck = run->options->faults.limit_stuck;
    return stuck == 0 ? run->motion.modes.limit != UP_LIMIT_IN_GAP : stuck == 2;
}

int32_t up_run_measured_ma(const up_run_state *run, double after) {
    const double measured = up_span_value(&run->span, UP_FILTERED, after) + run->options->faults.current_offset;
    return (int32_t)__builtin_floor(up_clamp(measured, -2000.0, 2000.0) * 1000.0 + 0.5);
}

/* ---- battery ----------------------------------------------------------------------------------------------------- */

/* The current is cut at once; a relay takes its time to fall. The controller forgets, its learned profile apart. */
static void forget(up_run_state *run) {
    const up_detector_memory kept = run->controller.memory;
    up_controller_start(&run->controller, &run->door->control, &kept, 0, true, up_run_limit_closed(run));
}

static int lose_battery(up_run_state *run) {
    const up_bridge bridge = run->motion.modes.bridge;
    run->battery = UP_BATTERY_OFF;
    up_run_event(run, run->motion.time, UP_EVENT_BATTERY_LOST);
    if (run->controlled && run->controller.duty != UP_DUTY_REST) {
        run->outcome->time = run->motion.time;
    }
    forget(run);
    run->asked = run->controller.drive;
    run->queued = 0;
    if (bridge != UP_BRIDGE_RAISE && bridge != UP_BRIDGE_LOWER) {
        return 0;
    }
    if (run->controlled) {
        run->queue[run->queued++] = (up_bridge_change){run->motion.time + run->door->bridge_delay, UP_BRIDGE_BRAKE};
    }
    return up_run_set_bridge(run, UP_BRIDGE_OPEN);
}

/* A switch that is pulled already counts only after it has moved. */
static int return_battery(up_run_state *run) {
    run->battery = UP_BATTERY_BACK;
    up_run_event(run, run->motion.time, UP_EVENT_BATTERY_BACK);
    if (!run->controlled) {
        return run->options->leads_open ? 0 : up_run_set_bridge(run, up_run_bridge_of_hand(run->hand));
    }
    forget(run);
    run->controller.hand = (int)run->hand;
    run->controller.hand_raw = (int)run->hand;
    run->measured = (up_measured){.supply_mv = (uint32_t)(run->world.open_voltage * 1000.0)};
    return 0;
}

int up_run_battery_due(up_run_state *run) {
    const up_faults *f = &run->options->faults;
    int changed = 0;
    if (run->battery == UP_BATTERY_ON && f->battery_lost_time <= run->motion.time) {
        changed |= lose_battery(run);
    }
    if (run->battery == UP_BATTERY_OFF && f->battery_back_time <= run->motion.time) {
        changed |= return_battery(run);
    }
    return changed;
}

double up_run_battery_deadline(const up_run_state *run) {
    const up_faults *f = &run->options->faults;
    const double never = 1e300;
    const double next = run->battery == UP_BATTERY_ON    ? f->battery_lost_time
                        : run->battery == UP_BATTERY_OFF ? f->battery_back_time
                                                         : never;
    return up_is_absent(next) ? never : next;
}

/* Checks the options and lays the door out at rest. */
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/run_state.h"
#include "core/sim/shaking.h"

static const uint32_t COOKIE = 0x75707374;

void up_run_options_default(up_run_options *o) {
    *o = (up_run_options){
        .cookie = COOKIE,
        .temperature = UP_ROOM_TEMPERATURE,
        .open_voltage = UP_ABSENT,
        .switch_steps = 1,
        .switch_step = {{0.0, UP_SWITCH_RAISE_TOUCH}},
        .faults = {.encoder_dead_time = UP_ABSENT, .battery_lost_time = UP_ABSENT, .battery_back_time = UP_ABSENT},
        .ignition_off_time = UP_ABSENT,
        .tolerance = 5e-5,
        .time_limit = 20.0,
        .rest_time = 0.2};
}

static int between(double x, double low, double high) {
    return x >= low && x <= high;
}

static int switch_steps_make_sense(const up_run_options *o) {
    if (o->switch_steps < 1 || o->switch_steps > UP_SWITCH_STEPS_MAX) {
        return 0;
    }
    for (int i = 0; i < o->switch_steps; i++) {
        const double before = i > 0 ? o->switch_step[i - 1].time : 0.0;
        const unsigned position = (unsigned)o->switch_step[i].position;
        if (!between(o->switch_step[i].time, before, 1e6) || position > UP_SWITCH_LOWER_TOUCH) {
            return 0;
        }
    }
    return 1;
}

static int supply_steps_make_sense(const up_run_options *o) {
    if (o->supply_steps < 0 || o->supply_steps > UP_SUPPLY_STEPS_MAX) {
        return 0;
    }
    for (int i = 0; i < o->supply_steps; i++) {
        const double before = i > 0 ? o->supply_step[i - 1].time : 0.0;
        if (!between(o->supply_step[i].time, before, 1e6) || !between(o->supply_step[i].open_voltage, 0.0, 60.0)) {
            return 0;
        }
    }
    return 1;
}

static int options_make_sense(const up_door *door, const up_run_options *o) {
    const int voltage = up_is_absent(o->open_voltage) || between(o->open_voltage, 0.0, 60.0);
    const int ignition = up_is_absent(o->ignition_off_time) || between(o->ignition_off_time, 0.0, 1e6);
    const int rod = !o->rod || (between(o->rod_opening, 0.0, door->travel - o->start_travel) &&
                                between(o->rod_stiffness, 100.0, 1e9));
    const int shaking =
        between(o->rod_tilt_share, 0.0, 2.0) && (o->shaking == NULL || up_shaking_makes_sense(o->shaking));
    return o->cookie == COOKIE && between(o->start_travel, 0.0, door->travel) && voltage && ignition && rod &&
           shaking && between(o->push_force, -1e5, 1e5) && between(o->tolerance, 1e-12, 1e-3) &&
           between(o->time_limit, 1e-3, 3600.0) && between(o->sample_interval, 0.0, 3600.0) &&
           between(o->rest_time, 0.0, 3600.0) && o->temperature == door->temperature && switch_steps_make_sense(o) &&
           supply_steps_make_sense(o) && up_faults_make_sense(&o->faults, door->tick);
}

/* Glass hanging still: the regulator carries its weight, the damper what the counterbalance leaves. */
static void lay_at_rest(up_run_state *run) {
    const up_door *door = run->door;
    double *y = run->motion.y;
    const double x = run->options->start_travel;
    const double lift = up_glass_weight(door, x);
    double angle = up_regulator_angle(door->regulator, &door->values, x + lift / door->stiffness);
    angle = up_clamp(angle, door->lift.start, door->lift.start + UP_TABLE_CELLS * door->lift.width);
    up_table_point point;
    up_table_read(&door->lift, angle, &point);
    const double torque = point.slope * lift - (door->balance_start + door->balance_slope * angle);
    const double windup = torque >= 0 ? door->damper_half_play + torque / door->damper_up
                                      : -door->damper_half_play + torque / door->damper_down;
    y[UP_TRAVEL] = x;
    y[UP_OUTPUT_ANGLE] = angle;
    y[UP_ARMATURE_ANGLE] = (angle + windup) * door->worm_ratio;
    run->motion.heat = (up_heat){door->temperature, door->temperature, door->temperature};
    up_modes_at_rest(door, &run->world, y, &run->motion.modes);
}

static void place_encoder(up_run_state *run) {
    const up_door *door = run->door;
    const double angle =
        run->motion.y[door->encoder_on_output ? UP_OUTPUT_ANGLE : UP_ARMATURE_ANGLE] * door->per_edge_spacing;
    int64_t k = (int64_t)__builtin_floor(angle) - 1;
    for (;;) {
        int64_t in_turn = k % door->edges_per_turn;
        in_turn += in_turn < 0 ? door->edges_per_turn : 0;
        if ((double)k + door->edge_offset[in_turn] > angle) {
            break;
        }
        k++;
    }
    run->edge_index = k;
}

/* The controller knows the top from its last closing: edges below it, from the rest position. */
static void place_controller(up_run_state *run) {
    const up_door *door = run->door;
    const double shaft = run->motion.y[door->encoder_on_output ? UP_OUTPUT_ANGLE : UP_ARMATURE_ANGLE];
    const double top = door->counted_top * (door->encoder_on_output ? 1.0 : door->worm_ratio);
    const double below = __builtin_floor((top - shaft) * door->per_edge_spacing + 0.5);
    run->controlled = !run->options->leads_direct && !run->options->leads_open;
    up_controller_start(&run->controller, &door->control, run->options->memory, (int32_t)below,
                        run->options->position_lost != 0, up_run_limit_closed(run));
    run->asked = run->controller.drive;
    run->powered = 1;
    run->measured = (up_measured){.supply_mv = (uint32_t)(run->world.open_voltage * 1000.0)};
    if (run->options->listener != NULL) {
        run->options->listener->start(run->options->listener->context, &run->controller, &run->measured);
    }
    if (!run->controlled) {
        run->motion.modes.bridge = UP_BRIDGE_OPEN;
    }
}

static void blank_outcome(up_outcome *outcome, double start) {
    *outcome = (up_outcome){.end = UP_END_RUNNING,
                            .start_travel = start,
                            .final_travel = start,
                            .start_delay = UP_ABSENT,
                            .rod_touch_time = UP_ABSENT,
                            .detection_time = UP_ABSENT,
                            .reversal_travel = UP_ABSENT};
}

up_status up_run_begin(up_run_state *run) {
    const up_run_options *o = run->options;
    blank_outcome(run->outcome, o->start_travel);
    if (!options_make_sense(run->door, o)) {
        return UP_BAD_OPTION;
    }
    const double rod_stiffness = o->rod ? 1.0 / (1.0 / o->rod_stiffness + 1.0 / run->door->panel_stiffness) : 0.0;
    run->world = (up_world){.open_voltage = up_is_absent(o->open_voltage) ? run->door->open_voltage : o->open_voltage,
                            .push = o->push_force,
                            .rod = o->rod != 0,
                            .rod_travel = run->door->travel - o->rod_opening,
                            .rod_stiffness = rod_stiffness,
                            .rod_tilt_share = o->rod_tilt_share,
                            .shaking = o->shaking,
                            .per_shaking = o->shaking != NULL ? 1.0 / o->shaking->spacing : 0.0};
    lay_at_rest(run);
    place_encoder(run);
    place_controller(run);
    run->glass_started = UP_ABSENT;
    run->first_drive = UP_ABSENT;
    run->last_moved = UP_ABSENT;
    run->rest_since = UP_ABSENT;
    run->highest = o->start_travel;
    run->steps_left = 20000 + (uint64_t)(20000.0 * o->time_limit);
    return UP_OK;
}

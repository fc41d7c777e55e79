/* The controller's part of a door: what it was taught, what it counts, and the detector's settings. */
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/door/prepare.h"

/* Encoder edges per radian of the output shaft. */
static double edges_per_output(const up_door *door) {
    return (door->encoder_on_output ? 1.0 : door->worm_ratio) * door->per_edge_spacing;
}

/* Load on the regulator while raising slowly at 20 degC, N: what a closing of this door teaches. */
static double usual_load(const up_door *door, double travel, double speed) {
    const up_values *v = &door->values;
    const double scaled = speed * door->per_stribeck_speed;
    const double stribeck = 1.0 + door->static_extra / (1.0 + scaled * scaled);
    const double pressed = up_max(0.0, travel - door->header_start) * v->header_stiffness;
    const double drag = up_glass_drag(door, travel, NULL) / up_door_cold_factor(door) + v->header_friction * pressed;
    up_lift_point point;
    door->regulator->lift(v, up_regulator_angle(door->regulator, v, travel), &point);
    const double passed = 1.0 - up_min(0.9, up_glass_tilt_share(door, point.lever));
    return (up_glass_weight(door, travel) + pressed + drag * stribeck + door->viscous * speed) / passed;
}

/* Speed of the glass by which a controller is taught; practice. */
static const double TAUGHT_SPEED = 0.12; /* m/s */

/* Output angle with the glass that far open while it is being raised: the regulator gives under the load, and so does the
 * damper where the encoder sits before it. A controller that was taught by raising counts that in. Taught at 20 degC, by
 * the load with which the glass arrives at the top. */
static double raising_angle(const up_door *door, double opening) {
    return up_regulator_angle(door->regulator, &door->values, door->travel - opening + door->taught_stretch) +
           door->taught_windup;
}

/* Of the usual supply voltage, as the controller measures it while the drive stands and pulls it down: with less, a stall
 * proves nothing. A choice of this tool: 6.3 V where 12.5 V are usual, and a battery of 9 V still closes the window. */
static const double WEAK_SHARE = 0.5;

static void teach(up_door *door) {
    const double angle = up_regulator_angle(door->regulator, &door->values, door->travel);
    up_lift_point top;
    door->regulator->lift(&door->values, angle, &top);
    door->taught_load = usual_load(door, door->travel, TAUGHT_SPEED);
    door->taught_stretch = door->taught_load / door->stiffness;
    const double torque = top.ratio * door->taught_load * (1.0 + door->output_loss) + door->output_drag -
                          (door->balance_start + door->balance_slope * angle);
    door->taught_windup =
        door->encoder_on_output || torque < 0 ? 0.0 : door->damper_half_play + torque / door->damper_up;
    door->counted_top = raising_angle(door, 0.0);
}

static double edges_below_top(const up_door *door, double opening) {
    return (door->counted_top - raising_angle(door, opening)) * edges_per_output(door);
}

static int32_t whole(double x) {
    return (int32_t)__builtin_floor(x + 0.5);
}

static uint16_t small_whole(double x, double low, double high) {
    return (uint16_t)__builtin_floor(up_clamp(x, low, high) + 0.5);
}

static uint32_t microseconds(double seconds) {
    return (uint32_t)__builtin_floor(seconds * 1e6 + 0.5);
}

/* Newtons at the glass for each rad/s the armature is too slow, at an output angle: along the speed-torque line of the
 * motor between the controller's terminals, through the running worm. */
static double force_per_missing_speed(const up_door *door, double output_angle) {
    const up_values *v = &door->values;
    const double loop = door->bridge_resistance + door->winding_resistance + door->protector_resistance;
    const double torque = door->torque_constant * door->torque_constant / loop;
    const double usual_speed = 0.7 * (v->supply_voltage - v->brush_drop) / v->torque_constant;
    const double friction = up_worm_friction_of(door, usual_speed);
    const double output = torque * door->worm_ratio / (1.0 + up_worm_loss_share(door, friction, 0));
    up_lift_point lift;
    door->regulator->lift(v, output_angle, &lift);
    return output / (lift.ratio * (1.0 + door->output_loss));
}

static void prepare_gain(const up_door *door, int32_t stroke_edges, up_detector_settings *detector) {
    uint16_t shift = 0;
    while ((stroke_edges >> shift) >= UP_DETECTOR_ZONES) {
        shift++;
    }
    detector->zone_shift = shift;
    for (int border = 0; border <= UP_DETECTOR_ZONES; border++) {
        const double below = up_min((double)border * (double)(1 << shift), stroke_edges);
        const double angle = door->counted_top - door->taught_windup - below / edges_per_output(door);
        detector->gain[border] = small_whole(256.0 * force_per_missing_speed(door, angle), 1, 65535);
    }
}

/* Opening of knot k, edges. */
static double knot_edges(const up_detector_settings *detector, int k) {
    const int fine = k < UP_DETECTOR_FINE ? k : UP_DETECTOR_FINE;
    return (double)fine * (1 << detector->fine_shift) + (double)(k - fine) * (1 << detector->coarse_shift);
}

/* By how many edges the encoder is ahead of the glass for each newton: regulator and, where it sits before it, damper. */
static double edges_per_newton(const up_door *door, double edges_per_metre) {
    up_lift_point top;
    door->regulator->lift(&door->values, door->top_angle, &top);
    const double damper =
        door->encoder_on_output ? 0.0 : top.ratio * top.ratio * (1.0 + door->output_loss) / door->damper_up;
    return (1.0 / door->stiffness + damper) * edges_per_metre;
}

static void prepare_profile(const up_door *door, double edges_per_metre, up_detector_settings *detector) {
    const up_values *v = &door->values;
    detector->learns = v->detect_profile == UP_PROFILE_LEARNED;
    detector->bound = whole(16.0 * up_min(v->detect_bound, 2000.0));
    detector->stretch = (uint32_t)(up_min(edges_per_newton(door, edges_per_metre) / 16.0 * 65536.0, 1e6) + 0.5);
    detector->taught_load = whole(16.0 * up_min(door->taught_load, 30000.0));
    detector->coarse_shift = (uint16_t)(detector->zone_shift > 0 ? detector->zone_shift - 1 : 0);
    detector->fine_shift = (uint16_t)(detector->zone_shift > 5 ? detector->zone_shift - 5 : 0);
    for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
        const double travel = door->travel - knot_edges(detector, k) / edges_per_metre;
        const double load = usual_load(door, up_max(0.0, travel), TAUGHT_SPEED);
        detector->profile[k] = (int16_t)__builtin_floor(up_clamp(16.0 * load, 0.0, 32000.0) + 0.5);
    }
}

/* Time constants of the motor between the controller's terminals, and the observer's two corrections: both poles at the
 * bandwidth. */
static void prepare_observer(const up_door *door, double follow, up_detector_settings *detector) {
    const up_values *v = &door->values;
    const double unit = 16777216.0; /* 2^24 */
    const double loop = door->bridge_resistance + door->winding_resistance + door->protector_resistance;
    const double bandwidth = up_min(v->detect_bandwidth, 0.45 / v->tick);
    detector->principle = v->detect_principle == UP_BY_OBSERVER ? UP_DETECTOR_BY_OBSERVER : UP_DETECTOR_BY_PACE;
    detector->current_gain =
        (uint32_t)up_min(loop / door->torque_constant * 64.0 / 1000.0 * 65536.0 + 0.5, 4294967295.0);
    detector->step_max_us = (uint32_t)up_clamp(0.5e6 / bandwidth, 1.0, 20000.0);
    const double most = unit / detector->step_max_us;
    detector->per_acceleration = (uint32_t)up_min(unit / (follow * 1e6) + 0.5, 4.0 * most);
    detector->speed_gain = (uint32_t)up_min(2.0 * bandwidth * 1e-6 * unit, most);
    detector->load_gain = (uint32_t)up_min(bandwidth * bandwidth * follow * 1e-6 * unit + 0.5, 4.0 * most);
    detector->per_filter = (uint32_t)up_min(unit / (v->current_filter * 1e6) + 0.5, unit);
}

static void prepare_detector(const up_door *door, int32_t stroke_edges, double edges_per_metre,
                             up_detector_settings *detector) {
    const up_values *v = &door->values;
    const double armature_per_edge = door->edge_spacing * (door->encoder_on_output ? door->worm_ratio : 1.0);
    int window = door->edges_per_turn < UP_DETECTOR_WINDOW_MAX ? door->edges_per_turn : UP_DETECTOR_WINDOW_MAX;
    while (window > 1 && window * armature_per_edge * 64e6 > 4.0e9) {
        window--;
    }
    detector->window = (uint16_t)window;
    detector->speed_numerator = (uint32_t)up_min(window * armature_per_edge * 64e6, 4294967295.0);
    detector->free_speed_gain = (uint32_t)(64.0 / door->torque_constant / 1000.0 * 4096.0 + 0.5);
    detector->brush_mv = (uint32_t)(1000.0 * v->brush_drop + 0.5);
    /* three times as fast as the motor turns without a load at 18 V, which no vehicle of 12 V has */
    const double fastest = 3.0 * (18.0 - up_min(v->brush_drop, 17.0)) / door->torque_constant;
    detector->soon_us = (uint32_t)up_min(1e6 * armature_per_edge / fastest, 20000.0);
    detector->confirm_edges = small_whole(v->detect_edges, 1, 65535);
    detector->mask_edges = small_whole(v->detect_mask * edges_per_metre, 0, UP_DETECTOR_MASK_MAX);
    detector->learning_edges = small_whole(v->detect_learning * edges_per_metre, 1, 65535);
    /* mechanical time constant of the motor on its own, J R / K^2, and half the window that the speed is taken over */
    const double loop = door->bridge_resistance + door->winding_resistance + door->protector_resistance;
    const double follow = door->armature_inertia * loop / (door->torque_constant * door->torque_constant);
    const double usual_speed = 0.7 * (v->supply_voltage - v->brush_drop) / v->torque_constant;
    detector->supply_edges = small_whole(follow * usual_speed / armature_per_edge + 0.5 * window, 1, 4096);
    detector->threshold = whole(16.0 * v->detect_force);
    /* Half of what the load is really late by: the whole would take a quick top for an obstacle. */
    const double late = v->detect_principle == UP_BY_OBSERVER
                            ? (2.0 / v->detect_bandwidth + v->current_filter) / v->tick
                            : 0.5 * detector->supply_edges;
    detector->lag = small_whole(0.5 * late, 0, 1024);
    prepare_gain(door, stroke_edges, detector);
    prepare_profile(door, edges_per_metre, detector);
    prepare_observer(door, follow, detector);
}

/* Opening in edges at which the top begins for the detector. A stiff obstacle as wide as the end zone is squeezed a little
 * before it is felt, no place is known exactly, and the load is reckoned late, by which the encoder has gone on: of that
 * lag, as far as the detector does not make up for it itself, the line is lower. Not without a profile: then the header
 * seal is felt, too, and must stay below the line. */
static int32_t decision_line(const up_door *door, double edges_per_metre, const up_detector_settings *detector) {
    const up_values *v = &door->values;
    const double behind = v->detect_principle == UP_BY_OBSERVER
                              ? 0.1 * (2.0 / v->detect_bandwidth + v->current_filter) * TAUGHT_SPEED * edges_per_metre
                              : 0.3 * detector->supply_edges;
    const int32_t half = whole(edges_below_top(door, 0.5 * v->zone_low));
    return v->detect_profile == UP_PROFILE_LEARNED ? half - whole(behind) : half;
}

/* Encoder edges from the drive stalled at the down-stop, engine running (a fifth more than the usual supply), to the usual
 * load of a raised glass: what regulator and damper give between the two, and the damper's play. */
static uint32_t wound_edges(const up_door *door, double edges_per_metre) {
    const up_values *v = &door->values;
    const double bottom = up_regulator_angle(door->regulator, v, 0.0);
    const double free_speed = (1.2 * v->supply_voltage - v->brush_drop) / door->torque_constant;
    const double stall = force_per_missing_speed(door, bottom) * up_max(free_speed, 0.0);
    const double play = door->encoder_on_output ? 0.0 : 2.0 * door->damper_half_play * edges_per_output(door);
    return (uint32_t)up_min((stall + door->taught_load) * edges_per_newton(door, edges_per_metre) + play, 4096.0);
}

void up_door_prepare_controller(up_door *door) {
    const up_values *v = &door->values;
    up_control_settings *c = &door->control;
    up_lift_point middle;
    const double middle_angle = up_regulator_angle(door->regulator, v, 0.5 * v->glass_travel);
    door->regulator->lift(v, middle_angle, &middle);
    const double edges_per_metre = edges_per_output(door) / middle.ratio;
    door->tick = v->tick;
    door->bridge_delay = v->bridge_delay;
    door->per_current_filter = 1.0 / v->current_filter;
    door->retained_power = v->retained_power;
    teach(door);
    c->stroke_edges = whole(door->top_angle * edges_per_output(door));
    prepare_detector(door, c->stroke_edges, edges_per_metre, &c->detector);
    c->tick_us = microseconds(v->tick);
    c->debounce_ticks =
        (uint32_t)up_max(1.0, __builtin_ceil(v->debounce / v->tick - 1e-9)); /* 70 ms in 10 ms ticks are 7 */
    c->stall_us = microseconds(v->stall_time);
    c->reverse_pause_us = microseconds(v->reverse_pause);
    c->end_zone_edges = decision_line(door, edges_per_metre, &c->detector);
    c->top_band_edges = (int32_t)edges_below_top(door, v->zone_low + 0.006) + 2;
    c->wound_edges = wound_edges(door, edges_per_metre);
    c->weak_mv = (uint32_t)(1000.0 * WEAK_SHARE * v->supply_voltage + 0.5);
    c->reverse_edges = whole(v->reverse_distance * edges_per_metre);
    c->back_off_us = microseconds(up_min(v->reverse_distance / (0.5 * TAUGHT_SPEED), 4.0));
    /* the ring sits behind the damper */
    c->limit_edges = whole((door->counted_top - door->taught_windup - door->limit_open_angle / door->limit_gear) *
                           edges_per_output(door));
    c->two_channels = (uint32_t)v->encoder_channels;
    c->off_after = (uint32_t)v->detect_off_after;
    c->reversals_allowed = (uint32_t)v->reversal_limit;
}

double up_travel_at_edges(const up_door *door, double edges_below) {
    const double angle = door->counted_top - door->taught_windup - edges_below / edges_per_output(door);
    up_table_point lift;
    up_table_read(&door->lift, angle, &lift);
    return lift.value - door->taught_stretch;
}

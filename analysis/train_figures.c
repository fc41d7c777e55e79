/* The headline figures of one door. */
#include <math.h>

#include "analysis/train.h"
#include "analysis/train_stages.h"
#include "core/base/up_math.h"
#include "core/parts/damper.h"
#include "core/parts/gear.h"

enum { EVEN_POINTS = UP_TRAIN_POINTS - 1 }; /* odd, for Simpson's rule */

/* ---- along the travel ---------------------------------------------------------------------------------------- */

static double pulses_per_output_angle(const up_door *door) {
    return door->values.encoder_pulses * (door->encoder_on_output ? 1.0 : door->worm_ratio) / (2 * UP_PI);
}

static void point_at(const up_door *door, const up_circuit *circuit, double travel, up_train_point *point) {
    up_place_on_travel place;
    up_steady steady;
    up_stall stall;
    up_place_at(door, travel, &place);
    up_stall_at(door, circuit, &place, &stall);
    point->travel = travel;
    point->per_output_turn = 2 * UP_PI * place.ratio;
    point->per_motor_turn = point->per_output_turn * door->per_worm_ratio;
    point->pulses_per_metre = pulses_per_output_angle(door) / place.ratio;
    point->needed_lift = stall.needed;
    point->stall_lift = stall.lift;
    point->stall_squeeze = stall.squeeze;
    point->tilt_share = place.tilt_share;
    up_steady_at(door, circuit, &place, UP_RAISING, 0, &steady);
    point->raise_speed = steady.glass_speed;
    point->raise_current = steady.current;
    up_steady_at(door, circuit, &place, UP_LOWERING, 0, &steady);
    point->lower_speed = steady.glass_speed;
    point->lower_current = steady.current;
}

void up_train_points(const up_door *door, const up_circuit *circuit, up_train_point points[UP_TRAIN_POINTS]) {
    for (int i = 0; i < EVEN_POINTS; i++) {
        point_at(door, circuit, door->header_start * i / (EVEN_POINTS - 1), &points[i]);
    }
    point_at(door, circuit, door->travel, &points[EVEN_POINTS]);
}

/* While the load grows from the down-stop to the closed window the regulator's end runs ahead of the glass by as much
 * as cable, arms and panel give, m. Most of it happens in the header seal. */
static double stretch_raising(const up_door *door) {
    up_place_on_travel bottom, closed;
    up_glass_load first, last;
    up_place_at(door, 0.0, &bottom);
    up_place_at(door, door->travel, &closed);
    up_glass_load_at(door, &bottom, UP_RAISING, 0.1, &first);
    up_glass_load_at(door, &closed, UP_RAISING, 0.1, &last);
    const double stretch = (last.lift - first.lift) / door->stiffness;
    return isfinite(stretch) ? up_max(stretch, 0.0) : 0.0;
}

/* Seconds for the whole stroke at the steady speeds, NaN when it stalls on the way: Simpson's rule on 1/speed below the
 * header seal, the mean of both ends inside it. Getting up to speed costs one mechanical time constant once. */
static double stroke_time(const up_door *door, const up_circuit *circuit, const up_train_point *points, int direction) {
    double sum = 0;
    double slow[UP_TRAIN_POINTS];
    for (int i = 0; i < UP_TRAIN_POINTS; i++) {
        const double speed = up_abs(direction == UP_RAISING ? points[i].raise_speed : points[i].lower_speed);
        if (!(speed > 0)) {
            return NAN;
        }
        slow[i] = 1.0 / speed;
    }
    for (int i = 0; i + 2 < EVEN_POINTS; i += 2) {
        sum += (slow[i] + 4 * slow[i + 1] + slow[i + 2]) / 3;
    }
    const double below = sum * door->header_start / (EVEN_POINTS - 1);
    const double depth = door->travel - door->header_start + (direction == UP_RAISING ? stretch_raising(door) : 0.0);
    const double inside = 0.5 * (slow[EVEN_POINTS - 1] + slow[EVEN_POINTS]) * depth;
    const double ratio = points[0].per_output_turn / (2 * UP_PI);
    const double inertia = door->armature_inertia + (door->output_inertia + door->mass * ratio * ratio) *
                                                        door->per_worm_ratio * door->per_worm_ratio;
    const double loop = circuit->source_resistance + circuit->bridge_resistance + circuit->motor_resistance;
    return below + inside + inertia * loop / (circuit->torque_constant * circuit->torque_constant);
}

/* ---- groups of figures --------------------------------------------------------------------------------------- */

static void running_figures(const up_door *door, const up_circuit *circuit, const up_steady *up, const up_steady *down,
                            const up_place_on_travel *middle, double *f) {
    const double wires = door->source_resistance - door->values.supply_resistance;
    up_steady off;
    f[UP_TRAIN_FIGURE_raise_speed] = up->runs ? up->glass_speed : NAN;
    f[UP_TRAIN_FIGURE_lower_speed] = down->runs ? -down->glass_speed : NAN;
    f[UP_TRAIN_FIGURE_raise_current] = up->current;
    f[UP_TRAIN_FIGURE_lower_current] = -down->current;
    f[UP_TRAIN_FIGURE_running_voltage] = up->motor_voltage;
    f[UP_TRAIN_FIGURE_wire_drop_running] = wires * up->current;
    f[UP_TRAIN_FIGURE_efficiency] = middle->weight * up->glass_speed / (circuit->open_voltage * up->current);
    f[UP_TRAIN_FIGURE_worm_efficiency] = up_worm_passes_driving(door, up->worm_friction);
    up_steady_at(door, circuit, NULL, UP_RAISING, 1, &off);
    f[UP_TRAIN_FIGURE_free_speed] = off.runs ? off.output_speed : NAN;
    f[UP_TRAIN_FIGURE_free_current] = off.current;
}

static void stall_figures(const up_door *door, const up_train_point *points, const up_stall *stall, double *f) {
    f[UP_TRAIN_FIGURE_stall_current] = stall->current;
    f[UP_TRAIN_FIGURE_wire_drop_stall] = (door->source_resistance - door->values.supply_resistance) * stall->current;
    double least = INFINITY, most = 0, reserve = INFINITY, tilt = 0;
    for (int i = 0; i < UP_TRAIN_POINTS; i++) {
        const double here = points[i].stall_lift / points[i].needed_lift;
        if (here < reserve) {
            reserve = here;
            f[UP_TRAIN_FIGURE_lift_reserve_opening] = door->travel - points[i].travel;
        }
        if (i < EVEN_POINTS) {
            least = up_min(least, points[i].stall_squeeze);
            most = up_max(most, points[i].stall_squeeze);
        }
        tilt = up_max(tilt, points[i].tilt_share);
    }
    f[UP_TRAIN_FIGURE_stall_squeeze_least] = least;
    f[UP_TRAIN_FIGURE_stall_squeeze_most] = most;
    f[UP_TRAIN_FIGURE_lift_reserve] = reserve;
    f[UP_TRAIN_FIGURE_tilt_margin] = tilt > 0 ? 1.0 / tilt : INFINITY;
}

static void holding_figures(const up_door *door, double *f) {
    const double at_rest = up_worm_friction_of(door, 0.0);
    const double shaking = at_rest * door->values.worm_vibration;
    const double locking = door->worm_cosine * door->worm_tangent;
    f[UP_TRAIN_FIGURE_worm_efficiency_back] = 1.0 - up_worm_loss_share(door, at_rest, 1);
    f[UP_TRAIN_FIGURE_hold_margin] = at_rest / locking;
    f[UP_TRAIN_FIGURE_hold_margin_shaking] = shaking / locking;
    double push = INFINITY, push_shaking = INFINITY;
    for (int i = 0; i <= 4; i++) {
        up_place_on_travel place;
        up_place_at(door, door->travel * i / 4, &place);
        push = up_min(push, up_holding_push(door, &place, at_rest));
        push_shaking = up_min(push_shaking, up_holding_push(door, &place, shaking));
    }
    f[UP_TRAIN_FIGURE_hold_push] = push;
    f[UP_TRAIN_FIGURE_hold_push_shaking] = push_shaking;
}

static void signal_figures(const up_door *door, const up_place_on_travel *middle, double *f) {
    const double contact = door->limit_open_angle / door->limit_gear;
    up_lift_point point;
    f[UP_TRAIN_FIGURE_per_motor_turn] = 2 * UP_PI * middle->ratio * door->per_worm_ratio;
    f[UP_TRAIN_FIGURE_output_turns] = door->top_angle / (2 * UP_PI);
    f[UP_TRAIN_FIGURE_pulses_per_metre] = pulses_per_output_angle(door) / middle->ratio;
    f[UP_TRAIN_FIGURE_pulses_per_stroke] = pulses_per_output_angle(door) * door->top_angle;
    f[UP_TRAIN_FIGURE_limit_turns] = f[UP_TRAIN_FIGURE_output_turns] * door->limit_gear;
    door->regulator->lift(&door->values, contact, &point);
    f[UP_TRAIN_FIGURE_limit_opening] = door->travel - point.travel;
}

/* From the middle of the free play, as the limit is counted. */
static double windup(const up_door *door, double torque) {
    const double play = door->damper_half_play;
    return play +
           (torque >= 0
                ? up_damper_windup(torque, door->damper_up, door->damper_limit - play, door->damper_up_limit)
                : up_damper_windup(torque, door->damper_down, door->damper_down_stop - play, door->damper_down_limit));
}

/* With a rack the mate is straight; without a pinion there is nothing to say. */
int up_train_gear_pair(const up_door *door, up_gear_pair *pair) {
    const up_values *v = &door->values;
    pair->teeth = v->pinion_teeth;
    pair->mate_teeth = v->family == UP_FAMILY_RACK ? 0.0 : v->sector_teeth;
    pair->module = pair->addendum = v->pinion_module;
    pair->pressure_angle = v->pinion_pressure_angle;
    pair->centre_distance = 0;
    return v->family != UP_FAMILY_CABLE;
}

static void strength_figures(const up_door *door, double running, double stalled, double *f) {
    const up_values *v = &door->values;
    const double lead = up_atan(door->worm_tangent);
    const double wheel = up_worm_wheel_root_stress(1.0 / (0.5 * v->worm_module * v->wheel_teeth), v->wheel_face,
                                                   v->worm_module, lead, v->worm_pressure_angle);
    f[UP_TRAIN_FIGURE_windup_running] = windup(door, running);
    f[UP_TRAIN_FIGURE_windup_stall] = windup(door, stalled);
    f[UP_TRAIN_FIGURE_windup_stall_share] = f[UP_TRAIN_FIGURE_windup_stall] / door->damper_limit;
    f[UP_TRAIN_FIGURE_wheel_stress_running] = wheel * up_abs(running);
    f[UP_TRAIN_FIGURE_wheel_stress_stall] = wheel * stalled;
    f[UP_TRAIN_FIGURE_wheel_stress_share] = wheel * stalled / v->wheel_strength;
    up_gear_pair pair;
    if (!up_train_gear_pair(door, &pair)) {
        return;
    }
    const double pinion = up_gear_root_stress(1.0 / (0.5 * pair.module * pair.teeth), v->pinion_face, pair.module,
                                              up_gear_lewis_factor(pair.teeth));
    f[UP_TRAIN_FIGURE_contact_ratio] = up_gear_contact_ratio_capped(&pair);
    f[UP_TRAIN_FIGURE_pinion_stress_running] = pinion * up_abs(running);
    f[UP_TRAIN_FIGURE_pinion_stress_stall] = pinion * stalled;
    f[UP_TRAIN_FIGURE_pinion_stress_share] = pinion * stalled / v->pinion_strength;
}

void up_train_figures(const up_door *door, double figures[UP_TRAIN_FIGURE_COUNT]) {
    up_circuit circuit;
    up_train_point points[UP_TRAIN_POINTS];
    up_place_on_travel middle;
    up_steady up, down;
    up_stall stall;
    for (int i = 0; i < UP_TRAIN_FIGURE_COUNT; i++) {
        figures[i] = NAN;
    }
    up_circuit_of(door, &circuit);
    up_train_points(door, &circuit, points);
    up_place_at(door, 0.5 * door->travel, &middle);
    up_steady_at(door, &circuit, &middle, UP_RAISING, 0, &up);
    up_steady_at(door, &circuit, &middle, UP_LOWERING, 0, &down);
    up_stall_at(door, &circuit, &middle, &stall);
    figures[UP_TRAIN_FIGURE_raise_time] = stroke_time(door, &circuit, points, UP_RAISING);
    figures[UP_TRAIN_FIGURE_lower_time] = stroke_time(door, &circuit, points, UP_LOWERING);
    running_figures(door, &circuit, &up, &down, &middle, figures);
    stall_figures(door, points, &stall, figures);
    holding_figures(door, figures);
    signal_figures(door, &middle, figures);
    strength_figures(door, up.wheel_torque, stall.wheel_torque, figures);
}

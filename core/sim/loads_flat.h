/* Right-hand side of the equations of motion, to be laid flat into its caller.
 *
 * The integrator's stages need the rates and nothing else. Inlined there, the compiler drops all that only guards, slopes
 * and books look at, which is half of the work. Everyone else calls up_loads_at. */
#ifndef UPSTOP_SIM_LOADS_FLAT_H
#define UPSTOP_SIM_LOADS_FLAT_H

#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/loads.h"
#include "core/sim/shaking.h"

#define UP_FLAT static inline __attribute__((always_inline))

/* ---- electrical ------------------------------------------------------------------------------------------------- */

UP_FLAT void up_flat_electrical(const up_door *door, const up_world *world, const up_modes *modes, const up_heat *heat,
                                const double *y, up_loads *l) {
    const double i = y[UP_CURRENT];
    const double copper = 1.0 + door->winding_coefficient * (heat->winding - UP_ROOM_TEMPERATURE);
    const double magnet = 1.0 + door->magnet_coefficient * (heat->box - UP_ROOM_TEMPERATURE);
    const double protector = modes->tripped ? door->protector_tripped : door->protector_resistance;
    const double winding = door->winding_resistance * copper;
    l->torque_constant = door->torque_constant * magnet;
    l->winding = winding + protector;
    l->brush_root = up_sqrt(i * i + UP_BRUSH_CURRENT * UP_BRUSH_CURRENT);
    l->brush_voltage = door->brush_drop * i / l->brush_root;
    const int driven = modes->bridge == UP_BRIDGE_RAISE || modes->bridge == UP_BRIDGE_LOWER;
    const double sign = modes->bridge == UP_BRIDGE_LOWER ? -1.0 : 1.0;
    l->source = driven ? sign * world->open_voltage : 0.0;
    l->loop = door->bridge_resistance + (driven ? door->source_resistance : 0.0);
    const int cut = modes->bridge == UP_BRIDGE_OPEN || (modes->tripped && door->protection == UP_PROTECTION_BIMETAL);
    l->rate[UP_CURRENT] =
        cut ? 0.0
            : (l->source - (l->loop + l->winding) * i - l->brush_voltage - l->torque_constant * y[UP_ARMATURE_SPEED]) *
                  door->per_inductance;
    l->rate[UP_FILTERED] = (i - y[UP_FILTERED]) * door->per_current_filter;

    const double to_box = (heat->winding - heat->box) * door->winding_to_case;
    const double from_protector = (heat->protector - heat->box) * door->protector_to_case;
    const double to_air = (heat->box - door->temperature) * door->case_to_air;
    l->heat_rate.winding = (winding * i * i + l->brush_voltage * i - to_box) * door->per_winding_capacity;
    l->heat_rate.protector = (protector * i * i - from_protector) * door->per_protector_capacity;
    l->heat_rate.box = (to_box + from_protector - to_air) * door->per_case_capacity;
}

/* ---- damper ------------------------------------------------------------------------------------------------------- */

/* Torque and partial derivatives on one side: `squeeze` rad past the play, growing at `closing` rad/s. */
UP_FLAT void up_flat_squeeze_rubber(double stiffness, double squeeze, double limit_stiffness, double beyond,
                                    double damping, double closing, up_loads *l) {
    const double spring = stiffness * squeeze + limit_stiffness * beyond;
    const double slope = stiffness + limit_stiffness;
    const double factor = 1.0 + damping * closing;
    l->damper_torque = spring * factor;
    l->damper_by_angle = slope * factor;
    l->damper_by_speed = spring * damping;
}

UP_FLAT void up_flat_damper(const up_door *door, const up_modes *modes, const double *y, up_loads *l) {
    const double windup = y[UP_ARMATURE_ANGLE] * door->per_worm_ratio - y[UP_OUTPUT_ANGLE];
    const double closing = y[UP_ARMATURE_SPEED] * door->per_worm_ratio - y[UP_OUTPUT_SPEED];
    l->windup = windup;
    switch (modes->damper) {
    case UP_DAMPER_UP:
        up_flat_squeeze_rubber(door->damper_up, windup - door->damper_half_play, 0.0, 0.0, door->damper_damping,
                               closing, l);
        break;
    case UP_DAMPER_UP_LIMIT:
        up_flat_squeeze_rubber(door->damper_up, windup - door->damper_half_play, door->damper_up_limit,
                               windup - door->damper_limit, door->damper_damping, closing, l);
        break;
    case UP_DAMPER_DOWN:
        up_flat_squeeze_rubber(door->damper_down, -door->damper_half_play - windup, 0.0, 0.0, door->damper_damping,
                               -closing, l);
        l->damper_torque = -l->damper_torque;
        break;
    case UP_DAMPER_DOWN_LIMIT:
        up_flat_squeeze_rubber(door->damper_down, -door->damper_half_play - windup, door->damper_down_limit,
                               -door->damper_down_stop - windup, door->damper_damping, -closing, l);
        l->damper_torque = -l->damper_torque;
        break;
    case UP_DAMPER_FREE:
    default:
        l->damper_torque = 0.0;
        l->damper_by_angle = 0.0;
        l->damper_by_speed = 0.0;
        break;
    }
}

/* ---- worm and armature ---------------------------------------------------------------------------------------------- */

/* Friction at rest holds either way; the share differs because the flank's own friction helps or hinders itself. */
UP_FLAT void up_flat_hold_armature(const up_door *door, up_loads *l) {
    const double at_rest = door->worm_running + door->worm_extra;
    const double load = up_abs(l->damper_torque) * door->per_worm_ratio;
    const double against = door->motor_friction + load * up_worm_loss_share(door, at_rest, 0);
    const double with = door->motor_friction + load * up_worm_loss_share(door, at_rest, 1);
    const int lifts = l->damper_torque > 0;
    l->hold_up[UP_ARMATURE] = lifts ? against : with;
    l->hold_down[UP_ARMATURE] = lifts ? with : against;
}

UP_FLAT void up_flat_armature(const up_door *door, const up_modes *modes, const double *y, up_loads *l) {
    const double drive = l->torque_constant * y[UP_CURRENT];
    const double wheel = l->damper_torque * door->per_worm_ratio;
    const int slip = modes->slip[UP_ARMATURE];
    l->worm_share = 0.0;
    l->worm_share_slope = 0.0;
    l->net[UP_ARMATURE] = drive - wheel;
    if (slip == 0) {
        up_flat_hold_armature(door, l);
        l->rate[UP_ARMATURE_SPEED] = 0.0;
        return;
    }
    const double side = l->damper_torque * slip > 0 ? 1.0 : -1.0;
    const double slide = y[UP_ARMATURE_SPEED] * door->worm_slide;
    const double faded = 1.0 / (1.0 + slide * slide);
    const double friction = door->worm_running + door->worm_extra * faded;
    const double flank = 1.0 / (door->worm_cosine - side * friction * door->worm_tangent);
    const double share = friction * door->worm_sum * flank;
    l->worm_share = side * share;
    const double friction_slope = -2.0 * door->worm_extra * slide * door->worm_slide * faded * faded;
    l->worm_share_slope = side * door->worm_sum * door->worm_cosine * flank * flank * friction_slope;
    const double coulomb = slip * door->motor_friction + door->motor_viscous * y[UP_ARMATURE_SPEED];
    l->rate[UP_ARMATURE_SPEED] = (drive - coulomb - wheel * (1.0 + l->worm_share)) * door->per_armature_inertia;
}

/* ---- regulator and output shaft -------------------------------------------------------------------------------------- */

UP_FLAT void up_flat_regulator(const up_door *door, const up_modes *modes, const double *y, up_loads *l) {
    const double angle = y[UP_OUTPUT_ANGLE];
    up_table_point lift;
    up_table_point lever;
    double place;
    const int cell = up_table_cell(&door->lift, angle, &place);
    up_table_at(&door->lift, cell, place, &lift);
    up_table_at(&door->lever, cell, place, &lever); /* same range, same cells */
    l->ratio = lift.slope;
    l->ratio_slope = lift.bend;
    l->lift_force = door->stiffness * (lift.value - y[UP_TRAVEL]) +
                    door->damping * (lift.slope * y[UP_OUTPUT_SPEED] - y[UP_GLASS_SPEED]);
    l->lift_by_angle = door->stiffness * lift.slope + door->damping * lift.bend * y[UP_OUTPUT_SPEED];
    const double apart = up_sqrt(lever.value * lever.value + UP_SLIDE_HALF_WIDTH * UP_SLIDE_HALF_WIDTH);
    l->tilt = door->tilt_share * apart;
    l->tilt_slope = door->tilt_share * lever.value * lever.slope / apart;

    const double load = lift.slope * l->lift_force;
    const double balance = door->balance_start + door->balance_slope * angle;
    const double against = door->output_drag + door->output_loss * up_abs(load);
    const double with = door->output_drag + door->output_loss_helped * up_abs(load);
    const int slip = modes->slip[UP_OUTPUT];
    l->net[UP_OUTPUT] = l->damper_torque + balance - load;
    l->hold_up[UP_OUTPUT] = load > 0 ? against : with;
    l->hold_down[UP_OUTPUT] = load > 0 ? with : against;
    const double friction = slip > 0 ? l->hold_up[UP_OUTPUT] : l->hold_down[UP_OUTPUT];
    l->rate[UP_OUTPUT_SPEED] = slip == 0 ? 0.0 : (l->net[UP_OUTPUT] - slip * friction) * door->per_output_inertia;
}

/* ---- glass ------------------------------------------------------------------------------------------------------------- */

UP_FLAT void up_flat_contacts(const up_door *door, const up_world *world, const up_modes *modes, const double *y,
                              up_loads *l) {
    const double x = y[UP_TRAVEL];
    const double v = y[UP_GLASS_SPEED];
    l->header_force = modes->header ? door->header_stiffness * (x - door->header_start) : 0.0;
    l->rod_force = modes->rod ? world->rod_stiffness * (x - world->rod_travel) : 0.0;
    l->up_force = modes->up_stop ? door->up_stiffness * (x - door->travel) * (1.0 + door->stop_damping * v) : 0.0;
    l->down_force = modes->down_stop ? door->down_stiffness * -x * (1.0 - door->stop_damping * v) : 0.0;
}

/* Forces of what shakes the door and their derivatives by time. */
typedef struct up_flat_shake {
    double push, push_slope, press, press_slope; /* N, N/s */
} up_flat_shake;

UP_FLAT up_flat_shake up_flat_shaking(const up_world *world, double time) {
    const up_shaking *s = world->shaking;
    if (s == NULL) {
        return (up_flat_shake){0.0, 0.0, 0.0, 0.0};
    }
    const double per = world->per_shaking;
    const double scaled = (time - s->start) * per + UP_SHAKING_LEAD;
    const int cell = (int)up_clamp(scaled, 0.0, up_shaking_last_cell(s));
    const double u = scaled - cell;
    double a[UP_SHAKING_ORDER];
    double b[UP_SHAKING_ORDER];
    up_shaking_cubic(s->push, s->count, cell, a);
    up_shaking_cubic(s->press, s->count, cell, b);
    return (up_flat_shake){a[0] + u * (a[1] + u * (a[2] + u * a[3])),
                           per * (a[1] + u * (2.0 * a[2] + u * (3.0 * a[3]))),
                           up_max(b[0] + u * (b[1] + u * (b[2] + u * b[3])), 0.0), /* rounding goes below */
                           per * (b[1] + u * (2.0 * b[2] + u * (3.0 * b[3])))};
}

UP_FLAT void up_flat_glass(const up_door *door, const up_world *world, const up_modes *modes, double time,
                           const double *y, up_loads *l) {
    const double v = y[UP_GLASS_SPEED];
    const up_flat_shake shake = up_flat_shaking(world, time);
    up_table_point weight;
    up_table_read(&door->weight, y[UP_TRAVEL], &weight);
    l->weight = weight.value;
    l->weight_slope = weight.slope;
    l->drag = up_glass_drag(door, y[UP_TRAVEL], &l->drag_slope) + door->header_friction * l->header_force +
              world->rod_tilt_share * l->rod_force + shake.press;
    const double scaled = v * door->per_stribeck_speed;
    const double faded = 1.0 / (1.0 + scaled * scaled);
    l->stribeck = 1.0 + door->static_extra * faded;
    l->stribeck_slope = -2.0 * door->static_extra * scaled * door->per_stribeck_speed * faded * faded;
    const double hold = l->drag * l->stribeck + l->tilt * modes->lift_sign * l->lift_force;
    const int slip = modes->slip[UP_GLASS];
    l->glass_friction = slip * hold + door->viscous * v;
    l->net[UP_GLASS] = l->lift_force - l->weight - l->header_force - l->rod_force - l->up_force + l->down_force +
                       (world->push + shake.push);
    l->push = shake.push;
    l->force_by_time = shake.push_slope - slip * shake.press_slope * l->stribeck;
    l->hold_up[UP_GLASS] = hold;
    l->hold_down[UP_GLASS] = hold;
    l->rate[UP_GLASS_SPEED] = slip == 0 ? 0.0 : (l->net[UP_GLASS] - l->glass_friction) * door->per_mass;
}

UP_FLAT void up_loads_flat(const up_door *door, const up_world *world, const up_modes *modes, const up_heat *heat,
                           double time, const double y[UP_STATES], up_loads *loads) {
    up_flat_electrical(door, world, modes, heat, y, loads);
    up_flat_damper(door, modes, y, loads);
    up_flat_armature(door, modes, y, loads);
    up_flat_regulator(door, modes, y, loads);
    up_flat_contacts(door, world, modes, y, loads);
    up_flat_glass(door, world, modes, time, y, loads);
    loads->rate[UP_ARMATURE_ANGLE] = y[UP_ARMATURE_SPEED];
    loads->rate[UP_OUTPUT_ANGLE] = y[UP_OUTPUT_SPEED];
    loads->rate[UP_TRAVEL] = y[UP_GLASS_SPEED];
}

#endif

#include "core/sim/loads.h"

#include "core/sim/loads_flat.h"

void up_loads_at(const up_door *door, const up_world *world, const up_modes *modes, const up_heat *heat, double time,
                 const double y[UP_STATES], up_loads *loads) {
    up_loads_flat(door, world, modes, heat, time, y, loads);
}

/* ---- energy --------------------------------------------------------------------------------------------------------------- */

void up_flows_at(const up_door *door, const up_modes *modes, const double y[UP_STATES], const up_loads *l,
                 double flow[UP_FLOWS]) {
    const double i = y[UP_CURRENT];
    const double armature = y[UP_ARMATURE_SPEED];
    const double output = y[UP_OUTPUT_SPEED];
    const double v = y[UP_GLASS_SPEED];
    const double closing = armature * door->per_worm_ratio - output;
    const double give = l->ratio * output - v;
    const double wheel = l->damper_torque * door->per_worm_ratio;
    flow[UP_LEDGER_drawn] = l->source * i;
    flow[UP_LEDGER_supply_heat] = l->loop * i * i;
    flow[UP_LEDGER_winding_heat] = l->winding * i * i;
    flow[UP_LEDGER_brush_heat] = l->brush_voltage * i;
    flow[UP_LEDGER_switching] = 0.0;
    flow[UP_LEDGER_motor_friction] =
        (modes->slip[UP_ARMATURE] * door->motor_friction + door->motor_viscous * armature) * armature;
    flow[UP_LEDGER_worm_friction] = wheel * l->worm_share * armature;
    flow[UP_LEDGER_damper_heat] = l->damper_by_speed * closing * closing;
    flow[UP_LEDGER_mesh_friction] =
        modes->slip[UP_OUTPUT] * (modes->slip[UP_OUTPUT] > 0 ? l->hold_up : l->hold_down)[UP_OUTPUT] * output;
    flow[UP_LEDGER_regulator_heat] = door->damping * give * give;
    flow[UP_LEDGER_seal_friction] = l->glass_friction * v;
    const double up_spring = modes->up_stop ? door->up_stiffness * (y[UP_TRAVEL] - door->travel) : 0.0;
    const double down_spring = modes->down_stop ? door->down_stiffness * -y[UP_TRAVEL] : 0.0;
    flow[UP_LEDGER_stop_heat] = (up_spring + down_spring) * door->stop_damping * v * v;
    flow[UP_LEDGER_shaken] = -l->push * v;
}

static double squared(double x) {
    return x * x;
}

static double beyond(double x) {
    return x > 0 ? x : 0.0;
}

static double damper_energy(const up_door *door, double windup) {
    const double up = beyond(windup - door->damper_half_play);
    const double up_limit = beyond(windup - door->damper_limit);
    const double down = beyond(-windup - door->damper_half_play);
    const double down_limit = beyond(-windup - door->damper_down_stop);
    return 0.5 * (door->damper_up * squared(up) + door->damper_up_limit * squared(up_limit) +
                  door->damper_down * squared(down) + door->damper_down_limit * squared(down_limit));
}

void up_stocks_at(const up_door *door, const up_world *world, const double y[UP_STATES],
                  double stock[UP_LEDGER_COUNT]) {
    const double x = y[UP_TRAVEL];
    const double angle = y[UP_OUTPUT_ANGLE];
    const up_values *values = &door->values;
    up_table_point lift;
    up_table_read(&door->lift, angle, &lift);
    stock[UP_LEDGER_kinetic] =
        0.5 * (door->armature_inertia * squared(y[UP_ARMATURE_SPEED]) +
               door->output_inertia * squared(y[UP_OUTPUT_SPEED]) + door->mass * squared(y[UP_GLASS_SPEED]));
    stock[UP_LEDGER_magnetic] = 0.5 * door->inductance * squared(y[UP_CURRENT]);
    const double lean = values->glass_lean + (x - 0.5 * door->travel) / values->glass_curvature;
    const double lean_middle = values->glass_lean;
    stock[UP_LEDGER_potential] =
        door->mass * UP_GRAVITY * values->glass_curvature * (up_sin(lean) - up_sin(lean_middle));
    stock[UP_LEDGER_spring_damper] = damper_energy(door, angle * -1.0 + y[UP_ARMATURE_ANGLE] * door->per_worm_ratio);
    stock[UP_LEDGER_spring_regulator] = 0.5 * door->stiffness * squared(lift.value - x);
    stock[UP_LEDGER_spring_balance] = -(door->balance_start * angle + 0.5 * door->balance_slope * squared(angle));
    stock[UP_LEDGER_spring_stops] =
        0.5 * (door->up_stiffness * squared(beyond(x - door->travel)) + door->down_stiffness * squared(beyond(-x)) +
               door->header_stiffness * squared(beyond(x - door->header_start)));
    stock[UP_LEDGER_spring_rod] =
        world->rod ? 0.5 * world->rod_stiffness * squared(beyond(x - world->rod_travel)) : 0.0;
}

#include "core/door/door.h"

#include <string.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "core/door/check.h"
#include "core/door/prepare.h"
#include "core/parts/planetary.h"
#include "core/parts/wire.h"
#include "core/parts/worm.h"

/* How far beyond either stop the glass's table reaches; stops give way by less. The regulator's tables cover its whole
 * reach: a soft one is bent far past the glass by a stalled motor. */
static const double OVERTRAVEL = 0.05; /* m */

typedef struct source_context {
    const up_regulator *regulator;
    const up_values *values;
    double step; /* rad, for the lever's differences */
} source_context;

/* ---- position tables --------------------------------------------------------------------------------------------- */

static void lift_source(const void *context, double at, up_table_point *point) {
    const source_context *c = context;
    up_lift_point lift;
    c->regulator->lift(c->values, at, &lift);
    *point = (up_table_point){lift.travel, lift.ratio, lift.ratio_slope};
}

static double lever_at(const source_context *c, double angle) {
    up_lift_point lift;
    c->regulator->lift(c->values, angle, &lift);
    return lift.lever;
}

static void lever_source(const void *context, double at, up_table_point *point) {
    const source_context *c = context;
    const double before = lever_at(c, at - c->step);
    const double here = lever_at(c, at);
    const double after = lever_at(c, at + c->step);
    *point =
        (up_table_point){here, (after - before) / (2 * c->step), (after - 2 * here + before) / (c->step * c->step)};
}

static void weight_source(const void *context, double at, up_table_point *point) {
    const up_values *v = context;
    const double lean = v->glass_lean + (at - 0.5 * v->glass_travel) / v->glass_curvature;
    const double weight = v->glass_mass * UP_GRAVITY;
    point->value = weight * up_cos(lean);
    point->slope = -weight * up_sin(lean) / v->glass_curvature;
    point->bend = -weight * up_cos(lean) / (v->glass_curvature * v->glass_curvature);
}

static void make_tables(up_door *door) {
    const up_values *v = &door->values;
    source_context context = {door->regulator, v, 0};
    double low;
    double high;
    door->regulator->reach(v, &low, &high);
    context.step = (high - low) * 2e-4;
    up_table_make(&door->lift, low, high, lift_source, &context);
    up_table_make(&door->lever, low, high, lever_source, &context);
    up_table_make(&door->weight, -OVERTRAVEL, v->glass_travel + OVERTRAVEL, weight_source, v);
    door->top_angle = up_regulator_angle(door->regulator, v, v->glass_travel);
}

/* ---- one part each ------------------------------------------------------------------------------------------------ */

static void prepare_supply(up_door *door) {
    const up_values *v = &door->values;
    door->open_voltage = v->supply_voltage;
    door->source_resistance = v->supply_resistance + v->contact_resistance +
                              up_wire_resistance(2 * v->wire_length, v->wire_area, door->temperature);
    door->bridge_resistance = v->bridge_resistance;
}

static void prepare_motor(up_door *door) {
    const up_values *v = &door->values;
    door->winding_resistance = v->winding_resistance;
    door->winding_coefficient = v->winding_coefficient;
    door->inductance = v->inductance;
    door->per_inductance = 1.0 / v->inductance;
    door->torque_constant = v->torque_constant;
    door->magnet_coefficient = v->magnet_coefficient;
    door->brush_drop = v->brush_drop;
    door->motor_friction = v->motor_friction;
    door->motor_viscous = v->motor_viscous;
    door->per_winding_capacity = 1.0 / v->winding_capacity;
    door->per_case_capacity = 1.0 / v->case_capacity;
    door->per_protector_capacity = 1.0 / v->protector_capacity;
    door->winding_to_case = 1.0 / v->winding_to_case;
    door->case_to_air = 1.0 / v->case_to_air;
    door->protector_to_case = 1.0 / v->protector_to_case;
    door->protection = v->protection;
    door->protector_resistance = v->protection == UP_PROTECTION_NONE ? 0.0 : v->protector_resistance;
    door->protector_tripped = v->protector_tripped;
    door->protector_trip = v->protector_trip;
    door->protector_reset = v->protector_reset;
}

static void prepare_worm(up_door *door) {
    const up_values *v = &door->values;
    const double lead = up_is_absent(v->worm_lead_angle)
                            ? up_worm_lead_angle(v->worm_starts, v->worm_module, v->worm_diameter)
                            : v->worm_lead_angle;
    door->worm_ratio = v->wheel_teeth / v->worm_starts;
    door->per_worm_ratio = 1.0 / door->worm_ratio;
    door->worm_cosine = up_cos(v->worm_pressure_angle);
    door->worm_tangent = up_tan(lead);
    door->worm_sum = door->worm_tangent + 1.0 / door->worm_tangent;
    door->worm_running = v->worm_friction;
    door->worm_extra = v->worm_static_friction - v->worm_friction;
    door->worm_slide = 0.5 * v->worm_diameter / up_cos(lead) / v->worm_friction_speed;
    door->armature_inertia = v->armature_inertia + v->wheel_inertia * door->per_worm_ratio * door->per_worm_ratio;
    door->per_armature_inertia = 1.0 / door->armature_inertia;
}

/* A one-way damper lowers through its dogs; one that works both ways is the same on either side. */
static void prepare_damper(up_door *door) {
    const up_values *v = &door->values;
    door->damper_half_play = 0.5 * v->damper_play;
    door->damper_limit = v->damper_limit;
    door->damper_up = v->damper_stiffness;
    door->damper_up_limit = v->damper_limit_stiffness;
    door->damper_down = v->damper_one_way ? v->damper_limit_stiffness : v->damper_stiffness;
    door->damper_down_limit = v->damper_one_way ? 0.0 : v->damper_limit_stiffness;
    door->damper_down_stop = v->damper_one_way ? 1e9 : v->damper_limit;
    door->damper_damping = v->damper_damping;
}

static void prepare_output(up_door *door) {
    const up_values *v = &door->values;
    const double gear = door->regulator->balance_gear(v);
    door->output_inertia = door->regulator->inertia(v);
    door->per_output_inertia = 1.0 / door->output_inertia;
    door->output_drag = v->output_drag;
    door->output_loss = door->regulator->loss(v);
    door->output_loss_helped = door->output_loss / (1.0 + door->output_loss);
    door->stiffness = door->regulator->stiffness(v);
    door->damping = v->regulator_damping;
    door->balance_start = v->balance_bottom * gear;
    door->balance_slope = (v->balance_top - v->balance_bottom) * gear / door->top_angle;
}

static double drag_state_factor(int state) {
    return state == UP_CHANNEL_WET ? 0.7 : (state == UP_CHANNEL_DIRTY ? 1.5 : 1.0);
}

double up_door_cold_factor(const up_door *door) {
    return 1.0 + door->values.cold_growth * up_max(0.0, UP_ROOM_TEMPERATURE - door->temperature);
}

static void prepare_glass(up_door *door) {
    const up_values *v = &door->values;
    const double cold = up_door_cold_factor(door);
    door->mass = v->glass_mass;
    door->per_mass = 1.0 / v->glass_mass;
    door->travel = v->glass_travel;
    door->tilt_share = 2.0 * v->channel_friction / v->glass_guide;
    door->drag_factor = drag_state_factor(v->channel_state) * cold;
    door->drag_start = (v->run_channel_drag * v->channel_engaged + v->belt_drag) * door->drag_factor;
    door->drag_slope = 2.0 * v->run_channel_drag * door->drag_factor;
    door->drag_count = v->drag_count;
    for (int i = 0; i < v->drag_count; i++) {
        door->drag_position[i] = v->drag_position[i];
        door->drag_force[i] = v->drag_force[i] * door->drag_factor;
    }
    door->static_extra = v->static_extra;
    door->per_stribeck_speed = 1.0 / v->stribeck_speed;
    door->viscous = v->seal_viscous;
    door->header_start = v->glass_travel - v->header_depth;
    door->header_stiffness = v->header_stiffness * cold;
    door->header_friction = v->header_friction;
    door->up_stiffness = v->up_stop_stiffness;
    door->down_stiffness = v->down_stop_stiffness;
    door->stop_damping = v->stop_damping;
    door->panel_stiffness = v->panel_stiffness;
}

/* Where the contact opens is measured on the ring; left out, it is set 12 mm below the up-stop. */
static void prepare_limit_ring(up_door *door) {
    const up_values *v = &door->values;
    door->limit_gear = up_planetary_carrier_turns(v->limit_sun, v->limit_ring);
    door->limit_open_angle = up_is_absent(v->limit_open)
                                 ? door->limit_gear * up_regulator_angle(door->regulator, v, v->glass_travel - 0.012)
                                 : v->limit_open;
    door->limit_gap_angle = v->limit_gap;
}

static void prepare_encoder(up_door *door) {
    const up_values *v = &door->values;
    door->edges_per_turn = 2 * (int)v->encoder_pulses;
    door->edge_spacing = 2 * UP_PI / door->edges_per_turn;
    door->per_edge_spacing = 1.0 / door->edge_spacing;
    door->encoder_on_output = v->encoder_shaft == UP_ENCODER_ON_PINION;
    door->missed_share = v->encoder_missed;
    const uint64_t ring_stream = 7; /* the ring's unevenness is the same in every run of a door */
    for (int i = 0; i < door->edges_per_turn; i++) {
        const double uneven = 2.0 * up_random_unit(0, ring_stream, (uint64_t)i) - 1.0;
        door->edge_offset[i] = v->encoder_pitch_error * uneven;
    }
}

up_status up_door_prepare(const up_values *values, double temperature, up_door *door) {
    up_door_finding finding;
    if (!(temperature >= 200.0 && temperature <= 400.0)) {
        return UP_BAD_OPTION;
    }
    if (!up_door_is_usable(values)) {
        up_door_check(values, &finding, 1);
        return finding.code <= UP_FINDING_UNKNOWN_WORD ? UP_BAD_VALUE : UP_BAD_GEOMETRY;
    }
    memset(door, 0, sizeof *door);
    door->values = *values;
    door->temperature = temperature;
    door->regulator = up_regulator_of(values->family);
    make_tables(door);
    prepare_supply(door);
    prepare_motor(door);
    prepare_worm(door);
    prepare_damper(door);
    prepare_output(door);
    prepare_glass(door);
    prepare_limit_ring(door);
    prepare_encoder(door);
    up_door_prepare_controller(door);
    return UP_OK;
}

/* ---- questions to a door ------------------------------------------------------------------------------------------ */

void up_lift(const up_door *door, double output_angle, up_lift_point *point) {
    up_table_point lift;
    up_table_point lever;
    up_table_read(&door->lift, output_angle, &lift);
    up_table_read(&door->lever, output_angle, &lever);
    up_lift_point closed;
    door->regulator->lift(&door->values, output_angle, &closed);
    *point = (up_lift_point){lift.value, lift.slope, lift.bend, lever.value, closed.rail_tilt};
}

double up_glass_drag(const up_door *door, double travel, double *slope) {
    double force = door->drag_start + door->drag_slope * travel;
    double rise = door->drag_slope;
    const int n = door->drag_count;
    if (n > 0) {
        int i = 0;
        while (i < n && travel >= door->drag_position[i]) {
            i++;
        }
        if (i == 0 || i == n) {
            force += door->drag_force[i == 0 ? 0 : n - 1];
        } else {
            const double length = door->drag_position[i] - door->drag_position[i - 1];
            const double u = (travel - door->drag_position[i - 1]) / length;
            const double step = door->drag_force[i] - door->drag_force[i - 1];
            force += door->drag_force[i - 1] + step * (u * u * (3.0 - 2.0 * u));
            rise += step * (6.0 * u * (1.0 - u)) / length;
        }
    }
    if (slope != NULL) {
        *slope = rise;
    }
    return force;
}

double up_glass_weight(const up_door *door, double travel) {
    up_table_point weight;
    up_table_read(&door->weight, travel, &weight);
    return weight.value;
}

double up_glass_tilt_share(const up_door *door, double lever) {
    return door->tilt_share * up_abs(lever);
}

double up_worm_friction_of(const up_door *door, double armature_speed) {
    const double slide = armature_speed * door->worm_slide;
    return door->worm_running + door->worm_extra / (1.0 + slide * slide);
}

double up_worm_loss_share(const up_door *door, double friction, int helped) {
    const double flank = friction * door->worm_tangent;
    return friction * door->worm_sum / (helped ? door->worm_cosine + flank : door->worm_cosine - flank);
}

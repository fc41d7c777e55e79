#include "analysis/random_door.h"

#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "core/door/check.h"
#include "core/regulator/regulator.h"

/* Where the next random number comes from. */
typedef struct dice {
    uint64_t seed, stream, place;
} dice;

static double unit(dice *d) {
    return up_random_unit(d->seed, d->stream, d->place++);
}

static double between(dice *d, double low, double high) {
    return low + (high - low) * unit(d);
}

/* Even in the logarithm: low > 0. */
static double log_between(dice *d, double low, double high) {
    return low * up_exp(unit(d) * up_log(high / low));
}

/* Whole number low..high, both included. */
static int whole(dice *d, int low, int high) {
    return low + (int)(unit(d) * (high - low + 1));
}

static int chance(dice *d, double share) {
    return unit(d) < share;
}

static void draw_supply_and_motor(dice *d, up_values *v) {
    v->supply_voltage = between(d, 9, 16);
    v->supply_resistance = log_between(d, 0.003, 0.06);
    v->wire_length = between(d, 0.5, 8);
    v->wire_area = log_between(d, 0.5e-6, 6e-6);
    v->contact_resistance = between(d, 0.001, 0.1);
    v->bridge_resistance = between(d, 0.001, 0.06);
    v->winding_resistance = log_between(d, 0.2, 1.2);
    v->inductance = log_between(d, 0.05e-3, 3e-3);
    v->torque_constant = log_between(d, 0.014, 0.045);
    v->armature_inertia = log_between(d, 4e-6, 6e-5);
    v->brush_drop = between(d, 0, 1.6);
    v->motor_friction = log_between(d, 0.003, 0.03);
    v->motor_viscous = between(d, 0, 3e-5);
    v->winding_coefficient = between(d, 0.0038, 0.0041);
    v->magnet_coefficient = between(d, -0.0022, 0);
    v->winding_capacity = log_between(d, 8, 90);
    v->case_capacity = log_between(d, 50, 600);
    v->winding_to_case = between(d, 0.8, 6);
    v->case_to_air = between(d, 2, 15);
    v->protection = whole(d, 0, 2);
    v->protector_trip = between(d, 363, 443);
    v->protector_reset = v->protector_trip - between(d, 5, 60);
    v->protector_resistance = between(d, 0.002, 0.06);
    v->protector_capacity = log_between(d, 0.2, 4);
    v->protector_to_case = between(d, 8, 60);
    v->protector_tripped = between(d, 20, 200);
    v->segments = whole(d, 5, 16);
    v->poles = 2 * whole(d, 1, 2);
    v->ripple = between(d, 0, 0.15);
}

static void draw_worm_and_damper(dice *d, up_values *v) {
    v->worm_starts = chance(d, 0.75) ? 1 : 2;
    v->wheel_teeth = whole(d, 40, 100);
    v->worm_module = between(d, 0.5e-3, 1.25e-3);
    v->worm_diameter = between(d, 7e-3, 14e-3);
    v->worm_lead_angle = chance(d, 0.8) ? UP_ABSENT : between(d, 0.04, 0.2);
    v->worm_pressure_angle = between(d, 0.25, 0.45);
    v->worm_friction = between(d, 0.03, 0.15);
    v->worm_static_friction = v->worm_friction + between(d, 0, 0.08);
    v->worm_friction_speed = log_between(d, 0.02, 0.6);
    v->worm_vibration = between(d, 0.2, 1);
    v->wheel_inertia = log_between(d, 2e-6, 6e-5);
    v->wheel_face = between(d, 4e-3, 12e-3);
    v->damper_stiffness = log_between(d, 8, 150);
    v->damper_damping = between(d, 0, 0.012);
    v->damper_play = chance(d, 0.2) ? 0 : between(d, 0, 0.12);
    v->damper_limit = 0.5 * v->damper_play + between(d, 0.03, 0.5);
    v->damper_limit_stiffness = log_between(d, 150, 2000);
    v->damper_one_way = whole(d, 0, 1);
}

static void draw_output(dice *d, up_values *v) {
    const int rack = v->family == UP_FAMILY_RACK;
    v->pinion_teeth = rack ? whole(d, 10, 24) : whole(d, 8, 14);
    v->pinion_module = between(d, 1.25e-3, 2.5e-3);
    v->pinion_pressure_angle = between(d, 0.30, 0.40);
    v->mesh_loss = between(d, 0, 0.2);
    v->output_drag = between(d, 0, 0.2);
    v->output_inertia = log_between(d, 3e-6, 8e-5);
    v->sector_teeth = whole(d, 70, 140);
    v->sector_cut = whole(d, 22, 50);
    v->sector_inertia = log_between(d, 0.002, 0.03);
    v->drum_diameter = between(d, 0.026, 0.055);
    v->cable_wrap = between(d, 0, 8);
    v->cable_friction = between(d, 0.03, 0.18);
    v->cable_length = between(d, 0.4, 1.6);
    v->cable_area_modulus = log_between(d, 20e3, 200e3);
    v->cable_rails = whole(d, 0, 1);
    v->regulator_stiffness = log_between(d, 8e3, 300e3);
    v->regulator_damping = log_between(d, 5, 300);
    if (chance(d, 0.4)) {
        v->balance_bottom = between(d, 0, rack || v->family == UP_FAMILY_CABLE ? 1.2 : 8);
        v->balance_top = v->balance_bottom * between(d, 0.2, 1);
    }
}

static void draw_arms(dice *d, up_values *v) {
    v->arm_length = between(d, 0.22, 0.42);
    v->arm_start = between(d, -0.95, -0.3);
    v->equaliser_pivot = v->arm_length * between(d, 0.35, 0.6);
    v->equaliser_lower = v->equaliser_pivot * between(d, 0.97, 1.06);
    v->equaliser_upper = (v->arm_length - v->equaliser_pivot) * between(d, 0.98, 1.02);
    v->equaliser_rail = between(d, -0.012, 0.012);
}

static void draw_glass(dice *d, up_values *v) {
    v->glass_mass = between(d, 1.5, 7);
    v->glass_travel = between(d, 0.28, 0.52);
    v->glass_lean = between(d, -0.3, 0.4);
    v->glass_curvature = chance(d, 0.3) ? 1e6 : log_between(d, 0.9, 30);
    v->glass_guide = between(d, 0.25, 0.9);
    v->glass_offset = between(d, -0.08, 0.08);
    v->channel_friction = between(d, 0.05, 0.5);
    v->run_channel_drag = log_between(d, 8, 120);
    v->channel_engaged = between(d, 0.1, 1);
    v->belt_drag = log_between(d, 4, 60);
    v->static_extra = between(d, 0, 0.8);
    v->stribeck_speed = log_between(d, 0.001, 0.05);
    v->seal_viscous = between(d, 0, 200);
    v->header_depth = between(d, 0, 0.02);
    v->header_stiffness = log_between(d, 1e3, 25e3);
    v->header_friction = between(d, 0, 0.8);
    v->cold_growth = between(d, 0, 0.035);
    v->channel_state = whole(d, 0, 2);
    v->up_stop_stiffness = log_between(d, 50e3, 2e6);
    v->down_stop_stiffness = log_between(d, 60e3, 1e6);
    v->stop_damping = between(d, 0, 2.5);
    v->panel_stiffness = log_between(d, 30e3, 1e6);
    v->drag_count = chance(d, 0.5) ? 0 : whole(d, 1, 5);
    double position = 0;
    for (int i = 0; i < v->drag_count; i++) {
        position += between(d, 0.01, v->glass_travel / v->drag_count);
        v->drag_position[i] = position;
        v->drag_force[i] = between(d, -6, 60);
    }
}

static void draw_limit_ring(dice *d, up_values *v) {
    v->limit_sun = whole(d, 10, 24);
    v->limit_planet = whole(d, 12, 70);
    v->limit_ring = v->limit_sun + 2 * v->limit_planet;
    v->limit_planets = whole(d, 1, 3);
    v->limit_gap = between(d, 0.1, 1.5);
    v->limit_open = UP_ABSENT;
    if (chance(d, 0.3)) {
        const up_regulator *regulator = up_regulator_of(v->family);
        const double at = v->glass_travel - between(d, 0.002, 0.03);
        v->limit_open = up_regulator_angle(regulator, v, at) * v->limit_sun / (v->limit_sun + v->limit_ring);
    }
}

static void draw_controller(dice *d, up_values *v) {
    v->encoder_shaft = whole(d, 0, 1);
    v->encoder_pulses = v->encoder_shaft == UP_ENCODER_ON_ARMATURE ? whole(d, 1, 6) : whole(d, 20, 150);
    v->encoder_channels = whole(d, 0, 1);
    v->encoder_pitch_error = between(d, 0, 0.05);
    v->encoder_missed = chance(d, 0.7) ? 0 : between(d, 0, 0.01);
    v->tick = log_between(d, 0.0005, 0.01);
    v->debounce = between(d, 0, 0.03);
    v->bridge_delay = between(d, 0, 0.015);
    v->reverse_pause = between(d, 0.002, 0.1);
    v->reverse_distance = between(d, 0.03, 0.3);
    v->stall_time = between(d, 0.06, 0.4);
    v->zone_low = between(d, 0, 0.01);
    v->current_filter = log_between(d, 0.0003, 0.02);
    v->retained_power = between(d, 0, 120);
    v->reversal_limit = whole(d, 0, 10);
    v->detect_force = log_between(d, 15, 150);
    v->detect_edges = whole(d, 1, 8);
    v->detect_mask = between(d, 0, 0.03);
    v->detect_learning = log_between(d, 0.004, 0.1);
    v->detect_principle = whole(d, UP_BY_PACE, UP_BY_OBSERVER);
    v->detect_profile = whole(d, UP_PROFILE_NONE, UP_PROFILE_LEARNED);
    v->detect_bound = log_between(d, 30, 300);
    v->detect_bandwidth = log_between(d, 50, 300);
    v->detect_off_after = chance(d, 0.9) ? 0 : whole(d, 1, 3);
    v->frame_length = between(d, 0.3, 1.1);
    v->frame_front_slope = between(d, 0, 1);
    v->frame_rear_slope = between(d, -0.6, 0.3);
    v->frame_lip = between(d, 0, 0.025);
}

/* Workshops meet stalls of 15 to 30 A and some hundred newtons at the glass (common practice, no source): three times
 * that is still drawn, more is not. */
static int stall_is_plausible(const up_values *v) {
    const double most_current = 50, most_force = 1500;
    const double wire = 2 * 1.75e-8 * v->wire_length / v->wire_area;
    const double current = v->supply_voltage / (v->winding_resistance + v->supply_resistance + v->contact_resistance +
                                                v->bridge_resistance + v->protector_resistance + wire);
    const double efficiency = 0.5; /* of worm and mesh, about */
    const double torque = current * v->torque_constant * v->wheel_teeth / v->worm_starts * efficiency;
    const double turn = up_regulator_angle(up_regulator_of(v->family), v, v->glass_travel);
    return current <= most_current && torque * turn / v->glass_travel <= most_force;
}

up_status up_random_door(uint64_t seed, uint64_t index, up_values *values) {
    for (int attempt = 0; attempt < UP_RANDOM_DOOR_TRIES; attempt++) {
        dice d = {seed, index, (uint64_t)attempt << 32};
        up_values_fallback((up_family)(index % UP_FAMILY_COUNT), values);
        draw_supply_and_motor(&d, values);
        draw_worm_and_damper(&d, values);
        draw_output(&d, values);
        draw_arms(&d, values);
        draw_glass(&d, values);
        draw_limit_ring(&d, values);
        draw_controller(&d, values);
        if (up_door_is_usable(values) && stall_is_plausible(values)) {
            return UP_OK;
        }
    }
    return UP_BAD_GEOMETRY;
}

static void draw_switch(dice *d, up_run_options *o) {
    static const up_switch first[] = {UP_SWITCH_RAISE_TOUCH, UP_SWITCH_RAISE_TOUCH, UP_SWITCH_RAISE_HELD,
                                      UP_SWITCH_LOWER_TOUCH, UP_SWITCH_LOWER_HELD};
    o->switch_steps = 1;
    o->switch_step[0] = (up_switch_step){0, first[whole(d, 0, 4)]};
    const up_switch first_position = o->switch_step[0].position;
    if (first_position == UP_SWITCH_RAISE_TOUCH || first_position == UP_SWITCH_LOWER_TOUCH) {
        o->switch_steps = 2; /* the hand lets go after a tap */
        o->switch_step[1] = (up_switch_step){between(d, 0.1, 0.4), UP_SWITCH_FREE};
    } else if (chance(d, 0.4)) {
        o->switch_steps = 2;
        o->switch_step[1] = (up_switch_step){between(d, 0.2, 4), UP_SWITCH_FREE};
    }
}

void up_random_run(uint64_t seed, uint64_t index, const up_values *values, up_run_options *options) {
    dice d = {seed, index, (uint64_t)1 << 48}; /* beyond every place that up_random_door uses */
    up_run_options_default(options);
    draw_switch(&d, options);
    const int lowering = options->switch_step[0].position == UP_SWITCH_LOWER_TOUCH ||
                         options->switch_step[0].position == UP_SWITCH_LOWER_HELD;
    const double far = lowering ? values->glass_travel : 0.0;
    options->start_travel = chance(&d, 0.5) ? far : values->glass_travel * unit(&d);
    options->temperature = between(&d, 233.15, 343.15);
    options->open_voltage = chance(&d, 0.7) ? UP_ABSENT : between(&d, 7.5, 16);
    options->position_lost = chance(&d, 0.1);
    options->leads_direct = chance(&d, 0.1);
    options->push_force = chance(&d, 0.8) ? 0.0 : between(&d, -60, 60);
    options->seed = (uint32_t)up_random_u64(d.seed, d.stream, d.place++);
    if (!lowering && chance(&d, 0.5)) {
        options->rod = 1;
        const double way = values->glass_travel - options->start_travel; /* the rod stands before the glass */
        options->rod_opening = way < 0.004 ? way : between(&d, 0.004, way < 0.2 ? way : 0.2);
        options->rod_stiffness = log_between(&d, 5e3, 200e3);
    }
    if (chance(&d, 0.2)) {
        options->supply_steps = 2;
        options->supply_step[0] = (up_supply_step){between(&d, 0.2, 2), between(&d, 7, 11)};
        options->supply_step[1] = (up_supply_step){between(&d, 2.1, 4), between(&d, 11, 16)};
    }
}

#include "tests/reference/closed_form.h"

#include <math.h>
#include <string.h>

#include "core/base/up_math.h"

/* ---- regulator ------------------------------------------------------------------------------------------------------ */

static double arm_angle(const closed_form *f, double output) {
    return f->v.arm_start + f->gear * output;
}

/* How high the glass end of the regulator is at an output angle. */
static double height(const closed_form *f, double output) {
    const up_values *v = &f->v;
    const double rise = sin(arm_angle(f, output)) - sin(v->arm_start);
    switch (v->family) {
    case UP_FAMILY_SINGLE_ARM:
        return v->arm_length * rise;
    case UP_FAMILY_CROSSED_ARMS: /* mean of the lift arm's and the equaliser's roller */
        return 0.5 * (v->arm_length * rise +
                      v->equaliser_pivot * rise * (v->equaliser_lower + v->equaliser_upper) / v->equaliser_lower);
    case UP_FAMILY_CABLE:
        return v->drum_diameter / 2 * output;
    default:
        return v->pinion_module * v->pinion_teeth / 2 * output;
    }
}

static double height_slope(const closed_form *f, double output) {
    const up_values *v = &f->v;
    const double turn = f->gear * cos(arm_angle(f, output));
    switch (v->family) {
    case UP_FAMILY_SINGLE_ARM:
        return v->arm_length * turn;
    case UP_FAMILY_CROSSED_ARMS:
        return 0.5 * turn * (v->arm_length + v->equaliser_pivot * (1 + v->equaliser_upper / v->equaliser_lower));
    default:
        return height(f, 1.0);
    }
}

/* How far the lifting force is in front of the glass's centre of mass. */
static double lever(const closed_form *f, double output) {
    const up_values *v = &f->v;
    if (v->family == UP_FAMILY_SINGLE_ARM) {
        return v->glass_offset + v->arm_length * (cos(arm_angle(f, output)) - f->middle_cosine);
    }
    return v->family == UP_FAMILY_CABLE && v->cable_rails == 1 ? 0.0 : v->glass_offset;
}

static double angle_at_top(const closed_form *f) {
    const up_values *v = &f->v;
    if (v->family == UP_FAMILY_CABLE || v->family == UP_FAMILY_RACK) {
        return v->glass_travel / height(f, 1.0);
    }
    const double radius = height_slope(f, 0.0) / (f->gear * cos(v->arm_start));
    return (asin(sin(v->arm_start) + v->glass_travel / radius) - v->arm_start) / f->gear;
}

static void make_regulator(closed_form *f) {
    const up_values *v = &f->v;
    const int arms = v->family == UP_FAMILY_SINGLE_ARM || v->family == UP_FAMILY_CROSSED_ARMS;
    f->gear = arms ? v->pinion_teeth / v->sector_teeth : 1.0;
    f->middle_cosine = sqrt(1 - pow(fmin(sin(v->arm_start) + v->glass_travel / 2 / v->arm_length, 1.0), 2));
    f->inertia = v->output_inertia + (arms ? v->sector_inertia * f->gear * f->gear : 0.0);
    f->loss = v->mesh_loss;
    f->stiffness = v->regulator_stiffness;
    if (v->family == UP_FAMILY_CABLE) {
        f->loss += expm1(v->cable_friction * v->cable_wrap);
        f->stiffness = 1 / (1 / v->regulator_stiffness + v->cable_length / v->cable_area_modulus);
    }
    f->top = angle_at_top(f);
}

void closed_form_make(closed_form *form, const up_values *values, double temperature) {
    const double copper_resistivity = 1e-6 / 58, copper_coefficient = 0.00393; /* IEC 60028 */
    memset(form, 0, sizeof *form);
    form->v = *values;
    form->temperature = temperature;
    const up_values *v = &form->v;
    form->source =
        v->supply_resistance + v->contact_resistance +
        copper_resistivity * 2 * v->wire_length / v->wire_area * (1 + copper_coefficient * (temperature - 293.15));
    form->worm_tangent =
        up_is_absent(v->worm_lead_angle) ? v->worm_starts * v->worm_module / v->worm_diameter : tan(v->worm_lead_angle);
    form->cold = 1 + v->cold_growth * fmax(0.0, 293.15 - temperature);
    form->dirt = v->channel_state == UP_CHANNEL_WET ? 0.7 : v->channel_state == UP_CHANNEL_DIRTY ? 1.5 : 1.0;
    make_regulator(form);
}

/* ---- motor --------------------------------------------------------------------------------------------------------- */

static void motor(const closed_form *f, const up_world *world, const up_modes *modes, const up_heat *heat,
                  const double *y, up_loads *l) {
    const up_values *v = &f->v;
    const double i = y[UP_CURRENT];
    const double healthy = v->protection == UP_PROTECTION_NONE ? 0.0 : v->protector_resistance;
    const double protector = modes->tripped ? v->protector_tripped : healthy;
    const double copper = v->winding_resistance * (1 + v->winding_coefficient * (heat->winding - 293.15));
    const int raise = modes->bridge == UP_BRIDGE_RAISE, lower = modes->bridge == UP_BRIDGE_LOWER;
    const int interrupted = modes->tripped && v->protection == UP_PROTECTION_BIMETAL;
    l->torque_constant = v->torque_constant * (1 + v->magnet_coefficient * (heat->box - 293.15));
    l->winding = copper + protector;
    l->brush_root = hypot(i, 0.5);
    l->brush_voltage = v->brush_drop * i / hypot(i, 0.5);
    l->source = (raise - lower) * world->open_voltage;
    l->loop = v->bridge_resistance + (raise || lower ? f->source : 0.0);
    l->rate[UP_CURRENT] =
        (l->source - i * (l->loop + l->winding) - l->brush_voltage - l->torque_constant * y[UP_ARMATURE_SPEED]) /
        v->inductance;
    if (modes->bridge == UP_BRIDGE_OPEN || interrupted) {
        l->rate[UP_CURRENT] = 0.0;
    }
    l->rate[UP_FILTERED] = (i - y[UP_FILTERED]) / v->current_filter;
    const double winding_to_case = (heat->winding - heat->box) / v->winding_to_case;
    const double protector_to_case = (heat->protector - heat->box) / v->protector_to_case;
    l->heat_rate.winding = (copper * i * i + l->brush_voltage * i - winding_to_case) / v->winding_capacity;
    l->heat_rate.protector = (protector * i * i - protector_to_case) / v->protector_capacity;
    l->heat_rate.box =
        (winding_to_case + protector_to_case - (heat->box - f->temperature) / v->case_to_air) / v->case_capacity;
}

/* ---- damper and worm ------------------------------------------------------------------------------------------------ */

static void damper(const closed_form *f, const up_modes *modes, const double *y, up_loads *l) {
    const up_values *v = &f->v;
    const double ratio = v->wheel_teeth / v->worm_starts;
    const double angle = y[UP_ARMATURE_ANGLE] / ratio - y[UP_OUTPUT_ANGLE];
    const double speed = y[UP_ARMATURE_SPEED] / ratio - y[UP_OUTPUT_SPEED];
    const int side = modes->damper == UP_DAMPER_FREE                                        ? 0
                     : modes->damper == UP_DAMPER_UP || modes->damper == UP_DAMPER_UP_LIMIT ? 1
                                                                                            : -1;
    const int at_limit = modes->damper == UP_DAMPER_UP_LIMIT || modes->damper == UP_DAMPER_DOWN_LIMIT;
    const double stiffness = side < 0 && v->damper_one_way ? v->damper_limit_stiffness : v->damper_stiffness;
    double spring = stiffness * (side * angle - v->damper_play / 2);
    double flow = spring;
    if (at_limit) {
        spring += v->damper_limit_stiffness * (side * angle - v->damper_limit);
        flow = spring;
    }
    l->windup = angle;
    l->damper_torque = side * spring * (1 + v->damper_damping * side * speed);
    l->damper_by_speed = side == 0 ? 0.0 : flow * v->damper_damping;
}

/* Loss over useful torque, T (1 + share), from T_worm = T tan(lambda +- rho') / ratio / tan(lambda), tan rho' = mu / cos:
 * side +1 the worm drives the load, -1 the load drives the worm. */
static double worm_share(const closed_form *f, double friction, double side) {
    const double lead = atan(f->worm_tangent);
    const double angle = atan(friction / cos(f->v.worm_pressure_angle));
    return tan(lead + side * angle) / f->worm_tangent - 1;
}

static void armature(const closed_form *f, const up_modes *modes, const double *y, up_loads *l) {
    const up_values *v = &f->v;
    const double ratio = v->wheel_teeth / v->worm_starts;
    const double inertia = v->armature_inertia + v->wheel_inertia / (ratio * ratio);
    const double w = y[UP_ARMATURE_SPEED];
    const int slip = modes->slip[UP_ARMATURE];
    const double drive = l->torque_constant * y[UP_CURRENT], wheel = l->damper_torque / ratio;
    l->net[UP_ARMATURE] = drive - wheel;
    l->worm_share = 0.0;
    if (slip == 0) {
        const double up = worm_share(f, v->worm_static_friction, wheel > 0 ? 1 : -1);
        const double down = worm_share(f, v->worm_static_friction, wheel > 0 ? -1 : 1);
        l->hold_up[UP_ARMATURE] = v->motor_friction + fabs(wheel * up);
        l->hold_down[UP_ARMATURE] = v->motor_friction + fabs(wheel * down);
        l->rate[UP_ARMATURE_SPEED] = 0.0;
        return;
    }
    const double slide = fabs(w) * v->worm_diameter / 2 / cos(atan(f->worm_tangent));
    const double friction =
        v->worm_friction + (v->worm_static_friction - v->worm_friction) / (1 + pow(slide / v->worm_friction_speed, 2));
    l->worm_share = worm_share(f, friction, wheel * slip > 0 ? 1 : -1);
    l->rate[UP_ARMATURE_SPEED] =
        (drive - slip * v->motor_friction - v->motor_viscous * w - wheel - wheel * l->worm_share) / inertia;
}

/* ---- output shaft ----------------------------------------------------------------------------------------------------- */

static void output(const closed_form *f, const up_modes *modes, const double *y, up_loads *l) {
    const up_values *v = &f->v;
    const double angle = y[UP_OUTPUT_ANGLE];
    l->ratio = height_slope(f, angle);
    l->lift_force = f->stiffness * (height(f, angle) - y[UP_TRAVEL]) +
                    v->regulator_damping * (l->ratio * y[UP_OUTPUT_SPEED] - y[UP_GLASS_SPEED]);
    const double load = l->ratio * l->lift_force;
    const double balance = f->gear * (v->balance_bottom + (v->balance_top - v->balance_bottom) * angle / f->top);
    const double driving = v->output_drag + f->loss * fabs(load);
    const double driven = v->output_drag + f->loss / (1.0 + f->loss) * fabs(load);
    const int slip = modes->slip[UP_OUTPUT];
    const double friction = slip * load > 0 ? driving : driven;
    l->net[UP_OUTPUT] = l->damper_torque + balance - load;
    l->hold_up[UP_OUTPUT] = load > 0 ? driving : driven;
    l->hold_down[UP_OUTPUT] = load > 0 ? driven : driving;
    l->rate[UP_OUTPUT_SPEED] = slip == 0 ? 0.0 : (l->net[UP_OUTPUT] - slip * friction) / f->inertia;
}

/* ---- what shakes it ------------------------------------------------------------------------------------------------------ */

/* The cubic basis piece by piece, from its truncated powers: sum of (-1)^k binomial(4, k) (s + 2 - k)^3 / 6 over the
 * positive brackets (Curry and Schoenberg; any text on splines). */
static double basis(double s) {
    static const double binomial[] = {1, -4, 6, -4, 1};
    double sum = 0;
    for (int k = 0; k < 5; k++) {
        sum += binomial[k] * pow(fmax(s + 2 - k, 0), 3) / 6;
    }
    return fabs(s) < 2 ? sum : 0.0;
}

static double series(const up_shaking *shaking, const double *value, double time) {
    double sum = 0;
    const double place = (time - shaking->start) / shaking->spacing;
    const int first = (int)fmax(0, floor(place) - 2), last = (int)fmin(shaking->count - 1, floor(place) + 3);
    for (int k = first; k <= last; k++) {
        sum += value[k] * basis(place - k);
    }
    return sum;
}

/* ---- glass ------------------------------------------------------------------------------------------------------------ */

static double drag_by_place(const up_values *v, double x) {
    const int n = v->drag_count;
    if (n == 0 || x <= v->drag_position[0]) {
        return n == 0 ? 0.0 : v->drag_force[0];
    }
    for (int i = 1; i < n; i++) {
        if (x < v->drag_position[i]) {
            const double u = (x - v->drag_position[i - 1]) / (v->drag_position[i] - v->drag_position[i - 1]);
            const double blend = u * u * (3 - 2 * u);
            return (1 - blend) * v->drag_force[i - 1] + blend * v->drag_force[i];
        }
    }
    return v->drag_force[n - 1];
}

static void stops(const closed_form *f, const up_world *world, const up_modes *modes, const double *y, up_loads *l) {
    const up_values *v = &f->v;
    const double x = y[UP_TRAVEL], speed = y[UP_GLASS_SPEED];
    const double header = x - (v->glass_travel - v->header_depth);
    l->header_force = modes->header * v->header_stiffness * f->cold * header;
    l->rod_force = modes->rod * world->rod_stiffness * (x - world->rod_travel);
    l->up_force = modes->up_stop * v->up_stop_stiffness * (x - v->glass_travel) * (1 + v->stop_damping * speed);
    l->down_force = modes->down_stop * v->down_stop_stiffness * (0 - x) * (1 - v->stop_damping * speed);
}

static void glass(const closed_form *f, const up_world *world, const up_modes *modes, double time, const double *y,
                  up_loads *l) {
    const up_values *v = &f->v;
    const double x = y[UP_TRAVEL], speed = y[UP_GLASS_SPEED];
    const up_shaking *shaking = world->shaking;
    l->push = shaking ? series(shaking, shaking->push, time) : 0.0;
    const double press = shaking ? series(shaking, shaking->press, time) : 0.0;
    stops(f, world, modes, y, l);
    l->weight = v->glass_mass * 9.80665 * cos(v->glass_lean + (x - v->glass_travel / 2) / v->glass_curvature);
    l->drag =
        f->dirt * f->cold * (v->run_channel_drag * (v->channel_engaged + 2 * x) + v->belt_drag + drag_by_place(v, x)) +
        v->header_friction * l->header_force + world->rod_tilt_share * l->rod_force + press;
    l->stribeck = 1 + v->static_extra / (1 + pow(speed / v->stribeck_speed, 2));
    const double slide_half_width = 0.002; /* m */
    l->tilt = 2 * v->channel_friction / v->glass_guide * hypot(lever(f, y[UP_OUTPUT_ANGLE]), slide_half_width);
    const double friction = l->drag * l->stribeck + l->tilt * fabs(l->lift_force);
    const int slip = modes->slip[UP_GLASS];
    l->glass_friction = slip * friction + v->seal_viscous * speed;
    l->hold_up[UP_GLASS] = l->hold_down[UP_GLASS] = friction;
    l->net[UP_GLASS] = l->lift_force - l->weight - l->header_force - l->rod_force - l->up_force + l->down_force +
                       world->push + l->push;
    l->rate[UP_GLASS_SPEED] = slip == 0 ? 0.0 : (l->net[UP_GLASS] - l->glass_friction) / v->glass_mass;
}

void closed_form_loads(const closed_form *form, const up_world *world, const up_modes *modes, const up_heat *heat,
                       double time, const double y[UP_STATES], up_loads *loads) {
    motor(form, world, modes, heat, y, loads);
    damper(form, modes, y, loads);
    armature(form, modes, y, loads);
    output(form, modes, y, loads);
    glass(form, world, modes, time, y, loads);
    loads->rate[UP_ARMATURE_ANGLE] = y[UP_ARMATURE_SPEED];
    loads->rate[UP_OUTPUT_ANGLE] = y[UP_OUTPUT_SPEED];
    loads->rate[UP_TRAVEL] = y[UP_GLASS_SPEED];
}

/* The Jacobian. Bodies couple in a row, winding - armature - output - glass, so only neighbours appear. */
#include "core/base/up_math.h"
#include "core/sim/step.h"

static void electrical(const up_piece *p, const double *y, const up_loads *l, up_slopes *s) {
    const up_door *door = p->door;
    const int cut =
        p->modes->bridge == UP_BRIDGE_OPEN || (p->modes->tripped && door->protection == UP_PROTECTION_BIMETAL);
    const double root = l->brush_root;
    const double brush = door->brush_drop * (root * root - y[UP_CURRENT] * y[UP_CURRENT]) / (root * root * root);
    const double per_inductance = cut ? 0.0 : door->per_inductance;
    s->current_by_current = -(l->loop + l->winding + brush) * per_inductance;
    s->current_by_armature = -l->torque_constant * per_inductance;
    const double winding_rate = door->winding_resistance * door->winding_coefficient * p->heat_rate.winding;
    const double constant_rate = door->torque_constant * door->magnet_coefficient * p->heat_rate.box;
    s->current_by_time = -(winding_rate * y[UP_CURRENT] + constant_rate * y[UP_ARMATURE_SPEED]) * per_inductance;
    s->filter = door->per_current_filter;
    const double moves = p->modes->slip[UP_ARMATURE] != 0 ? door->per_armature_inertia : 0.0;
    s->armature_by_time = constant_rate * y[UP_CURRENT] * moves;
}

static void armature(const up_piece *p, const up_loads *l, up_slopes *s) {
    const up_door *door = p->door;
    const double moves = p->modes->slip[UP_ARMATURE] != 0 ? door->per_armature_inertia : 0.0;
    const double carried = -(1.0 + l->worm_share) * door->per_worm_ratio * moves;
    s->armature_by_current = l->torque_constant * moves;
    s->armature_by_armature_angle = carried * l->damper_by_angle * door->per_worm_ratio;
    s->armature_by_output_angle = -carried * l->damper_by_angle;
    s->armature_by_output = -carried * l->damper_by_speed;
    s->armature_by_armature =
        carried * l->damper_by_speed * door->per_worm_ratio -
        (door->motor_viscous + l->damper_torque * door->per_worm_ratio * l->worm_share_slope) * moves;
}

static void output(const up_piece *p, const up_loads *l, up_slopes *s) {
    const up_door *door = p->door;
    const int slip = p->modes->slip[UP_OUTPUT];
    const double moves = slip != 0 ? door->per_output_inertia : 0.0;
    const double side = l->ratio < 0 ? -p->modes->lift_sign : p->modes->lift_sign;
    const double driven = slip * side; /* +1 the motor drives the load, -1 the load drives */
    const double loss = driven > 0 ? door->output_loss : door->output_loss_helped;
    const double loaded = (1.0 + driven * loss) * moves;
    s->output_by_armature = l->damper_by_speed * door->per_worm_ratio * moves;
    s->output_by_armature_angle = l->damper_by_angle * door->per_worm_ratio * moves;
    s->output_by_output = -l->damper_by_speed * moves - loaded * l->ratio * l->ratio * door->damping;
    s->output_by_output_angle = (door->balance_slope - l->damper_by_angle) * moves -
                                loaded * (l->ratio_slope * l->lift_force + l->ratio * l->lift_by_angle);
    s->output_by_glass = loaded * l->ratio * door->damping;
    s->output_by_travel = loaded * l->ratio * door->stiffness;
}

static void glass(const up_piece *p, const double *y, const up_loads *l, up_slopes *s) {
    const up_door *door = p->door;
    const up_modes *modes = p->modes;
    const int slip = modes->slip[UP_GLASS];
    const double moves = slip != 0 ? door->per_mass : 0.0;
    const double pulled = 1.0 - slip * modes->lift_sign * l->tilt;
    const double v = y[UP_GLASS_SPEED];
    const double up = modes->up_stop ? door->up_stiffness : 0.0;
    const double down = modes->down_stop ? door->down_stiffness : 0.0;
    const double header = modes->header ? door->header_stiffness : 0.0;
    const double rod = modes->rod ? p->world->rod_stiffness : 0.0;
    s->glass_by_output = pulled * l->ratio * door->damping * moves;
    s->glass_by_output_angle =
        (pulled * l->lift_by_angle - slip * modes->lift_sign * l->tilt_slope * l->lift_force) * moves;
    const double stop_damping = door->stop_damping * (up * (y[UP_TRAVEL] - door->travel) + down * -y[UP_TRAVEL]);
    s->glass_by_glass =
        -(pulled * door->damping + stop_damping + slip * l->drag * l->stribeck_slope + door->viscous) * moves;
    const double drag_slope = l->drag_slope + door->header_friction * header + p->world->rod_tilt_share * rod;
    s->glass_by_travel =
        -(pulled * door->stiffness + l->weight_slope + header + rod + up * (1.0 + door->stop_damping * v) +
          down * (1.0 - door->stop_damping * v) + slip * drag_slope * l->stribeck) *
        moves;
    s->glass_by_time = l->force_by_time * moves;
}

void up_slopes_at(const up_piece *piece, const double y[UP_STATES], const up_loads *loads, up_slopes *slopes) {
    electrical(piece, y, loads, slopes);
    armature(piece, loads, slopes);
    output(piece, loads, slopes);
    glass(piece, y, loads, slopes);
}

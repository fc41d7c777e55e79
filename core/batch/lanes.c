/* Filling the rows of a lane. */
#include "core/batch/lanes.h"

#include <stddef.h>

#include "core/base/up_math.h"
#include "core/sim/span.h"

static const double FAR = 1e300;

static void empty_tables(up_lanes *s, int k, const up_door *door) {
    s->lift.start[k] = door->lift.start;
    s->lift.per_width[k] = door->lift.per_width;
    s->lift.cell[k] = -1.0; /* none yet */
    s->weight.start[k] = door->weight.start;
    s->weight.per_width[k] = door->weight.per_width;
    s->weight.cell[k] = -1.0;
    const int points = door->drag_count > 0;
    s->drag.low[k] = points ? FAR : -FAR;
    s->drag.high[k] = points ? -FAR : FAR;
    s->drag.from[k] = 0.0;
    s->drag.length[k] = 1.0;
    s->drag.force[k] = 0.0;
    s->drag.step[k] = 0.0;
}

static void look_for_seldom_things(up_lanes *s) {
    s->any_drag_points = 0;
    s->any_disturbed = 0;
    for (int lane = 0; lane < UP_LANES_MAX; lane++) {
        s->any_drag_points |= s->door[lane] != NULL && s->door[lane]->drag_count > 0;
        s->any_disturbed |= s->shakes[lane] != NULL || s->rod_tilt_share[lane] > 0;
    }
}

void up_lanes_set_door(up_lanes *s, int k, const up_door *door, double tolerance) {
    s->door[k] = door;
#define UP_LANE_FILL(name) s->name[k] = door->name;
    UP_LANE_DOOR_LIST(UP_LANE_FILL)
#undef UP_LANE_FILL
    const double at_rest = door->worm_running + door->worm_extra;
    s->hold_against[k] = up_worm_loss_share(door, at_rest, 0);
    s->hold_with[k] = up_worm_loss_share(door, at_rest, 1);
    empty_tables(s, k, door);
    look_for_seldom_things(s);
    for (int n = 0; n < UP_STATES; n++) {
        s->scale[n][k] = tolerance * UP_SPAN_SCALE[n];
    }
}

void up_lanes_set_disturbance(up_lanes *s, int k, const up_world *world) {
    const up_shaking *shaking = world->shaking;
    up_row_shaking *row = &s->shaking;
    s->shakes[k] = shaking;
    s->rod_tilt_share[k] = world->rod_tilt_share;
    row->start[k] = shaking != NULL ? shaking->start : 0.0;
    row->per_spacing[k] = world->per_shaking;
    row->last[k] = shaking != NULL ? up_shaking_last_cell(shaking) : 0.0;
    row->cell[k] = 0.0; /* the one before all */
    for (int power = 0; power < UP_SHAKING_ORDER; power++) {
        row->push[power][k] = 0.0;
        row->press[power][k] = 0.0;
    }
    look_for_seldom_things(s);
}

void up_lanes_empty(up_lanes *s, int k) {
    const up_world still = {0};
    s->door[k] = NULL;
    up_lanes_set_disturbance(s, k, &still);
}

static void set_electrical(up_lanes *s, int k, const up_world *world, const up_modes *modes) {
    const up_door *door = s->door[k];
    const int driven = modes->bridge == UP_BRIDGE_RAISE || modes->bridge == UP_BRIDGE_LOWER;
    const double sign = modes->bridge == UP_BRIDGE_LOWER ? -1.0 : 1.0;
    const int cut = modes->bridge == UP_BRIDGE_OPEN || (modes->tripped && door->protection == UP_PROTECTION_BIMETAL);
    s->protector[k] = modes->tripped ? door->protector_tripped : door->protector_resistance;
    s->source[k] = driven ? sign * world->open_voltage : 0.0;
    s->loop[k] = door->bridge_resistance + (driven ? door->source_resistance : 0.0);
    s->uncut[k] = cut ? 0 : -1;
    s->moving_inductance[k] = cut ? 0.0 : door->per_inductance;
}

static void set_damper(up_lanes *s, int k, const up_modes *modes) {
    const up_door *door = s->door[k];
    const up_damper_regime regime = modes->damper;
    const int down = regime == UP_DAMPER_DOWN || regime == UP_DAMPER_DOWN_LIMIT;
    const int at_limit = regime == UP_DAMPER_UP_LIMIT || regime == UP_DAMPER_DOWN_LIMIT;
    const double limit_stiffness = down ? door->damper_down_limit : door->damper_up_limit;
    s->damper_way[k] = down ? -1.0 : 1.0;
    s->damper_stiffness[k] = down ? door->damper_down : door->damper_up;
    s->damper_limit_stiffness[k] = limit_stiffness;
    s->damper_slope[k] = s->damper_stiffness[k] + (at_limit ? limit_stiffness : 0.0);
    s->damper_limit[k] = down ? door->damper_down_stop : door->damper_limit;
    s->damper_takes[k] = regime == UP_DAMPER_FREE ? 0 : -1;
    s->damper_at_limit[k] = at_limit ? -1 : 0;
    up_guard_damper_range(door, regime, &s->damper_low[k], &s->damper_high[k]);
}

static void set_bodies(up_lanes *s, int k, const up_modes *modes) {
    const up_door *door = s->door[k];
    const double per_inertia[UP_BODIES] = {door->per_armature_inertia, door->per_output_inertia, door->per_mass};
    for (int body = 0; body < UP_BODIES; body++) {
        const int slip = modes->slip[body];
        s->slip[body][k] = slip;
        s->slips[body][k] = slip != 0 ? -1 : 0;
        s->moves[body][k] = slip != 0 ? per_inertia[body] : 0.0;
    }
    s->armature_coulomb[k] = modes->slip[UP_ARMATURE] * door->motor_friction;
    s->lift_sign[k] = modes->lift_sign;
    s->output_side_plus[k] = modes->slip[UP_OUTPUT] * modes->lift_sign;
    s->output_side_minus[k] = modes->slip[UP_OUTPUT] * -modes->lift_sign;
    s->glass_side[k] = modes->slip[UP_GLASS] * modes->lift_sign;
}

static void set_contact(int k, int touches, double stiffness, up_row_mask mask, up_row slope, up_row way) {
    mask[k] = touches ? -1 : 0;
    slope[k] = touches ? stiffness : 0.0;
    way[k] = touches ? 1.0 : -1.0;
}

void up_lanes_set_modes(up_lanes *s, int k, const up_world *world, const up_modes *modes) {
    const up_door *door = s->door[k];
    set_electrical(s, k, world, modes);
    set_damper(s, k, modes);
    set_bodies(s, k, modes);
    set_contact(k, modes->header, door->header_stiffness, s->header, s->header_slope, s->header_way);
    set_contact(k, modes->rod, world->rod_stiffness, s->rod, s->rod_slope, s->rod_way);
    set_contact(k, modes->up_stop, door->up_stiffness, s->up_stop, s->up_slope, s->up_way);
    set_contact(k, modes->down_stop, door->down_stiffness, s->down_stop, s->down_slope, s->down_way);
    s->rod_travel[k] = world->rod_travel;
    s->rod_stiffness[k] = world->rod_stiffness;
    s->push[k] = world->push;
    s->has_rod[k] = world->rod ? -1 : 0;
    const double opens = door->limit_open_angle;
    const double closes = opens + door->limit_gap_angle;
    s->limit_high[k] = modes->limit == UP_LIMIT_BEFORE ? opens : (modes->limit == UP_LIMIT_IN_GAP ? closes : FAR);
    s->limit_low[k] = modes->limit == UP_LIMIT_BEFORE ? -FAR : (modes->limit == UP_LIMIT_IN_GAP ? opens : closes);
}

void up_lanes_set_loads(up_lanes *s, int k, const up_loads *loads) {
    const double *from = (const double *)(const void *)loads;
    for (int n = 0; n < UP_LOADS_ROWS; n++) {
        s->loads0[n][k] = from[n];
    }
    s->carry[k] = 0;
}

void up_lanes_set_start(up_lanes *s, int k, const up_motion *motion) {
    s->time[k] = motion->time;
    for (int n = 0; n < UP_STATES; n++) {
        s->y0[n][k] = motion->y[n];
    }
    s->heat_winding[k] = motion->heat.winding;
    s->heat_box[k] = motion->heat.box;
    s->heat_protector[k] = motion->heat.protector;
}

void up_lanes_move(up_lanes *s, int from, int to) {
    enum { ROWS = offsetof(up_lanes, door) / sizeof(up_row) };
    up_row *row = (up_row *)(void *)s;
    for (int n = 0; n < ROWS; n++) {
        row[n][to] = row[n][from]; /* masks too: sixty-four bits are moved as they are */
    }
    s->door[to] = s->door[from];
    s->shakes[to] = s->shakes[from];
    up_lanes_empty(s, from);
}

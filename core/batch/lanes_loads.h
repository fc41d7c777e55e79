/* core/sim/loads_flat.h for all lanes at once: the same operations in the same order, regimes as masks and factors. */
#ifndef UPSTOP_BATCH_LANES_LOADS_H
#define UPSTOP_BATCH_LANES_LOADS_H

#include "core/base/up_math.h"
#include "core/batch/lanes_vector.h"

/* The members of up_loads, in its order. */
typedef struct lane_loads {
    lane rate[UP_STATES];
    lane heat_winding, heat_box, heat_protector;
    lane torque_constant, winding, loop, brush_voltage, brush_root, source;
    lane windup, damper_torque, damper_by_angle, damper_by_speed;
    lane worm_share, worm_share_slope;
    lane ratio, ratio_slope, lift_force, lift_by_angle, tilt, tilt_slope;
    lane weight, weight_slope, drag, drag_slope, stribeck, stribeck_slope;
    lane header_force, rod_force, up_force, down_force, glass_friction;
    lane net[UP_BODIES], hold_up[UP_BODIES], hold_down[UP_BODIES];
} lane_loads;

_Static_assert(sizeof(lane_loads) / sizeof(lane) == UP_LOADS_ROWS, "lane_loads has the members of up_loads");

typedef struct lane_heat {
    lane winding, box, protector;
} lane_heat;

/* ---- tables ------------------------------------------------------------------------------------------------------- */

typedef struct lane_point {
    lane value, slope, bend;
} lane_point;

static __attribute__((noinline)) void enter_cells(up_row *into, up_row *also, up_row_table *table, const lane *cell,
                                                  const up_lanes *lanes, int which) {
    for (int k = 0; k < UP_LANES; k++) {
        const up_door *door = lanes->door[k];
        if ((*cell)[k] == table->cell[k] || door == NULL) {
            continue;
        }
        const int number = (int)(*cell)[k];
        table->cell[k] = number;
        const double *c = which == 0 ? door->lift.coefficient[number] : door->weight.coefficient[number];
        for (int power = 0; power < 6; power++) {
            into[power][k] = c[power];
            if (also != NULL) {
                also[power][k] = door->lever.coefficient[number][power];
            }
        }
    }
}

/* Place in the cell, 0..1; the rows then hold the polynomials of that cell. */
UP_LANE_FLAT lane place_in(up_lanes *lanes, up_row_table *table, up_row *into, up_row *also, int which, lane at) {
    const lane scaled = (at - AT(table->start)) * AT(table->per_width);
    const lane cell = whole(smaller(only(scaled > 0.0, scaled), all(UP_TABLE_CELLS - 1)));
    if (any(cell != AT(table->cell))) {
        enter_cells(into, also, table, &cell, lanes, which);
    }
    return scaled - cell;
}

UP_LANE_FLAT void polynomial(up_row *row, lane per_width, lane u, lane_point *point) {
    const lane c1 = AT(row[1]);
    const lane c2 = AT(row[2]);
    const lane c3 = AT(row[3]);
    const lane c4 = AT(row[4]);
    const lane c5 = AT(row[5]);
    point->value = AT(row[0]) + u * (c1 + u * (c2 + u * (c3 + u * (c4 + u * c5))));
    point->slope = per_width * (c1 + u * (2.0 * c2 + u * (3.0 * c3 + u * (4.0 * c4 + u * (5.0 * c5)))));
    point->bend = per_width * per_width * (2.0 * c2 + u * (6.0 * c3 + u * (12.0 * c4 + u * (20.0 * c5))));
}

/* ---- electrical ----------------------------------------------------------------------------------------------------- */

UP_LANE_FLAT void lane_electrical(const up_lanes *s, const lane_heat *heat, const lane *y, lane_loads *l) {
    const lane i = y[UP_CURRENT];
    const lane copper = 1.0 + AT(s->winding_coefficient) * (heat->winding - UP_ROOM_TEMPERATURE);
    const lane magnet = 1.0 + AT(s->magnet_coefficient) * (heat->box - UP_ROOM_TEMPERATURE);
    const lane protector = AT(s->protector);
    const lane winding = AT(s->winding_resistance) * copper;
    l->torque_constant = AT(s->torque_constant) * magnet;
    l->winding = winding + protector;
    l->brush_root = root(i * i + UP_BRUSH_CURRENT * UP_BRUSH_CURRENT);
    l->brush_voltage = AT(s->brush_drop) * i / l->brush_root;
    l->source = AT(s->source);
    l->loop = AT(s->loop);
    l->rate[UP_CURRENT] = only(MASK_AT(s->uncut), (l->source - (l->loop + l->winding) * i - l->brush_voltage -
                                                   l->torque_constant * y[UP_ARMATURE_SPEED]) *
                                                      AT(s->per_inductance));
    l->rate[UP_FILTERED] = (i - y[UP_FILTERED]) * AT(s->per_current_filter);

    const lane to_box = (heat->winding - heat->box) * AT(s->winding_to_case);
    const lane from_protector = (heat->protector - heat->box) * AT(s->protector_to_case);
    const lane to_air = (heat->box - AT(s->temperature)) * AT(s->case_to_air);
    l->heat_winding = (winding * i * i + l->brush_voltage * i - to_box) * AT(s->per_winding_capacity);
    l->heat_protector = (protector * i * i - from_protector) * AT(s->per_protector_capacity);
    l->heat_box = (to_box + from_protector - to_air) * AT(s->per_case_capacity);
}

/* ---- damper and armature -------------------------------------------------------------------------------------------- */

UP_LANE_FLAT void lane_damper(const up_lanes *s, const lane *y, lane_loads *l) {
    const lane windup = y[UP_ARMATURE_ANGLE] * AT(s->per_worm_ratio) - y[UP_OUTPUT_ANGLE];
    const lane way = AT(s->damper_way);
    const lane closing = way * (y[UP_ARMATURE_SPEED] * AT(s->per_worm_ratio) - y[UP_OUTPUT_SPEED]);
    const lane squeeze = way * windup - AT(s->damper_half_play);
    const lane beyond = way * windup - AT(s->damper_limit);
    const lane limit = only(MASK_AT(s->damper_at_limit), AT(s->damper_limit_stiffness) * beyond);
    const lane spring = AT(s->damper_stiffness) * squeeze + limit;
    const lane factor = 1.0 + AT(s->damper_damping) * closing;
    const lane_mask takes = MASK_AT(s->damper_takes);
    l->windup = windup;
    l->damper_torque = only(takes, way * (spring * factor));
    l->damper_by_angle = only(takes, AT(s->damper_slope) * factor);
    l->damper_by_speed = only(takes, spring * AT(s->damper_damping));
}

UP_LANE_FLAT void lane_hold_armature(const up_lanes *s, lane_loads *l) {
    const lane load = magnitude(l->damper_torque) * AT(s->per_worm_ratio);
    const lane against = AT(s->motor_friction) + load * AT(s->hold_against);
    const lane with = AT(s->motor_friction) + load * AT(s->hold_with);
    const lane_mask lifts = l->damper_torque > 0.0;
    l->hold_up[UP_ARMATURE] = pick(lifts, against, with);
    l->hold_down[UP_ARMATURE] = pick(lifts, with, against);
}

UP_LANE_FLAT void lane_armature(const up_lanes *s, const lane *y, lane_loads *l) {
    const lane drive = l->torque_constant * y[UP_CURRENT];
    const lane wheel = l->damper_torque * AT(s->per_worm_ratio);
    const lane_mask slips = MASK_AT(s->slips[UP_ARMATURE]);
    l->net[UP_ARMATURE] = drive - wheel;
    lane_hold_armature(s, l);
    const lane side = pick(l->damper_torque * AT(s->slip[UP_ARMATURE]) > 0.0, all(1.0), all(-1.0));
    const lane slide = y[UP_ARMATURE_SPEED] * AT(s->worm_slide);
    const lane faded = 1.0 / (1.0 + slide * slide);
    const lane friction = AT(s->worm_running) + AT(s->worm_extra) * faded;
    const lane flank = 1.0 / (AT(s->worm_cosine) - side * friction * AT(s->worm_tangent));
    const lane share = friction * AT(s->worm_sum) * flank;
    l->worm_share = only(slips, side * share);
    const lane friction_slope = -2.0 * AT(s->worm_extra) * slide * AT(s->worm_slide) * faded * faded;
    l->worm_share_slope =
        only(slips, side * AT(s->worm_sum) * AT(s->worm_cosine) * flank * flank * friction_slope);
    const lane coulomb = AT(s->armature_coulomb) + AT(s->motor_viscous) * y[UP_ARMATURE_SPEED];
    l->rate[UP_ARMATURE_SPEED] =
        only(slips, (drive - coulomb - wheel * (1.0 + l->worm_share)) * AT(s->per_armature_inertia));
}

/* ---- regulator and output shaft --------------------------------------------------------------------------------------- */

UP_LANE_FLAT void lane_regulator(up_lanes *s, const lane *y, lane_loads *l) {
    const lane angle = y[UP_OUTPUT_ANGLE];
    lane_point lift;
    lane_point lever;
    const lane place = place_in(s, &s->lift, s->lift_c, s->lever_c, 0, angle);
    polynomial(s->lift_c, AT(s->lift.per_width), place, &lift);
    polynomial(s->lever_c, AT(s->lift.per_width), place, &lever);
    l->ratio = lift.slope;
    l->ratio_slope = lift.bend;
    l->lift_force = AT(s->stiffness) * (lift.value - y[UP_TRAVEL]) +
                    AT(s->damping) * (lift.slope * y[UP_OUTPUT_SPEED] - y[UP_GLASS_SPEED]);
    l->lift_by_angle = AT(s->stiffness) * lift.slope + AT(s->damping) * lift.bend * y[UP_OUTPUT_SPEED];
    const lane apart = root(lever.value * lever.value + UP_SLIDE_HALF_WIDTH * UP_SLIDE_HALF_WIDTH);
    l->tilt = AT(s->tilt_share) * apart;
    l->tilt_slope = AT(s->tilt_share) * lever.value * lever.slope / apart;

    const lane load = lift.slope * l->lift_force;
    const lane balance = AT(s->balance_start) + AT(s->balance_slope) * angle;
    const lane friction = AT(s->output_drag) + AT(s->output_loss) * magnitude(load);
    l->net[UP_OUTPUT] = l->damper_torque + balance - load;
    l->hold_up[UP_OUTPUT] = friction;
    l->hold_down[UP_OUTPUT] = friction;
    l->rate[UP_OUTPUT_SPEED] =
        only(MASK_AT(s->slips[UP_OUTPUT]),
             (l->net[UP_OUTPUT] - AT(s->slip[UP_OUTPUT]) * friction) * AT(s->per_output_inertia));
}

/* ---- glass --------------------------------------------------------------------------------------------------------------- */

UP_LANE_FLAT void lane_contacts(const up_lanes *s, const lane *y, lane_loads *l) {
    const lane x = y[UP_TRAVEL];
    const lane v = y[UP_GLASS_SPEED];
    l->header_force = only(MASK_AT(s->header), AT(s->header_stiffness) * (x - AT(s->header_start)));
    l->rod_force = only(MASK_AT(s->rod), AT(s->rod_stiffness) * (x - AT(s->rod_travel)));
    l->up_force = only(MASK_AT(s->up_stop),
                       AT(s->up_stiffness) * (x - AT(s->travel)) * (1.0 + AT(s->stop_damping) * v));
    l->down_force = only(MASK_AT(s->down_stop), AT(s->down_stiffness) * -x * (1.0 - AT(s->stop_damping) * v));
}

static __attribute__((noinline)) void enter_stretches(up_lanes *lanes, const lane *x) {
    up_row_drag *drag = &lanes->drag;
    for (int k = 0; k < UP_LANES; k++) {
        const up_door *door = lanes->door[k];
        if (door == NULL || door->drag_count == 0 || ((*x)[k] >= drag->low[k] && (*x)[k] < drag->high[k])) {
            continue;
        }
        const int n = door->drag_count;
        const double *p = door->drag_position;
        int i = 0;
        while (i < n && (*x)[k] >= p[i]) {
            i++;
        }
        const int inside = i > 0 && i < n;
        const int first = i > 0 ? i - 1 : 0;
        drag->low[k] = i > 0 ? p[i - 1] : -1e300;
        drag->high[k] = i < n ? p[i] : 1e300;
        drag->from[k] = p[first];
        drag->length[k] = inside ? p[i] - p[first] : 1.0;
        drag->force[k] = door->drag_force[first];
        drag->step[k] = inside ? door->drag_force[i] - door->drag_force[first] : 0.0;
    }
}

UP_LANE_FLAT lane lane_drag(up_lanes *s, lane x, lane *slope) {
    const lane force = AT(s->drag_start) + AT(s->drag_slope) * x;
    *slope = AT(s->drag_slope);
    if (!s->any_drag_points) {
        return force;
    }
    const lane_mask inside = (x >= AT(s->drag.low)) & (x < AT(s->drag.high));
    if (any(~inside)) {
        enter_stretches(s, &x);
    }
    const lane u = (x - AT(s->drag.from)) / AT(s->drag.length);
    const lane step = AT(s->drag.step);
    *slope += step * (6.0 * u * (1.0 - u)) / AT(s->drag.length);
    return force + (AT(s->drag.force) + step * (u * u * (3.0 - 2.0 * u)));
}

UP_LANE_FLAT void lane_glass(up_lanes *s, const lane *y, lane_loads *l) {
    const lane v = y[UP_GLASS_SPEED];
    lane_point weight;
    const lane place = place_in(s, &s->weight, s->weight_c, NULL, 1, y[UP_TRAVEL]);
    polynomial(s->weight_c, AT(s->weight.per_width), place, &weight);
    l->weight = weight.value;
    l->weight_slope = weight.slope;
    l->drag = lane_drag(s, y[UP_TRAVEL], &l->drag_slope) + AT(s->header_friction) * l->header_force;
    const lane scaled = v * AT(s->per_stribeck_speed);
    const lane faded = 1.0 / (1.0 + scaled * scaled);
    l->stribeck = 1.0 + AT(s->static_extra) * faded;
    l->stribeck_slope = -2.0 * AT(s->static_extra) * scaled * AT(s->per_stribeck_speed) * faded * faded;
    const lane hold = l->drag * l->stribeck + l->tilt * AT(s->lift_sign) * l->lift_force;
    l->glass_friction = AT(s->slip[UP_GLASS]) * hold + AT(s->viscous) * v;
    l->net[UP_GLASS] =
        l->lift_force - l->weight - l->header_force - l->rod_force - l->up_force + l->down_force + AT(s->push);
    l->hold_up[UP_GLASS] = hold;
    l->hold_down[UP_GLASS] = hold;
    l->rate[UP_GLASS_SPEED] =
        only(MASK_AT(s->slips[UP_GLASS]), (l->net[UP_GLASS] - l->glass_friction) * AT(s->per_mass));
}

UP_LANE_FLAT void lane_loads_at(up_lanes *s, const lane_heat *heat, const lane *y, lane_loads *l) {
    lane_electrical(s, heat, y, l);
    lane_damper(s, y, l);
    lane_armature(s, y, l);
    lane_regulator(s, y, l);
    lane_contacts(s, y, l);
    lane_glass(s, y, l);
    l->rate[UP_ARMATURE_ANGLE] = y[UP_ARMATURE_SPEED];
    l->rate[UP_OUTPUT_ANGLE] = y[UP_OUTPUT_SPEED];
    l->rate[UP_TRAVEL] = y[UP_GLASS_SPEED];
}

#endif

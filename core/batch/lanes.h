/* Several closings side by side, one in each lane: what their steps are made from, number by number in rows.
 *
 * Every lane has its own door, regimes, time and step length. The arithmetic of a step is done for all lanes at once, the
 * same operations in the same order as core/sim does them for one, so that the bits are the same; what happens at
 * instants is left to core/sim, lane by lane (core/batch/batch.c). */
#ifndef UPSTOP_BATCH_LANES_H
#define UPSTOP_BATCH_LANES_H

#include <stdint.h>

#include "core/sim/guards.h"
#include "core/sim/loads.h"
#include "core/sim/shaking.h"

enum { UP_LANES_MAX = 8, UP_LOADS_ROWS = sizeof(up_loads) / sizeof(double) };

typedef double up_row[UP_LANES_MAX] __attribute__((aligned(64)));
typedef int64_t up_row_mask[UP_LANES_MAX] __attribute__((aligned(64))); /* 0 or -1 */

/* Taken over from the door as they are. */
#define UP_LANE_DOOR_LIST(X)  \
    X(winding_resistance)     \
    X(winding_coefficient)    \
    X(per_inductance)         \
    X(torque_constant)        \
    X(magnet_coefficient)     \
    X(brush_drop)             \
    X(per_winding_capacity)   \
    X(per_case_capacity)      \
    X(per_protector_capacity) \
    X(winding_to_case)        \
    X(case_to_air)            \
    X(protector_to_case)      \
    X(motor_friction)         \
    X(motor_viscous)          \
    X(per_armature_inertia)   \
    X(per_worm_ratio)         \
    X(worm_cosine)            \
    X(worm_tangent)           \
    X(worm_sum)               \
    X(worm_running)           \
    X(worm_extra)             \
    X(worm_slide)             \
    X(damper_half_play)       \
    X(damper_damping)         \
    X(per_output_inertia)     \
    X(output_drag)            \
    X(output_loss)            \
    X(output_loss_helped)     \
    X(balance_start)          \
    X(balance_slope)          \
    X(stiffness)              \
    X(damping)                \
    X(per_mass)               \
    X(travel)                 \
    X(tilt_share)             \
    X(drag_start)             \
    X(drag_slope)             \
    X(static_extra)           \
    X(per_stribeck_speed)     \
    X(viscous)                \
    X(header_start)           \
    X(header_stiffness)       \
    X(header_friction)        \
    X(up_stiffness)           \
    X(down_stiffness)         \
    X(stop_damping)           \
    X(limit_gear)             \
    X(per_current_filter)     \
    X(temperature)

/* Which cell of a table a lane is in, and that cell's polynomial: it seldom changes. */
typedef struct up_row_table {
    up_row start, per_width;
    up_row cell;
} up_row_table;

/* The stretch between two extra drag points a lane is in. */
typedef struct up_row_drag {
    up_row low, high;    /* m, where it holds                                  */
    up_row from, length; /* m                                                  */
    up_row force, step;  /* N at its start, and to its end                     */
} up_row_drag;

/* The cell of what shakes it a lane is in. Nothing shakes: the cubics are zero and there is one cell. */
typedef struct up_row_shaking {
    up_row start, per_spacing, last; /* s, 1/s, number of the last cell */
    up_row cell;
    up_row push[UP_SHAKING_ORDER], press[UP_SHAKING_ORDER];
} up_row_shaking;

typedef struct up_lanes {
#define UP_LANE_ROW(name) up_row name;
    UP_LANE_DOOR_LIST(UP_LANE_ROW)
#undef UP_LANE_ROW
    up_row hold_against, hold_with; /* worm's loss shares at rest */
    up_row_table lift, weight;      /* the lever has the lift's cells */
    up_row lift_c[6], lever_c[6], weight_c[6];
    up_row_drag drag;
    up_row_shaking shaking;
    /* the lane's regimes */
    up_row protector, source, loop, moving_inductance;
    up_row_mask uncut;
    up_row damper_way, damper_stiffness, damper_limit_stiffness, damper_slope, damper_limit;
    up_row_mask damper_takes, damper_at_limit;
    up_row slip[UP_BODIES], moves[UP_BODIES]; /* -1, 0, 1; 1 / inertia or 0 */
    up_row_mask slips[UP_BODIES];
    up_row armature_coulomb, lift_sign, output_side_minus, output_side_plus, glass_side;
    up_row_mask header, rod, up_stop, down_stop;
    up_row header_slope, rod_slope, up_slope, down_slope; /* N/m while in contact, else 0 */
    up_row rod_travel, rod_stiffness, rod_tilt_share, push;
    /* the guards */
    up_row damper_low, damper_high, header_way, rod_way, up_way, down_way, limit_low, limit_high;
    up_row_mask has_rod;
    up_row scale[UP_STATES]; /* tolerance times what counts as one */
    /* where the next attempt begins */
    up_row time; /* s */
    up_row y0[UP_STATES], loads0[UP_LOADS_ROWS];
    up_row heat_winding, heat_box, heat_protector;
    up_row_mask carry; /* -1: loads0 is the last attempt's loads1; read and cleared */
    /* what is wanted: `wish` s, before a deadline `left` s away; fresh: not longer than stability asks for */
    up_row wish, left;
    up_row_mask fresh, exact; /* exact: `wish` and nothing else */
    /* what comes out */
    up_row length, error, next; /* s, in units of the tolerance, s the error suggests for the next attempt */
    up_row_mask finite;
    up_row y1[UP_STATES], y_middle[UP_STATES];
    up_row loads1[UP_LOADS_ROWS], middle_heat[3]; /* K/s: winding, box, protector */
    up_row guard0[UP_GUARDS], guard1[UP_GUARDS];
    up_row_mask crossed_middle, crossed_end;
    up_row flow[UP_FLOWS]; /* J over the span */
    /* what is not in rows */
    const up_door *door[UP_LANES_MAX];      /* NULL: no closing in this lane */
    const up_shaking *shakes[UP_LANES_MAX]; /* NULL: nothing                 */
    int any_drag_points, any_disturbed;     /* some lane is shaken or has a rod that tilts its glass */
} up_lanes;

/* One attempt in every lane: slopes, length, step, loads in the middle and at the end, guards, ledger. One for each width
 * the processor may have; all give the same bits. */
typedef void up_lanes_attempt(up_lanes *lanes);

up_lanes_attempt up_lanes_attempt_2;
#if defined __x86_64__ && defined __GNUC__
#define UP_LANES_WIDE 1
up_lanes_attempt up_lanes_attempt_4; /* AVX2    */
up_lanes_attempt up_lanes_attempt_8; /* AVX-512 */
#else
#define UP_LANES_WIDE 0
#endif

/* A new closing in lane k. */
void up_lanes_set_door(up_lanes *lanes, int k, const up_door *door, double tolerance);
/* And what shakes it and how its rod tilts the glass. */
void up_lanes_set_disturbance(up_lanes *lanes, int k, const up_world *world);
/* No closing in lane k any more: its numbers mean nothing, its door and what shook it are not looked at again. */
void up_lanes_empty(up_lanes *lanes, int k);
/* Its world and regimes changed. */
void up_lanes_set_modes(up_lanes *lanes, int k, const up_world *world, const up_modes *modes);
/* Its loads at the start of the span were made anew. */
void up_lanes_set_loads(up_lanes *lanes, int k, const up_loads *loads);
/* Everything of lane `from` into lane `to`; the other is empty then. */
void up_lanes_move(up_lanes *lanes, int from, int to);
void up_lanes_set_start(up_lanes *lanes, int k, const up_motion *motion);

#endif

#include "analysis/bench/door_fault.h"

#include <math.h>

#include "core/base/up_math.h"

#define BY_PLACE(id) \
    ((UP_DOOR_FAULT_##id) == UP_DOOR_FAULT_TIGHT_CHANNEL || (UP_DOOR_FAULT_##id) == UP_DOOR_FAULT_FRAYED_CABLE)
#define BY_CONTROLLER(id) ((UP_DOOR_FAULT_##id) >= UP_DOOR_FAULT_POSITION_LOST) /* the list ends with those */

static const up_door_fault_row rows[UP_DOOR_FAULT_COUNT] = {
#define UP_DOOR_FAULT_ROW(id, name, text, change, why, source, families, signal) \
    {name, text, change, why, source, families, signal, BY_PLACE(id), BY_CONTROLLER(id)},
    UP_DOOR_FAULT_LIST(UP_DOOR_FAULT_ROW)
#undef UP_DOOR_FAULT_ROW
};

const up_door_fault_row *up_door_fault_at(up_door_fault fault) {
    return (unsigned)fault < UP_DOOR_FAULT_COUNT ? &rows[fault] : NULL;
}

int up_door_fault_fits(up_door_fault fault, const up_values *values) {
    if ((unsigned)fault >= UP_DOOR_FAULT_COUNT || (rows[fault].families & (1 << values->family)) == 0) {
        return 0;
    }
    return fault != UP_DOOR_FAULT_BROKEN_SPRING || values->balance_bottom > 0 || values->balance_top > 0;
}

/* ---- changing numbers -------------------------------------------------------------------------------------------- */

static void set(up_values *v, up_number number, double value) {
    double low, high;
    up_number_bounds(number, &low, &high);
    v->number[number] = up_clamp(value, low, high);
}

/* By a factor at severity 1, straight in between. */
static void scale(up_values *v, up_number number, double factor, double severity) {
    set(v, number, v->number[number] * (1 + (factor - 1) * severity));
}

static void add(up_values *v, up_number number, double much, double severity) {
    set(v, number, v->number[number] + much * severity);
}

/* ---- extra drag at a place --------------------------------------------------------------------------------------- */

typedef struct up_hump {
    double from, top_from, top_until, until, force; /* m, N: rises from..top_from, falls top_until..until */
} up_hump;

static double smooth(double u) {
    return u <= 0 ? 0 : (u >= 1 ? 1 : u * u * (3 - 2 * u));
}

static double hump_at(const up_hump *h, double x) {
    const double up = h->top_from > h->from ? smooth((x - h->from) / (h->top_from - h->from)) : (x >= h->from);
    const double down =
        h->until > h->top_until ? smooth((x - h->top_until) / (h->until - h->top_until)) : (x > h->until);
    return h->force * (up - down);
}

/* Extra drag of the sheet's points, docs/model.md 2.5, without factors. */
static double drag_at(const up_values *v, double x) {
    if (v->drag_count == 0) {
        return 0;
    }
    int i = 0;
    while (i < v->drag_count && v->drag_position[i] <= x) {
        i++;
    }
    if (i == 0 || i == v->drag_count) {
        return v->drag_force[i == 0 ? 0 : i - 1];
    }
    const double u = (x - v->drag_position[i - 1]) / (v->drag_position[i] - v->drag_position[i - 1]);
    return v->drag_force[i - 1] + (v->drag_force[i] - v->drag_force[i - 1]) * smooth(u);
}

static int insert(double *place, int count, double x) {
    int i = count;
    for (int k = 0; k < count; k++) {
        if (up_abs(place[k] - x) < 1e-4) { /* near enough, and points must not coincide */
            return count;
        }
    }
    for (; i > 0 && place[i - 1] > x; i--) {
        place[i] = place[i - 1];
    }
    place[i] = x;
    return count + 1;
}

/* The sheet's points and the hump's corners together carry both, exactly at the points. Without room it stays as it is. */
static void add_hump(up_values *v, const up_hump *hump) {
    enum { CORNERS = 4 };
    const double corner[CORNERS] = {hump->from, hump->top_from, hump->top_until, hump->until};
    double place[UP_DRAG_POINTS_MAX + CORNERS];
    int count = v->drag_count;
    for (int i = 0; i < count; i++) {
        place[i] = v->drag_position[i];
    }
    for (int i = 0; i < CORNERS; i++) {
        count = insert(place, count, corner[i]);
    }
    if (count > UP_DRAG_POINTS_MAX) {
        return;
    }
    double force[UP_DRAG_POINTS_MAX];
    for (int i = 0; i < count; i++) {
        force[i] = drag_at(v, place[i]) + hump_at(hump, place[i]);
    }
    for (int i = 0; i < count; i++) {
        v->drag_position[i] = place[i];
        v->drag_force[i] = force[i];
    }
    v->drag_count = count;
}

static void tight_at(up_values *v, double middle, double half_width, double force) {
    const up_hump hump = {middle - half_width, middle, middle, middle + half_width, force};
    add_hump(v, &hump);
}

/* ---- the faults -------------------------------------------------------------------------------------------------- */

typedef void put(double severity, double place, up_values *v, up_bench *bench);

static void put_none(double s, double place, up_values *v, up_bench *b) {
    (void)s, (void)place, (void)v, (void)b;
}

static void put_worn_brushes(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    scale(v, UP_NUMBER_brush_drop, 1.8, s);
    scale(v, UP_NUMBER_winding_resistance, 1.25, s);
    scale(v, UP_NUMBER_motor_friction, 1.2, s);
    b->brushes.noise += 0.07 * s;
    b->brushes.bounce_chance = up_min(b->brushes.bounce_chance + 0.5 * s, 1);
    b->brushes.bounce_depth = up_max(b->brushes.bounce_depth, 0.4);
    b->brushes.shaft_order += 0.02 * s;
}

static void put_dead_segment(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    b->brushes.dead_depth = up_min(b->brushes.dead_depth + 0.8 * s, 0.95);
    scale(v, UP_NUMBER_winding_resistance, 1 / (1 - 0.8 * up_dead_share(v)), s);
}

static void put_dry_channel(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    scale(v, UP_NUMBER_run_channel_drag, 2.2, s);
    scale(v, UP_NUMBER_channel_friction, 1.6, s);
    add(v, UP_NUMBER_static_extra, 0.4, s);
}

static void put_tight_channel(double s, double place, up_values *v, up_bench *b) {
    (void)b;
    tight_at(v, place * v->glass_travel, 0.03, 90 * s);
}

static void put_frozen_seal(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    const double stood = b->run.start_travel;
    const up_hump ice = {stood - 0.012, stood - 0.004, stood + 0.004, stood + 0.012, 120 * s};
    add_hump(v, &ice);
    add(v, UP_NUMBER_static_extra, 0.5, s);
}

static void put_swollen_seal(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    scale(v, UP_NUMBER_belt_drag, 2.5, s);
    scale(v, UP_NUMBER_seal_viscous, 2, s);
    scale(v, UP_NUMBER_header_stiffness, 1.8, s);
    scale(v, UP_NUMBER_header_depth, 1.5, s);
}

static void put_misaligned_track(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    const double top = v->glass_travel;
    const up_hump wedge = {0.15 * top, top, 1.05 * top, 1.1 * top, 70 * s};
    add_hump(v, &wedge);
    add(v, UP_NUMBER_glass_offset, v->glass_offset < 0 ? -0.05 : 0.05, s);
}

static void put_broken_spring(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    scale(v, UP_NUMBER_balance_bottom, 0, s);
    scale(v, UP_NUMBER_balance_top, 0, s);
}

static void put_slipping_gear(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    if (s > 0) {
        b->slip_travel = v->glass_travel * (1 - 0.95 * s);
        b->slip_knock = 0.15;
    }
}

static void put_frayed_cable(double s, double place, up_values *v, up_bench *b) {
    (void)b;
    scale(v, UP_NUMBER_cable_friction, 2, s);
    scale(v, UP_NUMBER_cable_area_modulus, 0.5, s);
    tight_at(v, place * v->glass_travel, 0.015, 50 * s);
}

static void put_hard_damper(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    scale(v, UP_NUMBER_damper_stiffness, 8, s);
    scale(v, UP_NUMBER_damper_damping, 0.4, s);
}

static void put_broken_damper(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    const double most = up_max(1.8 * v->damper_limit, v->damper_play); /* the dogs end it */
    set(v, UP_NUMBER_damper_play, v->damper_play + (most - v->damper_play) * s);
    scale(v, UP_NUMBER_damper_stiffness, 0.4, s);
}

static void put_low_battery(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    add(v, UP_NUMBER_supply_voltage, -2.6, s);
    scale(v, UP_NUMBER_supply_resistance, 4, s);
    if (!up_is_absent(b->run.open_voltage)) {
        b->run.open_voltage = up_max(b->run.open_voltage - 2.6 * s, 0);
    }
}

static void put_bad_joint(double s, double place, up_values *v, up_bench *b) {
    (void)place;
    add(v, UP_NUMBER_contact_resistance, 0.35, s);
    b->joint_flicker += 0.08 * s;
}

static void put_lost_pulses(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    add(v, UP_NUMBER_encoder_missed, 0.06, s);
}

static void put_doubled_pulses(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)v;
    b->line.doubled_share = up_min(b->line.doubled_share + 0.1 * s, 1);
}

static void put_dirty_limit(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)v;
    b->line.limit_chatter = up_min(b->line.limit_chatter + s, 1);
    if (s >= 0.5) {
        b->run.faults.limit_stuck = 1;
    }
}

static void put_position_lost(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)v;
    if (s > 0) {
        b->run.position_lost = 1;
    }
}

static void put_tight_thresholds(double s, double place, up_values *v, up_bench *b) {
    (void)place, (void)b;
    scale(v, UP_NUMBER_detect_force, 0.2, s);
    set(v, UP_NUMBER_detect_edges, floor(v->detect_edges - (v->detect_edges - 1) * s + 0.5));
}

static put *const puts_in[UP_DOOR_FAULT_COUNT] = {
    [UP_DOOR_FAULT_NONE] = put_none,
    [UP_DOOR_FAULT_WORN_BRUSHES] = put_worn_brushes,
    [UP_DOOR_FAULT_DEAD_SEGMENT] = put_dead_segment,
    [UP_DOOR_FAULT_DRY_CHANNEL] = put_dry_channel,
    [UP_DOOR_FAULT_TIGHT_CHANNEL] = put_tight_channel,
    [UP_DOOR_FAULT_FROZEN_SEAL] = put_frozen_seal,
    [UP_DOOR_FAULT_SWOLLEN_SEAL] = put_swollen_seal,
    [UP_DOOR_FAULT_MISALIGNED_TRACK] = put_misaligned_track,
    [UP_DOOR_FAULT_BROKEN_SPRING] = put_broken_spring,
    [UP_DOOR_FAULT_SLIPPING_GEAR] = put_slipping_gear,
    [UP_DOOR_FAULT_FRAYED_CABLE] = put_frayed_cable,
    [UP_DOOR_FAULT_HARD_DAMPER] = put_hard_damper,
    [UP_DOOR_FAULT_BROKEN_DAMPER] = put_broken_damper,
    [UP_DOOR_FAULT_LOW_BATTERY] = put_low_battery,
    [UP_DOOR_FAULT_BAD_JOINT] = put_bad_joint,
    [UP_DOOR_FAULT_LOST_PULSES] = put_lost_pulses,
    [UP_DOOR_FAULT_DOUBLED_PULSES] = put_doubled_pulses,
    [UP_DOOR_FAULT_DIRTY_LIMIT] = put_dirty_limit,
    [UP_DOOR_FAULT_POSITION_LOST] = put_position_lost,
    [UP_DOOR_FAULT_TIGHT_THRESHOLDS] = put_tight_thresholds,
};

void up_door_fault_put(up_door_fault fault, double severity, double place, up_values *values, up_bench *bench) {
    if ((unsigned)fault < UP_DOOR_FAULT_COUNT && severity > 0) {
        puts_in[fault](up_min(severity, 1), up_clamp(place, 0, 1), values, bench);
    }
}

#include "core/sim/guards.h"

#include <stddef.h>

#include "core/base/up_math.h"

static const double FAR = 1e300;

/* ---- the guards --------------------------------------------------------------------------------------------------- */

static double body_guard(const up_modes *modes, const up_loads *l, const double *y, int body) {
    const int slip = modes->slip[body];
    if (slip != 0) {
        return slip * y[UP_ARMATURE_SPEED + body];
    }
    return up_min(l->hold_up[body] - l->net[body], l->hold_down[body] + l->net[body]);
}

void up_guard_damper_range(const up_door *door, up_damper_regime regime, double *low, double *high) {
    static const signed char place[] = {[UP_DAMPER_FREE] = 0,
                                        [UP_DAMPER_UP] = 1,
                                        [UP_DAMPER_UP_LIMIT] = 2,
                                        [UP_DAMPER_DOWN] = -1,
                                        [UP_DAMPER_DOWN_LIMIT] = -2};
    const double edge[] = {
        -FAR, -door->damper_down_stop, -door->damper_half_play, door->damper_half_play, door->damper_limit, FAR};
    *low = edge[place[regime] + 2];
    *high = edge[place[regime] + 3];
}

static double contact_guard(int in_contact, double depth) {
    return in_contact ? depth : -depth;
}

void up_guards_at(const up_door *door, const up_world *world, const up_modes *modes, const double y[UP_STATES],
                  const up_loads *loads, double guard[UP_GUARDS]) {
    for (int body = 0; body < UP_BODIES; body++) {
        guard[UP_GUARD_ARMATURE + body] = body_guard(modes, loads, y, body);
    }
    double low;
    double high;
    up_guard_damper_range(door, modes->damper, &low, &high);
    guard[UP_GUARD_DAMPER_HIGH] = high - loads->windup;
    guard[UP_GUARD_DAMPER_LOW] = loads->windup - low;
    guard[UP_GUARD_LIFT_SIGN] = modes->lift_sign * loads->lift_force;
    const double x = y[UP_TRAVEL];
    guard[UP_GUARD_HEADER] = contact_guard(modes->header, x - door->header_start);
    guard[UP_GUARD_ROD] = world->rod ? contact_guard(modes->rod, x - world->rod_travel) : FAR;
    guard[UP_GUARD_UP_STOP] = contact_guard(modes->up_stop, x - door->travel);
    guard[UP_GUARD_DOWN_STOP] = contact_guard(modes->down_stop, -x);
    const double ring = door->limit_gear * y[UP_OUTPUT_ANGLE];
    const double opens = door->limit_open_angle;
    const double closes = opens + door->limit_gap_angle;
    guard[UP_GUARD_LIMIT_HIGH] =
        modes->limit == UP_LIMIT_BEFORE ? opens - ring : (modes->limit == UP_LIMIT_IN_GAP ? closes - ring : FAR);
    guard[UP_GUARD_LIMIT_LOW] =
        modes->limit == UP_LIMIT_BEFORE ? FAR : (modes->limit == UP_LIMIT_IN_GAP ? ring - opens : ring - closes);
}

double up_guard_tolerance(int guard) {
    static const double tolerance[UP_GUARDS] = {1e-5, 1e-6, 1e-7, 1e-9, 1e-9, 1e-4, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9, 1e-9};
    return tolerance[guard];
}

/* ---- changes of regime ---------------------------------------------------------------------------------------------- */

typedef struct settler {
    const up_door *door;
    const up_world *world;
    up_motion *motion;
    up_modes *modes; /* of the motion */
    double *y;
    up_loads *loads;
    up_told *told;
    void *context;
} settler;

static void tell(const settler *s, up_event_kind kind) {
    if (s->told != NULL) {
        s->told(s->context, kind);
    }
}

static void refresh(const settler *s) {
    up_loads_at(s->door, s->world, s->modes, &s->motion->heat, s->motion->time, s->y, s->loads);
}

/* Which way a body at rest goes: 0 while friction holds it. */
static int way_out(const up_loads *l, int body) {
    if (l->net[body] > l->hold_up[body]) {
        return 1;
    }
    return l->net[body] < -l->hold_down[body] ? -1 : 0;
}

static void change_body(const settler *s, int body) {
    static const up_event_kind starts[UP_BODIES] = {UP_EVENT_ARMATURE_STARTS, UP_EVENT_OUTPUT_STARTS,
                                                    UP_EVENT_GLASS_STARTS};
    static const up_event_kind stops[UP_BODIES] = {UP_EVENT_ARMATURE_STOPS, UP_EVENT_OUTPUT_STOPS,
                                                   UP_EVENT_GLASS_STOPS};
    int *slip = &s->modes->slip[body];
    const int before = *slip;
    s->y[UP_ARMATURE_SPEED + body] = 0.0;
    *slip = 0;
    refresh(s);
    *slip = way_out(s->loads, body);
    if (before == 0 && *slip != 0) {
        tell(s, starts[body]);
    } else if (before != 0 && *slip == 0) {
        tell(s, stops[body]);
    } else if (before != *slip && body == UP_GLASS) {
        tell(s, UP_EVENT_GLASS_TURNS);
    }
}

static void change_damper(const settler *s, int upwards) {
    static const up_damper_regime row[] = {UP_DAMPER_DOWN_LIMIT, UP_DAMPER_DOWN, UP_DAMPER_FREE, UP_DAMPER_UP,
                                           UP_DAMPER_UP_LIMIT};
    static const up_event_kind kind[] = {UP_EVENT_DAMPER_LIMIT, UP_EVENT_DAMPER_TAKES, UP_EVENT_DAMPER_FREE,
                                         UP_EVENT_DAMPER_TAKES, UP_EVENT_DAMPER_LIMIT};
    int place = 0;
    while (row[place] != s->modes->damper) {
        place++;
    }
    place += upwards ? 1 : -1;
    s->modes->damper = row[place];
    tell(s, kind[place]);
}

static void change_contact(const settler *s, int *in_contact, up_event_kind touched, up_event_kind left) {
    *in_contact = !*in_contact;
    tell(s, *in_contact ? touched : left);
}

static void change_limit(const settler *s, int upwards) {
    s->modes->limit = (up_limit_place)((int)s->modes->limit + (upwards ? 1 : -1));
    tell(s, s->modes->limit == UP_LIMIT_IN_GAP ? UP_EVENT_LIMIT_OPENED : UP_EVENT_LIMIT_CLOSED);
}

static void change(const settler *s, int guard) {
    up_modes *modes = s->modes;
    switch (guard) {
    case UP_GUARD_ARMATURE:
    case UP_GUARD_OUTPUT:
    case UP_GUARD_GLASS:
        change_body(s, guard - UP_GUARD_ARMATURE);
        break;
    case UP_GUARD_DAMPER_HIGH:
    case UP_GUARD_DAMPER_LOW:
        change_damper(s, guard == UP_GUARD_DAMPER_HIGH);
        break;
    case UP_GUARD_LIFT_SIGN:
        modes->lift_sign = -modes->lift_sign;
        break;
    case UP_GUARD_HEADER:
        change_contact(s, &modes->header, UP_EVENT_HEADER_TOUCHED, UP_EVENT_HEADER_LEFT);
        break;
    case UP_GUARD_ROD:
        change_contact(s, &modes->rod, UP_EVENT_ROD_TOUCHED, UP_EVENT_ROD_LEFT);
        break;
    case UP_GUARD_UP_STOP:
        change_contact(s, &modes->up_stop, UP_EVENT_UP_STOP_TOUCHED, UP_EVENT_UP_STOP_LEFT);
        break;
    case UP_GUARD_DOWN_STOP:
        change_contact(s, &modes->down_stop, UP_EVENT_DOWN_STOP_TOUCHED, UP_EVENT_DOWN_STOP_LEFT);
        break;
    default:
        change_limit(s, guard == UP_GUARD_LIMIT_HIGH);
        break;
    }
}

int up_settle(const up_door *door, const up_world *world, up_motion *motion, up_loads *loads, up_told *told,
              void *context) {
    const settler s = {door, world, motion, &motion->modes, motion->y, loads, told, context};
    const int most = 24; /* every law may change twice; a row of more is a tangency that the next step resolves */
    int changes = 0;
    double guard[UP_GUARDS];
    refresh(&s);
    while (changes < most) {
        up_guards_at(door, world, s.modes, s.y, loads, guard);
        int first = 0;
        while (first < UP_GUARDS && !(guard[first] < 0.0)) {
            first++;
        }
        if (first == UP_GUARDS) {
            break;
        }
        change(&s, first);
        refresh(&s);
        changes++;
    }
    return changes;
}

void up_modes_at_rest(const up_door *door, const up_world *world, const double y[UP_STATES], up_modes *modes) {
    const double x = y[UP_TRAVEL];
    const double windup = y[UP_ARMATURE_ANGLE] * door->per_worm_ratio - y[UP_OUTPUT_ANGLE];
    const double ring = door->limit_gear * y[UP_OUTPUT_ANGLE];
    *modes = (up_modes){.bridge = UP_BRIDGE_BRAKE, .lift_sign = 1};
    modes->damper = windup > door->damper_limit        ? UP_DAMPER_UP_LIMIT
                    : windup > door->damper_half_play  ? UP_DAMPER_UP
                    : windup < -door->damper_down_stop ? UP_DAMPER_DOWN_LIMIT
                    : windup < -door->damper_half_play ? UP_DAMPER_DOWN
                                                       : UP_DAMPER_FREE;
    modes->header = x > door->header_start;
    modes->rod = world->rod && x > world->rod_travel;
    modes->up_stop = x > door->travel;
    modes->down_stop = x < 0.0;
    modes->limit = ring < door->limit_open_angle                           ? UP_LIMIT_BEFORE
                   : ring < door->limit_open_angle + door->limit_gap_angle ? UP_LIMIT_IN_GAP
                                                                           : UP_LIMIT_BEYOND;
}

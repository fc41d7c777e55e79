#include "analysis/bench/virtual_bench.h"

#include "core/base/up_math.h"

static const struct {
    const char *name, *text;
} mountings[UP_MOUNTING_COUNT] = {
#define UP_MOUNTING_ROW(id, name, text) {name, text},
    UP_MOUNTING_LIST(UP_MOUNTING_ROW)
#undef UP_MOUNTING_ROW
};

const char *up_mounting_name(up_mounting mounting) {
    return (unsigned)mounting < UP_MOUNTING_COUNT ? mountings[mounting].name : NULL;
}

const char *up_mounting_text(up_mounting mounting) {
    return (unsigned)mounting < UP_MOUNTING_COUNT ? mountings[mounting].text : NULL;
}

#define RAIL_MASS 0.1 /* kg, the least that the entry allows */

static void take_glass_off(up_values *v) {
    v->glass_mass = RAIL_MASS;
    v->run_channel_drag = v->belt_drag = v->static_extra = v->seal_viscous = 0;
    v->channel_friction = v->header_stiffness = v->header_friction = v->cold_growth = 0;
    v->drag_count = 0;
}

/* The motor alone is a rack door whose rack is so fine that all behind the pinion weighs nothing: 95 turns of the output, and
 * a spring that carries the last gram. A long limit ring keeps to its one turn. */
static void take_motor_out(up_values *v) {
    enum { TEETH = 10 };
    const double module = 0.5e-3;
    take_glass_off(v);
    v->family = UP_FAMILY_RACK;
    v->pinion_teeth = TEETH;
    v->pinion_module = module;
    v->mesh_loss = 0;
    v->glass_travel = 1.5;
    v->glass_lean = 0;
    v->glass_curvature = 1e6;
    v->glass_offset = 0;
    v->balance_bottom = v->balance_top = 0.5 * TEETH * module * RAIL_MASS * UP_GRAVITY;
    v->limit_sun = 6;
    v->limit_planet = 300;
    v->limit_ring = 606;
    v->limit_planets = 2;
    v->limit_open = UP_ABSENT;
}

void up_bench_mount(const up_values *values, up_mounting mounting, up_values *mounted) {
    *mounted = *values;
    if (mounting == UP_MOUNTING_GLASS_OFF) {
        take_glass_off(mounted);
    } else if (mounting == UP_MOUNTING_MOTOR_FREE) {
        take_motor_out(mounted);
    }
}

#include "core/door/check.h"

#include <stddef.h>

#include "core/base/up_math.h"
#include "core/parts/planetary.h"
#include "core/parts/worm.h"
#include "core/regulator/arms.h"
#include "core/regulator/regulator.h"

typedef struct finder {
    const up_values *values;
    up_door_finding *out;
    int max, count, fatal;
} finder;

static const double NONE = UP_ABSENT;

const char *up_door_finding_text(up_door_finding_code code) {
    static const char *const text[] = {
#define UP_DOOR_FINDING_TEXT(id, fatal, words) words,
        UP_DOOR_FINDING_LIST(UP_DOOR_FINDING_TEXT)
#undef UP_DOOR_FINDING_TEXT
    };
    return (unsigned)code < (unsigned)UP_FINDING_COUNT ? text[code] : "unknown finding";
}

int up_door_finding_is_fatal(up_door_finding_code code) {
    static const unsigned char fatal[] = {
#define UP_DOOR_FINDING_FATAL(id, is_fatal, words) is_fatal,
        UP_DOOR_FINDING_LIST(UP_DOOR_FINDING_FATAL)
#undef UP_DOOR_FINDING_FATAL
    };
    return (unsigned)code < (unsigned)UP_FINDING_COUNT ? fatal[code] : 1;
}

static void add(finder *f, up_door_finding_code code, int number, double found, double low, double high) {
    if (f->count < f->max) {
        f->out[f->count] = (up_door_finding){code, number, -1, found, low, high};
    }
    f->count++;
    f->fatal |= up_door_finding_is_fatal(code);
}

/* ---- single entries -------------------------------------------------------------------------------------------- */

static const unsigned char is_count[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, ...) (unit)[0] == 'c' && (unit)[1] == 'o',
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static const unsigned char may_be_absent[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, per_si, fallback, spread, low, high, families, source, how) (source)[0] == '\0',
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static int word_count(const char *words) {
    int count = 1;
    for (; *words != '\0'; words++) {
        count += *words == '|';
    }
    return count;
}

static void check_choices(finder *f) {
    static const char *const words[UP_CHOICE_COUNT] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, key, list, ...) list,
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        const int value = f->values->choice[i];
        if (value < 0 || value >= word_count(words[i])) {
            add(f, UP_FINDING_UNKNOWN_WORD, -1, value, 0, word_count(words[i]) - 1);
            if (f->count <= f->max) {
                f->out[f->count - 1].choice = i;
            }
        }
    }
}

static void check_number(finder *f, int i) {
    const double value = f->values->number[i];
    double low;
    double high;
    up_number_bounds((up_number)i, &low, &high);
    if (up_is_absent(value)) {
        if (!may_be_absent[i]) {
            add(f, UP_FINDING_MISSING, i, value, low, high);
        }
    } else if (!(value - value == 0.0)) {
        add(f, UP_FINDING_NOT_FINITE, i, value, low, high);
    } else if (value < low || value > high) {
        add(f, UP_FINDING_OUT_OF_BOUNDS, i, value, low, high);
    } else if (is_count[i] && i < UP_NUMBER_measured_raise_time && value != __builtin_floor(value)) {
        add(f, UP_FINDING_NOT_WHOLE, i, value, low, high);
    }
}

static void check_numbers(finder *f) {
    const int bit = 1 << f->values->family;
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        if (up_number_families((up_number)i) & bit) {
            check_number(f, i);
        }
    }
}

/* ---- parts ------------------------------------------------------------------------------------------------------ */

static void check_worm(finder *f) {
    const up_values *v = f->values;
    if (v->wheel_teeth <= 2 * v->worm_starts) {
        add(f, UP_FINDING_TOO_FEW_WHEEL_TEETH, UP_NUMBER_wheel_teeth, v->wheel_teeth, 2 * v->worm_starts + 1, NONE);
    }
    if (v->worm_static_friction < v->worm_friction) {
        add(f, UP_FINDING_STATIC_BELOW_RUNNING, UP_NUMBER_worm_static_friction, v->worm_static_friction,
            v->worm_friction, NONE);
    }
    const double lead = up_worm_lead_angle(v->worm_starts, v->worm_module, v->worm_diameter);
    const double steepest = 0.8; /* rad: 46 degrees, beyond which no power worm is cut (common practice, no source) */
    if (lead > steepest) {
        add(f, UP_FINDING_LEAD_TOO_STEEP, UP_NUMBER_worm_diameter, v->worm_diameter,
            v->worm_starts * v->worm_module / up_tan(steepest), NONE);
    }
    const double used = up_is_absent(v->worm_lead_angle) ? lead : v->worm_lead_angle;
    const double jams = up_cos(v->worm_pressure_angle) / up_max(v->worm_static_friction, 1e-9);
    if (up_tan(used) > 0.9 * jams) {
        add(f, UP_FINDING_LEAD_TOO_STEEP, UP_NUMBER_worm_lead_angle, used, NONE, up_atan(0.9 * jams));
    }
    if (v->protection != UP_PROTECTION_NONE && v->protector_reset >= v->protector_trip) {
        add(f, UP_FINDING_PROTECTOR_ORDER, UP_NUMBER_protector_reset, v->protector_reset, NONE, v->protector_trip);
    }
    if (v->damper_limit <= 0.5 * v->damper_play) {
        add(f, UP_FINDING_PLAY_BEYOND_LIMIT, UP_NUMBER_damper_limit, v->damper_limit, 0.5 * v->damper_play, NONE);
    }
}

static double rise_radius(const up_values *v) {
    return v->family == UP_FAMILY_CROSSED_ARMS
               ? 0.5 * (v->arm_length + v->equaliser_pivot * (1.0 + v->equaliser_upper / v->equaliser_lower))
               : v->arm_length;
}

/* Sine of the arm angle with the glass on its up-stop. */
static double top_sine(const up_values *v) {
    return up_sin(v->arm_start) + v->glass_travel / rise_radius(v);
}

static void check_equaliser(finder *f, double top) {
    const up_values *v = f->values;
    const double at_bottom = up_abs(v->equaliser_pivot * up_sin(v->arm_start) + v->equaliser_rail);
    const double at_top = up_abs(v->equaliser_pivot * top + v->equaliser_rail);
    const double needed = up_max(at_bottom, at_top) / 0.99;
    if (v->equaliser_lower < needed) {
        add(f, UP_FINDING_EQUALISER_CANNOT_REACH, UP_NUMBER_equaliser_lower, v->equaliser_lower, needed, NONE);
        return;
    }
    up_lift_point bottom_point;
    up_lift_point top_point;
    const double top_angle = (up_asin(top) - v->arm_start) / up_arm_gear(v);
    up_regulator_crossed_arms.lift(v, 0.0, &bottom_point);
    up_regulator_crossed_arms.lift(v, top_angle, &top_point);
    const double tilt = up_max(up_abs(bottom_point.rail_tilt), up_abs(top_point.rail_tilt));
    const double most = 0.02; /* rad: 1.1 degrees, about 10 mm over a glass of 500 mm (assumption of this tool) */
    if (tilt > most) {
        add(f, UP_FINDING_RAIL_TILTS, UP_NUMBER_equaliser_upper, tilt, NONE, most);
    }
}

static void check_arms(finder *f) {
    const up_values *v = f->values;
    if (v->sector_teeth <= v->pinion_teeth) {
        add(f, UP_FINDING_SECTOR_SMALLER_THAN_PINION, UP_NUMBER_sector_teeth, v->sector_teeth, v->pinion_teeth + 1,
            NONE);
        return;
    }
    double low;
    double high;
    up_arm_reach(v, &low, &high);
    const double steepest = up_sin(up_arm_angle(v, high));
    const double top = top_sine(v);
    if (v->arm_start <= up_arm_angle(v, low) || top > steepest) {
        const double most = (steepest - up_sin(v->arm_start)) * rise_radius(v);
        add(f, UP_FINDING_ARM_CANNOT_REACH, UP_NUMBER_glass_travel, v->glass_travel, NONE, most);
        return;
    }
    const double needed = (up_asin(top) - v->arm_start) / (2 * UP_PI) * v->sector_teeth;
    if (v->sector_cut < needed) {
        add(f, UP_FINDING_SECTOR_TOO_SHORT, UP_NUMBER_sector_cut, v->sector_cut, __builtin_ceil(needed), NONE);
    }
    if (v->family == UP_FAMILY_CROSSED_ARMS) {
        check_equaliser(f, top);
    }
}

/* ---- limit ring and encoder ------------------------------------------------------------------------------------- */

static void check_limit_ring(finder *f, double stroke_turns, double angle_12mm_below_top) {
    const up_values *v = f->values;
    if (v->limit_ring != v->limit_sun + 2 * v->limit_planet) {
        add(f, UP_FINDING_RING_DOES_NOT_FIT, UP_NUMBER_limit_ring, v->limit_ring, v->limit_sun + 2 * v->limit_planet,
            v->limit_sun + 2 * v->limit_planet);
        return;
    }
    const double share = (v->limit_sun + v->limit_ring) / v->limit_planets;
    if (share != __builtin_floor(share)) {
        add(f, UP_FINDING_PLANETS_CANNOT_ASSEMBLE, UP_NUMBER_limit_planets, v->limit_planets, NONE, NONE);
    }
    if (v->limit_planets > 1 &&
        (v->limit_sun + v->limit_planet) * up_sin(UP_PI / v->limit_planets) <= v->limit_planet + 2) {
        add(f, UP_FINDING_PLANETS_TOUCH, UP_NUMBER_limit_planets, v->limit_planets, 1, v->limit_planets - 1);
    }
    const double ring_turns = stroke_turns * up_planetary_carrier_turns(v->limit_sun, v->limit_ring);
    if (ring_turns > 1.0) {
        add(f, UP_FINDING_RING_TURNS_TOO_FAR, UP_NUMBER_limit_ring, ring_turns, NONE, 1.0);
    }
    if (!up_is_absent(v->limit_open)) {
        const double stroke = ring_turns * 2 * UP_PI;
        if (v->limit_open >= stroke) {
            add(f, UP_FINDING_LIMIT_OPENS_LATE, UP_NUMBER_limit_open, v->limit_open, NONE, stroke);
        } else if (v->limit_open < stroke - 5 * angle_12mm_below_top) {
            add(f, UP_FINDING_LIMIT_ZONE_TOO_LOW, UP_NUMBER_limit_open, v->limit_open,
                stroke - 5 * angle_12mm_below_top, stroke);
        }
    }
}

static void check_encoder(finder *f, double stroke_angle) {
    const up_values *v = f->values;
    const double edges_per_turn = 2 * v->encoder_pulses;
    if (edges_per_turn > 512) {
        add(f, UP_FINDING_TOO_MANY_EDGES, UP_NUMBER_encoder_pulses, v->encoder_pulses, 1, 256);
    }
    const double gear = v->wheel_teeth / v->worm_starts;
    const int on_armature = v->encoder_shaft == UP_ENCODER_ON_ARMATURE;
    const double edges = stroke_angle / (2 * UP_PI) * edges_per_turn * (on_armature ? gear : 1.0);
    if (edges < 40) {
        add(f, UP_FINDING_TOO_FEW_EDGES, UP_NUMBER_encoder_pulses, edges, 40, NONE);
    }
    const double fastest =
        0.5 * v->supply_voltage / v->torque_constant / UP_PI * v->encoder_pulses * (on_armature ? 1.0 : 1.0 / gear);
    if (fastest * v->tick > 10) {
        add(f, UP_FINDING_TOO_FAST_EDGES, UP_NUMBER_encoder_pulses, fastest, NONE, 10 / v->tick);
    }
}

/* ---- glass ------------------------------------------------------------------------------------------------------ */

static void check_drag(finder *f) {
    const up_values *v = f->values;
    const double plain = v->run_channel_drag * v->channel_engaged + v->belt_drag;
    if (v->drag_count < 0 || v->drag_count > UP_DRAG_POINTS_MAX) {
        add(f, UP_FINDING_DRAG_POINTS_NOT_RISING, -1, v->drag_count, 0, UP_DRAG_POINTS_MAX);
        return;
    }
    for (int i = 0; i < v->drag_count; i++) {
        const double position = v->drag_position[i];
        const double force = v->drag_force[i];
        if (!(position - position == 0.0) || !(force - force == 0.0)) {
            add(f, UP_FINDING_NOT_FINITE, -1, position, NONE, NONE);
        } else if (i > 0 && position <= v->drag_position[i - 1]) {
            add(f, UP_FINDING_DRAG_POINTS_NOT_RISING, -1, position, v->drag_position[i - 1], NONE);
        } else if (plain + 2 * v->run_channel_drag * up_clamp(position, 0, v->glass_travel) + force < 0) {
            add(f, UP_FINDING_DRAG_BELOW_ZERO, -1, plain + force, 0, NONE);
        }
    }
}

/* Force at the glass near the up-stop with the motor stalled, cold and at the sheet's voltage, N. */
static double stall_force(const up_values *v, double top_ratio) {
    const double current = (v->supply_voltage - v->brush_drop) / (v->winding_resistance + v->bridge_resistance);
    const double lead = up_is_absent(v->worm_lead_angle)
                            ? up_worm_lead_angle(v->worm_starts, v->worm_module, v->worm_diameter)
                            : v->worm_lead_angle;
    const double efficiency = up_worm_efficiency_driving(lead, v->worm_pressure_angle, v->worm_friction);
    return v->torque_constant * current * v->wheel_teeth / v->worm_starts * efficiency / top_ratio;
}

static void check_dead_centre(finder *f, const up_regulator *regulator, const up_lift_point *top) {
    const up_values *v = f->values;
    double low;
    double high;
    regulator->reach(v, &low, &high);
    up_lift_point end;
    regulator->lift(v, high, &end);
    const double reserve = 1.5; /* cold windings and magnets pull harder (assumption of this tool) */
    const double needed = reserve * stall_force(v, top->ratio) / (end.travel - v->glass_travel);
    if (v->regulator_stiffness < needed) {
        add(f, UP_FINDING_ARM_PASSES_DEAD_CENTRE, UP_NUMBER_regulator_stiffness, v->regulator_stiffness, needed, NONE);
    }
}

static void check_glass(finder *f, const up_regulator *regulator, double top_angle) {
    const up_values *v = f->values;
    if (v->header_depth >= v->glass_travel) {
        add(f, UP_FINDING_HEADER_TOO_DEEP, UP_NUMBER_header_depth, v->header_depth, 0, v->glass_travel);
    }
    up_lift_point bottom;
    up_lift_point top;
    regulator->lift(v, 0.0, &bottom);
    regulator->lift(v, top_angle, &top);
    if ((1 << v->family) & UP_ARMS) {
        check_dead_centre(f, regulator, &top);
    }
    const double lever = up_max(up_abs(bottom.lever), up_abs(top.lever));
    const double share = 2 * v->channel_friction * lever / v->glass_guide;
    if (share >= 1.0) {
        add(f, UP_FINDING_GLASS_JAMS, UP_NUMBER_glass_offset, share, NONE, 1.0);
    }
}

static void check_geometry(finder *f) {
    const up_values *v = f->values;
    check_worm(f);
    if ((1 << v->family) & UP_ARMS) {
        check_arms(f);
    }
    check_drag(f);
    if (f->fatal) {
        return; /* what follows needs a mechanism that moves */
    }
    const up_regulator *regulator = up_regulator_of(v->family);
    const double top_angle = up_regulator_angle(regulator, v, v->glass_travel);
    const double limit_gear = up_planetary_carrier_turns(v->limit_sun, v->limit_ring);
    const double lead_in = top_angle - up_regulator_angle(regulator, v, v->glass_travel - 0.012);
    check_limit_ring(f, top_angle / (2 * UP_PI), lead_in * limit_gear);
    check_encoder(f, top_angle);
    check_glass(f, regulator, top_angle);
}

int up_door_check(const up_values *values, up_door_finding *findings, int max) {
    finder f = {values, findings, max, 0, 0};
    check_choices(&f);
    if (!f.fatal) {
        check_numbers(&f);
    }
    if (!f.fatal) {
        check_geometry(&f);
    }
    return f.count;
}

int up_door_is_usable(const up_values *values) {
    finder f = {values, NULL, 0, 0, 0};
    check_choices(&f);
    if (!f.fatal) {
        check_numbers(&f);
    }
    if (!f.fatal) {
        check_geometry(&f);
    }
    return !f.fatal;
}

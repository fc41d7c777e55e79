/* From normal numbers to a door and its surroundings. */
#include "analysis/case.h"

#include <math.h>
#include <stddef.h>

#include "analysis/normals.h"
#include "analysis/wear.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* Streams of the random numbers: an entry's is its number in the list, so that one more tolerance changes no other draw. The
 * many numbers of road and gusts have a stream for each place at which they are drawn. */
#define WORLD_STREAM 0x10000u
#define ROAD_STREAMS ((uint64_t)1 << 62)
#define GUST_STREAMS ((uint64_t)1 << 63)

/* ---- the door -------------------------------------------------------------------------------------------------------- */

/* The sheet with its entries moved to what was drawn, or a part of the way. */
static void move_entries(const up_case_maker *maker, const double *below, double part, up_values *values) {
    *values = maker->known->values;
    for (int i = 0; i < maker->entries; i++) {
        const up_draw *const draw = &maker->entry[i];
        const double moved = draw->value + part * (up_draw_value(draw, below[i]) - draw->value);
        values->number[draw->number] = draw->whole ? floor(moved + 0.5) : moved;
    }
}

/* Fills values, door and halvings of the case. */
static up_status make_door(const up_case_maker *maker, const double *below, double wear, double temperature,
                           up_case *out) {
    up_status status = UP_BAD_VALUE;
    double part = 1;
    for (out->halvings = 0; out->halvings <= UP_CASE_HALVINGS; out->halvings++) {
        move_entries(maker, below, out->halvings < UP_CASE_HALVINGS ? part : 0, &out->values);
        up_worn(&out->values, wear, &out->values);
        status = up_door_prepare(&out->values, temperature, &out->door);
        if (status != UP_BAD_VALUE && status != UP_BAD_GEOMETRY) {
            return status;
        }
        part *= 0.5;
    }
    out->halvings = UP_CASE_HALVINGS;
    return status;
}

/* ---- the surroundings ------------------------------------------------------------------------------------------------- */

static double evenly(double low, double high, double below) {
    return low + (high - low) * below;
}

static up_status draw_surroundings(const up_case_maker *maker, const double *z, const double *below,
                                   up_disturbance *what) {
    up_surroundings around = maker->plan.around;
    if (below[UP_CASE_DRIVING] >= maker->plan.driving_share) {
        around.road_low = around.road_high = around.speed_low = around.speed_high = 0;
    }
    return up_surroundings_draw(&around, z + UP_CASE_AROUND, maker->closing_time, what);
}

static void keep_drawn(const up_disturbance *what, double wear, up_case *out) {
    double *const drawn = out->drawn;
    double current = 0, first = UP_ABSENT;
    for (int i = 0; i < what->loads; i++) {
        current += what->load[i].current;
        first = up_is_absent(first) ? what->load[i].time : up_min(first, what->load[i].time);
    }
    drawn[UP_DRAWN_temperature] = out->options.temperature;
    drawn[UP_DRAWN_supply_voltage] = out->options.open_voltage;
    drawn[UP_DRAWN_road_roughness] = what->vehicle_speed > 0 ? what->road_roughness : UP_ABSENT;
    drawn[UP_DRAWN_vehicle_speed] = what->vehicle_speed > 0 ? what->vehicle_speed : UP_ABSENT;
    drawn[UP_DRAWN_wind_speed] = what->wind_speed;
    drawn[UP_DRAWN_slam_peak] = what->slam_peak > 0 ? what->slam_peak : UP_ABSENT;
    drawn[UP_DRAWN_slam_time] = what->slam_peak > 0 ? what->slam_time : UP_ABSENT;
    drawn[UP_DRAWN_load_current] = what->loads > 0 ? current : UP_ABSENT;
    drawn[UP_DRAWN_load_time] = first;
    drawn[UP_DRAWN_wear] = wear;
}

static void set_options(const up_case_maker *maker, const double *below, double temperature, up_case *out) {
    const up_plan *const plan = &maker->plan;
    up_run_options *const run = &out->options;
    up_run_options_default(run);
    run->temperature = temperature;
    run->tolerance = maker->tolerance;
    run->open_voltage = up_is_absent(plan->supply_low)
                            ? out->values.supply_voltage
                            : evenly(plan->supply_low, plan->supply_high, below[UP_CASE_SUPPLY]);
    run->seed = (uint32_t)up_min(below[UP_CASE_ENCODER] * 4294967296.0, 4294967295.0);
    run->rod = plan->rod;
    if (plan->rod) {
        run->rod_opening = up_min(plan->rod_opening, out->door.travel);
        run->rod_stiffness = plan->rod_stiffness;
    }
}

static unsigned char share_byte(double below) {
    return (unsigned char)up_min(256 * below, 255);
}

/* Everything but the shaking itself; *what says what shakes. */
static up_status begin_case(const up_case_maker *maker, const double *z, up_case *out, up_disturbance *what) {
    const up_plan *const plan = &maker->plan;
    double below[UP_CASE_SINGLES_MAX] = {0};
    for (int i = 0; i < maker->singles; i++) {
        below[i] = up_normal_below(z[i]);
        out->share[i] = share_byte(below[i]);
    }
    const double *const world = below + maker->entries;
    const double wear = evenly(plan->wear_low, plan->wear_high, world[UP_CASE_WEAR]);
    const double temperature = evenly(plan->temperature_low, plan->temperature_high, world[UP_CASE_TEMPERATURE]);
    up_status status = make_door(maker, below, wear, temperature, out);
    if (status == UP_OK) {
        status = draw_surroundings(maker, z + maker->entries, world, what);
    }
    if (status == UP_OK) {
        set_options(maker, world, temperature, out);
        out->options.supply_steps = up_disturbance_supply(&out->values, what, out->options.open_voltage,
                                                          &out->options.open_voltage, out->options.supply_step);
        keep_drawn(what, wear, out);
    }
    return status;
}

/* shaking: the numbers of z after the singles. */
static up_status shake_case(const up_case_maker *maker, const double *shaking, const up_disturbance *what,
                            up_case *out) {
    const int skipped = what->road_roughness > 0 && what->vehicle_speed > 0 ? 0 : maker->road_numbers;
    const up_status status =
        up_disturbance_shaking(&out->values, what, shaking + skipped, maker->numbers - maker->singles - skipped,
                               maker->duration, out->push, out->press, UP_CASE_SHAKING_MAX, &out->shaking);
    if (status == UP_OK) {
        out->options.shaking = &out->shaking;
    }
    return status;
}

up_status up_case_make(const up_case_maker *maker, const double *z, up_case *out) {
    up_disturbance what;
    const up_status status = begin_case(maker, z, out, &what);
    if (status != UP_OK || !up_disturbance_shakes(&what)) {
        return status;
    }
    return shake_case(maker, z + maker->singles, &what, out);
}

/* ---- drawn at a place ------------------------------------------------------------------------------------------------- */

static uint64_t place_of(const uint64_t *index, int factor, uint64_t place) {
    return index ? index[factor] : place;
}

void up_case_singles(const up_case_maker *maker, uint64_t seed, uint64_t place, const uint64_t *index, double *z) {
    for (int i = 0; i < maker->singles; i++) {
        const uint64_t stream =
            i < maker->entries ? (uint64_t)maker->entry[i].number : WORLD_STREAM + (uint64_t)(i - maker->entries);
        z[i] = up_random_normal(seed, stream, place_of(index, up_case_factor_of(maker, i), place));
    }
}

void up_case_shares(const up_case_maker *maker, const double *z, unsigned char *share) {
    for (int i = 0; i < maker->singles; i++) {
        share[i] = share_byte(up_normal_below(z[i]));
    }
}

up_status up_case_draw(const up_case_maker *maker, uint64_t seed, uint64_t place, const uint64_t *index, double *z,
                       up_case *out) {
    up_disturbance what;
    up_case_singles(maker, seed, place, index, z);
    const up_status status = begin_case(maker, z, out, &what);
    if (status != UP_OK || !up_disturbance_shakes(&what)) {
        return status;
    }
    const uint64_t road = place_of(index, maker->entries + UP_GROUP_road, place);
    const uint64_t wind = place_of(index, maker->entries + UP_GROUP_wind, place);
    const int gusts = maker->numbers - maker->singles - maker->road_numbers;
    double *const shaking = z + maker->singles;
    if (what.road_roughness > 0 && what.vehicle_speed > 0) {
        up_normals_fill(seed, ROAD_STREAMS + road, 0, maker->road_numbers, shaking);
    }
    if (what.wind_speed > 0) {
        up_normals_fill(seed, GUST_STREAMS + wind, 0, gusts, shaking + maker->road_numbers);
    }
    return shake_case(maker, shaking, &what, out);
}

/* ---- what came of it ---------------------------------------------------------------------------------------------------- */

int up_case_false_reversal(const up_outcome *outcome) {
    return outcome->reversals > 0 &&
           (up_is_absent(outcome->rod_touch_time) || outcome->detection_time < outcome->rod_touch_time);
}

/* 1 or more where it turned round with nothing in the way, and nowhere else. */
static double one_at_a_reversal(double reached, const up_outcome *outcome) {
    return up_case_false_reversal(outcome) ? up_max(reached, 1.0) : up_min(reached, 1.0 - 1e-9);
}

double up_case_severity(const up_case *made, const up_outcome *outcome) {
    return one_at_a_reversal(outcome->lasting_detector_excess / made->values.detect_force, outcome);
}

double up_case_nearness(const up_outcome *outcome) {
    return one_at_a_reversal(outcome->reversal_nearness, outcome);
}

#include "analysis/disturbance.h"

#include <math.h>
#include <string.h>

#include "analysis/normals.h"

#define UP_AIR_DENSITY 1.2 /* kg/m3, air of 20 degC at sea level, dry: 1.204 (ISO 2533 gives 1.225 at 15 degC)  */

enum {
    GUST_VALUES = 8
}; /* of the shaking between two drawn gusts: 40 ms, a thousandth of a gust's usual second or more */

static const double pi = 3.14159265358979323846;

void up_disturbance_default(up_disturbance *what) {
    memset(what, 0, sizeof *what);
    up_vehicle_default(&what->vehicle);
    what->gust_intensity = 0.2;
    what->gust_length = 20;
    what->pressure_coefficient = 0.6;
    what->exposed_share = 1;
    what->slam_length = 0.015;
    what->slam_along = 0.3;
    what->slam_sideways = 1;
}

static int on_the_road(const up_disturbance *what) {
    return what->road_roughness > 0 && what->vehicle_speed > 0;
}

static int windy(const up_disturbance *what) {
    return what->wind_speed > 0 && what->exposed_share > 0 && what->pressure_coefficient > 0;
}

static int gusty(const up_disturbance *what) {
    return windy(what) && what->gust_intensity > 0;
}

int up_disturbance_shakes(const up_disturbance *what) {
    return on_the_road(what) || windy(what) || what->slam_peak != 0;
}

int up_disturbance_values(double duration) {
    const double values = ceil(duration / UP_DISTURBANCE_SPACING) + 3;
    return duration > 0 && values <= UP_SHAKING_MAX ? (int)values : 0;
}

/* One node before the first value and one at or after the last. */
static int gust_nodes(int count) {
    return (count - 1 + GUST_VALUES - 1) / GUST_VALUES + 1;
}

int up_disturbance_normals(const up_disturbance *what, double duration) {
    const int count = up_disturbance_values(duration);
    if (count == 0) {
        return 0;
    }
    return (on_the_road(what) ? up_road_normals(count) : 0) + (gusty(what) ? gust_nodes(count) : 0);
}

static int within(double value, double low, double high) {
    return value >= low && value <= high && isfinite(value);
}

static int makes_sense(const up_disturbance *what) {
    const double much = 1e6;
    return within(what->road_roughness, 0, much) && within(what->vehicle_speed, 0, much) &&
           within(what->wind_speed, 0, much) && within(what->gust_intensity, 0, 1) &&
           within(what->gust_length, 1e-3, much) && within(what->pressure_coefficient, 0, 100) &&
           within(what->exposed_share, 0, 1) && within(what->slam_peak, -much, much) &&
           within(what->slam_time, -much, much) && within(what->slam_length, 1e-6, much) &&
           within(what->slam_along, -1, 1) && within(what->slam_sideways, -1, 1);
}

/* Accelerations into the values of a cubic B-spline that passes near them: one that took the accelerations
 * themselves as its values would be too low by a sixth of their second difference (3 % at wheel hop), so that is
 * added. In place. */
static void accelerations_to_push(double *push, int count, double factor) {
    double before = push[0];
    for (int k = 0; k < count; k++) {
        const double here = push[k], after = push[k + 1 < count ? k + 1 : k];
        push[k] = factor * (here - (before - 2 * here + after) / 6);
        before = here;
    }
}

/* Mean of the half-sine (of peak 1) over one spacing round a time: so the spline carries its whole impulse, however
 * short it is. time: from the slam's beginning. */
static double slam_mean(double time, double length) {
    const double from = fmin(fmax(time - 0.5 * UP_DISTURBANCE_SPACING, 0), length);
    const double to = fmin(fmax(time + 0.5 * UP_DISTURBANCE_SPACING, 0), length);
    return length / pi * (cos(pi * from / length) - cos(pi * to / length)) / UP_DISTURBANCE_SPACING;
}

static void add_slam(const up_values *door, const up_disturbance *what, int count, double start, double *push,
                     double *press) {
    const double along = -door->glass_mass * cos(door->glass_lean) * what->slam_along * what->slam_peak;
    const double sideways = door->channel_friction * door->glass_mass * fabs(what->slam_sideways * what->slam_peak);
    for (int k = 0; k < count; k++) {
        const double mean = slam_mean(start + k * UP_DISTURBANCE_SPACING - what->slam_time, what->slam_length);
        push[k] += along * mean;
        press[k] += sideways * mean;
    }
}

/* Mean wind and gusts, the gusts a first-order Gauss-Markov process drawn at nodes and straight between them. */
static void add_wind(const up_values *door, const up_disturbance *what, const double *normals, int count,
                     double *press) {
    const double area = door->glass_travel * door->frame_length * what->exposed_share;
    const double calm = 0.5 * UP_AIR_DENSITY * what->wind_speed * what->wind_speed * what->pressure_coefficient * area *
                        door->channel_friction;
    const double intensity = gusty(what) ? what->gust_intensity : 0;
    const double reach = GUST_VALUES * UP_DISTURBANCE_SPACING * what->wind_speed / what->gust_length;
    const double keep = exp(-reach), jump = sqrt(-expm1(-2 * reach));
    double here = intensity > 0 ? normals[0] : 0, after = here;
    for (int k = 0; k < count; k++) {
        const int part = k % GUST_VALUES;
        if (part == 0) {
            here = after;
            if (intensity > 0 && k + 1 < count) {
                after = keep * here + jump * normals[k / GUST_VALUES + 1];
            }
        }
        const double gust = here + (after - here) * part / GUST_VALUES;
        const double speed = fmax(1 + intensity * gust, 0); /* over the mean; wind that turned round is none */
        press[k] += calm * speed * speed;
    }
}

up_status up_disturbance_shaking(const up_values *door, const up_disturbance *what, const double *normals,
                                 int normal_count, double duration, double *push, double *press, int capacity,
                                 up_shaking *out) {
    const int count = up_disturbance_values(duration);
    if (count == 0 || !makes_sense(what)) {
        return UP_BAD_OPTION;
    }
    if (capacity < count || normal_count < up_disturbance_normals(what, duration)) {
        return UP_MEMORY_TOO_SMALL;
    }
    const double start = -UP_DISTURBANCE_SPACING;
    memset(push, 0, (size_t)count * sizeof *push);
    memset(press, 0, (size_t)count * sizeof *press);
    if (on_the_road(what)) {
        up_car car;
        if (up_car_prepare(&what->vehicle, UP_DISTURBANCE_SPACING, &car) != UP_OK ||
            up_road_acceleration(&car, what->road_roughness, what->vehicle_speed, normals, count, push) != UP_OK) {
            return UP_BAD_OPTION;
        }
        accelerations_to_push(push, count, -door->glass_mass * cos(door->glass_lean));
        normals += up_road_normals(count);
    }
    if (windy(what)) {
        add_wind(door, what, normals, count, press);
    }
    if (what->slam_peak != 0) {
        add_slam(door, what, count, start, push, press);
    }
    *out =
        (up_shaking){.start = start, .spacing = UP_DISTURBANCE_SPACING, .count = count, .push = push, .press = press};
    return UP_OK;
}

/* ---- loads on the battery --------------------------------------------------------------------------------------- */

static const up_load_row loads[UP_LOAD_COUNT] = {
#define UP_LOAD_ROW(id, word, current, text) {word, current, text},
    UP_LOAD_LIST(UP_LOAD_ROW)
#undef UP_LOAD_ROW
};

const up_load_row *up_load_at(int index) {
    return index >= 0 && index < UP_LOAD_COUNT ? &loads[index] : NULL;
}

int up_disturbance_supply(const up_values *door, const up_disturbance *what, double open_voltage, double *start_voltage,
                          up_supply_step step[UP_SUPPLY_STEPS_MAX]) {
    up_load_step load[UP_DISTURBANCE_LOADS_MAX];
    const int count = what->loads < 0                          ? 0
                      : what->loads > UP_DISTURBANCE_LOADS_MAX ? UP_DISTURBANCE_LOADS_MAX
                                                               : what->loads;
    for (int i = 0; i < count; i++) { /* by time */
        int place = i;
        while (place > 0 && load[place - 1].time > what->load[i].time) {
            load[place] = load[place - 1];
            place--;
        }
        load[place] = what->load[i];
    }
    open_voltage = up_is_absent(open_voltage) ? door->supply_voltage : open_voltage;
    double voltage = open_voltage;
    int steps = 0;
    for (int i = 0; i < count; i++) {
        voltage = fmax(voltage - load[i].current * door->supply_resistance, 0);
        if (load[i].time > 0) {
            steps += steps == 0 || load[i].time > step[steps - 1].time; /* two at once are one step */
            step[steps - 1] = (up_supply_step){load[i].time, voltage};
        } else {
            open_voltage = voltage;
        }
    }
    *start_voltage = open_voltage;
    return steps;
}

/* ---- drawn surroundings ----------------------------------------------------------------------------------------- */

void up_surroundings_none(up_surroundings *around) {
    memset(around, 0, sizeof *around);
}

void up_surroundings_default(up_surroundings *around) {
    *around = (up_surroundings){
        .road_low = up_road_class_named('A')->mean,
        .road_high = up_road_class_named('C')->mean,
        .speed_high = 25,
        .wind_high = 8,
        .gust_intensity = 0.2,
        .slam_chance = 0.02,
        .slam_peak_low = 20,
        .slam_peak_high = 150,
        .slam_length_low = 0.008,
        .slam_length_high = 0.025,
        .load_chance = 0.02,
    };
}

static double between(double low, double high, double normal) {
    return low + (high - low) * up_normal_below(normal);
}

static double between_by_ratio(double low, double high, double normal) {
    return low > 0 ? low * pow(high / low, up_normal_below(normal)) : high * up_normal_below(normal);
}

static int range(double low, double high) {
    return low >= 0 && high >= low && isfinite(high);
}

static int surroundings_make_sense(const up_surroundings *around) {
    return range(around->road_low, around->road_high) && range(around->speed_low, around->speed_high) &&
           range(around->wind_low, around->wind_high) && range(around->slam_peak_low, around->slam_peak_high) &&
           range(around->slam_length_low, around->slam_length_high) && within(around->gust_intensity, 0, 1) &&
           within(around->slam_chance, 0, 1) && within(around->load_chance, 0, 1) &&
           (around->slam_chance == 0 || around->slam_length_low >= 1e-6);
}

/* Which normal is for what. */
enum { ROAD, SPEED, WIND, SLAM, SLAM_PEAK, SLAM_TIME, SLAM_LENGTH, SLAM_ALONG, LOADS };

static void draw_loads(const up_surroundings *around, const double *normals, double duration, up_disturbance *what) {
    for (int i = 0; i < UP_LOAD_COUNT && what->loads + 2 <= UP_DISTURBANCE_LOADS_MAX; i++) {
        const double chance = up_normal_below(normals[2 * i]), time = between(0, duration, normals[2 * i + 1]);
        if (chance < 0.5 * around->load_chance) { /* on from the start, switched off on the way */
            what->load[what->loads++] = (up_load_step){0, loads[i].current};
            what->load[what->loads++] = (up_load_step){time, -loads[i].current};
        } else if (chance < around->load_chance) {
            what->load[what->loads++] = (up_load_step){time, loads[i].current};
        }
    }
}

up_status up_surroundings_draw(const up_surroundings *around, const double normals[UP_SURROUNDINGS_NORMALS],
                               double duration, up_disturbance *what) {
    if (!surroundings_make_sense(around) || !(duration > 0) || !isfinite(duration)) {
        return UP_BAD_OPTION;
    }
    up_disturbance_default(what);
    what->road_roughness = between_by_ratio(around->road_low, around->road_high, normals[ROAD]);
    what->vehicle_speed = between(around->speed_low, around->speed_high, normals[SPEED]);
    what->wind_speed = what->vehicle_speed + between(around->wind_low, around->wind_high, normals[WIND]);
    what->gust_intensity = around->gust_intensity;
    if (up_normal_below(normals[SLAM]) < around->slam_chance) {
        what->slam_peak = between_by_ratio(around->slam_peak_low, around->slam_peak_high, normals[SLAM_PEAK]);
        what->slam_time = between(0, duration, normals[SLAM_TIME]);
        what->slam_length = between(around->slam_length_low, around->slam_length_high, normals[SLAM_LENGTH]);
        what->slam_along = between(-0.3, 0.3, normals[SLAM_ALONG]);
    }
    draw_loads(around, normals + LOADS, duration, what);
    return UP_OK;
}

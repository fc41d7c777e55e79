/* Forces of road, wind and slam against formulas of the handbooks; supply steps by Ohm's law. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/disturbance.h"
#include "core/base/counter_random.h"

static const double pi = 3.14159265358979323846;

enum { CAPACITY = 4000 };
static double push[CAPACITY], press[CAPACITY], normals[CAPACITY];

static up_values a_door(void) {
    up_values door;
    up_values_fallback(UP_FAMILY_CABLE, &door);
    return door;
}

static up_shaking shake(const up_values *door, const up_disturbance *what, double duration, uint64_t stream) {
    up_shaking out;
    const int count = up_disturbance_normals(what, duration);
    assert_true(count <= CAPACITY);
    for (int i = 0; i < count; i++) {
        normals[i] = up_random_normal(33, stream, (uint64_t)i);
    }
    assert_int_equal(up_disturbance_shaking(door, what, normals, count, duration, push, press, CAPACITY, &out), UP_OK);
    assert_true(out.count == up_disturbance_values(duration) && out.push == push && out.press == press);
    assert_true(out.start <= -out.spacing && out.start + (out.count - 1) * out.spacing >= duration + out.spacing);
    return out;
}

/* Value of a uniform cubic B-spline at a time: the four weights are those of C. de Boor, "A Practical Guide to Splines"
 * (from memory): (1-t)^3, 3t^3-6t^2+4, -3t^3+3t^2+3t+1, t^3, all over 6. */
static double spline(const up_shaking *s, const double *value, double time) {
    const double place = (time - s->start) / s->spacing;
    const int k = (int)floor(place);
    const double t = place - k;
    const double weight[] = {(1 - t) * (1 - t) * (1 - t), (3 * t - 6) * t * t + 4, ((-3 * t + 3) * t + 3) * t + 1,
                             t * t * t};
    double sum = 0;
    for (int i = 0; i < 4; i++) {
        const int j = k - 1 + i;
        sum += j >= 0 && j < s->count ? weight[i] * value[j] / 6 : 0;
    }
    return sum;
}

static void nothing_shakes_by_default(void **state) {
    (void)state;
    const up_values door = a_door();
    up_disturbance what;
    up_disturbance_default(&what);
    assert_false(up_disturbance_shakes(&what));
    assert_int_equal(up_disturbance_normals(&what, 5), 0);
    const up_shaking out = shake(&door, &what, 5, 0);
    for (int i = 0; i < out.count; i++) {
        assert_true(push[i] == 0 && press[i] == 0);
    }
    what.road_roughness = 256e-6;
    assert_false(up_disturbance_shakes(&what)); /* it stands */
    what.vehicle_speed = 10;
    assert_true(up_disturbance_shakes(&what));
}

/* Newton: -m a cos(lean), a being the quarter car's (analysis/road.h, held by road_test.c). Between its values the
 * spline follows a(t): here the accelerations at the knots, to 1 % of their root mean square. */
static void the_road_pushes_with_mass_times_acceleration(void **state) {
    (void)state;
    const up_values door = a_door();
    up_disturbance what;
    up_car car;
    double a[CAPACITY];
    up_disturbance_default(&what);
    what.road_roughness = 256e-6;
    what.vehicle_speed = 15;
    const up_shaking out = shake(&door, &what, 6, 1);
    assert_int_equal(up_car_prepare(&what.vehicle, UP_DISTURBANCE_SPACING, &car), UP_OK);
    assert_int_equal(up_road_acceleration(&car, 256e-6, 15, normals, out.count, a), UP_OK);
    double gap = 0, square = 0;
    for (int k = 2; k + 2 < out.count; k++) {
        const double force = -door.glass_mass * cos(door.glass_lean) * a[k];
        const double found = spline(&out, push, out.start + k * out.spacing);
        gap += (found - force) * (found - force);
        square += force * force;
        assert_true(press[k] == 0);
    }
    assert_true(square > 0 && sqrt(gap / square) < 0.01);
}

/* Source: dynamic pressure 0.5 rho v^2 with rho = 1.2 kg/m3, drag = friction x pressure x coefficient x area; at 20
 * m/s 240 Pa. A spline of equal values is that value. */
static void steady_wind_presses_by_its_dynamic_pressure(void **state) {
    (void)state;
    up_values door = a_door();
    up_disturbance what;
    door.glass_travel = 0.4;
    door.frame_length = 0.6;
    door.channel_friction = 0.25;
    up_disturbance_default(&what);
    what.wind_speed = 20;
    what.gust_intensity = 0;
    what.pressure_coefficient = 0.5;
    assert_int_equal(up_disturbance_normals(&what, 3), 0);
    const up_shaking out = shake(&door, &what, 3, 2);
    for (double t = 0; t <= 3; t += 0.037) {
        assert_true(fabs(spline(&out, press, t) - 0.25 * 240 * 0.5 * 0.24) < 1e-9);
        assert_true(spline(&out, push, t) == 0);
    }
}

/* Source: of v = V (1 + I g) with g standard normal the mean of v^2 is V^2 (1 + I^2); g at two times a lag apart has
 * the correlation exp(-lag V / length) of a first-order Gauss-Markov process. Straight lines between nodes lower the
 * square in between by up to half the loss of correlation from node to node: 2 % at 40 ms. */
static void gusts_have_their_intensity_and_length(void **state) {
    (void)state;
    up_values door = a_door();
    up_disturbance what;
    up_disturbance_default(&what);
    what.wind_speed = 20;
    what.gust_intensity = 0.2;
    what.gust_length = 20;
    enum { RUNS = 3000 };
    double mean = 0, variance = 0, covariance = 0;
    const double calm =
        0.5 * 1.2 * 400 * what.pressure_coefficient * door.glass_travel * door.frame_length * door.channel_friction;
    for (uint64_t r = 0; r < RUNS; r++) {
        const up_shaking out = shake(&door, &what, 1.2, r);
        const double first = sqrt(press[8] / calm), later = sqrt(press[8 + 160] / calm); /* 0.8 s apart, on nodes */
        (void)out;
        mean += press[168] / calm / RUNS;
        variance += (first - 1) * (first - 1) / RUNS;
        covariance += (first - 1) * (later - 1) / RUNS;
    }
    assert_true(fabs(mean - 1.04) < 4 * 0.4 / sqrt(RUNS));
    assert_true(fabs(variance / 0.04 - 1) < 4 * sqrt(2.0 / RUNS));
    assert_true(fabs(covariance / 0.04 - exp(-0.8)) < 4 * sqrt((1 + exp(-1.6)) / RUNS));
}

/* Source: impulse of a half-sine, 2 / pi x peak x length, times mass; a spline's integral is the sum of its values
 * times the spacing. Short slams and long ones, anywhere between two knots. */
static void a_slam_hands_over_its_impulse(void **state) {
    (void)state;
    const up_values door = a_door();
    static const double lengths[] = {0.002, 0.008, 0.015, 0.06};
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        up_disturbance what;
        up_disturbance_default(&what);
        what.slam_peak = 100;
        what.slam_length = lengths[i];
        what.slam_time = 0.5013;
        what.slam_along = -0.3;
        what.slam_sideways = 0.8;
        const up_shaking out = shake(&door, &what, 1, 3);
        double along = 0, sideways = 0, before = 0, after = 0;
        for (int k = 0; k < out.count; k++) {
            along += push[k] * out.spacing;
            sideways += press[k] * out.spacing;
            const double time = out.start + k * out.spacing;
            before += fabs(push[k]) * (time < what.slam_time - out.spacing);
            after += fabs(push[k]) * (time > what.slam_time + what.slam_length + out.spacing);
        }
        const double impulse = 2 / pi * 100 * lengths[i] * door.glass_mass;
        assert_true(fabs(along / (0.3 * cos(door.glass_lean) * impulse) - 1) < 1e-9);
        assert_true(fabs(sideways / (0.8 * door.channel_friction * impulse) - 1) < 1e-9);
        assert_true(before == 0 && after == 0);
    }
    /* A long one also has its peak. */
    up_disturbance what;
    up_disturbance_default(&what);
    what.slam_peak = 100;
    what.slam_length = 0.1;
    what.slam_time = 0.3;
    what.slam_along = 1;
    const up_shaking out = shake(&door, &what, 1, 4);
    assert_true(fabs(spline(&out, push, 0.35) / (-100 * door.glass_mass * cos(door.glass_lean)) - 1) < 0.01);
}

static void press_is_never_negative(void **state) {
    (void)state;
    const up_values door = a_door();
    up_disturbance what;
    up_disturbance_default(&what);
    what.road_roughness = 1024e-6;
    what.vehicle_speed = 20;
    what.wind_speed = 25;
    what.gust_intensity = 1; /* often turns round */
    what.slam_peak = -80;
    what.slam_time = 0.7;
    for (uint64_t r = 0; r < 50; r++) {
        const up_shaking out = shake(&door, &what, 2, r);
        for (int k = 0; k < out.count; k++) {
            assert_true(press[k] >= 0 && isfinite(push[k]) && isfinite(press[k]));
        }
    }
}

/* Source: Ohm's law over the battery's internal resistance. */
static void loads_take_current_times_resistance(void **state) {
    (void)state;
    up_values door = a_door();
    up_disturbance what;
    up_supply_step step[UP_SUPPLY_STEPS_MAX];
    double start;
    door.supply_resistance = 0.015;
    up_disturbance_default(&what);
    assert_int_equal(up_disturbance_supply(&door, &what, 12.6, &start, step), 0);
    assert_true(start == 12.6);
    assert_int_equal(up_disturbance_supply(&door, &what, UP_ABSENT, &start, step), 0);
    assert_true(start == door.supply_voltage);
    what.loads = 4;
    what.load[0] = (up_load_step){2.0, -10};
    what.load[1] = (up_load_step){0.0, 10};
    what.load[2] = (up_load_step){1.0, 20};
    what.load[3] = (up_load_step){2.0, 30};
    assert_int_equal(up_disturbance_supply(&door, &what, 12.6, &start, step), 2);
    assert_true(fabs(start - 12.45) < 1e-12);
    assert_true(step[0].time == 1 && fabs(step[0].open_voltage - 12.15) < 1e-12);
    assert_true(step[1].time == 2 && fabs(step[1].open_voltage - 11.85) < 1e-12);
}

static void loads_have_words_and_currents(void **state) {
    (void)state;
    for (int i = 0; i < UP_LOAD_COUNT; i++) {
        const up_load_row *const row = up_load_at(i);
        assert_true(strlen(row->word) > 3 && row->current > 0 && row->current < 100 && strlen(row->text) > 5);
    }
    assert_null(up_load_at(-1));
    assert_null(up_load_at(UP_LOAD_COUNT));
}

/* ---- drawn surroundings ----------------------------------------------------------------------------------------- */

/* Source: the ranges and chances asked for; standard errors of counted shares. */
static void surroundings_are_drawn_from_their_ranges(void **state) {
    (void)state;
    up_surroundings around;
    up_surroundings_default(&around);
    around.slam_chance = 0.3;
    around.load_chance = 0.2;
    enum { DRAWS = 20000 };
    int slams = 0, loads = 0, rough = 0;
    double speed = 0, wind = 0;
    for (uint64_t r = 0; r < DRAWS; r++) {
        double z[UP_SURROUNDINGS_NORMALS];
        up_disturbance what;
        for (int i = 0; i < UP_SURROUNDINGS_NORMALS; i++) {
            z[i] = up_random_normal(8, r, (uint64_t)i);
        }
        assert_int_equal(up_surroundings_draw(&around, z, 5, &what), UP_OK);
        assert_true(what.road_roughness >= 16e-6 * 0.999999 && what.road_roughness <= 256e-6 * 1.000001);
        assert_true(what.vehicle_speed >= 0 && what.vehicle_speed <= 25);
        assert_true(what.wind_speed >= what.vehicle_speed && what.wind_speed <= what.vehicle_speed + 8);
        assert_true(what.slam_peak == 0 || (what.slam_peak >= 20 * 0.999999 && what.slam_peak <= 150 * 1.000001));
        assert_true(what.slam_time >= 0 && what.slam_time <= 5 && what.loads >= 0 && what.loads <= 8);
        slams += what.slam_peak != 0;
        loads += what.loads > 0;
        rough += what.road_roughness > 64e-6; /* halfway by ratio */
        speed += what.vehicle_speed / DRAWS;
        wind += (what.wind_speed - what.vehicle_speed) / DRAWS;
    }
    assert_true(fabs((double)slams / DRAWS - 0.3) < 4 * sqrt(0.21 / DRAWS));
    const double any = 1 - pow(0.8, UP_LOAD_COUNT);
    assert_true(fabs((double)loads / DRAWS - any) < 4 * sqrt(any * (1 - any) / DRAWS));
    assert_true(fabs((double)rough / DRAWS - 0.5) < 4 * sqrt(0.25 / DRAWS));
    assert_true(fabs(speed - 12.5) < 4 * 25 / sqrt(12.0 * DRAWS) && fabs(wind - 4) < 4 * 8 / sqrt(12.0 * DRAWS));
}

static void nothing_around_is_nothing(void **state) {
    (void)state;
    up_surroundings around;
    up_disturbance what;
    double z[UP_SURROUNDINGS_NORMALS] = {-3, 3, -3, 3, 3, -3, -3, 3, -8, -8, -8, -8};
    up_surroundings_none(&around);
    assert_int_equal(up_surroundings_draw(&around, z, 5, &what), UP_OK);
    assert_false(up_disturbance_shakes(&what));
    assert_int_equal(what.loads, 0);
    around.speed_low = 3; /* above the highest */
    assert_int_equal(up_surroundings_draw(&around, z, 5, &what), UP_BAD_OPTION);
    up_surroundings_none(&around);
    around.slam_chance = 0.1; /* of what length? */
    assert_int_equal(up_surroundings_draw(&around, z, 5, &what), UP_BAD_OPTION);
    up_surroundings_none(&around);
    assert_int_equal(up_surroundings_draw(&around, z, 0, &what), UP_BAD_OPTION);
}

static void nonsense_is_refused(void **state) {
    (void)state;
    const up_values door = a_door();
    up_disturbance what;
    up_shaking out;
    up_disturbance_default(&what);
    what.road_roughness = 16e-6;
    what.vehicle_speed = 10;
    const int need = up_disturbance_normals(&what, 1), values = up_disturbance_values(1);
    assert_true(need == values + 4);
    memset(normals, 0, sizeof normals);
    assert_int_equal(up_disturbance_shaking(&door, &what, normals, need - 1, 1, push, press, values, &out),
                     UP_MEMORY_TOO_SMALL);
    assert_int_equal(up_disturbance_shaking(&door, &what, normals, need, 1, push, press, values - 1, &out),
                     UP_MEMORY_TOO_SMALL);
    assert_int_equal(up_disturbance_shaking(&door, &what, normals, need, 1, push, press, values, &out), UP_OK);
    assert_int_equal(up_disturbance_shaking(&door, &what, normals, need, 0, push, press, values, &out), UP_BAD_OPTION);
    assert_int_equal(up_disturbance_values(1e9), 0);
    assert_int_equal(up_disturbance_values((double)NAN), 0);
    static const size_t members[] = {offsetof(up_disturbance, road_roughness), offsetof(up_disturbance, vehicle_speed),
                                     offsetof(up_disturbance, wind_speed),     offsetof(up_disturbance, slam_peak),
                                     offsetof(up_disturbance, gust_intensity), offsetof(up_disturbance, slam_time)};
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        up_disturbance bad = what;
        const double no_number = (double)NAN;
        memcpy((char *)&bad + members[i], &no_number, sizeof no_number);
        assert_int_equal(up_disturbance_shaking(&door, &bad, normals, CAPACITY, 1, push, press, values, &out),
                         UP_BAD_OPTION);
    }
    what.vehicle.tyre = 0;
    assert_int_equal(up_disturbance_shaking(&door, &what, normals, need, 1, push, press, values, &out), UP_BAD_OPTION);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_shakes_by_default),
        cmocka_unit_test(the_road_pushes_with_mass_times_acceleration),
        cmocka_unit_test(steady_wind_presses_by_its_dynamic_pressure),
        cmocka_unit_test(gusts_have_their_intensity_and_length),
        cmocka_unit_test(a_slam_hands_over_its_impulse),
        cmocka_unit_test(press_is_never_negative),
        cmocka_unit_test(loads_take_current_times_resistance),
        cmocka_unit_test(loads_have_words_and_currents),
        cmocka_unit_test(surroundings_are_drawn_from_their_ranges),
        cmocka_unit_test(nothing_around_is_nothing),
        cmocka_unit_test(nonsense_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Disturbances in whole closings: rougher roads, wind and slams do what they must, and the books still close. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/disturbance.h"
#include "analysis/normals.h"
#include "tests/support/recording.h"

enum { CAPACITY = 3000 };
static const double duration = 8;
static recording r;

/* One closing of a typical door, the leads held to the battery so that no controller has a say. */
static void close_shaken(up_family family, const up_disturbance *what, uint64_t stream) {
    static double normals[CAPACITY], push[CAPACITY], press[CAPACITY];
    static up_shaking shaking;
    recording_door(&r, family);
    const int count = up_disturbance_normals(what, duration);
    assert_true(count <= CAPACITY);
    up_normals_fill(2, stream, 0, count, normals);
    assert_int_equal(up_disturbance_shaking(&r.values, what, normals, count, duration, push, press, CAPACITY, &shaking),
                     UP_OK);
    recording_hand(&r, UP_SWITCH_RAISE_HELD);
    r.options.leads_direct = 1;
    r.options.time_limit = 7;
    r.options.shaking = up_disturbance_shakes(what) ? &shaking : NULL;
    recording_run(&r);
}

/* Standard deviation of the current's changes over 20 ms while the glass runs freely, A: what a detector has to bear. */
static double unrest(void) {
    enum { BACK = 10 };
    double square = 0;
    int count = 0;
    for (int i = 500; i < 1000; i++) { /* samples of 2 ms: from 1 s to 2 s */
        const double change = r.sample[i].current - r.sample[i - BACK].current;
        square += change * change;
        count++;
    }
    return sqrt(square / count);
}

/* Source: classes of ISO 8608 lie a factor of 4 apart in power, 2 in amplitude; the current's unrest follows within the
 * scatter of a second's road, on top of what a smooth road leaves. */
static void unrest_doubles_from_class_to_class(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        double mean[4] = {0}, smooth;
        up_disturbance what;
        up_disturbance_default(&what);
        close_shaken((up_family)family, &what, 0);
        smooth = unrest();
        for (int c = 1; c < 4; c++) {
            what.vehicle_speed = 15;
            what.road_roughness = up_road_class_at(c)->mean;
            for (uint64_t run = 0; run < 8; run++) {
                close_shaken((up_family)family, &what, 1 + run);
                mean[c] += unrest() / 8;
            }
        }
        print_message("family %d: %.3f A smooth, B %.3f, C %.3f, D %.3f\n", family, smooth, mean[1], mean[2], mean[3]);
        assert_true(mean[1] > smooth);
        assert_true(mean[2] > 1.4 * mean[1] && mean[2] < 2.6 * mean[1]);
        assert_true(mean[3] > 1.4 * mean[2] && mean[3] < 2.6 * mean[2]);
    }
}

/* Wind presses, pressing rubs, rubbing takes time: common practice, no source. */
static void wind_slows_the_glass(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        double time[3];
        for (int i = 0; i < 3; i++) {
            up_disturbance what;
            up_disturbance_default(&what);
            what.wind_speed = 12.0 * i;
            what.gust_intensity = 0;
            close_shaken((up_family)family, &what, 0);
            time[i] = recording_time(&r, UP_EVENT_UP_STOP_TOUCHED, 0);
        }
        assert_true(time[1] > time[0] && time[2] > time[1]);
        assert_true(time[2] - time[1] > 2 * (time[1] - time[0])); /* goes with the square: 3 times */
    }
}

/* A slam along the travel that throws the door up presses the glass down on its regulator (Newton). */
static void a_slam_upwards_weighs_the_glass_down(void **state) {
    (void)state;
    double lift[2];
    for (int i = 0; i < 2; i++) {
        up_disturbance what;
        up_disturbance_default(&what);
        what.slam_peak = 100;
        what.slam_time = 1;
        what.slam_length = 0.03;
        what.slam_along = i == 0 ? 1 : -1;
        what.slam_sideways = 0;
        close_shaken(UP_FAMILY_CABLE, &what, 0);
        const double before = recording_at(&r, 0.999)->lift_force;
        double most = 0;
        for (int s = 500; s < 530; s++) { /* the 60 ms from then on */
            const double change = r.sample[s].lift_force - before;
            most = fabs(change) > fabs(most) ? change : most;
        }
        lift[i] = most;
    }
    assert_true(lift[0] > 20 && lift[1] < -20);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unrest_doubles_from_class_to_class),
        cmocka_unit_test(wind_slows_the_glass),
        cmocka_unit_test(a_slam_upwards_weighs_the_glass_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

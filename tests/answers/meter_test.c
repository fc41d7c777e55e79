/* What the meter must read, against Ohm's law worked by hand, the tables of wires, and the simulation. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/refit/meter.h"
#include "analysis/refit/stroke.h"
#include "analysis/train.h"
#include "core/door/door.h"
#include "tests/support/recording.h"

#define NEAR(value, wanted, by) assert_true(fabs((value) - (wanted)) <= (by))

enum { DRAWS = 40 };

static void typical(up_family family, up_known *known) {
    *known = (up_known){0};
    up_values_fallback(family, &known->values);
    up_values_fallback_spread(family, known->spread);
}

static void wires_are_those_of_iec_60228(void **state) {
    (void)state;
    /* Loop of 2 x 3 m, 1.5 mm2, class 5: 13.3 ohm/km (IEC 60228, read in public tables), so 79.8 mohm; at 20 A 1.596 V. */
    const up_wire_loop loop = up_wire_loop_of(3.0, 1.5e-6);
    NEAR(loop.greatest, 79.8e-3, 1e-9);
    NEAR(20 * loop.greatest, 1.596, 1e-9);
    /* IEC 60228, classes 5 and 6, maxima in ohm/km at 20 degC. */
    static const double table[][2] = {{0.5, 39.0}, {0.75, 26.0}, {1, 19.5}, {1.5, 13.3},
                                      {2.5, 7.98}, {4, 4.95},    {6, 3.30}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const up_wire_loop one = up_wire_loop_of(500, 1e-6 * table[i][0]); /* there and back a kilometre */
        NEAR(one.greatest, table[i][1], 1e-9);
        /* solid annealed copper of 1/58 ohm mm2/m (IEC 60028) lies below that, and not by more than a seventh */
        NEAR(one.solid, 1000 / 58.0 / table[i][0], 1e-9);
        assert_true(one.solid < one.greatest && one.solid > 6.0 / 7 * one.greatest);
    }
    assert_true(isnan(up_wire_greatest(2.1e-6)));
}

static void held_at_the_top_it_is_ohms_law(void **state) {
    (void)state;
    /* By hand: every resistance of the loop in series, the brushes' drop taken off the battery. At 20 degC. */
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        double figures[UP_METER_STATES][UP_METER_COUNT];
        typical((up_family)family, &known);
        const up_values *v = &known.values;
        assert_int_equal(up_meter_of(v, 293.15, figures), UP_OK);
        const double wires = 2 * v->wire_length / 58e6 / v->wire_area;
        const double outside = v->supply_resistance + wires + v->contact_resistance + v->bridge_resistance;
        const double current =
            (v->supply_voltage - v->brush_drop) / (outside + v->winding_resistance + v->protector_resistance);
        const double *stop = figures[UP_METER_AT_STOP];
        NEAR(stop[UP_METER_current], current, 1e-3 * current);
        NEAR(stop[UP_METER_battery], v->supply_voltage - current * v->supply_resistance, 2e-3);
        NEAR(stop[UP_METER_across], v->supply_voltage - current * outside, 0.01);
        NEAR(stop[UP_METER_pulse_rate], 0, 0);
    }
}

static void both_leads_together_lose_what_the_wires_do(void **state) {
    (void)state;
    up_known known;
    double figures[UP_METER_STATES][UP_METER_COUNT];
    typical(UP_FAMILY_CROSSED_ARMS, &known);
    const up_values *v = &known.values;
    assert_int_equal(up_meter_of(v, 293.15, figures), UP_OK);
    for (int s = 0; s < UP_METER_STATES; s++) {
        const double *f = figures[s];
        const double loop = 2 * v->wire_length / 58e6 / v->wire_area + v->contact_resistance + v->bridge_resistance;
        /* Kirchhoff: up from minus through one lead, the motor and the other lead is the battery's own voltage. */
        NEAR(f[UP_METER_high] - f[UP_METER_low], f[UP_METER_across], 1e-9);
        NEAR(f[UP_METER_battery] - f[UP_METER_across], loop * f[UP_METER_current], 0.01);
        NEAR(f[UP_METER_low], loop * f[UP_METER_current] / 2, 0.006);
    }
    assert_true(figures[UP_METER_LOWERING][UP_METER_current] < figures[UP_METER_RAISING][UP_METER_current]);
    assert_true(figures[UP_METER_LOWERING][UP_METER_pulse_rate] > figures[UP_METER_RAISING][UP_METER_pulse_rate]);
}

static void the_simulation_reads_the_same_halfway(void **state) {
    (void)state;
    /* The other way to know it: a whole run with all its dynamics, looked at where the glass passes the middle. */
    static recording r;
    up_known known;
    double figures[UP_METER_STATES][UP_METER_COUNT];
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        typical((up_family)family, &known);
        recording_door(&r, (up_family)family);
        recording_run(&r);
        assert_int_equal(up_meter_of(&r.values, r.options.temperature, figures), UP_OK);
        int at = 0;
        while (at < r.samples - 1 && r.sample[at].travel < r.values.glass_travel / 2) {
            at++;
        }
        const double *f = figures[UP_METER_RAISING];
        NEAR(r.sample[at].current / f[UP_METER_current], 1, 0.03);
        NEAR(r.sample[at].motor_voltage, f[UP_METER_across], 0.05);
        NEAR(r.sample[at].battery_voltage, f[UP_METER_battery], 0.02);
    }
}

static void intervals_hold_the_sheet_and_follow_its_tolerances(void **state) {
    (void)state;
    up_known known;
    up_reading wide[UP_METER_STATES][UP_METER_COUNT];
    up_reading none[UP_METER_STATES][UP_METER_COUNT];
    typical(UP_FAMILY_RACK, &known);
    up_meter_request request = {&known, 293.15, 1, 200};
    const size_t size = up_meter_memory(request.draws);
    void *memory = malloc(size);
    assert_non_null(memory);
    assert_int_equal(up_meter_run(&request, memory, size, wide), UP_OK);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        known.spread[i] = 0;
    }
    assert_int_equal(up_meter_run(&request, memory, size, none), UP_OK);
    for (int s = 0; s < UP_METER_STATES; s++) {
        for (int m = 0; m < UP_METER_COUNT; m++) {
            assert_true(wide[s][m].low <= wide[s][m].value && wide[s][m].value <= wide[s][m].high);
            NEAR(none[s][m].low, none[s][m].value, 0);
            NEAR(none[s][m].high, none[s][m].value, 0);
        }
        assert_true(wide[s][UP_METER_across].high - wide[s][UP_METER_across].low > 0.1);
    }
    assert_int_equal(up_meter_run(&request, memory, size - 1, none), UP_MEMORY_TOO_SMALL);
    request.draws = 1;
    assert_int_equal(up_meter_run(&request, memory, size, none), UP_BAD_OPTION);
    free(memory);
}

static void the_stopwatch_agrees_with_steady_running(void **state) {
    (void)state;
    /* The power train's time, reckoned from steady speeds, is another way to the same figure: within a tenth. */
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        up_door door;
        up_stroke up;
        up_stroke down;
        double figures[UP_TRAIN_FIGURE_COUNT];
        typical((up_family)family, &known);
        up_stroke_request request = {&known, 1, 293.15, 1, DRAWS};
        const size_t size = up_stroke_memory(DRAWS);
        void *memory = malloc(size);
        assert_non_null(memory);
        assert_int_equal(up_door_prepare(&known.values, 293.15, &door), UP_OK);
        up_train_figures(&door, figures);
        assert_int_equal(up_stroke_run(&request, NULL, memory, size, &up), UP_OK);
        request.raising = 0;
        assert_int_equal(up_stroke_run(&request, NULL, memory, size, &down), UP_OK);
        free(memory);
        NEAR(up.time.value / figures[UP_TRAIN_FIGURE_raise_time], 1, 0.1);
        NEAR(down.time.value / figures[UP_TRAIN_FIGURE_lower_time], 1, 0.1);
        assert_true(up.time.low < up.time.high && up.time.count > DRAWS / 2);
        assert_true(up.done.of == DRAWS && up.time.count <= up.done.hits);
    }
}

static void a_glass_held_by_its_seal_is_timed_too(void **state) {
    (void)state;
    /* A header seal stiffer than the motor is strong: the glass stands before its stop and the controller takes that as
     * the top. It closed, so it has a time, about that of the same door with its usual seal. */
    up_known known;
    up_stroke usual;
    up_stroke stiff;
    const size_t size = up_stroke_memory(1);
    typical(UP_FAMILY_CROSSED_ARMS, &known);
    up_stroke_request request = {&known, 1, 293.15, 1, 1};
    void *room = malloc(size);
    assert_non_null(room);
    assert_int_equal(up_stroke_run(&request, NULL, room, size, &usual), UP_OK);
    known.values.header_stiffness = 400e3;
    known.values.header_depth = 0.0012;
    known.values.detect_force = 2000; /* or it would be an obstacle */
    assert_int_equal(up_stroke_run(&request, NULL, room, size, &stiff), UP_OK);
    free(room);
    assert_true(usual.time.value > 1 && stiff.time.value > 1);
    NEAR(stiff.time.value / usual.time.value, 1, 0.2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wires_are_those_of_iec_60228),
        cmocka_unit_test(held_at_the_top_it_is_ohms_law),
        cmocka_unit_test(both_leads_together_lose_what_the_wires_do),
        cmocka_unit_test(the_simulation_reads_the_same_halfway),
        cmocka_unit_test(intervals_hold_the_sheet_and_follow_its_tolerances),
        cmocka_unit_test(a_glass_held_by_its_seal_is_timed_too),
        cmocka_unit_test(the_stopwatch_agrees_with_steady_running),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The power train against the linear motor law, handbook formulas and its own conservation laws. "Read" means the
 * figure was found in the source named; "from memory" that it was not. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/train.h"
#include "analysis/train_stages.h"
#include "core/parts/damper.h"

#define PI 3.14159265358979323846
#define ROOM 293.15
#define RPM (2 * PI / 60)

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.9g, expected %.9g within %.3g", got, expected, within);
    }
}

/* A whole, usable door of each family; the limit ring is large enough for the longer strokes of drum and rack. */
static void usual(up_family family, up_values *values) {
    up_values_fallback(family, values);
    values->limit_sun = 12;
    values->limit_planet = 18;
    values->limit_ring = 48;
    values->regulator_stiffness = 500e3; /* so that even a frictionless worm bends no arm past its dead centre */
}

static void prepare(const up_values *values, double temperature, up_door *door) {
    assert_int_equal(up_door_prepare(values, temperature, door), UP_OK);
}

/* A rack door without any friction or loss, so that motor and weight alone decide. */
static void frictionless(up_values *v) {
    usual(UP_FAMILY_RACK, v);
    v->supply_resistance = v->contact_resistance = v->bridge_resistance = 0;
    v->wire_length = 0.05;
    v->wire_area = 25e-6;
    v->brush_drop = v->motor_friction = v->motor_viscous = 0;
    v->protection = UP_PROTECTION_NONE;
    v->worm_friction = v->worm_static_friction = 0;
    v->mesh_loss = v->output_drag = 0;
    v->run_channel_drag = v->belt_drag = v->static_extra = v->seal_viscous = 0;
    v->header_stiffness = v->header_friction = 0;
    v->channel_friction = 0;
    v->glass_lean = 0;
    v->glass_curvature = 1e6;
}

/* Linear torque-speed law of a brushed motor: 12 V, 3800 rpm free, 30 mN m at stall gives 10.263 mN m at 2500 rpm. The
 * data are those of a public homework example, read; the answer was worked out outside this project from n = n0 (1 -
 * T / Ts). Here a weight makes that torque and the steady speed is asked for. */
static void a_weight_of_that_torque_runs_at_2500_rpm(void **state) {
    (void)state;
    up_values v;
    up_door door;
    up_circuit circuit;
    up_place_on_travel middle;
    up_steady steady;
    frictionless(&v);
    v.supply_voltage = 12;
    v.torque_constant = 12 / (3800 * RPM);
    v.winding_resistance = 12 * v.torque_constant / 30e-3;
    const double ratio = 0.5 * v.pinion_module * v.pinion_teeth;
    v.glass_mass = 10.263e-3 * v.wheel_teeth / v.worm_starts / ratio / 9.80665;
    prepare(&v, ROOM, &door);
    up_circuit_of(&door, &circuit);
    up_place_at(&door, 0.5 * v.glass_travel, &middle);
    up_steady_at(&door, &circuit, &middle, UP_RAISING, 0, &steady);
    assert_true(steady.runs && steady.starts);
    near(steady.armature_speed / RPM, 2500, 0.5);
    near(steady.armature_torque, 10.263e-3, 1e-9);
    up_steady_at(&door, &circuit, NULL, UP_RAISING, 1, &steady);
    near(steady.armature_speed / RPM, 3800, 0.01);
    /* Going down the same weight drives: n = n0 (1 + T / Ts), and the motor feeds nothing on. */
    up_steady_at(&door, &circuit, &middle, UP_LOWERING, 0, &steady);
    near(-steady.armature_speed / RPM, 3800 * (1 + 10.263 / 30), 1);
    assert_true(steady.current > 0);
}

/* The same law at stall: torque constant * V / R through the gears, nothing lost. */
static void stall_lift_is_that_of_the_levers(void **state) {
    (void)state;
    up_values v;
    up_door door;
    up_circuit circuit;
    up_place_on_travel middle;
    up_stall stall;
    frictionless(&v);
    prepare(&v, ROOM, &door);
    up_circuit_of(&door, &circuit);
    up_place_at(&door, 0.5 * v.glass_travel, &middle);
    up_stall_at(&door, &circuit, &middle, &stall);
    const double loop = v.winding_resistance + 2 * 0.05 / (58e6 * 25e-6);
    const double lift = v.torque_constant * v.supply_voltage / loop * (v.wheel_teeth / v.worm_starts) /
                        (0.5 * v.pinion_module * v.pinion_teeth);
    near(stall.current, v.supply_voltage / loop, 1e-6);
    near(stall.lift, lift, 1e-6 * lift);
    near(stall.squeeze, lift - v.glass_mass * 9.80665, 1e-6 * lift);
    near(stall.needed, v.glass_mass * 9.80665, 1e-6);
}

/* Copper +0.393 % and ferrite -0.2 % per kelvin (IEC 60028, and a published course on permanent magnets, both read)
 * give a stall torque at 80 degC of 0.712 and at -40 degC of 1.466 times that at 20 degC; worked out outside this
 * project. */
static void stall_torque_follows_the_temperature(void **state) {
    (void)state;
    up_values v;
    frictionless(&v);
    v.winding_coefficient = 0.00393;
    v.magnet_coefficient = -0.002;
    double lift[3];
    const double celsius[] = {20, 80, -40};
    for (int i = 0; i < 3; i++) {
        up_door door;
        up_circuit circuit;
        up_place_on_travel middle;
        up_stall stall;
        prepare(&v, celsius[i] + 273.15, &door);
        up_circuit_of(&door, &circuit);
        up_place_at(&door, 0.5 * v.glass_travel, &middle);
        up_stall_at(&door, &circuit, &middle, &stall);
        lift[i] = stall.lift;
    }
    near(lift[1] / lift[0], 0.712, 0.001);
    near(lift[2] / lift[0], 1.466, 0.001);
}

/* Conservation: what leaves a stage enters the next one; nothing but glass and battery gives power, so no stage gains
 * any. On all families, raising and lowering, at three places, warm, cold and with little voltage. */
static void power_passes_from_stage_to_stage(void **state) {
    (void)state;
    const double temperatures[] = {ROOM, 248.15, 333.15};
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int i = 0; i < 3; i++) {
            up_values v;
            up_door door;
            up_circuit circuit;
            usual((up_family)family, &v);
            prepare(&v, temperatures[i], &door);
            up_circuit_of(&door, &circuit);
            for (int k = 0; k < 6; k++) {
                const int direction = k % 2 ? UP_LOWERING : UP_RAISING;
                up_place_on_travel place;
                up_steady steady;
                up_stage_state stage[UP_STAGE_COUNT];
                up_place_at(&door, door.header_start * (k / 2) / 2, &place);
                up_steady_at(&door, &circuit, &place, direction, 0, &steady);
                assert_true(steady.runs);
                up_stages_of(&door, &circuit, &place, direction, &steady, stage);
                const double all = fabs(stage[0].power_in);
                for (int s = 0; s < UP_STAGE_COUNT; s++) {
                    assert_true(stage[s].power_in - stage[s].power_out > -1e-9 * all);
                    if (s > 0) {
                        near(stage[s].power_in, stage[s - 1].power_out, 1e-8 * all);
                    }
                }
            }
        }
    }
}

/* Motor: voltage = resistance * current + brush drop + torque constant * speed, torque constant * current = torque +
 * own friction. The textbook circuit; every term taken from the stages and worked out again. */
static void the_motor_obeys_its_circuit(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        up_door door;
        up_circuit circuit;
        up_place_on_travel middle;
        up_steady steady;
        usual((up_family)family, &v);
        prepare(&v, ROOM, &door);
        up_circuit_of(&door, &circuit);
        up_place_at(&door, 0.5 * door.travel, &middle);
        up_steady_at(&door, &circuit, &middle, UP_RAISING, 0, &steady);
        const double ohms = v.winding_resistance + v.protector_resistance;
        const double brush = v.brush_drop * steady.current / hypot(steady.current, 0.5);
        near(steady.motor_voltage, ohms * steady.current + brush + v.torque_constant * steady.armature_speed, 1e-6);
        near(v.torque_constant * steady.current,
             steady.armature_torque + v.motor_friction + v.motor_viscous * steady.armature_speed, 1e-8);
        near(steady.glass_speed, steady.armature_speed / (v.wheel_teeth / v.worm_starts) * middle.ratio, 1e-12);
    }
}

/* Holding follows from SDP/SI gear handbook equation 16-23 (read): it flips where the friction at rest is cos(phi_n)
 * tan(lambda). Just below, brushes and bearings hold a finite push, just above any. */
static void holding_flips_with_the_friction_at_rest(void **state) {
    (void)state;
    up_values v;
    up_door door;
    up_place_on_travel middle;
    usual(UP_FAMILY_CROSSED_ARMS, &v);
    v.worm_friction = 0.01;
    v.worm_starts = 1;
    v.worm_module = 0.75e-3;
    v.worm_diameter = 9.6e-3;
    const double locking = cos(v.worm_pressure_angle) * v.worm_module / v.worm_diameter;
    for (int above = 0; above < 2; above++) {
        double figures[UP_TRAIN_FIGURE_COUNT];
        v.worm_static_friction = locking * (above ? 1 + 1e-9 : 1 - 1e-9);
        prepare(&v, ROOM, &door);
        up_place_at(&door, 0.5 * door.travel, &middle);
        up_train_figures(&door, figures);
        assert_int_equal(isinf(figures[UP_TRAIN_FIGURE_hold_push]) != 0, above);
        assert_int_equal(figures[UP_TRAIN_FIGURE_hold_margin] > 1, above);
        assert_int_equal(figures[UP_TRAIN_FIGURE_worm_efficiency_back] < 0, above);
    }
    /* A slippery, steep worm lets the glass sink by itself. */
    v.worm_static_friction = 0.02;
    v.worm_starts = 4;
    v.motor_friction = 0.0005;
    v.output_drag = 0;
    prepare(&v, ROOM, &door);
    up_place_at(&door, 0.5 * door.travel, &middle);
    assert_true(up_holding_push(&door, &middle, 0.02) < 0);
}

/* Signals: the sum of pulses over the travel is the number per stroke, and the limit ring reduces by 1 + ring/sun (a
 * public epicyclic gear page, read), here 5. Simpson's rule over an arm's travel is good to 1e-4 here. */
static void pulses_along_the_travel_add_up(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        up_door door;
        up_circuit circuit;
        up_train_point points[UP_TRAIN_POINTS];
        double figures[UP_TRAIN_FIGURE_COUNT];
        usual((up_family)family, &v);
        v.header_depth = 0;
        prepare(&v, ROOM, &door);
        up_circuit_of(&door, &circuit);
        up_train_points(&door, &circuit, points);
        up_train_figures(&door, figures);
        double sum = 0;
        for (int i = 0; i + 2 < UP_TRAIN_POINTS - 1; i += 2) {
            sum +=
                (points[i].pulses_per_metre + 4 * points[i + 1].pulses_per_metre + points[i + 2].pulses_per_metre) / 3;
        }
        sum *= v.glass_travel / (UP_TRAIN_POINTS - 2);
        near(sum / figures[UP_TRAIN_FIGURE_pulses_per_stroke], 1, 2e-4);
        near(figures[UP_TRAIN_FIGURE_pulses_per_stroke],
             figures[UP_TRAIN_FIGURE_output_turns] * (v.wheel_teeth / v.worm_starts) * v.encoder_pulses, 1e-9);
        near(figures[UP_TRAIN_FIGURE_limit_turns], figures[UP_TRAIN_FIGURE_output_turns] / 5, 1e-9);
        near(figures[UP_TRAIN_FIGURE_limit_opening], 0.012, 1e-9);
    }
}

/* Root stress in metric numbers: 500 N, 8 mm, module 1.75, 12 teeth give 145.77 MPa (worked out outside this
 * project). */
static void pinion_stress_is_the_handbook_value(void **state) {
    (void)state;
    up_values v;
    up_door door;
    up_circuit circuit;
    up_place_on_travel middle;
    up_stall stall;
    double figures[UP_TRAIN_FIGURE_COUNT];
    usual(UP_FAMILY_CROSSED_ARMS, &v);
    v.pinion_teeth = 12;
    v.pinion_module = 1.75e-3;
    v.pinion_face = 8e-3;
    v.sector_cut = 40;
    prepare(&v, ROOM, &door);
    up_circuit_of(&door, &circuit);
    up_place_at(&door, 0.5 * door.travel, &middle);
    up_stall_at(&door, &circuit, &middle, &stall);
    up_train_figures(&door, figures);
    const double force = stall.wheel_torque / (0.5 * 1.75e-3 * 12);
    near(figures[UP_TRAIN_FIGURE_pinion_stress_stall] / 1e6, 145.77 * force / 500, 0.005 * force / 500);
}

/* No source needed: a spring with one kink, put together from its two straight parts. */
static void damper_winds_up_along_a_kinked_line(void **state) {
    (void)state;
    near(up_damper_windup(4, 40, 0.3, 500), 0.1, 1e-15);
    near(up_damper_windup(-4, 40, 0.3, 500), 0.1, 1e-15);
    near(up_damper_windup(12, 40, 0.3, 500), 0.3, 1e-15);
    near(up_damper_windup(12 + 54, 40, 0.3, 500), 0.4, 1e-15);
    assert_true(up_damper_windup(0, 40, 0.3, 500) == 0);
}

/* ---- intervals ---- */

static up_status run(const up_known *known, int draws, up_train *train) {
    const up_train_request request = {known, ROOM, UP_ABSENT, 7, draws};
    const size_t size = up_train_memory(draws);
    void *memory = malloc(size);
    assert_non_null(memory);
    const up_status status = up_train_run(&request, NULL, memory, size, train);
    free(memory);
    return status;
}

/* JCGM 100:2008, 5.1.2: with one input the deviation is the slope times the input's. Stall current over the winding's
 * resistance: I = V / R, so a relative tolerance of 2 % on the loop gives 2 % on the current. */
static void one_tolerance_goes_through_by_its_slope(void **state) {
    (void)state;
    static up_known known;
    static up_train train;
    memset(&known, 0, sizeof known);
    frictionless(&known.values);
    known.spread[UP_NUMBER_winding_resistance] = 0.02 * known.values.winding_resistance;
    assert_int_equal(run(&known, 4000, &train), UP_OK);
    const up_train_answer *current = &train.answer[UP_TRAIN_FIGURE_stall_current];
    assert_int_equal(current->count, 4000);
    near((current->high - current->low) / 2 / current->value, 0.02, 0.001);
    assert_int_equal(current->mostly, UP_NUMBER_winding_resistance);
    assert_true(current->mostly_share > 0.99);
    /* What does not depend on it does not move. */
    assert_true(train.answer[UP_TRAIN_FIGURE_output_turns].low == train.answer[UP_TRAIN_FIGURE_output_turns].high);
}

static void bad_requests_are_refused(void **state) {
    (void)state;
    static up_known known;
    static up_train train;
    char memory[64];
    memset(&known, 0, sizeof known);
    usual(UP_FAMILY_CABLE, &known.values);
    up_train_request request = {&known, ROOM, UP_ABSENT, 1, 200};
    assert_int_equal(up_train_run(&request, NULL, memory, sizeof memory, &train), UP_MEMORY_TOO_SMALL);
    request.draws = 3;
    assert_int_equal(up_train_run(&request, NULL, memory, sizeof memory, &train), UP_BAD_OPTION);
    known.values.glass_mass = -1;
    assert_int_equal(run(&known, 200, &train), UP_BAD_VALUE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_weight_of_that_torque_runs_at_2500_rpm),
        cmocka_unit_test(stall_lift_is_that_of_the_levers),
        cmocka_unit_test(stall_torque_follows_the_temperature),
        cmocka_unit_test(power_passes_from_stage_to_stage),
        cmocka_unit_test(the_motor_obeys_its_circuit),
        cmocka_unit_test(holding_flips_with_the_friction_at_rest),
        cmocka_unit_test(pulses_along_the_travel_add_up),
        cmocka_unit_test(pinion_stress_is_the_handbook_value),
        cmocka_unit_test(damper_winds_up_along_a_kinked_line),
        cmocka_unit_test(one_tolerance_goes_through_by_its_slope),
        cmocka_unit_test(bad_requests_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

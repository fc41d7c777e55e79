/* The motor alone against a published step response, and against what every direct-current motor does at stall, running
 * free, and with its energy. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/support/workbench.h"

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

/* Control Tutorials for MATLAB and Simulink, "DC Motor Speed: System Modeling" and "System Analysis" (University of
 * Michigan), read: J 0.01 kg m2, b 0.1 N m s, K 0.01, R 1 ohm, L 0.5 H, 1 V: about 0.1 rad/s, settling in 2.07 s, poles
 * near -2 and -10. */
static const double R = 1, L = 0.5, K = 0.01, J = 0.01, B = 0.1, VOLT = 1;

static void put_worked_motor(workbench *bench) {
    bare_door(bench);
    bare_motor(&bench->door, R, L, K, J, B);
    bench->run.world.open_voltage = VOLT;
    bench->run.motion.modes.bridge = UP_BRIDGE_RAISE;
    bench->run.motion.modes.slip[UP_ARMATURE] = 1;
}

/* Steps of equal length with the core's integrator alone. */
static void step_on(workbench *bench, double h, int steps) {
    up_motion *m = &bench->run.motion;
    for (int i = 0; i < steps; i++) {
        up_loads loads;
        up_slopes slopes;
        double y1[UP_STATES], error[UP_STATES];
        const up_piece piece = {&bench->door, &bench->run.world, &m->modes, m->heat, {0, 0, 0}, m->time};
        up_loads_at(&bench->door, &bench->run.world, &m->modes, &m->heat, m->time, m->y, &loads);
        up_slopes_at(&piece, m->y, &loads, &slopes);
        up_step(&piece, &slopes, m->y, &loads, h, y1, error);
        for (int n = 0; n < UP_STATES; n++) {
            m->y[n] = y1[n];
        }
    }
}

/* Speed and current worked out outside this project from the two poles of that example, ten digits. */
static void the_worked_step_response_is_met_to_nine_digits(void **state) {
    (void)state;
    static const struct {
        double t, speed, current;
    } row[] = {{0.1, .006855537, .181264482}, {0.2, .019592292, .329651998}, {0.5, .054170100, .631925747},
               {1, .083037111, .864130155},   {2, .097623489, .980793804},   {3, .099592764, .996543078}};
    static workbench bench;
    put_worked_motor(&bench);
    int done = 0;
    const double h = 0.005;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const int until = (int)lround(row[i].t / h);
        step_on(&bench, h, until - done);
        done = until;
        near(bench.run.motion.y[UP_ARMATURE_SPEED], row[i].speed, 6e-10);
        near(bench.run.motion.y[UP_CURRENT], row[i].current, 6e-10);
    }
}

/* The same through the stepper that chooses its own steps, at the tolerance of an ordinary run. */
static void the_adaptive_stepper_meets_it_within_its_tolerance(void **state) {
    (void)state;
    static const double time[] = {0.1, 0.5, 1, 3}, speed[] = {.006855537, .054170100, .083037111, .099592764};
    static workbench bench;
    put_worked_motor(&bench);
    workbench_start(&bench, 1e-6);
    for (int i = 0; i < 4; i++) {
        workbench_run(&bench, time[i]);
        near(bench.run.motion.y[UP_ARMATURE_SPEED], speed[i], 2e-6);
    }
    near(workbench_ledger_gap(&bench), 0, 1e-6);
}

/* Time at which the speed passes a share of its end value; straight between steps of 50 us. */
static double time_at_share(double share) {
    static workbench bench;
    put_worked_motor(&bench);
    const double end = 0.0999000999, h = 5e-5;
    double before = 0, t = 0;
    for (;;) {
        step_on(&bench, h, 1);
        const double now = bench.run.motion.y[UP_ARMATURE_SPEED];
        if (now >= share * end) {
            return t + h * (share * end - before) / (now - before);
        }
        before = now;
        t += h;
    }
}

/* Read: settling (2 %) 2.07 s. Worked out from the example's numbers: rise 10 to 90 % 1.135029 s, settling 2.065189 s, 63.2 %
 * after 0.610234 s. */
static void rise_and_settling_times_are_those_published(void **state) {
    (void)state;
    const double settling = time_at_share(0.98);
    near(settling, 2.07, 0.005);
    near(settling, 2.065189, 1e-5);
    near(time_at_share(0.9) - time_at_share(0.1), 1.135029, 2e-6);
    near(time_at_share(1 - exp(-1)), 0.610234, 2e-5);
}

/* End values: speed V K / (R b + K^2), current V b / (R b + K^2); it never goes above. */
static void it_settles_where_torque_and_voltage_balance(void **state) {
    (void)state;
    static workbench bench;
    put_worked_motor(&bench);
    double highest = 0;
    for (int i = 0; i < 1500; i++) {
        step_on(&bench, 0.01, 1);
        highest = fmax(highest, bench.run.motion.y[UP_ARMATURE_SPEED]);
    }
    near(bench.run.motion.y[UP_ARMATURE_SPEED], VOLT * K / (R * B + K * K), 1e-12);
    near(bench.run.motion.y[UP_CURRENT], VOLT * B / (R * B + K * K), 1e-12);
    near(highest, VOLT * K / (R * B + K * K), 1e-12);
}

/* Held: current V / R, torque K V / R. Free of friction: speed V / K, no current. Between them a straight line, here
 * against the linear relations I = I0 + (Is - I0) T/Ts and n = n0 (1 - T/Ts) (VEX Robotics curriculum, "Motor curves",
 * read) with the example 12 V, 3800 rpm, 30 mN m stall: at 2500 rpm 10.263 mN m (data read, answer worked out). */
static void stall_and_no_load_are_the_ends_of_a_straight_line(void **state) {
    (void)state;
    static workbench bench;
    const double volts = 12, free_speed = 3800 * 3.14159265358979323846 / 30, stall_torque = 0.030;
    const double constant = volts / free_speed, resistance = constant * volts / stall_torque;
    bare_door(&bench);
    bare_motor(&bench.door, resistance, 0.35e-3, constant, 1e-5, 0);
    bench.run.world.open_voltage = volts;
    bench.run.motion.modes.bridge = UP_BRIDGE_RAISE;
    bench.door.motor_friction = 1; /* holds it */
    workbench_start(&bench, 1e-7);
    workbench_run(&bench, 0.05);
    near(bench.run.motion.y[UP_CURRENT], volts / resistance, 1e-6);
    near(bench.run.motion.y[UP_CURRENT] * constant, stall_torque, 1e-8);
    assert_int_equal(bench.run.motion.modes.slip[UP_ARMATURE], 0);

    for (int load = 0; load < 3; load++) {
        static const double torque[] = {0, 0.010263157894736842, 0.020}, rpm[] = {3800, 2500, 1266.6666666666667};
        bare_door(&bench);
        bare_motor(&bench.door, resistance, 0.35e-3, constant, 1e-5, 0);
        bench.door.motor_friction = torque[load];
        bench.run.world.open_voltage = volts;
        bench.run.motion.modes.bridge = UP_BRIDGE_RAISE;
        workbench_start(&bench, 1e-8);
        workbench_run(&bench, 10);
        near(bench.run.motion.y[UP_ARMATURE_SPEED] * 30 / 3.14159265358979323846, rpm[load], 1e-3);
        near(bench.run.motion.y[UP_CURRENT], torque[load] / constant, 1e-6);
    }
}

/* Conservation of energy: what the battery gives is winding heat, friction, motion and field, at every instant. */
static void every_joule_is_accounted_for(void **state) {
    (void)state;
    static workbench bench;
    put_worked_motor(&bench);
    workbench_start(&bench, 1e-8);
    for (double t = 0.25; t < 4; t += 0.25) {
        workbench_run(&bench, t);
        const double gap = workbench_ledger_gap(&bench);
        const double *y = bench.run.motion.y;
        near(gap, 0, 3e-8);
        near(bench.outcome.ledger[UP_LEDGER_kinetic], 0.5 * J * y[UP_ARMATURE_SPEED] * y[UP_ARMATURE_SPEED], 1e-15);
        near(bench.outcome.ledger[UP_LEDGER_magnetic], 0.5 * L * y[UP_CURRENT] * y[UP_CURRENT], 1e-15);
    }
    assert_true(bench.outcome.ledger[UP_LEDGER_winding_heat] > 2 && bench.outcome.ledger[UP_LEDGER_motor_friction] > 0);
}

/* Shorted by the bridge, battery and leads to it are out of the loop: the armature drives a current through winding and
 * bridge alone. L i' = -(R + Rb) i - K w, J w' = K i: two exponentials (linear system with constant coefficients). */
static void a_shorted_motor_brakes_through_winding_and_bridge_alone(void **state) {
    (void)state;
    const double r = 0.4, bridge = 0.02, l = 0.35e-3, k = 0.024, j = 1.5e-5, start = 300;
    static workbench bench;
    bare_door(&bench);
    bare_motor(&bench.door, r, l, k, j, 0);
    bench.door.bridge_resistance = bridge;
    bench.door.source_resistance = 5;
    bench.run.world.open_voltage = 12;
    bench.run.motion.modes.bridge = UP_BRIDGE_BRAKE;
    bench.run.motion.modes.slip[UP_ARMATURE] = 1;
    bench.run.motion.y[UP_ARMATURE_SPEED] = start;
    workbench_start(&bench, 1e-9);
    const double half = 0.5 * (r + bridge) / l, root = sqrt(half * half - k * k / (l * j));
    const double fast = -half - root, slow = -half + root;
    for (double t = 0.002; t < 0.03; t += 0.002) {
        workbench_run(&bench, t);
        /* w'(0) = 0 */
        const double speed = start * (slow * exp(fast * t) - fast * exp(slow * t)) / (slow - fast);
        const double rate = start * slow * fast * (exp(fast * t) - exp(slow * t)) / (slow - fast);
        near(bench.run.motion.y[UP_ARMATURE_SPEED], speed, 2e-5);
        near(bench.run.motion.y[UP_CURRENT], j * rate / k, 2e-5);
    }
    assert_true(workbench_ledger_gap(&bench) < 1e-6 && bench.outcome.ledger[UP_LEDGER_drawn] == 0);
}

/* Heat goes nowhere but from winding and protector to the case and from there to the air: what the three gain is what comes
 * in less what leaves (conservation of energy), for any temperatures. At the even temperature of the air and no current
 * nothing flows. */
static void heat_is_conserved_between_winding_case_protector_and_air(void **state) {
    (void)state;
    static workbench bench;
    bare_door(&bench);
    up_door *d = &bench.door;
    d->protection = UP_PROTECTION_BIMETAL;
    d->protector_resistance = 0.02;
    d->winding_coefficient = 0.00393;
    d->brush_drop = 0.8;
    for (int i = 0; i < 50; i++) {
        const up_heat heat = {250 + 7.0 * i, 400 - 3.0 * i, 280 + 2.0 * i};
        const double current = i - 20;
        up_loads loads;
        bench.run.motion.y[UP_CURRENT] = current;
        up_loads_at(d, &bench.run.world, &bench.run.motion.modes, &heat, 0.0, bench.run.motion.y, &loads);
        const double gained = loads.heat_rate.winding * bench.door.values.winding_capacity +
                              loads.heat_rate.box * bench.door.values.case_capacity +
                              loads.heat_rate.protector * bench.door.values.protector_capacity;
        const double in = loads.winding * current * current + loads.brush_voltage * current;
        const double out = (heat.box - d->temperature) / bench.door.values.case_to_air;
        near(gained, in - out, 1e-9 * (1 + fabs(in) + fabs(out)));
        /* each path by itself: hotter gives to colder at the sheet's kelvin per watt */
        near(loads.heat_rate.protector * bench.door.values.protector_capacity,
             0.02 * current * current - (heat.protector - heat.box) / bench.door.values.protector_to_case, 1e-9);
        near(loads.heat_rate.winding * bench.door.values.winding_capacity,
             in - 0.02 * current * current - (heat.winding - heat.box) / bench.door.values.winding_to_case, 1e-9);
    }
    up_loads still;
    const up_heat even = {d->temperature, d->temperature, d->temperature};
    bench.run.motion.y[UP_CURRENT] = 0;
    up_loads_at(d, &bench.run.world, &bench.run.motion.modes, &even, 0.0, bench.run.motion.y, &still);
    assert_true(still.heat_rate.winding == 0 && still.heat_rate.box == 0 && still.heat_rate.protector == 0);
}

/* Copper at 0.00393 per kelvin (IEC 60028): 0.40 ohm at 20 degC is 0.4943 ohm at 80 degC and 0.3057 at -40 degC. A ferrite
 * magnet at -0.2 % per kelvin (hal, cel-01246816, read): 0.88 of its constant at 80 degC. Both together, net stall torque
 * at fixed voltage 0.712 at 80 degC (worked out from these). */
static void a_hot_motor_is_weaker_by_copper_and_magnet(void **state) {
    (void)state;
    static workbench bench;
    static const double celsius[] = {20, 80, -40}, ohm[] = {0.40, 0.4943, 0.3057}, torque[] = {1, 0.712, 1.466};
    double cold = 0;
    for (int i = 0; i < 3; i++) {
        up_loads loads;
        bare_door(&bench);
        bare_motor(&bench.door, 0.40, 0.35e-3, 0.024, 1e-5, 0);
        bench.door.winding_coefficient = 0.00393;
        bench.door.magnet_coefficient = -0.002;
        const double kelvin = celsius[i] + 273.15;
        const up_heat heat = {kelvin, kelvin, kelvin};
        up_loads_at(&bench.door, &bench.run.world, &bench.run.motion.modes, &heat, 0.0, bench.run.motion.y, &loads);
        near(loads.winding, ohm[i], 0.00005);
        const double stall = loads.torque_constant * 12 / loads.winding;
        cold = i == 0 ? stall : cold;
        near(stall / cold, torque[i], 0.0006);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worked_step_response_is_met_to_nine_digits),
        cmocka_unit_test(the_adaptive_stepper_meets_it_within_its_tolerance),
        cmocka_unit_test(rise_and_settling_times_are_those_published),
        cmocka_unit_test(it_settles_where_torque_and_voltage_balance),
        cmocka_unit_test(stall_and_no_load_are_the_ends_of_a_straight_line),
        cmocka_unit_test(every_joule_is_accounted_for),
        cmocka_unit_test(a_shorted_motor_brakes_through_winding_and_bridge_alone),
        cmocka_unit_test(heat_is_conserved_between_winding_case_protector_and_air),
        cmocka_unit_test(a_hot_motor_is_weaker_by_copper_and_magnet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

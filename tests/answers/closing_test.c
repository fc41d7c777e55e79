/* Whole runs against what can be worked out by hand: when the worm holds, steady speed and current, stall, rod force. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/support/recording.h"

static recording r;

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

/* ---- the worm holds or creeps --------------------------------------------------------------------------------------- */

/* An unpowered door with nothing but its worm to hold it, leads open, a hand pressing down with 300 N; friction at rest and
 * running `friction`. */
static void press(up_family family, double lead, double pressure, double friction, double seconds) {
    recording_door(&r, family);
    r.values.worm_lead_angle = lead;
    r.values.worm_pressure_angle = pressure;
    r.values.worm_friction = r.values.worm_static_friction = friction;
    r.values.motor_friction = 0;
    r.values.motor_viscous = 0;
    r.options.leads_open = 1;
    r.options.push_force = -300;
    r.options.start_travel = 0.6 * r.values.glass_travel;
    r.options.time_limit = seconds;
    recording_run(&r);
}

/* Holding begins where the static friction passes cos(phi_n) tan(lambda): the zero of SDP/SI gear handbook equation 16-23,
 * read. In the simulation nothing is switched on there: the friction of the loaded mesh has to come out just large enough.
 * A thousand-millionth below, the armature starts; above, never. */
static void the_simulated_worm_holds_exactly_from_cos_phi_tan_lambda_on(void **state) {
    (void)state;
    static const double lead[] = {0.03, 0.0780, 0.12, 0.17}, pressure[] = {0.2530727415391778, 0.3490658503988659};
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int l = 0; l < 4; l++) {
            for (int p = 0; p < 2; p++) {
                const double limit = cos(pressure[p]) * tan(lead[l]);
                press((up_family)family, lead[l], pressure[p], limit * (1 + 1e-9), 5);
                assert_int_equal(recording_count(&r, UP_EVENT_ARMATURE_STARTS), 0);
                assert_int_equal(r.edges, 0);
                press((up_family)family, lead[l], pressure[p], limit * (1 - 1e-9), 5);
                assert_true(recording_count(&r, UP_EVENT_ARMATURE_STARTS) >= 1);
            }
        }
    }
}

/* Two per cent below, it creeps down for good; two per cent above, the glass only sinks by what the parts give. */
static void just_below_it_creeps_and_just_above_it_stays(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        const double lead = atan(r.values.worm_starts * r.values.worm_module / r.values.worm_diameter);
        const double limit = cos(r.values.worm_pressure_angle) * tan(lead);
        press((up_family)family, lead, r.values.worm_pressure_angle, 1.02 * limit, 5);
        const double held = r.outcome.final_travel;
        assert_true(r.options.start_travel - held < 0.03);
        press((up_family)family, lead, r.values.worm_pressure_angle, 0.98 * limit, 5);
        assert_true(held - r.outcome.final_travel > 0.05);
        assert_true(r.edges > 20);
        /* The hand does the work, the worm eats nearly all of it. */
        assert_true(r.outcome.ledger[UP_LEDGER_pushed] < 0 && r.outcome.ledger[UP_LEDGER_drawn] == 0);
    }
}

/* A worm that only its friction at rest holds lets go for good once shaken: started, it runs, since running friction is
 * below the limit (common practice, no source: such windows sink on rough roads). Here a stronger push starts it. */
static void friction_at_rest_alone_holds_only_while_it_rests(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    const double limit =
        cos(r.values.worm_pressure_angle) * (r.values.worm_starts * r.values.worm_module / r.values.worm_diameter);
    r.values.worm_static_friction = 1.2 * limit;
    r.values.worm_friction = 0.6 * limit;
    r.values.motor_friction = 0.0005;
    r.options.leads_open = 1;
    r.options.push_force = -300;
    r.options.start_travel = 0.9 * r.values.glass_travel;
    recording_run(&r);
    assert_int_equal(r.edges, 0);
    /* The same glass, raised by the motor and let go in full motion by opening the leads: friction is low while it turns,
     * so the push turns it back and takes it down, unless the turning point catches it. */
    r.options.leads_open = 0;
    r.options.leads_direct = 1;
    recording_hand(&r, UP_SWITCH_LOWER_HELD);
    recording_hand_then(&r, 0.3, UP_SWITCH_FREE);
    recording_run(&r);
    assert_true(r.outcome.final_travel < 0.02);
}

/* ---- steady running ---------------------------------------------------------------------------------------------------- */

/* A rack door without header, spring and tilt: level forces, so the steady state is a balance of torques that can be written
 * down from the sheet: weight and drag over radius, mesh, worm (SDP/SI equation 16-21 as torque), motor line. Solved here
 * by repeated substitution, quite apart from the simulation. */
typedef struct balance {
    double speed, current;
} balance;

static balance balance_at(const up_values *v, const up_door *door, double place, int way) {
    double omega = 300, current = 0;
    const double radius = 0.5 * v->pinion_module * v->pinion_teeth, ratio = v->wheel_teeth / v->worm_starts;
    const double lead = v->worm_starts * v->worm_module / v->worm_diameter, phi = v->worm_pressure_angle;
    const double drag = v->run_channel_drag * (v->channel_engaged + 2 * place) + v->belt_drag;
    const double weight = v->glass_mass * 9.80665 * cos(v->glass_lean);
    for (int i = 0; i < 200; i++) {
        const double glass = omega / ratio * radius;
        const double stribeck = 1 + v->static_extra / (1 + pow(glass / v->stribeck_speed, 2));
        const double lift = weight + way * (drag * stribeck + v->seal_viscous * glass);
        const double output = radius * lift + way * (v->output_drag + v->mesh_loss * fabs(radius * lift));
        const double slide = omega * 0.5 * v->worm_diameter / cos(atan(lead)) / v->worm_friction_speed;
        const double f = v->worm_friction + (v->worm_static_friction - v->worm_friction) / (1 + slide * slide);
        const double mesh = way * output > 0 ? (cos(phi) * lead + f) / (cos(phi) - f * lead)
                                             : (cos(phi) * lead - f) / (cos(phi) + f * lead);
        const double torque = way * output / ratio * (mesh / lead) + v->motor_friction + v->motor_viscous * omega;
        current = torque / v->torque_constant;
        const double brush = v->brush_drop * current / sqrt(current * current + 0.25);
        const double loop =
            door->source_resistance + v->bridge_resistance + v->winding_resistance + door->protector_resistance;
        const double next = (v->supply_voltage - brush - loop * current) / v->torque_constant;
        omega += 0.5 * (next - omega);
    }
    return (balance){omega, current};
}

static void a_rack_door_runs_at_the_speed_of_the_torque_balance(void **state) {
    (void)state;
    for (int lower = 0; lower < 2; lower++) {
        recording_door(&r, UP_FAMILY_RACK);
        r.values.glass_curvature = 1e6;
        r.values.channel_friction = 0; /* no tilt */
        r.values.winding_coefficient = 0;
        r.values.magnet_coefficient = 0; /* so that it does not slow down while it warms */
        r.options.leads_direct = 1;
        r.options.start_travel = lower ? r.values.glass_travel : 0;
        r.options.time_limit = 3;
        r.options.tolerance = 1e-7;
        recording_hand(&r, lower ? UP_SWITCH_LOWER_HELD : UP_SWITCH_RAISE_HELD);
        recording_run(&r);
        const up_sample *s = recording_at(&r, 2.0);
        const balance wanted = balance_at(&r.values, &r.door, s->travel, lower ? -1 : 1);
        near(fabs(s->armature_speed), wanted.speed, 2e-4 * wanted.speed);
        near(fabs(s->current), wanted.current, 5e-3 * wanted.current); /* it is still gaining a little */
    }
}

/* ---- the end ------------------------------------------------------------------------------------------------------------ */

/* Slow stall: a weak battery lets the armature creep into the stop, so that inertia adds nothing. The force on the stop is then
 * between what the motor holds with friction at rest against it and what running friction lets through:
 * K I N / (r (1 + loss)) times the worm's driving efficiency. */
static void the_stall_force_lies_between_the_two_frictions(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    r.values.glass_curvature = 1e6;
    r.values.channel_friction = 0;
    r.values.header_stiffness = 0;
    r.options.open_voltage = 6.5;
    r.options.leads_direct = 1;
    r.options.start_travel = r.values.glass_travel - 0.02;
    r.options.time_limit = 3;
    recording_hand(&r, UP_SWITCH_RAISE_HELD);
    recording_run(&r);
    const up_values *v = &r.values;
    const up_sample *end = recording_last(&r);
    const double radius = 0.5 * v->pinion_module * v->pinion_teeth, ratio = v->wheel_teeth / v->worm_starts;
    const double lead = v->worm_starts * v->worm_module / v->worm_diameter, phi = v->worm_pressure_angle;
    const double motor = r.door.torque_constant * end->current;
    double output[2];
    for (int at_rest = 0; at_rest < 2; at_rest++) {
        const double f = at_rest ? v->worm_static_friction : v->worm_friction;
        const double efficiency = lead * (cos(phi) - f * lead) / (cos(phi) * lead + f);
        output[at_rest] = (motor - (at_rest ? 1 : -1) * v->motor_friction) * ratio * efficiency;
    }
    print_message("damper torque %.3f N m between %.3f and %.3f\n", end->damper_torque, output[1], output[0]);
    assert_true(end->damper_torque > output[1] && end->damper_torque < 1.6 * output[0]);
    assert_true(end->lift_force < end->damper_torque / radius);
    near(end->stop_force, end->lift_force - v->glass_mass * 9.80665 * cos(v->glass_lean) - end->friction_force,
         0.02 * end->stop_force);
}

/* ---- rod ------------------------------------------------------------------------------------------------------------------ */

/* While the motor drives on, the squeezing force grows at stiffness times speed. So a stiffer rod is seen sooner and, over
 * an order of magnitude, squeezed harder; from one to the next the peak need not grow, as it hangs on where the encoder's
 * edges happen to fall. */
static void a_stiffer_rod_is_seen_sooner_and_squeezed_harder(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        static const double stiffness[] = {5e3, 10e3, 20e3, 65e3};
        double softest = 0, before = 1;
        for (int k = 0; k < 4; k++) {
            recording_door(&r, (up_family)family);
            r.options.rod = 1;
            r.options.rod_opening = 0.1;
            r.options.rod_stiffness = stiffness[k];
            r.options.sample_interval = 5e-4;
            recording_run(&r);
            assert_int_equal(r.outcome.end, UP_END_REVERSED);
            const double series = 1 / (1 / stiffness[k] + 1 / r.values.panel_stiffness);
            const up_sample *just_after = recording_at(&r, r.outcome.rod_touch_time + 0.004);
            const double grown = just_after->time - r.outcome.rod_touch_time;
            /* the first 4 ms, before the force has slowed anything down by much */
            near(just_after->rod_force, series * grown * recording_at(&r, r.outcome.rod_touch_time)->speed,
                 0.1 * just_after->rod_force);
            const double seen_after = r.outcome.detection_time - r.outcome.rod_touch_time;
            assert_true(seen_after > 0 && seen_after < before);
            before = seen_after;
            softest = k == 0 ? r.outcome.peak_rod_force : softest;
            assert_true(r.outcome.peak_rod_force > 0.9 * softest);
        }
        assert_true(r.outcome.peak_rod_force > 1.2 * softest);
    }
}

/* The order of things with a rod in the way, and the distance backed off. */
static void a_rod_is_met_seen_and_set_free_in_that_order(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        r.options.rod = 1;
        r.options.rod_opening = 0.2;
        r.options.rod_stiffness = 10e3;
        recording_run(&r);
        static const up_event_kind order[] = {UP_EVENT_SWITCH,       UP_EVENT_BRIDGE_RAISE, UP_EVENT_GLASS_STARTS,
                                              UP_EVENT_ROD_TOUCHED,  UP_EVENT_PINCH_SEEN,   UP_EVENT_BRIDGE_BRAKE,
                                              UP_EVENT_BRIDGE_LOWER, UP_EVENT_ROD_LEFT,     UP_EVENT_CONTROLLER_RESTS};
        double before = -1;
        for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
            const double time = recording_time(&r, order[i], 0);
            assert_true(time >= before);
            before = time;
        }
        near(r.outcome.reversed_distance, r.values.reverse_distance, 0.1 * r.values.reverse_distance + 0.01);
        near(recording_time(&r, UP_EVENT_BRIDGE_BRAKE, 0) - recording_time(&r, UP_EVENT_PINCH_SEEN, 0),
             r.values.bridge_delay, 1e-9);
        const double pause =
            recording_time(&r, UP_EVENT_BRIDGE_LOWER, 0) - recording_time(&r, UP_EVENT_BRIDGE_BRAKE, 0);
        assert_true(pause > r.values.reverse_pause - 1e-9 && pause < r.values.reverse_pause + 1.1 * r.values.tick);
    }
}

/* The controller measures the supply where it sits, behind battery, wires and plugs, so the extra current of a squeezed rod
 * does not look like more load than it is: on a soft rod the reckoned force is near the real one, with good leads and with
 * half an ohm of bad plugs alike. */
static void bad_leads_do_not_mislead_the_detector(void **state) {
    (void)state;
    static const double contact[] = {0.01, 0.5};
    for (int i = 0; i < 2; i++) {
        recording_door(&r, UP_FAMILY_RACK);
        r.values.contact_resistance = contact[i];
        r.values.detect_learning = 1; /* the reference keeps still */
        r.values.detect_force = 60;
        r.values.run_channel_drag = 0;
        r.options.rod = 1;
        r.options.rod_opening = 0.15;
        r.options.rod_stiffness = 2000;
        recording_run(&r);
        assert_int_equal(r.outcome.end, UP_END_REVERSED);
        const double force = recording_at(&r, r.outcome.detection_time - 0.004)->rod_force;
        print_message("contact %.2f ohm: reckoned %.1f N, rod %.1f N\n", contact[i], r.outcome.peak_detector_excess,
                      force);
        near(r.outcome.peak_detector_excess, force, 0.2 * force);
    }
}

/* ---- encoder ---------------------------------------------------------------------------------------------------------------- */

/* Edges come where the magnet ring has its borders: even ones lie an equal angle apart, so at each edge's time the shaft has
 * turned a whole number of spacings from the first. The shaft's angle between samples by a cubic through angles and
 * speeds of a fine trace (Hermite; any text on interpolation). */
static void edges_fall_on_the_borders_of_the_magnet_ring(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CROSSED_ARMS);
    r.values.encoder_pitch_error = 0;
    r.options.sample_interval = 2e-4;
    r.options.tolerance = 1e-8;
    recording_run(&r);
    const double spacing = r.door.edge_spacing;
    int next = 1;
    double worst = 0;
    for (int i = 0; i < r.edges; i++) {
        while (next + 1 < r.samples && r.sample[next].time < r.edge[i]) {
            next++;
        }
        const up_sample *a = &r.sample[next - 1], *b = &r.sample[next];
        const double h = b->time - a->time, u = (r.edge[i] - a->time) / h;
        const double angle = a->armature_angle * (1 + 2 * u) * (1 - u) * (1 - u) +
                             b->armature_angle * u * u * (3 - 2 * u) +
                             h * u * (1 - u) * ((1 - u) * a->armature_speed - u * b->armature_speed);
        const double off = angle / spacing - floor(angle / spacing + 0.5);
        const double speed = fmax(50, fabs(a->armature_speed)); /* rad/s; slower at the very start and end */
        worst = fmax(worst, fabs(off * spacing) / speed);
    }
    print_message("%d edges, off by %.2g s at most\n", r.edges, worst);
    assert_true(r.edges > 600);
    assert_true(worst < 1e-6);
}

/* At the tolerance of an ordinary run every edge is within 2 us of where a tolerance 10,000 times finer puts it; detection
 * lives on periods. */
static void ordinary_runs_place_every_edge_within_two_microseconds(void **state) {
    (void)state;
    static double exact[RECORDING_EDGES];
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        const double ordinary = r.options.tolerance;
        r.options.tolerance = 1e-4 * ordinary;
        recording_run(&r);
        const int edges = r.edges;
        for (int i = 0; i < edges; i++) {
            exact[i] = r.edge[i];
        }
        r.options.tolerance = ordinary;
        recording_run(&r);
        assert_int_equal(r.edges, edges);
        double worst = 0;
        /* the last edges fall where the glass has all but stopped, and no time is sharp there */
        for (int i = 0; i < edges - 8; i++) {
            worst = fmax(worst, fabs(r.edge[i] - exact[i]));
        }
        print_message("family %d: edges off by %.2g s at most\n", family, worst);
        assert_true(worst < 2e-6);
    }
}

/* A ring whose borders are off by up to 4 % of a spacing: at an even speed the periods show it, the same every turn. */
static void an_uneven_ring_repeats_every_turn(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    r.values.encoder_pulses = 4;
    r.values.encoder_pitch_error = 0.04;
    recording_run(&r);
    double widest = 0, off_pattern = 0;
    for (int i = 400; i < 1600; i++) {
        const double mean = (r.edge[i + 8] - r.edge[i - 8]) / 16;
        const double period = r.edge[i + 1] - r.edge[i], a_turn_later = r.edge[i + 9] - r.edge[i + 8];
        widest = fmax(widest, fabs(period / mean - 1));
        off_pattern = fmax(off_pattern, fabs(a_turn_later - period) / mean);
    }
    assert_true(widest > 0.01 && widest < 0.085);
    assert_true(off_pattern < 0.003);
}

/* ---- the detector's yardstick ------------------------------------------------------------------------------------------------ */

/* Its gain says how many newtons on the glass each missing rad/s of the armature means. Two steady runs, one with 40 N more on
 * the glass: the force over the change of (voltage at the controller / K - speed). */
static void the_detectors_gain_is_that_of_the_door(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        double missing[2];
        int place = 0;
        for (int i = 0; i < 2; i++) {
            recording_door(&r, (up_family)family);
            r.values.winding_coefficient = r.values.magnet_coefficient = 0;
            r.values.seal_viscous = 0;
            r.values.channel_friction = 0;
            r.options.push_force = -40 * i;
            r.options.leads_direct = 1;
            r.options.sample_interval = 0.001;
            r.options.time_limit = 4;
            recording_hand(&r, UP_SWITCH_RAISE_HELD);
            recording_run(&r);
            const up_sample *s = r.sample;
            while (s->travel < 0.5 * r.values.glass_travel) {
                s++;
            }
            const double controller = r.values.supply_voltage - r.door.source_resistance * s->current;
            missing[i] = (controller - r.values.brush_drop) / r.values.torque_constant - s->armature_speed;
            place = r.door.control.stroke_edges / 2;
        }
        const up_detector_settings *d = &r.door.control.detector;
        const double gain = d->gain[place >> d->zone_shift] / 256.0;
        print_message("family %d: gain %.3f N s/rad, measured %.3f\n", family, gain, 40 / (missing[1] - missing[0]));
        near(gain, 40 / (missing[1] - missing[0]), 0.05 * gain);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_simulated_worm_holds_exactly_from_cos_phi_tan_lambda_on),
        cmocka_unit_test(just_below_it_creeps_and_just_above_it_stays),
        cmocka_unit_test(friction_at_rest_alone_holds_only_while_it_rests),
        cmocka_unit_test(a_rack_door_runs_at_the_speed_of_the_torque_balance),
        cmocka_unit_test(the_stall_force_lies_between_the_two_frictions),
        cmocka_unit_test(a_stiffer_rod_is_seen_sooner_and_squeezed_harder),
        cmocka_unit_test(a_rod_is_met_seen_and_set_free_in_that_order),
        cmocka_unit_test(bad_leads_do_not_mislead_the_detector),
        cmocka_unit_test(edges_fall_on_the_borders_of_the_magnet_ring),
        cmocka_unit_test(ordinary_runs_place_every_edge_within_two_microseconds),
        cmocka_unit_test(an_uneven_ring_repeats_every_turn),
        cmocka_unit_test(the_detectors_gain_is_that_of_the_door),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

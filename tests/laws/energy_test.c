/* The energy ledger, checked by other ways than the books themselves: from the trace, at every instant, and by the second
 * law. That it closes is conservation of energy; no outside figure is needed. */
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

/* Trapezoids over the samples, an integration of its own. */
static double over_time(double (*power)(const up_sample *)) {
    double sum = 0;
    for (int i = 1; i < r.samples; i++) {
        const double h = r.sample[i].time - r.sample[i - 1].time;
        sum += 0.5 * h * (power(&r.sample[i - 1]) + power(&r.sample[i]));
    }
    return sum;
}

static double drawn(const up_sample *s) {
    return fabs(s->motor_voltage) > 1 ? r.door.open_voltage * s->current : 0;
}

static double seal(const up_sample *s) {
    return s->friction_force * s->speed;
}

static double winding(const up_sample *s) {
    const double hot = 1 + r.door.winding_coefficient * (s->winding_temperature - 293.15);
    return (r.door.winding_resistance * hot + r.door.protector_resistance) * s->current * s->current;
}

static double brush(const up_sample *s) {
    return r.values.brush_drop * s->current * s->current / sqrt(s->current * s->current + 0.25);
}

static double lifted(const up_sample *s) {
    return s->lift_force * s->speed;
}

static void the_accounts_agree_with_the_trace(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        r.options.sample_interval = 2e-4;
        r.options.leads_direct = 1; /* one voltage for the whole run */
        r.options.time_limit = 2.5;
        recording_hand(&r, UP_SWITCH_RAISE_HELD);
        recording_run(&r);
        const double *ledger = r.outcome.ledger;
        const double all = ledger[UP_LEDGER_drawn];
        near(over_time(drawn), all, 2e-3 * all);
        near(over_time(seal), ledger[UP_LEDGER_seal_friction], 2e-3 * all);
        near(over_time(winding), ledger[UP_LEDGER_winding_heat], 2e-3 * all);
        near(over_time(brush), ledger[UP_LEDGER_brush_heat], 2e-3 * all);
        /* what the regulator lifts is weight, friction and motion of the glass */
        const double up = ledger[UP_LEDGER_potential] + ledger[UP_LEDGER_seal_friction] +
                          0.5 * r.values.glass_mass * pow(recording_last(&r)->speed, 2);
        near(over_time(lifted), up, 2e-3 * all);
    }
}

/* Height times weight: a glass on a straight path, lean 8 degrees, gains m g h cos(lean). */
static void the_glass_gains_its_weight_times_its_height(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    r.values.glass_curvature = 1e6;
    r.values.glass_lean = 0.1396263401595464;
    recording_run(&r);
    assert_int_equal(r.outcome.end, UP_END_CLOSED);
    const double height = (r.outcome.final_travel - r.outcome.start_travel) * cos(0.1396263401595464);
    near(r.outcome.ledger[UP_LEDGER_potential], r.values.glass_mass * 9.80665 * height, 1e-5);
}

/* On a circle of 1.5 m, half the way up the lean is the sheet's: the height of a chord, by geometry. */
static void on_a_curved_path_too(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_RACK);
    r.values.glass_curvature = 1.5;
    recording_run(&r);
    const double middle = r.values.glass_travel / 2, lean = r.values.glass_lean, radius = 1.5;
    const double top = lean + (r.outcome.final_travel - middle) / radius;
    const double bottom = lean + (r.outcome.start_travel - middle) / radius;
    const double height = radius * (sin(top) - sin(bottom));
    near(r.outcome.ledger[UP_LEDGER_potential], r.values.glass_mass * 9.80665 * height, 1e-9);
}

static void start_run(up_family family, int kind) {
    recording_door(&r, family);
    r.options.sample_interval = 0;
    if (kind == 1) {
        r.options.rod = 1;
        r.options.rod_opening = 0.15;
        r.options.rod_stiffness = 20e3;
    } else if (kind == 2) {
        r.options.start_travel = r.values.glass_travel;
        r.options.temperature = 253.15;
        recording_hand(&r, UP_SWITCH_LOWER_TOUCH);
    } else if (kind == 3) {
        r.values.balance_bottom = 3;
        r.values.balance_top = 1;
        r.options.supply_steps = 1;
        r.options.supply_step[0] = (up_supply_step){0.6, 10.5};
    } else if (kind == 4) {
        r.values.damper_one_way = 0;
        r.options.leads_direct = 1;
        r.options.start_travel = 0.1;
        recording_hand(&r, UP_SWITCH_LOWER_HELD);
    }
}

/* Cut off at any time, the books close, and no heat that was there before has gone (second law). */
static void it_closes_at_every_instant_and_heat_only_grows(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int kind = 0; kind < 5; kind++) {
            double before[UP_LEDGER_COUNT] = {0};
            for (double until = 0.02; until < 4; until *= 1.25) {
                start_run((up_family)family, kind);
                r.options.time_limit = until;
                recording_run(&r);
                const double *now = r.outcome.ledger;
                for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_kinetic; n++) {
                    assert_true(now[n] >= before[n] - 1e-6 * (1 + now[UP_LEDGER_drawn]));
                    before[n] = now[n];
                }
            }
        }
    }
}

/* The gap is the integrator's doing and shrinks with its tolerance. */
static void a_finer_tolerance_closes_it_better(void **state) {
    (void)state;
    double gap[2];
    for (int i = 0; i < 2; i++) {
        start_run(UP_FAMILY_CROSSED_ARMS, 1);
        r.options.tolerance = i == 0 ? 1e-4 : 1e-7;
        recording_run(&r);
        gap[i] = fabs(r.outcome.ledger_gap) / r.outcome.ledger[UP_LEDGER_drawn];
    }
    print_message("gap %.2g of the energy drawn at 1e-4, %.2g at 1e-7\n", gap[0], gap[1]);
    assert_true(gap[0] < 1e-4 && gap[1] < 1e-6 && gap[1] < gap[0]);
}

/* A run that ends where it began, all at rest, has stored nothing but what the springs hold; all the rest is heat. */
static void there_and_back_leaves_only_heat(void **state) {
    (void)state;
    recording_door(&r, UP_FAMILY_CABLE);
    r.options.leads_direct = 1;
    r.options.time_limit = 15;
    recording_hand(&r, UP_SWITCH_LOWER_HELD);
    recording_hand_then(&r, 0.8, UP_SWITCH_RAISE_HELD);
    recording_hand_then(&r, 4, UP_SWITCH_LOWER_HELD);
    recording_hand_then(&r, 8.5, UP_SWITCH_FREE);
    recording_run(&r);
    const double *ledger = r.outcome.ledger;
    assert_true(fabs(ledger[UP_LEDGER_kinetic]) < 1e-9 && fabs(ledger[UP_LEDGER_magnetic]) < 1e-9);
    assert_true(fabs(ledger[UP_LEDGER_potential]) < 0.05 * ledger[UP_LEDGER_drawn]);
    double heat = 0;
    for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_kinetic; n++) {
        heat += ledger[n];
    }
    assert_true(heat > 0.95 * ledger[UP_LEDGER_drawn]);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_accounts_agree_with_the_trace),
        cmocka_unit_test(the_glass_gains_its_weight_times_its_height),
        cmocka_unit_test(on_a_curved_path_too),
        cmocka_unit_test(it_closes_at_every_instant_and_heat_only_grows),
        cmocka_unit_test(a_finer_tolerance_closes_it_better),
        cmocka_unit_test(there_and_back_leaves_only_heat),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

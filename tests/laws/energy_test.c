/* The energy ledger, checked by other ways than the books themselves: from the trace, at every instant, and by the second
 * law. That it closes is conservation of energy; no outside figure is needed. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "tests/support/recording.h"
#include "tests/support/shaken.h"

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
                for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_shaken; n++) {
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
    for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_shaken; n++) {
        heat += ledger[n];
    }
    assert_true(heat > 0.95 * ledger[UP_LEDGER_drawn]);
}

/* ---- shaken -------------------------------------------------------------------------------------------------------------- */

static double heat_of(const up_outcome *o) {
    double heat = 0;
    for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_shaken; n++) {
        heat += o->ledger[n];
    }
    return heat;
}

/* What turned over: taken, given by the push or by what shakes, made heat. */
static double turned_over(const up_outcome *o) {
    return fabs(o->ledger[UP_LEDGER_drawn]) + fabs(o->ledger[UP_LEDGER_shaken]) + heat_of(o);
}

/* Random doors shaken by random series, on random rods that tilt the glass: the books close as they do for doors that
 * stand still, and no friction gives anything back. */
static void the_books_of_shaken_doors_close(void **state) {
    (void)state;
    static shaken s;
    static up_door door;
    double worst = 0, most = 0;
    int shaken_doors = 0;
    for (uint64_t index = 0; index < 300; index++) {
        up_values values;
        up_run_options options;
        up_outcome o;
        if (up_random_door(41, index, &values) != UP_OK) {
            continue;
        }
        up_random_run(41, index, &values, &options);
        shaken_draw_run(&s, 41, index, &options);
        if (up_door_prepare(&values, options.temperature, &door) != UP_OK) {
            continue;
        }
        assert_int_equal(up_run(&door, &options, NULL, &o, NULL), UP_OK);
        const double gap = fabs(o.ledger_gap) / (0.1 + turned_over(&o));
        worst = fmax(worst, gap);
        most = fmax(most, fabs(o.ledger[UP_LEDGER_shaken]));
        shaken_doors += options.shaking != NULL && fabs(o.ledger[UP_LEDGER_shaken]) > 1e-3;
        for (int n = UP_LEDGER_supply_heat; n < UP_LEDGER_shaken; n++) {
            assert_true(o.ledger[n] >= -1e-6 * (1 + turned_over(&o)));
        }
        assert_true(options.shaking != NULL || o.ledger[UP_LEDGER_shaken] == 0);
    }
    print_message("worst gap %.2g of what was turned over, most work done on what shakes %.3g J, %d shaken\n", worst,
                  most, shaken_doors);
    assert_true(worst < 3e-5 && shaken_doors > 150);
}

/* The account is the integral of the force over the way, here from the trace: a way of its own. */
static void the_work_of_shaking_agrees_with_the_trace(void **state) {
    (void)state;
    static double push[512], press[512];
    const up_shaking shaking = {0.0, 0.02, 512, push, press};
    for (int k = 0; k < 512; k++) {
        push[k] = 40 * sin(0.9 * k);
        press[k] = 15 + 15 * cos(1.7 * k);
    }
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording_door(&r, (up_family)family);
        r.options.sample_interval = 2e-4;
        r.options.leads_direct = 1;
        r.options.time_limit = 2.5;
        r.options.shaking = &shaking;
        recording_hand(&r, UP_SWITCH_RAISE_HELD);
        recording_run(&r);
        double work = 0, rubbed = 0;
        for (int i = 1; i < r.samples; i++) {
            const up_sample *a = &r.sample[i - 1], *b = &r.sample[i];
            double force = 0;
            const double at = 0.5 * (a->time + b->time) / shaking.spacing;
            for (int k = (int)fmax(0, floor(at) - 1); k <= floor(at) + 2 && k < 512; k++) {
                const double d = fabs(at - k); /* the basis as its two usual pieces */
                force += push[k] * (d < 1 ? 2.0 / 3.0 - d * d + 0.5 * d * d * d : pow(2 - d, 3) / 6);
            }
            work += force * (b->travel - a->travel);
            rubbed += 0.5 * (a->friction_force + b->friction_force) * (b->travel - a->travel);
        }
        const double all = r.outcome.ledger[UP_LEDGER_drawn];
        near(r.outcome.ledger[UP_LEDGER_shaken], -work, 1e-5 * all);
        near(r.outcome.ledger[UP_LEDGER_seal_friction], rubbed, 2e-3 * all);
        assert_true(fabs(work) > 1e-3);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_accounts_agree_with_the_trace),
        cmocka_unit_test(the_glass_gains_its_weight_times_its_height),
        cmocka_unit_test(on_a_curved_path_too),
        cmocka_unit_test(it_closes_at_every_instant_and_heat_only_grows),
        cmocka_unit_test(a_finer_tolerance_closes_it_better),
        cmocka_unit_test(there_and_back_leaves_only_heat),
        cmocka_unit_test(the_books_of_shaken_doors_close),
        cmocka_unit_test(the_work_of_shaking_agrees_with_the_trace),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Squeezing force where it is known exactly: a drive at constant speed, and a linear drive whose motor is switched a fixed
 * time after contact.
 *
 * Sources: F = k v t and its table (exact; figures computed from the formula). A mass driven through a brushed motor is
 * M x'' + (K^2 g^2 / R) x' + k x = K g U / R with g armature turns (rad) per metre: speed-torque line of the permanent
 * magnet motor, solved by hand below for constant U. Nothing else acts: no friction, no inductance to speak of. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/workbench.h"

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.12g, expected %.12g within %.3g", got, expected, within);
    }
}

/* ---- rod only ---------------------------------------------------------------------------------------------------- */

typedef struct passing {
    workbench bench;
    double touched, at_100; /* s */
} passing;

static void note_touch(void *context, up_event_kind kind) {
    passing *p = context;
    if (kind == UP_EVENT_ROD_TOUCHED) {
        p->touched = p->bench.run.motion.time;
    }
}

static void note_100_newtons(void *context, const up_run_state *run) {
    passing *p = context;
    const up_span *s = &run->span;
    const double limit = 100.0;
    if (s->loads0.rod_force < limit && s->loads1.rod_force >= limit) {
        const double share = (limit - s->loads0.rod_force) / (s->loads1.rod_force - s->loads0.rod_force);
        p->at_100 = s->start + share * s->length;
    }
}

/* A drum too heavy to notice turns the glass at v onto a rod of k. */
static double time_to_100_newtons(double stiffness, double speed) {
    static passing p;
    memset(&p, 0, sizeof p);
    bare_door(&p.bench);
    up_door *d = &p.bench.door;
    bare_output(d, 1e6);
    bare_regulator(d, 1e9, 1e5);
    d->panel_stiffness = 1e15;
    up_run_state *run = &p.bench.run;
    const double ratio = bare_ratio(d);
    run->motion.y[UP_GLASS_SPEED] = speed;
    run->motion.y[UP_OUTPUT_SPEED] = speed / ratio;
    run->motion.y[UP_OUTPUT_ANGLE] = run->motion.y[UP_TRAVEL] / ratio;
    run->motion.modes.slip[UP_GLASS] = run->motion.modes.slip[UP_OUTPUT] = 1;
    run->world.rod = 1;
    run->world.rod_travel = run->motion.y[UP_TRAVEL] + 0.002;
    run->world.rod_stiffness = stiffness;
    p.bench.told = note_touch;
    p.bench.span = note_100_newtons;
    p.bench.context = &p;
    workbench_start(&p.bench, 1e-8);
    workbench_run(&p.bench, 0.002 / speed + 110.0 / (stiffness * speed));
    return p.at_100 - p.touched;
}

static void a_rod_at_constant_speed_takes_its_force_from_stiffness_speed_and_time(void **state) {
    (void)state;
    static const double stiffness[] = {10e3, 20e3, 65e3}, speed[] = {0.08, 0.10, 0.15};
    static const double milliseconds[3][3] = {{125.0, 100.0, 66.7}, {62.5, 50.0, 33.3}, {19.2, 15.4, 10.3}};
    static const double rate[3][3] = {{800, 1000, 1500}, {1600, 2000, 3000}, {5200, 6500, 9750}};
    for (int k = 0; k < 3; k++) {
        for (int v = 0; v < 3; v++) {
            const double time = time_to_100_newtons(stiffness[k], speed[v]);
            near(time, 100.0 / rate[k][v], 0.005 * time);
            near(1e3 * time, milliseconds[k][v], 0.05 + 1e-9); /* as far as the table is written */
        }
    }
}

/* ---- the linear drive -------------------------------------------------------------------------------------------- */

/* m x'' + c x' + k x = f, from x and v: x and v after t; c >= 0, k >= 0. */
typedef struct oscillator {
    double m, c, k, f;
} oscillator;

typedef struct motion {
    double x, v;
} motion;

static motion after(const oscillator *o, motion s, double t) {
    const double a = 0.5 * o->c / o->m, d = o->k / o->m - a * a;
    const double middle = o->f / o->k, u = s.x - middle;
    const double b = sqrt(fabs(d));
    const double cosine = d > 0 ? cos(b * t) : cosh(b * t), sine = d > 0 ? sin(b * t) / b : sinh(b * t) / b;
    const double fall = exp(-a * t);
    return (motion){middle + fall * (u * cosine + (s.v + a * u) * sine),
                    fall * (s.v * cosine - (a * s.v + o->k / o->m * u) * sine)};
}

/* When it first stands still, moving up; infinity when it only creeps to rest. */
static double time_to_rest(const oscillator *o, motion s) {
    const double a = 0.5 * o->c / o->m, d = o->k / o->m - a * a;
    const double b = sqrt(fabs(d));
    const double pull = a * s.v + o->k / o->m * (s.x - o->f / o->k);
    if (d > 0) {
        return atan2(b * s.v, pull) / b;
    }
    return pull > b * s.v ? atanh(b * s.v / pull) / b : (double)INFINITY;
}

/* Armature, gear and glass as one mass on one speed-torque line. */
typedef struct drive {
    double mass, gear, constant, resistance, voltage; /* kg, rad/m, N m/A, ohm, V */
} drive;

static oscillator driven_by(const drive *d, double voltage, int closed, double stiffness) {
    const double pull = d->constant * d->gear;
    return (oscillator){d->mass, closed ? pull * pull / d->resistance : 0.0, stiffness,
                        closed ? pull * voltage / d->resistance : 0.0};
}

/* From rest to a rod s away, without one: time of contact and speed there. */
static double time_of_contact(const drive *d, double s, double *speed) {
    const double pull = d->constant * d->gear, last = d->voltage / pull, t1 = d->mass * d->resistance / (pull * pull);
    double t = s / last + t1;
    for (int i = 0; i < 50; i++) {
        const double miss = last * (t - t1 * (1 - exp(-t / t1))) - s;
        t -= miss / (last * (1 - exp(-t / t1)));
    }
    *speed = last * (1 - exp(-t / t1));
    return t;
}

/* The same drive as a door: no friction, no play, gear without give; regulator and rod as told. */
static void build(up_door *door, const drive *d, double regulator, double damping, double glass) {
    static workbench bench;
    bare_door(&bench);
    *door = bench.door;
    const double ratio = bare_ratio(door);
    door->worm_ratio = d->gear * ratio;
    door->per_worm_ratio = 1 / door->worm_ratio;
    bare_glass(door, glass);
    bare_output(door, 1e-7);
    bare_motor(door, d->resistance, 1e-7, d->constant, (d->mass - glass) / (d->gear * d->gear), 0);
    bare_regulator(door, regulator, damping);
    door->open_voltage = d->voltage;
    door->panel_stiffness = 1e15;
    door->damper_half_play = 0;
    door->damper_limit = door->damper_down_stop = 1e6;
    door->damper_up = door->damper_down = 1e7 * ratio * ratio;
    door->damper_damping = 1e-4;
    door->travel = 1.0;
}

/* Rod k at 0.25 m; the leads let go `delay` after contact: the motor is cut off and nothing brakes. */
static void squeeze_and_let_go(const drive *d, const up_door *door, double rod, double delay) {
    const double give = 1e7; /* N/m, the damper seen from the glass */
    const double stiffness = 1 / (1 / rod + 1 / door->stiffness + 1 / give);
    double speed;
    const double contact = time_of_contact(d, 0.25, &speed);
    const oscillator on = driven_by(d, d->voltage, 1, stiffness), off = driven_by(d, 0, 0, stiffness);
    const motion cut = after(&on, (motion){0, speed}, delay);
    const double rest = time_to_rest(&off, cut);
    const double peak = stiffness * after(&off, cut, rest).x;

    up_run_options o;
    up_outcome outcome;
    up_run_options_default(&o);
    o.leads_direct = 1;
    o.rod = 1;
    o.rod_opening = door->travel - 0.25;
    o.rod_stiffness = rod;
    o.tolerance = 1e-8;
    o.switch_steps = 2;
    o.switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_HELD};
    o.switch_step[1] = (up_switch_step){contact + delay, UP_SWITCH_FREE};
    o.time_limit = contact + delay + 1.5 * rest;
    assert_int_equal(up_run(door, &o, NULL, &outcome, NULL), UP_OK);
    near(outcome.rod_touch_time, contact, 0.0005 * contact);
    near(outcome.peak_rod_force, peak, 0.005 * peak);
    near(outcome.peak_rod_time, contact + delay + rest, 0.005 * (delay + rest) + 0.0005 * contact);
}

static void a_linear_drive_squeezes_as_its_equation_says(void **state) {
    (void)state;
    static const double rods[] = {10e3, 20e3, 65e3}, delays[] = {0.001, 0.010, 0.040, 0.100}, volts[] = {9, 12, 16};
    for (int v = 0; v < 3; v++) {
        const drive d = {.mass = 40, .gear = 4000, .constant = 0.025, .resistance = 0.6, .voltage = volts[v]};
        static up_door door;
        build(&door, &d, 1e8, 300, 3.0);
        for (int k = 0; k < 3; k++) {
            for (int t = 0; t < 4; t++) {
                squeeze_and_let_go(&d, &door, rods[k], delays[t]);
            }
        }
    }
}

/* A glass of next to no mass, so that rod and regulator are one spring in series. */
static void a_soft_regulator_softens_the_squeeze_in_series(void **state) {
    (void)state;
    const drive d = {.mass = 40, .gear = 4000, .constant = 0.025, .resistance = 0.6, .voltage = 12};
    static const double rods[] = {10e3, 65e3}, regulators[] = {15e3, 60e3};
    for (int r = 0; r < 2; r++) {
        static up_door door;
        build(&door, &d, regulators[r], 1, 1e-4);
        for (int k = 0; k < 2; k++) {
            squeeze_and_let_go(&d, &door, rods[k], 0.020);
        }
    }
}

/* The same through the controller: the switch is let go `late` after contact, read at the next tick, believed after the
 * debounce, acted on after the relay's delay; then the motor is shorted and brakes. */
static void squeeze_until_braked(const drive *d, const up_door *door, double rod, double late) {
    const double stiffness = 1 / (1 / rod + 1 / door->stiffness + 1 / 1e7);
    const double debounce = (door->control.debounce_ticks - 1) * door->tick, relay = door->bridge_delay;
    double speed;
    const double contact = debounce + relay + time_of_contact(d, 0.25, &speed); /* pulled at the tick at 0 */
    const double free = contact + late;
    const double delay = ceil(free / door->tick) * door->tick + debounce + relay - contact;
    const oscillator on = driven_by(d, d->voltage, 1, stiffness), braked = driven_by(d, 0, 1, stiffness);
    const motion cut = after(&on, (motion){0, speed}, delay);
    const double rest = time_to_rest(&braked, cut);
    const double peak = stiffness * after(&braked, cut, rest).x;

    up_run_options o;
    up_outcome outcome;
    up_run_options_default(&o);
    o.rod = 1;
    o.rod_opening = door->travel - 0.25;
    o.rod_stiffness = rod;
    o.tolerance = 1e-8;
    o.switch_steps = 2;
    o.switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_HELD};
    o.switch_step[1] = (up_switch_step){free, UP_SWITCH_FREE};
    o.time_limit = contact + delay + 1.5 * rest;
    assert_int_equal(up_run(door, &o, NULL, &outcome, NULL), UP_OK);
    assert_int_equal(outcome.reversals, 0);
    near(outcome.rod_touch_time, contact, 0.0005 * contact);
    near(outcome.peak_rod_force, peak, 0.005 * peak);
    /* as long as the force is within 0.3 % of its flat top: F'' = -F k / M there */
    near(outcome.peak_rod_time, contact + delay + rest, sqrt(2 * 0.003 * d->mass / stiffness));
}

static void a_braked_drive_squeezes_as_its_equation_says(void **state) {
    (void)state;
    static const double rods[] = {10e3, 65e3}, late[] = {0.0005, 0.0113, 0.0502};
    const drive d = {.mass = 40, .gear = 4000, .constant = 0.025, .resistance = 0.6, .voltage = 12};
    static up_door door;
    build(&door, &d, 1e8, 300, 3.0);
    door.control.detector.threshold = INT32_MAX / 64; /* the detector is not asked */
    for (int k = 0; k < 2; k++) {
        for (int t = 0; t < 3; t++) {
            squeeze_until_braked(&d, &door, rods[k], late[t]);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rod_at_constant_speed_takes_its_force_from_stiffness_speed_and_time),
        cmocka_unit_test(a_linear_drive_squeezes_as_its_equation_says),
        cmocka_unit_test(a_braked_drive_squeezes_as_its_equation_says),
        cmocka_unit_test(a_soft_regulator_softens_the_squeeze_in_series),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Rates and slopes of the library against the equations written a second time (closed_form.h, sine and cosine of the C
 * library, no table) at random states of random doors. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/base/counter_random.h"
#include "core/sim/guards.h"
#include "core/sim/step.h"
#include "tests/reference/closed_form.h"
#include "tests/reference/doors.h"
#include "tests/support/shaken.h"

enum { DOORS = 400, PLACES = 40 };

typedef struct spot {
    up_values values;
    up_door door;
    closed_form form;
    up_world world;
    up_modes modes;
    up_heat heat;
    double time;
    double y[UP_STATES];
    shaken shaken;
} spot;

static double draw(uint64_t door, uint64_t *place, double low, double high) {
    return low + (high - low) * up_random_unit(31, door, (*place)++);
}

static int one_of(uint64_t door, uint64_t *place, int low, int high) {
    return (int)floor(draw(door, place, low, high + 1));
}

static void draw_modes(uint64_t door, uint64_t *place, spot *s) {
    up_modes_at_rest(&s->door, &s->world, s->y, &s->modes);
    s->modes.bridge = (up_bridge)one_of(door, place, 0, 3);
    for (int body = 0; body < UP_BODIES; body++) {
        s->modes.slip[body] = one_of(door, place, -1, 1);
        const double speed = fabs(s->y[UP_ARMATURE_SPEED + body]);
        s->y[UP_ARMATURE_SPEED + body] = s->modes.slip[body] * speed;
    }
    s->modes.tripped = one_of(door, place, 0, 7) == 0;
    up_loads loads;
    closed_form_loads(&s->form, &s->world, &s->modes, &s->heat, s->time, s->y, &loads);
    s->modes.lift_sign = loads.lift_force < 0 ? -1 : 1;
}

/* A state a closing could be in: positions within the stops' give, wind-up within the damper's. */
static void draw_state(uint64_t door, uint64_t *place, spot *s) {
    double *y = s->y;
    const double travel = draw(door, place, -0.004, s->values.glass_travel + 0.004);
    const double stretch = draw(door, place, -1.0, 1.0) * 0.01;
    y[UP_CURRENT] = draw(door, place, -30, 30);
    y[UP_FILTERED] = draw(door, place, -30, 30);
    y[UP_ARMATURE_SPEED] = draw(door, place, -350, 350);
    y[UP_OUTPUT_SPEED] = draw(door, place, -6, 6);
    y[UP_GLASS_SPEED] = draw(door, place, -0.2, 0.2) * pow(10, draw(door, place, -3, 0));
    y[UP_TRAVEL] = travel;
    y[UP_OUTPUT_ANGLE] = up_regulator_angle(s->door.regulator, &s->values, travel + stretch);
    const double windup = draw(door, place, -0.4, 0.5);
    y[UP_ARMATURE_ANGLE] = (y[UP_OUTPUT_ANGLE] + windup) * s->door.worm_ratio;
    s->heat = (up_heat){draw(door, place, 240, 420), draw(door, place, 240, 380), draw(door, place, 240, 420)};
    const up_shaking *shaking = &s->shaken.shaking;
    s->time = shaking->start + draw(door, place, -4, shaking->count + 4) * shaking->spacing;
    draw_modes(door, place, s);
}

static void make(uint64_t index, spot *s) {
    up_run_options options;
    assert_int_equal(random_closing(index, &s->values, &options), UP_OK);
    shaken_draw(&s->shaken, 9, index);
    assert_int_equal(up_door_prepare(&s->values, options.temperature, &s->door), UP_OK);
    closed_form_make(&s->form, &s->values, options.temperature);
    s->world = (up_world){.open_voltage = 12.6,
                          .push = -7.0,
                          .rod = 1,
                          .rod_travel = s->values.glass_travel - options.rod_opening,
                          .rod_stiffness = options.rod_stiffness,
                          .rod_tilt_share = 0.25 * (double)(index % 8),
                          .shaking = &s->shaken.shaking,
                          .per_shaking = 1.0 / s->shaken.shaking.spacing};
}

/* Two numbers agree to `share` of the larger or of what counts as one. */
static void same(const char *what, uint64_t door, double ours, double theirs, double one, double share) {
    const double most = share * fmax(fmax(fabs(ours), fabs(theirs)), one);
    if (!(fabs(ours - theirs) <= most)) {
        fail_msg("door %d, %s: library %.15g, second writing %.15g", (int)door, what, ours, theirs);
    }
}

static void compare_loads(uint64_t door, const up_loads *a, const up_loads *b) {
    static const char *const name[UP_STATES] = {"current",        "armature speed", "output speed", "glass speed",
                                                "armature angle", "output angle",   "travel",       "filtered"};
    /* The travel table is good to some 1e-13 m; stiffness makes 1e-7 N of that, small inertias the rates bounded here. */
    static const double one[UP_STATES] = {1e3, 1e3, 1e6, 1e3, 1, 1, 1, 1e3};
    for (int n = 0; n < UP_STATES; n++) {
        same(name[n], door, a->rate[n], b->rate[n], one[n], 1e-9);
    }
    same("winding heating", door, a->heat_rate.winding, b->heat_rate.winding, 1, 1e-12);
    same("case heating", door, a->heat_rate.box, b->heat_rate.box, 1, 1e-12);
    same("protector heating", door, a->heat_rate.protector, b->heat_rate.protector, 1, 1e-12);
    same("lifting force", door, a->lift_force, b->lift_force, 100, 1e-8);
    /* the windup is a difference of angles of some rad, known to 1e-15; the stiffest dogs make 2e-12 N m of that */
    same("damper torque", door, a->damper_torque, b->damper_torque, 1, 1e-11);
    same("push", door, a->push, b->push, 100, 1e-12);
}

static void compare_guards(uint64_t door, const spot *s, const up_loads *a, const up_loads *b) {
    double ours[UP_GUARDS], theirs[UP_GUARDS];
    up_guards_at(&s->door, &s->world, &s->modes, s->y, a, ours);
    up_guards_at(&s->door, &s->world, &s->modes, s->y, b, theirs);
    for (int n = 0; n < UP_GUARDS; n++) {
        char what[32];
        (void)snprintf(what, sizeof what, "guard %d", n);
        same(what, door, ours[n], theirs[n], 100, 1e-7);
    }
}

static void rates_agree(void **state) {
    (void)state;
    static spot s;
    for (uint64_t index = 0; index < DOORS; index++) {
        uint64_t place = 0;
        make(index, &s);
        for (int i = 0; i < PLACES; i++) {
            up_loads ours, theirs;
            draw_state(index, &place, &s);
            up_loads_at(&s.door, &s.world, &s.modes, &s.heat, s.time, s.y, &ours);
            closed_form_loads(&s.form, &s.world, &s.modes, &s.heat, s.time, s.y, &theirs);
            compare_loads(index, &ours, &theirs);
            compare_guards(index, &s, &ours, &theirs);
        }
    }
}

/* ---- slopes ------------------------------------------------------------------------------------------------------------ */

static double rate_of(const spot *s, const double *y, int row) {
    up_loads loads;
    closed_form_loads(&s->form, &s->world, &s->modes, &s->heat, s->time, y, &loads);
    return loads.rate[row];
}

/* By central differences at two widths, extrapolated (Richardson); *doubt: how far the two are apart. */
static double difference(const spot *s, int row, int column, double width, double *doubt) {
    double quotient[2];
    for (int half = 0; half < 2; half++) {
        const double h = half ? 0.5 * width : width;
        double up[UP_STATES], down[UP_STATES];
        memcpy(up, s->y, sizeof up);
        memcpy(down, s->y, sizeof down);
        up[column] += h;
        down[column] -= h;
        quotient[half] = (rate_of(s, up, row) - rate_of(s, down, row)) / (up[column] - down[column]);
    }
    *doubt = fabs(quotient[1] - quotient[0]);
    return (4.0 * quotient[1] - quotient[0]) / 3.0;
}

static void fill_matrix(const up_slopes *s, double m[UP_STATES][UP_STATES]) {
    memset(m, 0, sizeof(double[UP_STATES][UP_STATES]));
    m[UP_CURRENT][UP_CURRENT] = s->current_by_current;
    m[UP_CURRENT][UP_ARMATURE_SPEED] = s->current_by_armature;
    m[UP_ARMATURE_SPEED][UP_CURRENT] = s->armature_by_current;
    m[UP_ARMATURE_SPEED][UP_ARMATURE_SPEED] = s->armature_by_armature;
    m[UP_ARMATURE_SPEED][UP_OUTPUT_SPEED] = s->armature_by_output;
    m[UP_ARMATURE_SPEED][UP_ARMATURE_ANGLE] = s->armature_by_armature_angle;
    m[UP_ARMATURE_SPEED][UP_OUTPUT_ANGLE] = s->armature_by_output_angle;
    m[UP_OUTPUT_SPEED][UP_ARMATURE_SPEED] = s->output_by_armature;
    m[UP_OUTPUT_SPEED][UP_OUTPUT_SPEED] = s->output_by_output;
    m[UP_OUTPUT_SPEED][UP_GLASS_SPEED] = s->output_by_glass;
    m[UP_OUTPUT_SPEED][UP_ARMATURE_ANGLE] = s->output_by_armature_angle;
    m[UP_OUTPUT_SPEED][UP_OUTPUT_ANGLE] = s->output_by_output_angle;
    m[UP_OUTPUT_SPEED][UP_TRAVEL] = s->output_by_travel;
    m[UP_GLASS_SPEED][UP_OUTPUT_SPEED] = s->glass_by_output;
    m[UP_GLASS_SPEED][UP_GLASS_SPEED] = s->glass_by_glass;
    m[UP_GLASS_SPEED][UP_OUTPUT_ANGLE] = s->glass_by_output_angle;
    m[UP_GLASS_SPEED][UP_TRAVEL] = s->glass_by_travel;
    m[UP_ARMATURE_ANGLE][UP_ARMATURE_SPEED] = 1.0;
    m[UP_OUTPUT_ANGLE][UP_OUTPUT_SPEED] = 1.0;
    m[UP_TRAVEL][UP_GLASS_SPEED] = 1.0;
    m[UP_FILTERED][UP_CURRENT] = s->filter;
    m[UP_FILTERED][UP_FILTERED] = -s->filter;
}

static void compare_slopes(uint64_t index, const spot *s) {
    static const double width[UP_STATES] = {1e-3, 1e-2, 1e-3, 1e-6, 1e-3, 1e-4, 1e-6, 1e-2};
    const up_piece piece = {&s->door, &s->world, &s->modes, s->heat, {0, 0, 0}, s->time};
    double matrix[UP_STATES][UP_STATES];
    up_loads loads;
    up_slopes slopes;
    up_loads_at(&s->door, &s->world, &s->modes, &s->heat, s->time, s->y, &loads);
    up_slopes_at(&piece, s->y, &loads, &slopes);
    fill_matrix(&slopes, matrix);
    for (int row = 0; row < UP_STATES; row++) {
        for (int column = 0; column < UP_STATES; column++) {
            double doubt;
            const double wanted = difference(s, row, column, width[column], &doubt);
            const double rounding = 1e-14 * fabs(rate_of(s, s->y, row)) / width[column];
            const double most = 1e-6 * fabs(wanted) + doubt + 100.0 * rounding + 1e-6;
            if (!(fabs(matrix[row][column] - wanted) <= most)) {
                fail_msg("door %d: rate %d by state %d: library %.12g, differences %.12g +- %.2g", (int)index, row,
                         column, matrix[row][column], wanted, doubt);
            }
        }
    }
}

static void slopes_agree(void **state) {
    (void)state;
    static spot s;
    for (uint64_t index = 0; index < DOORS; index++) {
        uint64_t place = 0;
        make(index, &s);
        for (int i = 0; i < PLACES / 4; i++) {
            draw_state(index, &place, &s);
            compare_slopes(index, &s);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(rates_agree), cmocka_unit_test(slopes_agree)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

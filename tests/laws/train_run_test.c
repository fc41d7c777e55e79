/* The steady power train against the simulated run of the same door: two ways to work out one thing, sharing the laws
 * of friction but not the arithmetic. No outside source; the simulation itself is held to CVODE in tests/reference. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/train.h"
#include "core/sim/run.h"

typedef struct watch {
    double starts, touches; /* s */
    double middle;          /* m, where speed and current are taken */
    double speed, current, before;
} watch;

static void seen_event(void *context, const up_event *event) {
    watch *w = context;
    if (event->kind == UP_EVENT_GLASS_STARTS && isnan(w->starts)) {
        w->starts = event->time;
    }
    const int stop = event->kind == UP_EVENT_UP_STOP_TOUCHED || event->kind == UP_EVENT_DOWN_STOP_TOUCHED;
    if (stop && event->time > w->starts + 0.3 && isnan(w->touches)) {
        w->touches = event->time;
    }
}

static void seen_sample(void *context, const up_sample *sample) {
    watch *w = context;
    if ((sample->travel - w->middle) * (w->before - w->middle) <= 0 && isnan(w->speed)) {
        w->speed = sample->speed;
        w->current = sample->current;
    }
    w->before = sample->travel;
}

static watch watched(const up_door *door, int raising) {
    watch w = {NAN, NAN, 0.5 * door->travel, NAN, NAN, raising ? 0 : door->travel};
    up_run_options options;
    up_outcome outcome;
    up_run_options_default(&options);
    options.start_travel = raising ? 0 : door->travel;
    options.switch_steps = 1;
    options.switch_step[0] = (up_switch_step){0, raising ? UP_SWITCH_RAISE_HELD : UP_SWITCH_LOWER_HELD};
    options.temperature = door->temperature;
    options.sample_interval = 0.001;
    const up_sink sink = {.context = &w, .event = seen_event, .sample = seen_sample};
    assert_int_equal(up_run(door, &options, &sink, &outcome, NULL), UP_OK);
    return w;
}

static void near_share(double got, double expected, double share) {
    if (!(fabs(got - expected) <= share * fabs(expected))) {
        fail_msg("got %.6g, expected %.6g within %.2g %%", got, expected, 100 * share);
    }
}

static void compare(up_family family, double temperature) {
    up_values values;
    up_door door;
    double figures[UP_TRAIN_FIGURE_COUNT];
    up_values_fallback(family, &values);
    assert_int_equal(up_door_prepare(&values, temperature, &door), UP_OK);
    up_train_figures(&door, figures);
    const watch up = watched(&door, 1);
    const watch down = watched(&door, 0);
    near_share(figures[UP_TRAIN_FIGURE_raise_time], up.touches - up.starts, 0.015);
    near_share(figures[UP_TRAIN_FIGURE_lower_time], down.touches - down.starts, 0.015);
    near_share(figures[UP_TRAIN_FIGURE_raise_speed], up.speed, 0.01);
    near_share(figures[UP_TRAIN_FIGURE_lower_speed], -down.speed, 0.01);
    near_share(figures[UP_TRAIN_FIGURE_raise_current], up.current, 0.015);
    near_share(figures[UP_TRAIN_FIGURE_lower_current], -down.current, 0.015);
}

static void steady_speeds_and_times_are_those_of_the_run(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        compare((up_family)family, 293.15);
    }
}

static void and_so_they_are_on_a_cold_morning(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        compare((up_family)family, 263.15);
    }
}

/* Leads straight on the battery and a rod in the way: the run ends pressing harder than the squeeze at stall, because
 * the worm keeps what the moving parts' energy wound up; on a rod of 10 N/mm by less than a third. */
static void a_run_into_a_soft_rod_stalls_at_the_squeeze(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values values;
        up_door door;
        up_circuit circuit;
        up_place_on_travel place;
        up_stall stall;
        up_run_options options;
        up_outcome outcome;
        up_values_fallback((up_family)family, &values);
        values.protection = UP_PROTECTION_NONE;
        assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
        up_run_options_default(&options);
        options.start_travel = 0.5 * door.travel;
        options.leads_direct = 1;
        options.switch_steps = 1;
        options.switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_HELD};
        options.rod = 1;
        options.rod_opening = 0.45 * door.travel;
        options.rod_stiffness = 10e3;
        options.time_limit = 3;
        assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
        up_circuit_of(&door, &circuit);
        up_place_at(&door, outcome.final_travel, &place);
        up_stall_at(&door, &circuit, &place, &stall);
        const double pressed = (outcome.final_travel - (door.travel - options.rod_opening)) * options.rod_stiffness;
        assert_true(pressed > stall.squeeze);
        assert_true(pressed < 1.33 * stall.squeeze);
        near_share(stall.current, outcome.peak_current, 0.05);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_speeds_and_times_are_those_of_the_run),
        cmocka_unit_test(and_so_they_are_on_a_cold_morning),
        cmocka_unit_test(a_run_into_a_soft_rod_stalls_at_the_squeeze),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

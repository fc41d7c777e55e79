/* What would help: one thing changed at a time, on the worst closing and its neighbours. */
#include <math.h>
#include <string.h>

#include "analysis/pinch_explain.h"

static void one_edge(up_values *door, up_run_options *options) {
    (void)options;
    door->detect_edges = 1;
}

static void lower_threshold(up_values *door, up_run_options *options) {
    (void)options;
    door->detect_force = 0.75 * door->detect_force;
}

static void finer_encoder(up_values *door, up_run_options *options) {
    (void)options;
    door->encoder_pulses = fmin(2 * door->encoder_pulses, 256);
}

static void shorter_mask(up_values *door, up_run_options *options) {
    (void)options;
    door->detect_mask = 0.5 * door->detect_mask;
}

static void narrow_end_zone(up_values *door, up_run_options *options) {
    (void)options;
    door->zone_low = 0.5 * door->zone_low;
}

static void light_armature(up_values *door, up_run_options *options) {
    (void)options;
    door->armature_inertia = 0.7 * door->armature_inertia;
}

static void soft_regulator(up_values *door, up_run_options *options) {
    (void)options;
    door->regulator_stiffness = 0.5 * door->regulator_stiffness;
}

static void soft_frame(up_values *door, up_run_options *options) {
    (void)options;
    door->panel_stiffness = 0.5 * door->panel_stiffness;
}

/* As if the controller fed the motor with three quarters of the voltage over this part of the travel. */
static void slow_end(up_values *door, up_run_options *options) {
    (void)door;
    options->open_voltage = 0.75 * options->open_voltage;
}

static void transistor_bridge(up_values *door, up_run_options *options) {
    (void)options;
    door->bridge_delay = fmin(door->bridge_delay, 1e-4);
}

static void observer(up_values *door, up_run_options *options) {
    (void)options;
    door->detect_principle = UP_BY_OBSERVER;
}

static void learned_profile(up_values *door, up_run_options *options) {
    (void)options;
    door->detect_profile = UP_PROFILE_LEARNED;
}

static const up_pinch_change changes[] = {
    {"one_edge", "detector decides at one edge above its threshold (detector.edges 1)", one_edge},
    {"lower_threshold", "threshold lower by a quarter (detector.threshold)", lower_threshold},
    {"finer_encoder", "twice as many pulses a turn (encoder.pulses_per_turn)", finer_encoder},
    {"shorter_mask", "half the start mask (detector.start_mask)", shorter_mask},
    {"narrow_end_zone", "end zone half as high (controller.end_zone)", narrow_end_zone},
    {"light_armature", "armature inertia less by 30 % (motor.armature_inertia)", light_armature},
    {"soft_regulator", "regulator half as stiff (regulator.stiffness)", soft_regulator},
    {"soft_frame", "header frame half as stiff (stop.header_frame_stiffness)", soft_frame},
    {"slow_end", "three quarters of the voltage there: a slower end of travel", slow_end},
    {"transistor_bridge", "transistor bridge instead of relays (controller.bridge_delay)", transistor_bridge},
    {"observer", "detector by pulses and current together (detector.principle observer)", observer},
    {"learned_profile", "detector that has learned the door's profile (detector.profile learned)", learned_profile},
};

enum { CHANGES = sizeof changes / sizeof changes[0] };
_Static_assert((int)CHANGES <= (int)UP_PINCH_HELPS_MAX, "room for every change");

int up_pinch_change_count(void) {
    return CHANGES;
}

const up_pinch_change *up_pinch_change_at(int index) {
    return index >= 0 && index < CHANGES ? &changes[index] : NULL;
}

/* ---- trying ---- */

static void place_neighbours(const up_pinch_map *map, int cell, up_pinch_point *points) {
    const up_pinch_cell *from = &map->cell[cell];
    points[0] = from->result.point;
    for (int i = 1; i < UP_PINCH_NEIGHBOURS; i++) {
        double u[UP_PINCH_AXES];
        up_pinch_neighbour(map->plan, from->u, i, u);
        up_pinch_plan_point(map->plan, up_pinch_start_of(&points[0]), u, &points[i]);
    }
}

static double largest(const up_pinch_result *results) {
    double force = 0;
    for (int i = 0; i < UP_PINCH_NEIGHBOURS; i++) {
        force = fmax(force, results[i].status == UP_OK ? results[i].force : 0);
    }
    return force;
}

static void read_results(const up_pinch_result *results, const up_pinch_result *before, up_pinch_help *help) {
    help->after = largest(results);
    for (int i = 0; i < UP_PINCH_NEIGHBOURS; i++) {
        const up_pinch_result *r = &results[i];
        help->touched += r->status == UP_OK && r->touched;
        help->missed += r->status == UP_OK && !r->touched;
        help->missed_before += before[i].status == UP_OK && !before[i].touched;
        help->unseen += r->status == UP_OK && r->touched && r->reversals == 0;
        help->differs |= r->status != before[i].status || r->force < before[i].force || r->force > before[i].force;
    }
}

int up_pinch_help_evades(const up_pinch_help *help) {
    return help->touched == 0 || (help->missed > help->touched && help->missed > help->missed_before);
}

/* A closing that no longer comes to the rod relieves nothing: such changes stand last. */
static int stands_before(const up_pinch_help *a, const up_pinch_help *b) {
    const int a_last = up_pinch_help_evades(a);
    const int b_last = up_pinch_help_evades(b);
    return a_last != b_last ? b_last : a->missed != b->missed && a_last ? a->missed < b->missed : a->after < b->after;
}

static void sort_helps(up_pinch_help *help, int count) {
    for (int i = 1; i < count; i++) { /* a dozen; ties keep their order */
        const up_pinch_help one = help[i];
        int place = i;
        for (; place > 0 && stands_before(&one, &help[place - 1]); place--) {
            help[place] = help[place - 1];
        }
        help[place] = one;
    }
}

int up_pinch_try_helps(const up_pinch_map *map, int cell, up_workers *workers, up_pinch_help *help) {
    up_pinch_point points[UP_PINCH_NEIGHBOURS];
    up_pinch_result before[UP_PINCH_NEIGHBOURS];
    up_pinch_result after[UP_PINCH_NEIGHBOURS];
    if (cell < 0) {
        return 0;
    }
    memset(before, 0, sizeof before);
    memset(after, 0, sizeof after);
    place_neighbours(map, cell, points);
    up_pinch_study study = *map->plan->study;
    up_pinch_work work = {.study = &study, .points = points, .count = UP_PINCH_NEIGHBOURS, .results = before};
    up_pinch_run(&work, workers);
    work.results = after;
    for (int i = 0; i < CHANGES; i++) {
        help[i] = (up_pinch_help){.change = &changes[i], .before = largest(before)};
        study.change = &changes[i];
        up_pinch_run(&work, workers);
        read_results(after, before, &help[i]);
    }
    sort_helps(help, CHANGES);
    return CHANGES;
}

/* The largest force at the cell and its neighbours, rods stiffer by a factor, the door changed. */
static double force_beside(const up_pinch_map *map, int cell, double factor, const up_pinch_change *change,
                           up_workers *workers) {
    up_pinch_point points[UP_PINCH_NEIGHBOURS];
    up_pinch_result results[UP_PINCH_NEIGHBOURS];
    if (cell < 0) {
        return 0;
    }
    up_pinch_study study = *map->plan->study;
    study.change = change;
    memset(results, 0, sizeof results);
    place_neighbours(map, cell, points);
    for (int i = 0; i < UP_PINCH_NEIGHBOURS; i++) {
        points[i].stiffness *= factor;
    }
    const up_pinch_work work = {.study = &study, .points = points, .count = UP_PINCH_NEIGHBOURS, .results = results};
    up_pinch_run(&work, workers);
    return largest(results);
}

double up_pinch_stiffer_force(const up_pinch_map *map, int cell, double factor, up_workers *workers) {
    return force_beside(map, cell, factor, NULL, workers);
}

static void no_detector(up_values *door, up_run_options *options) {
    double low = 0;
    double high = 0;
    (void)options;
    up_number_bounds(UP_NUMBER_detect_force, &low, &high);
    door->detect_force = high;
}

double up_pinch_unprotected_force(const up_pinch_map *map, int cell, up_workers *workers) {
    static const up_pinch_change off = {"unprotected", "detector switched off", no_detector};
    return force_beside(map, cell, 1, &off, workers);
}

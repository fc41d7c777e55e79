#include "analysis/pinch_point.h"

#include <math.h>

#include "analysis/wear.h"
#include "core/base/up_math.h"

/* Lengths below which nothing is placed, m. */
static const double room_left = 0.001;
/* The least a free run-up is, m, and how many learning lengths let the reference settle: a closing from 112 mm below and
 * one from the bottom differ by 0.3 % of the peak on the door of examples/front-door.yaml (tests/laws/pinch_test.c). */
static const double run_up_least = 0.06;
static const double learning_lengths = 4;
/* Rules exempt closings that start from less than a few millimetres, 12 at most; m. */
static const double clear_of_exemptions = 0.02;

void up_pinch_lie_of(const up_values *door, const up_rule *rule, const up_pinch_point *point, up_pinch_lie *lie) {
    lie->slope = door->frame_front_slope + point->place * (door->frame_rear_slope - door->frame_front_slope);
    lie->cosine = up_cos(lie->slope);
    lie->height = rule->range_is_diameter ? point->measure / lie->cosine : point->measure;
    lie->diameter = rule->range_is_diameter ? point->measure : point->measure * lie->cosine;
    lie->oblique = sqrt(lie->height * lie->height + door->frame_lip * door->frame_lip);
    lie->beside = (point->place - 0.5) * door->frame_length - door->glass_offset;
    lie->drag_share = door->channel_friction * (2 * fabs(lie->beside) / door->glass_guide + fabs(up_tan(lie->slope)));
}

double up_pinch_run_up(const up_values *door) {
    return fmax(run_up_least, door->detect_mask + learning_lengths * door->detect_learning);
}

static void fill_options(const up_pinch_study *study, const up_values *door, const up_pinch_point *point,
                         const up_pinch_lie *lie, up_run_options *options) {
    const double below = up_is_absent(point->clearance) ? up_pinch_run_up(door) : point->clearance;
    up_run_options_default(options);
    options->temperature = point->temperature;
    options->open_voltage = point->supply;
    options->seed = study->encoder_seed;
    options->tolerance = study->tolerance;
    options->start_travel = fmax(0.0, door->glass_travel - lie->height - below);
    options->switch_steps = 1;
    options->switch_step[0] =
        (up_switch_step){0, study->facts->way == UP_WAY_HELD ? UP_SWITCH_RAISE_HELD : UP_SWITCH_RAISE_TOUCH};
    options->rod = 1;
    options->rod_opening = lie->height;
    options->rod_stiffness = point->stiffness * lie->cosine * lie->cosine;
    options->rod_tilt_share = lie->drag_share;
}

up_status up_pinch_make(const up_pinch_study *study, const up_values *values, const up_pinch_point *point,
                        up_door *door, up_run_options *options, up_pinch_lie *lie) {
    up_values worn;
    up_worn(values, point->wear, &worn);
    up_pinch_lie_of(&worn, study->rule, point, lie);
    if (!(lie->cosine > 0) || lie->height > worn.glass_travel - room_left) {
        return UP_BAD_OPTION;
    }
    fill_options(study, &worn, point, lie, options);
    if (study->change) {
        study->change->apply(&worn, options);
    }
    return up_door_prepare(&worn, options->temperature, door);
}

void up_pinch_keep(const up_run_options *options, const up_pinch_lie *lie, double closed_travel,
                   const up_outcome *outcome, up_pinch_result *result) {
    result->lie = *lie;
    result->touched = !up_is_absent(outcome->rod_touch_time);
    result->force = result->touched ? outcome->peak_rod_force / lie->cosine : 0.0;
    result->seen_after = outcome->detection_time - outcome->rod_touch_time;
    result->peak_after = result->touched ? outcome->peak_rod_time - outcome->rod_touch_time : UP_ABSENT;
    result->start_opening = closed_travel - options->start_travel;
    result->reversal_opening = outcome->reversals > 0 ? closed_travel - outcome->reversal_travel : UP_ABSENT;
    result->final_opening = closed_travel - outcome->final_travel;
    result->reversals = outcome->reversals;
    result->end = outcome->end;
}

void up_pinch_facts(const up_pinch_study *study, const up_pinch_result *result, up_facts *facts) {
    const double start =
        up_is_absent(result->point.clearance) ? study->known->values.glass_travel : result->start_opening;
    /* Ways along the travel stay what they are; the opening left at the end is what a rod square to the edges finds. Next
     * to the exemptions for small openings nothing is moved: it ends wider open than it began there anyway. */
    const double narrower = result->final_opening * (1 - result->lie.cosine);
    const double moved = start - narrower > clear_of_exemptions ? narrower : 0;
    const double off_after = study->known->values.detect_off_after;
    *facts = *study->facts;
    facts->attempt_unprotected = up_is_absent(off_after) ? facts->attempt_unprotected
                                 : off_after > 0         ? UP_ANSWER_YES
                                                         : UP_ANSWER_NO;
    facts->start_opening = start - moved;
    facts->reversal_opening = result->reversal_opening - moved;
    facts->final_opening = result->final_opening - moved;
    facts->obstructed = result->touched;
    facts->peak_force = result->touched ? result->force : UP_ABSENT;
    facts->rod_opening = result->point.measure;
    facts->rod_diameter = result->lie.diameter;
    facts->rod_stiffness = result->point.stiffness;
}

double up_pinch_least_force(const up_door *door, const up_pinch_lie *lie, double stiffness, double travel, double speed,
                            double friction) {
    const double along = stiffness * lie->cosine * lie->cosine;
    const double k = along * door->panel_stiffness / (along + door->panel_stiffness);
    const double beyond = fmax(0.0, door->travel - door->header_start); /* all that the seal can be pressed */
    const double seal = lie->height < 2 * beyond ? door->header_stiffness * beyond * (1 + door->header_friction) : 0;
    const double r = fmax(0.0, up_glass_weight(door, travel)) + friction * (1 + door->static_extra) + seal;
    /* 1/2 m v^2 = r x + 1/2 k (1 + share) x^2, and the force is k x */
    const double stiff = k * (1 + lie->drag_share);
    return k * (sqrt(r * r + stiff * door->mass * speed * speed) - r) / stiff / lie->cosine;
}

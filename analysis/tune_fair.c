/* A fair comparison: the search follows the setting it is made for, and each finds other places. So every choice is judged
 * at the worst place of each of them, and a little beside it, for the peak jumps with the place of edges and ticks. */
#include "analysis/pinch_batch.h"
#include "analysis/tune_parts.h"
#include "core/base/up_math.h"

void up_tune_same_clearance(up_tune_bench *bench, up_tune_choice **choice, int count) {
    bench->clearance = 0;
    for (int i = 0; i < count; i++) {
        up_known known = *bench->request->known;
        up_pinch_study study = bench->rods.study[0];
        up_pinch_plan plan;
        up_tuning_into(&choice[i]->point.tuning, &known.values);
        study.known = &known;
        up_pinch_plan_default(&study, &plan);
        bench->clearance = up_max(bench->clearance, plan.range[UP_PINCH_CLEARANCE].high);
    }
}

void up_tune_plan(const up_tune_bench *bench, const up_pinch_study *study, up_pinch_plan *plan) {
    up_pinch_plan_default(study, plan);
    plan->seed = study->seed + 1; /* places that had no part in choosing */
    plan->range[UP_PINCH_CLEARANCE].high = bench->clearance;
}

void up_tune_take(up_tune_choice *choice, int rule, int must_turn, int same, const up_pinch_result *result) {
    if (result->status != UP_OK || !result->touched) {
        return;
    }
    const int lies = must_turn && result->reversals == 0;
    choice->touched[rule]++;
    choice->unturned[rule] += lies;
    choice->unturned_same[rule] += lies && same;
    if (result->force > choice->worst[rule].force) {
        choice->worst[rule] = *result;
    }
}

static void judge_place(up_tune_bench *bench, up_tune_choice *choice, int rule, const up_tune_place *place) {
    up_known known = *bench->request->known;
    up_pinch_study study = bench->rods.study[rule];
    up_pinch_plan plan;
    up_pinch_point points[UP_PINCH_NEIGHBOURS];
    up_pinch_result results[UP_PINCH_NEIGHBOURS];
    up_tuning_into(&choice->point.tuning, &known.values);
    study.known = &known;
    up_tune_plan(bench, &study, &plan);
    for (int i = 0; i < UP_PINCH_NEIGHBOURS; i++) {
        double u[UP_PINCH_AXES];
        up_pinch_neighbour(&plan, place->u, i, u);
        up_pinch_plan_point(&plan, place->start, u, &points[i]);
    }
    const up_pinch_work work = {.study = &study, .points = points, .count = UP_PINCH_NEIGHBOURS, .results = results};
    up_pinch_run(&work, bench->workers);
    bench->result->closings += UP_PINCH_NEIGHBOURS;
    choice->shared += UP_PINCH_NEIGHBOURS;
    for (int i = 0; i < UP_PINCH_NEIGHBOURS; i++) {
        up_tune_take(choice, rule, bench->rods.must_turn[rule], 1, &results[i]);
    }
}

void up_tune_judge_places(up_tune_bench *bench, up_tune_choice **choice, const up_tune_place *place, int count) {
    for (int i = 0; i < count; i++) {
        for (int k = 0; k < count * UP_ROD_RULES_MAX; k++) {
            if (place[k].is_there) {
                judge_place(bench, choice[i], k % UP_ROD_RULES_MAX, &place[k]);
            }
        }
    }
}

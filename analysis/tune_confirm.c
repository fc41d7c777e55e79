/* Hunting for worse rods, and judging the chosen settings once more on what had no part in choosing them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/tune_parts.h"
#include "core/base/up_math.h"

enum { QUICK_KEPT = 4, CHOICES = UP_TUNE_KINDS + 1 };
/* Cells at least this far apart on some axis are different places. */
static const double apart = 0.1;

/* ---- hunting ---- */

static int is_near(const double *a, const double *b) {
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        if (fabs(a[axis] - b[axis]) > apart) {
            return 0;
        }
    }
    return 1;
}

/* The worst places of one start that are not neighbours. */
static int worst_places(const up_pinch_map *map, up_pinch_start start, up_pinch_point *points) {
    const up_pinch_cell *const cell = map->cell + map->first[start];
    int top[QUICK_KEPT];
    int tops = 0;
    while (tops < QUICK_KEPT) {
        int worst = -1;
        for (int i = 0; i < map->cells[start]; i++) {
            int taken = !cell[i].result.touched || (worst >= 0 && cell[i].result.force <= cell[worst].result.force);
            for (int k = 0; k < tops && !taken; k++) {
                taken = is_near(cell[i].u, cell[top[k]].u);
            }
            worst = taken ? worst : i;
        }
        if (worst < 0) {
            break;
        }
        points[tops] = cell[worst].result.point;
        top[tops++] = worst;
    }
    return tops;
}

static void keep_worst(const up_pinch_map *map, int rule, int must_turn, up_tune_choice *choice) {
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        const int at = map->worst[start];
        choice->touched += map->count[start].touched;
        choice->unturned += must_turn ? map->count[start].unseen : 0;
        if (at >= 0 && map->cell[at].result.force > choice->worst[rule].force) {
            choice->worst[rule] = map->cell[at].result;
        }
    }
    if (choice->worst[rule].force > 0 && !(choice->largest >= choice->worst[rule].force)) {
        choice->largest = choice->worst[rule].force;
    }
}

up_status up_tune_hunt(up_tune_bench *bench, const up_tune_point *point, up_tune_choice *choice) {
    up_known known = *bench->request->known;
    up_tuning_into(&point->tuning, &known.values);
    for (int rule = 0; rule < bench->request->rules; rule++) {
        up_pinch_study study = bench->rods.study[rule];
        up_pinch_plan plan;
        up_pinch_map map;
        study.known = &known;
        up_pinch_plan_default(&study, &plan);
        if (!choice) {
            plan.samples[UP_PINCH_RUNNING] = 192;
            plan.samples[UP_PINCH_FROM_REST] = 96;
            plan.climbs = 4;
            plan.rounds = 3;
            plan.tries = 10;
        } else {
            plan.seed = study.seed + 1; /* places that had no part in choosing */
        }
        const up_status status = up_pinch_map_run(&plan, bench->workers, bench->map_memory, bench->map_size, &map);
        if (status != UP_OK) {
            return status;
        }
        for (int start = 0; start < UP_PINCH_STARTS; start++) {
            bench->result->closings += (uint64_t)map.count[start].closings;
            if (!choice) {
                up_pinch_point points[QUICK_KEPT];
                const int count = worst_places(&map, (up_pinch_start)start, points);
                (void)up_rod_bank_add(&bench->rods, rule, points, count, bench->workers); /* what there is room for */
            }
        }
        if (choice) {
            keep_worst(&map, rule, bench->rods.must_turn[rule], choice);
        }
    }
    return UP_OK;
}

/* ---- intervals of the force ---- */

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* By straight lines between the sorted values. */
static double quantile(const double *sorted, int count, double p) {
    const double place = p * (count - 1);
    const int low = (int)place;
    const double part = place - low;
    return low + 1 < count ? sorted[low] + part * (sorted[low + 1] - sorted[low]) : sorted[count - 1];
}

static void spread_force(up_tune_bench *bench, int rule, up_tune_choice *choice) {
    up_known known = *bench->request->known;
    up_tuning_into(&choice->point.tuning, &known.values);
    up_pinch_study study = bench->rods.study[rule];
    study.known = &known;
    const up_pinch_work work = {.study = &study,
                                .points = &choice->worst[rule].point,
                                .same_point = 1,
                                .drawn = 1,
                                .count = bench->request->draws,
                                .results = bench->draws};
    up_pinch_spread *const spread = &choice->force[rule];
    *spread = (up_pinch_spread){choice->worst[rule].force, UP_ABSENT, UP_ABSENT, 0};
    up_pinch_run(&work, bench->workers);
    bench->result->closings += (uint64_t)bench->request->draws;
    for (int i = 0; i < bench->request->draws; i++) {
        if (bench->draws[i].status == UP_OK && bench->draws[i].touched) {
            bench->force[spread->count++] = bench->draws[i].force;
        }
    }
    if (spread->count > 1) {
        qsort(bench->force, (size_t)spread->count, sizeof *bench->force, by_size);
        spread->low = quantile(bench->force, spread->count, 0.025);
        spread->high = quantile(bench->force, spread->count, 0.975);
    }
}

/* ---- fresh days ---- */

static void count_fresh_days(up_tune_bench *bench, up_tune_choice **choice, int count) {
    up_control_settings control[CHOICES];
    int hits[CHOICES] = {0};
    int of[CHOICES] = {0};
    int flashed[CHOICES] = {0};
    const int wanted = bench->request->confirm_days;
    for (int i = 0; i < count; i++) {
        control[i] = choice[i]->point.control;
    }
    bench->days.teacher = bench->teacher;
    for (int done = 0; done < wanted; done += UP_TUNE_CHUNK) {
        int chunk_hits[CHOICES];
        int chunk_of[CHOICES];
        bench->days.first = (uint64_t)bench->request->days + (uint64_t)done + 1;
        bench->days.count = wanted - done < UP_TUNE_CHUNK ? wanted - done : UP_TUNE_CHUNK;
        up_day_bank_fill(&bench->days, bench->workers);
        bench->result->closings += (uint64_t)bench->days.count;
        up_day_bank_judge(&bench->days, 0, bench->days.count, control, count, 0, bench->workers, chunk_hits, chunk_of);
        for (int i = 0; i < count; i++) {
            hits[i] += chunk_hits[i];
            of[i] += chunk_of[i];
        }
        up_day_bank_judge(&bench->days, 0, bench->days.count, control, count, 1, bench->workers, chunk_hits, chunk_of);
        for (int i = 0; i < count; i++) {
            flashed[i] += chunk_hits[i];
        }
    }
    for (int i = 0; i < count; i++) {
        choice[i]->reversed = up_share_of(hits[i], of[i]);
        choice[i]->flashed = up_share_of(flashed[i], of[i]);
    }
}

/* ---- the verdict ---- */

static up_status confirm_force(up_tune_bench *bench, up_tune_choice *choice) {
    choice->largest = UP_ABSENT;
    const up_status status = up_tune_hunt(bench, &choice->point, choice);
    int keeps = choice->touched > 0 && choice->unturned == 0;
    for (int rule = 0; rule < bench->request->rules && status == UP_OK; rule++) {
        keeps = keeps && !up_tune_is_beyond(bench->result, rule, choice->worst[rule].force);
        if (choice->worst[rule].force > 0) {
            spread_force(bench, rule, choice);
        }
    }
    choice->keeps = keeps;
    return status;
}

/* Safety first: a setting that squeezes more than today's under some rule is shown and never recommended, unless it keeps
 * the limit. A rate is acceptable unless the fresh days speak against it. */
static up_tune_reason class_of(const up_tune_bench *bench, const up_tune_choice *one) {
    const up_tune_choice *const today = &bench->result->today;
    double force[UP_ROD_RULES_MAX], before[UP_ROD_RULES_MAX];
    for (int rule = 0; rule < bench->request->rules; rule++) {
        force[rule] = one->worst[rule].force;
        before[rule] = today->worst[rule].force;
    }
    const int quiet = one->reversed.low <= bench->request->rate;
    if (one->keeps && quiet) {
        return UP_TUNE_WITHIN;
    }
    const int gains = one->reversed.share < today->reversed.share || (quiet && one->largest < today->largest);
    const int better = gains && up_tune_is_no_worse(bench->result, bench->request->rules, force, before);
    return better ? UP_TUNE_LESS : UP_TUNE_TRADE;
}

/* The better of two kinds, by what was confirmed. */
static int is_better(const up_tune_bench *bench, const up_tune_choice *a, const up_tune_choice *b) {
    const int a_quiet = a->reversed.low <= bench->request->rate, b_quiet = b->reversed.low <= bench->request->rate;
    if (a->reason != b->reason) {
        return a->reason < b->reason;
    }
    if (a->reason == UP_TUNE_LESS && a_quiet && b_quiet) {
        return a->largest < b->largest;
    }
    return a->reversed.share < b->reversed.share ||
           (!(a->reversed.share > b->reversed.share) && a->largest < b->largest);
}

static void recommend(up_tune_bench *bench) {
    up_tune_result *const result = bench->result;
    result->recommended = -1;
    result->today.reason = class_of(bench, &result->today) == UP_TUNE_WITHIN ? UP_TUNE_WITHIN : UP_TUNE_LEAVE;
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        up_tune_choice *const one = &result->best[kind];
        if (!one->is_there) {
            continue;
        }
        one->reason = class_of(bench, one);
        const up_tune_choice *const best = up_tune_recommended(result);
        if (one->reason < best->reason || (result->recommended >= 0 && is_better(bench, one, best))) {
            result->recommended = kind;
        }
    }
}

static up_status make_today(up_tune_bench *bench) {
    up_tune_choice *const today = &bench->result->today;
    const up_values *const values = &bench->request->known->values;
    up_tuning_of(values, &today->point.tuning);
    today->point.kind = 2 * today->point.tuning.principle + today->point.tuning.profile;
    today->is_there = 1;
    return up_tuning_control(values, &today->point.tuning, &today->point.control);
}

up_status up_tune_confirm(up_tune_bench *bench) {
    up_tune_choice *choice[CHOICES];
    int count = 0;
    up_status status = make_today(bench);
    choice[count++] = &bench->result->today;
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if (bench->result->best[kind].is_there) {
            choice[count++] = &bench->result->best[kind];
        }
    }
    up_tune_tell(bench, "the chosen settings on fresh days");
    count_fresh_days(bench, choice, count);
    up_tune_tell(bench, "the worst rods for the chosen settings");
    for (int i = 0; i < count && status == UP_OK; i++) {
        status = confirm_force(bench, choice[i]);
    }
    if (status == UP_OK) {
        recommend(bench);
    }
    return status;
}

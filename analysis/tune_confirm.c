/* Hunting for worse rods, and judging the chosen settings once more on what had no part in choosing them. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/middle.h"
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

static void keep_worst(const up_pinch_map *map, int rule, int must_turn, up_tune_choice *choice, up_tune_place *place) {
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        for (int i = 0; i < map->cells[start]; i++) {
            const up_pinch_cell *const cell = &map->cell[map->first[start] + i];
            const double before = choice->worst[rule].force;
            /* the first ones lie at the same places whatever the setting, the others where a climb went */
            up_tune_take(choice, rule, must_turn, i < map->plan->samples[start], &cell->result);
            if (choice->worst[rule].force > before) {
                memcpy(place->u, cell->u, sizeof place->u);
                place->start = (up_pinch_start)start;
                place->is_there = 1;
            }
        }
    }
}

up_status up_tune_hunt(up_tune_bench *bench, const up_tune_point *point, up_tune_choice *choice, up_tune_place *place) {
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
            up_tune_plan(bench, &study, &plan);
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
            keep_worst(&map, rule, bench->rods.must_turn[rule], choice, &place[rule]);
        }
    }
    return UP_OK;
}

/* ---- intervals of the force ---- */

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
        up_middle_95(bench->force, spread->count, &spread->low, &spread->high);
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

/* Every choice with the same effort: a search of its own, then the worst places of the others. */
static up_status confirm_forces(up_tune_bench *bench, up_tune_choice **choice, int count) {
    up_tune_place place[CHOICES][UP_ROD_RULES_MAX] = {{{{0}, UP_PINCH_RUNNING, 0}}};
    up_status status = UP_OK;
    up_tune_same_clearance(bench, choice, count);
    for (int i = 0; i < count && status == UP_OK; i++) {
        status = up_tune_hunt(bench, &choice[i]->point, choice[i], place[i]);
    }
    if (status == UP_OK) {
        up_tune_judge_places(bench, choice, &place[0][0], count);
    }
    for (int i = 0; i < count && status == UP_OK; i++) {
        choice[i]->largest = UP_ABSENT;
        choice[i]->keeps = up_tune_touched(choice[i]) > 0 && up_tune_unturned(choice[i]) == 0;
        for (int rule = 0; rule < bench->request->rules; rule++) {
            const double force = choice[i]->worst[rule].force;
            choice[i]->keeps = choice[i]->keeps && !up_tune_is_beyond(bench->result, rule, force);
            if (force > 0) {
                choice[i]->largest = up_is_absent(choice[i]->largest) ? force : up_max(choice[i]->largest, force);
                spread_force(bench, rule, choice[i]);
            }
        }
    }
    return status;
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
    if (status == UP_OK) {
        status = confirm_forces(bench, choice, count);
    }
    if (status == UP_OK) {
        up_tune_recommend(bench->request, bench->result);
    }
    return status;
}

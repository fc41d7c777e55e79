/* The search: even shapes first, then what lies beside the best, on rods that grow worse. */
#include <math.h>

#include "analysis/tune_parts.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"

#define ROD_STREAM 0x726f64ULL

/* What is looked at from the start whatever is found later: small openings, and some large ones, m. */
static const double openings[] = {0.004, 0.0045, 0.006, 0.008, 0.012, 0.025, 0.06, 0.2};
enum {
    OPENINGS = sizeof openings / sizeof openings[0],
    OF_OPENING = 3,
    PARENTS = 8,
    EXACT_ROUNDS = 24,
    FIRST_DAYS = 256
};

/* How far a refinement goes from its parent, share of a range. */
static const double reaches[] = {0.25, 0.12, 0.06};
enum { REACHES = sizeof reaches / sizeof reaches[0] };

/* While it is searched, the front is judged to the last only so far above the acceptable rate. */
static const double near_rates = 4;
static const double rate_least = 0.01;

/* ---- first rods ---- */

static int first_rods(up_tune_bench *bench, int rule, up_pinch_start start, up_pinch_point *points) {
    up_pinch_plan plan;
    up_pinch_plan_default(&bench->rods.study[rule], &plan);
    const up_pinch_range *range = &plan.range[UP_PINCH_MEASURE];
    for (int i = 0; i < OPENINGS * OF_OPENING; i++) {
        double u[UP_PINCH_AXES];
        for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
            const uint64_t place = (uint64_t)((i * UP_PINCH_AXES + axis) * UP_PINCH_STARTS + (int)start);
            u[axis] = up_random_unit(bench->request->seed, ROD_STREAM + (unsigned)rule, place);
        }
        const double measure = up_clamp(openings[i / OF_OPENING], range->low, range->high);
        u[UP_PINCH_MEASURE] = log(measure / range->low) / log(range->high / range->low);
        u[UP_PINCH_SUPPLY] = i % OF_OPENING == 0 ? 1 : u[UP_PINCH_SUPPLY]; /* what is fast squeezes */
        up_pinch_plan_point(&plan, start, u, &points[i]);
    }
    return OPENINGS * OF_OPENING;
}

static void place_first_rods(up_tune_bench *bench) {
    up_pinch_point points[OPENINGS * OF_OPENING];
    for (int rule = 0; rule < bench->request->rules; rule++) {
        for (int start = 0; start < UP_PINCH_STARTS; start++) {
            const int count = first_rods(bench, rule, (up_pinch_start)start, points);
            (void)up_rod_bank_add(&bench->rods, rule, points, count, bench->workers); /* there is room for the first */
        }
    }
}

/* ---- judging ---- */

void up_tune_judge_rods(up_tune_bench *bench, const int *index, int count) {
    up_control_settings control[UP_ROD_AT_ONCE];
    up_rod_worst worst[UP_ROD_AT_ONCE];
    for (int first = 0; first < count; first += UP_ROD_AT_ONCE) {
        const int some = count - first < UP_ROD_AT_ONCE ? count - first : UP_ROD_AT_ONCE;
        for (int i = 0; i < some; i++) {
            control[i] = bench->point[index[first + i]].control;
        }
        up_rod_bank_judge(&bench->rods, control, some, bench->keys, bench->jobs, bench->workers, worst);
        for (int i = 0; i < some; i++) {
            up_tune_point *const point = &bench->point[index[first + i]];
            point->worst = worst[i];
            point->rods_seen = bench->rods.count;
            point->force = 0;
            for (int rule = 0; rule < bench->request->rules; rule++) {
                point->force = up_max(point->force, worst[i].force[rule]);
            }
        }
    }
}

/* Points that were counted on the same number of days go on to `days` of them. */
static void count_days(up_tune_bench *bench, const int *index, int count, int from, int days) {
    up_control_settings control[UP_TUNE_FRONT_MAX] = {{0}};
    int hits[UP_TUNE_FRONT_MAX];
    int of[UP_TUNE_FRONT_MAX];
    for (int i = 0; i < count; i++) {
        control[i] = bench->point[index[i]].control;
    }
    up_day_bank_judge(&bench->days, from, days, control, count, 0, bench->workers, hits, of);
    for (int i = 0; i < count; i++) {
        up_tune_point *const point = &bench->point[index[i]];
        point->hits = (from > 0 ? point->hits : 0) + hits[i];
        point->of = (from > 0 ? point->of : 0) + of[i];
        point->exact = days;
    }
}

/* First on a part of the days, then on all: most points leave the front after the first. */
void up_tune_judge_days(up_tune_bench *bench, const int *index, int count) {
    const int all = bench->days.count;
    const int part = all < FIRST_DAYS ? all : FIRST_DAYS;
    int fresh[UP_TUNE_FRONT_MAX];
    int begun[UP_TUNE_FRONT_MAX];
    int fresh_count = 0;
    int begun_count = 0;
    for (int i = 0; i < count; i++) {
        if (bench->point[index[i]].exact == 0) {
            fresh[fresh_count++] = index[i];
        } else {
            begun[begun_count++] = index[i];
        }
    }
    count_days(bench, fresh, fresh_count, 0, part);
    count_days(bench, begun, begun_count, part, all);
}

/* Until every point of the front whose rate is at most `most` was judged on all rods and all days: being judged, some leave
 * it and others come up. */
static int settle_front(up_tune_bench *bench, int kind, double most, int *front) {
    int count = up_tune_front_of(bench, kind, front, UP_TUNE_FRONT_MAX);
    for (int round = 0; round < EXACT_ROUNDS; round++) {
        int rods[UP_TUNE_FRONT_MAX];
        int days[UP_TUNE_FRONT_MAX];
        int rod_count = 0;
        int day_count = 0;
        for (int i = 0; i < count; i++) {
            const up_tune_point *const point = &bench->point[front[i]];
            if (point->hits > most * point->of) {
                continue;
            }
            if (point->rods_seen < bench->rods.count) {
                rods[rod_count++] = front[i];
            }
            if (point->exact < bench->days.count) {
                days[day_count++] = front[i];
            }
        }
        if (rod_count + day_count == 0) {
            break;
        }
        up_tune_judge_rods(bench, rods, rod_count);
        up_tune_judge_days(bench, days, day_count);
        count = up_tune_front_of(bench, kind, front, UP_TUNE_FRONT_MAX);
    }
    return count;
}

/* The sheet's own setting, which others are held against: on all rods there are and all days. */
static void judge_today(up_tune_bench *bench) {
    const int today = UP_TUNE_TODAY;
    if (bench->point[today].rods_seen < bench->rods.count) {
        up_tune_judge_rods(bench, &today, 1);
    }
    while (bench->point[today].exact < bench->days.count) {
        up_tune_judge_days(bench, &today, 1);
    }
}

static up_status place_today(up_tune_bench *bench) {
    up_tune_point *const today = &bench->point[UP_TUNE_TODAY];
    const up_values *const values = &bench->request->known->values;
    *today = (up_tune_point){.kind = UP_TUNE_NO_KIND};
    bench->points = 1;
    up_tuning_of(values, &today->tuning);
    return up_tuning_control(values, &today->tuning, &today->control);
}

/* ---- rounds ---- */

/* The chosen point, then those of the front next to it. */
static int choose_parents(const up_tune_bench *bench, const int *front, int count, int *parent) {
    up_tune_reason reason;
    const int chosen = up_tune_choose(bench, front, count, &reason);
    int at = 0;
    while (at < count && front[at] != chosen) {
        at++;
    }
    int parents = 0;
    for (int away = 0; away < count && parents < PARENTS; away++) {
        if (at - away >= 0) {
            parent[parents++] = front[at - away];
        }
        if (away > 0 && at + away < count && parents < PARENTS) {
            parent[parents++] = front[at + away];
        }
    }
    return parents;
}

static up_status refine(up_tune_bench *bench, int kind, int round, const int *front, int count) {
    up_tuning shapes[UP_TUNE_BATCH];
    int parent[PARENTS];
    const int parents = choose_parents(bench, front, count, parent);
    const int half = (bench->request->shapes + 1) / 2;
    const int wanted = half < UP_TUNE_BATCH ? half : UP_TUNE_BATCH;
    for (int i = 0; i < wanted && parents > 0; i++) {
        const uint64_t draw = ((uint64_t)round * UP_TUNE_KINDS + (uint64_t)kind) * UP_TUNE_BATCH + (uint64_t)i;
        /* half of the tries go to the chosen one itself */
        const int from = i % 2 == 0 ? parent[0] : parent[i / 2 % parents];
        up_tune_shape_beside(bench, &bench->point[from].tuning, reaches[round < REACHES ? round : REACHES - 1], draw,
                             &shapes[i]);
    }
    return parents > 0 ? up_tune_try(bench, kind, shapes, wanted) : UP_OK;
}

static up_status begin_kind(up_tune_bench *bench, int kind) {
    up_tuning shapes[UP_TUNE_BATCH];
    up_status status = UP_OK;
    for (int first = 0; first < bench->request->shapes && status == UP_OK; first += UP_TUNE_BATCH) {
        const int left = bench->request->shapes - first;
        const int count = left < UP_TUNE_BATCH ? left : UP_TUNE_BATCH;
        for (int i = 0; i < count; i++) {
            up_tune_even_shape(bench, kind, first + i, &shapes[i]);
            up_tuning today;
            up_tuning_of(&bench->request->known->values, &today);
            if (first + i == 0 && today.principle == shapes[i].principle && today.profile == shapes[i].profile) {
                shapes[i] = today; /* what is there already may be near the best */
            }
        }
        status = up_tune_try(bench, kind, shapes, count);
    }
    return status;
}

/* One round for every kind: something beside the best, then the worst rods for what is best now. */
static up_status one_round(up_tune_bench *bench, int round) {
    const double most = up_max(near_rates * bench->request->rate, rate_least);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        int front[UP_TUNE_FRONT_MAX];
        up_tune_reason reason;
        if (!(bench->request->kinds >> kind & 1)) {
            continue;
        }
        judge_today(bench);
        int count = settle_front(bench, kind, most, front);
        up_status status = refine(bench, kind, round, front, count);
        count = settle_front(bench, kind, most, front);
        const int chosen = up_tune_choose(bench, front, count, &reason);
        if (status == UP_OK && chosen >= 0) {
            status = up_tune_hunt(bench, &bench->point[chosen], NULL, NULL);
        }
        if (status != UP_OK) {
            return status;
        }
    }
    return UP_OK;
}

static void keep_fronts(up_tune_bench *bench) {
    judge_today(bench);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        int index[UP_TUNE_FRONT_MAX];
        up_tune_front *const front = &bench->result->front[kind];
        up_tune_choice *const best = &bench->result->best[kind];
        front->count = settle_front(bench, kind, 1, index);
        for (int i = 0; i < front->count; i++) {
            front->point[i] = bench->point[index[i]];
        }
        const int chosen = up_tune_choose(bench, index, front->count, &best->reason);
        best->is_there = chosen >= 0;
        if (chosen >= 0) {
            best->point = bench->point[chosen];
        }
    }
}

up_status up_tune_search(up_tune_bench *bench) {
    up_status status = place_today(bench);
    if (status != UP_OK) {
        return status;
    }
    up_tune_tell(bench, "closings of ordinary use, overheard");
    up_day_bank_fill(&bench->days, bench->workers);
    bench->result->closings += (uint64_t)bench->days.count;
    up_tune_tell(bench, "closings onto test rods, overheard");
    place_first_rods(bench);
    for (int kind = 0; kind < UP_TUNE_KINDS && status == UP_OK; kind++) {
        if (bench->request->kinds >> kind & 1) {
            up_tune_tell(bench, "settings spread over their ranges");
            status = begin_kind(bench, kind);
        }
    }
    for (int round = 0; round < bench->request->rounds && status == UP_OK; round++) {
        up_tune_tell(bench, "settings beside the best, worse rods");
        status = one_round(bench, round);
    }
    if (status == UP_OK) {
        keep_fronts(bench);
    }
    return status;
}

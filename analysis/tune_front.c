/* Which settings are worth having. */
#include <math.h>

#include "analysis/tune_parts.h"
#include "core/base/up_math.h"

/* A point that stands further up in force has to be better in rate by that factor: fronts of some two dozen points. */
static const double better = 0.85;

/* Share of today's force that a setting must stay below to count as squeezing no more. */
static const double surely_less = 0.97;

/* Nobody has a window that turns round more often than that. */
static const double useless = 0.5;

double up_tune_rank_force(const up_tune_point *point) {
    return point->force + (point->worst.unturned > 0 ? 1000 : 0);
}

static double rate_of(const up_tune_point *point) {
    return point->of > 0 ? (double)point->hits / point->of : 1;
}

static int before(const up_tune_point *a, const up_tune_point *b) {
    const double force = up_tune_rank_force(a) - up_tune_rank_force(b);
    return force < 0 || (!(force > 0) && rate_of(a) < rate_of(b));
}

/* The point of a kind with the least rate; -1: there is none. */
static int least_rate(const up_tune_bench *bench, int kind) {
    int least = -1;
    for (int i = 0; i < bench->points; i++) {
        if (bench->point[i].kind == kind && (least < 0 || rate_of(&bench->point[i]) < rate_of(&bench->point[least]))) {
            least = i;
        }
    }
    return least;
}

int up_tune_front_of(const up_tune_bench *bench, int kind, int *index, int room) {
    int count = 0;
    double most = useless;
    while (count < room) {
        int next = -1;
        for (int i = 0; i < bench->points; i++) { /* the least force of those that are better in rate than the last */
            const up_tune_point *const point = &bench->point[i];
            if (point->kind == kind && rate_of(point) <= most && (next < 0 || before(point, &bench->point[next]))) {
                next = i;
            }
        }
        if (next < 0) {
            break;
        }
        index[count++] = next;
        most = better * rate_of(&bench->point[next]);
        if (bench->point[next].hits == 0) {
            break;
        }
    }
    if (count == 0) {
        index[0] = least_rate(bench, kind);
        count = index[0] >= 0;
    }
    return count;
}

/* Every limit is kept with that margin. */
static int is_within(const up_tune_bench *bench, const up_tune_point *point, double margin) {
    int within = point->worst.unturned == 0;
    for (int rule = 0; rule < bench->request->rules; rule++) {
        within = within && !(point->worst.force[rule] > bench->result->limit[rule] - margin);
    }
    return within;
}

/* A little less force than today's, for the rods of the bank are not all there are, and at most `times` the limit; or as
 * today within the limit. */
static int squeezes_less(const up_tune_bench *bench, const up_tune_point *point, double times) {
    const up_tune_point *const today = &bench->point[UP_TUNE_TODAY];
    if (is_within(bench, today, 0) && is_within(bench, point, bench->request->margin)) {
        return 1;
    }
    int less = point->worst.unturned <= today->worst.unturned;
    for (int rule = 0; rule < bench->request->rules; rule++) {
        const double force = point->worst.force[rule] / surely_less;
        less = less && !(force > today->worst.force[rule]) && !(force > times * bench->result->limit[rule]);
    }
    return less;
}

/* By rising force the rate falls: of those with an acceptable rate the first, else the last. */
static int choose_beyond(const up_tune_bench *bench, const int *index, int count, double most, double times) {
    int chosen = -1;
    for (int i = 0; i < count; i++) {
        const up_tune_point *const point = &bench->point[index[i]];
        const int is_enough = chosen >= 0 && rate_of(&bench->point[chosen]) <= bench->request->rate;
        if (squeezes_less(bench, point, times) && rate_of(point) <= most && !is_enough) {
            chosen = index[i];
        }
    }
    return chosen;
}

int up_tune_choose(const up_tune_bench *bench, const int *index, int count, up_tune_reason *reason) {
    int chosen = -1;
    *reason = UP_TUNE_WITHIN;
    for (int i = 0; i < count; i++) {
        const up_tune_point *const point = &bench->point[index[i]];
        chosen = rate_of(point) <= bench->request->rate && is_within(bench, point, bench->request->margin) ? index[i]
                                                                                                           : chosen;
    }
    /* an acceptable rate may be more than today's: less force pays for it */
    const double most = up_max(rate_of(&bench->point[UP_TUNE_TODAY]), bench->request->rate);
    const double times[] = {UP_TUNE_BEYOND_MOST, HUGE_VAL};
    for (int i = 0; i < 2 && chosen < 0; i++) {
        *reason = UP_TUNE_LESS;
        chosen = choose_beyond(bench, index, count, most, times[i]);
    }
    if (chosen < 0) {
        *reason = UP_TUNE_TRADE;
        chosen = choose_beyond(bench, index, count, 1, UP_TUNE_BEYOND_MOST);
    }
    return chosen < 0 && count > 0 ? index[0] : chosen; /* the least force of all */
}

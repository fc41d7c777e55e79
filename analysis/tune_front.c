/* Which settings are worth having. */
#include <math.h>

#include "analysis/tune_parts.h"

/* A point that stands further up in force has to be better in rate by that factor: fronts of some two dozen points. */
static const double better = 0.85;

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

int up_tune_choose(const up_tune_bench *bench, const int *index, int count, up_tune_reason *reason) {
    const double most = bench->limit - bench->request->margin;
    int chosen = -1;
    *reason = UP_TUNE_LEAST_FORCE;
    for (int i = 0; i < count; i++) { /* by rising force the rate falls */
        const up_tune_point *const point = &bench->point[index[i]];
        const int within = up_tune_rank_force(point) <= most;
        if (rate_of(point) <= bench->request->rate && (within || chosen < 0)) {
            chosen = index[i];
            *reason = within ? UP_TUNE_WITHIN : UP_TUNE_LEAST_FORCE;
        }
    }
    if (chosen < 0 && count > 0) {
        chosen = index[count - 1];
        *reason = UP_TUNE_LEAST_RATE;
    }
    return chosen;
}

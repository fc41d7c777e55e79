/* Settings to be tried. */
#include <math.h>

#include "analysis/tune_parts.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"

#define SHAPE_STREAM 0x7368617065ULL
#define BESIDE_STREAM 0x626573696465ULL

/* What lasts depends on the threshold, above which the reference only creeps. So it is looked for with each of these, N,
 * and believed for thresholds nearer to it than to the next. */
static const double creeps_above[UP_TUNE_PASSES] = {25, 60};

/* False reversals among the screening days that thresholds are looked for: from none to so many that nobody would have it. */
static const int hits_wanted[] = {0, 2, 8, 30};
enum { LEVELS = sizeof hits_wanted / sizeof hits_wanted[0] };

/* ---- shapes ---- */

static double radical_inverse(uint64_t index, unsigned base) {
    double value = 0;
    double digit = 1;
    for (; index > 0; index /= base) {
        digit /= base;
        value += digit * (double)(index % base);
    }
    return value;
}

/* In equal ratios over the range. */
static double at_share(up_tuned what, double share) {
    double low = 0;
    double high = 0;
    up_tuned_range(what, &low, &high);
    return up_tuned_rounded(what, low * up_pow(high / low, up_clamp(share, 0, 1)));
}

static double share_at(up_tuned what, double value) {
    double low = 0;
    double high = 0;
    up_tuned_range(what, &low, &high);
    return up_clamp(log(up_max(value, low) / low) / log(high / low), 0, 1);
}

static void begin_shape(const up_tune_bench *bench, int kind, up_tuning *shape) {
    up_tuning_of(&bench->request->known->values, shape);
    shape->principle = up_tune_principle(kind);
    shape->profile = up_tune_profile(kind);
}

void up_tune_even_shape(const up_tune_bench *bench, int kind, int index, up_tuning *shape) {
    static const unsigned base[UP_TUNED_COUNT] = {17, 2, 3, 5, 7, 11, 13};
    begin_shape(bench, kind, shape);
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (i != UP_TUNED_detect_force && up_tuned_is_used(shape, (up_tuned)i)) {
            const double shift = up_random_unit(bench->request->seed, SHAPE_STREAM, (uint64_t)i);
            const double share = radical_inverse((uint64_t)index + 1, base[i]) + shift;
            shape->value[i] = at_share((up_tuned)i, share - floor(share));
        }
    }
}

void up_tune_shape_beside(const up_tune_bench *bench, const up_tuning *from, double reach, uint64_t draw,
                          up_tuning *shape) {
    *shape = *from;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (i != UP_TUNED_detect_force && up_tuned_is_used(shape, (up_tuned)i)) {
            const double u = up_random_unit(bench->request->seed, BESIDE_STREAM, draw * UP_TUNED_COUNT + (uint64_t)i);
            /* two draws in five leave a number alone, so that single ones are varied too */
            const double step = u < 0.4 ? 0 : ((u - 0.4) / 0.6 * 2 - 1) * reach;
            shape->value[i] = at_share((up_tuned)i, share_at((up_tuned)i, from->value[i]) + step);
        }
    }
}

/* ---- thresholds ---- */

/* The thresholds that a pass is believed for. */
static void pass_range(int pass, double *low, double *high) {
    up_tuned_range(UP_TUNED_detect_force, low, high);
    if (pass > 0 && pass < UP_TUNE_PASSES) {
        *low = sqrt(creeps_above[pass - 1] * creeps_above[pass]);
    }
    if (pass + 1 < UP_TUNE_PASSES) {
        *high = sqrt(creeps_above[pass] * creeps_above[pass + 1]);
    }
}

/* The least threshold with which no more than `wanted` of the days turn round, rounded up; lasting: sorted, falling. */
static double threshold_for(const double *lasting, int days, int wanted) {
    const double needed = wanted < days ? lasting[wanted] : 0;
    const double near = up_tuned_rounded(UP_TUNED_detect_force, up_min(needed, 1e6));
    return near >= needed ? near : up_tuned_rounded(UP_TUNED_detect_force, needed + 0.5);
}

/* Sorts falling and drops what is no number; returns how many are left. */
static int sort_lasting(double *lasting, int count) {
    int kept = 0;
    for (int i = 0; i < count; i++) {
        const double one = lasting[i];
        if (up_is_absent(one)) {
            continue;
        }
        int place = kept++;
        for (; place > 0 && lasting[place - 1] < one; place--) {
            lasting[place] = lasting[place - 1];
        }
        lasting[place] = one;
    }
    return kept;
}

static up_status add_point(up_tune_bench *bench, int kind, const up_tuning *shape, double threshold,
                           const double *lasting, int days) {
    if (bench->points >= UP_TUNE_POINTS) {
        return UP_OK; /* the bench is full: the search has had its say */
    }
    up_tune_point *const point = &bench->point[bench->points];
    *point = (up_tune_point){.tuning = *shape, .kind = kind, .of = days};
    point->tuning.value[UP_TUNED_detect_force] = threshold;
    while (point->hits < days && lasting[point->hits] > threshold) {
        point->hits++;
    }
    const up_status status = up_tuning_control(&bench->request->known->values, &point->tuning, &point->control);
    bench->points += status == UP_OK;
    return status;
}

static up_status add_levels(up_tune_bench *bench, int kind, int pass, const up_tuning *shape, double *lasting,
                            int count) {
    const int days = sort_lasting(lasting, count);
    double low = 0;
    double high = 0;
    pass_range(pass, &low, &high);
    up_status status = add_point(bench, kind, shape, creeps_above[pass], lasting, days);
    double last = creeps_above[pass];
    for (int level = 0; level < LEVELS && status == UP_OK; level++) {
        const double threshold = threshold_for(lasting, days, hits_wanted[level]);
        if (threshold > low && threshold <= high && fabs(threshold - last) > 0.4) {
            status = add_point(bench, kind, shape, threshold, lasting, days);
            last = threshold;
        }
    }
    return status;
}

static up_status try_pass(up_tune_bench *bench, int kind, int pass, const up_tuning *shapes, int count) {
    up_control_settings control[UP_TUNE_BATCH] = {{0}};
    const int days = bench->days.count < UP_TUNE_SCREEN_DAYS ? bench->days.count : UP_TUNE_SCREEN_DAYS;
    up_status status = UP_OK;
    for (int i = 0; i < count && status == UP_OK; i++) {
        up_tuning shape = shapes[i];
        shape.value[UP_TUNED_detect_force] = creeps_above[pass];
        status = up_tuning_control(&bench->request->known->values, &shape, &control[i]);
    }
    if (status != UP_OK) {
        return status;
    }
    up_day_bank_lasting(&bench->days, 0, days, control, count, bench->workers, bench->lasting);
    for (int i = 0; i < count && status == UP_OK; i++) {
        status = add_levels(bench, kind, pass, &shapes[i], bench->lasting + (size_t)i * (size_t)days, days);
    }
    return status;
}

up_status up_tune_try(up_tune_bench *bench, int kind, const up_tuning *shapes, int count) {
    int index[UP_TUNE_BATCH * UP_TUNE_PASSES * (1 + LEVELS)];
    const int first = bench->points;
    up_status status = UP_OK;
    for (int pass = 0; pass < UP_TUNE_PASSES && status == UP_OK; pass++) {
        status = try_pass(bench, kind, pass, shapes, count);
    }
    for (int i = first; i < bench->points; i++) {
        index[i - first] = i;
    }
    up_tune_judge_rods(bench, index, bench->points - first);
    return status;
}

#include "tests/support/fit_doors.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/counter_random.h"
#include "tests/support/feeder.h"

typedef struct outcome {
    int failed;
    unsigned held, told, used;
} outcome;

typedef struct desk {
    up_known known;
    outcome of[FIT_DOORS_MAX];
} desk;

static void draw_door(const up_known *known, int door, up_values *truth) {
    *truth = known->values;
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_number number = up_fit_number((up_fit_quantity)q);
        double low = 0, high = 0;
        up_number_bounds(number, &low, &high);
        const double away = known->spread[number] / 1.96 * up_random_normal(77, (uint64_t)q, (uint64_t)door);
        truth->number[number] = fmin(fmax(known->values.number[number] + away, low), high);
    }
}

static void record(const up_values *truth, int door, feeder *held, feeder *alone, feeder *glass) {
    up_run_options options;
    const uint64_t seed = 3 * (uint64_t)door;
    feeder_usual(&held->wish, 5e-5, seed + 1);
    feeder_locked(held, truth, 0.2, 0.21);
    feeder_usual(&alone->wish, 2e-4, seed + 2);
    feeder_free(alone, truth, 0.7, 1.4);
    feeder_usual(&glass->wish, 1e-3, seed + 3);
    feeder_hand(&options, 0, 0.05, 5.5, 5.6);
    feeder_run(glass, truth, &options);
}

static void judge(const up_fit_result *result, const up_values *truth, outcome *o) {
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_fit_value *const value = &result->value[q];
        const double away = value->value - truth->number[up_fit_number((up_fit_quantity)q)];
        o->used |= value->verdict != UP_FIT_UNTOUCHED ? 1u << q : 0;
        o->told |= value->verdict == UP_FIT_TOLD ? 1u << q : 0;
        o->held |= fabs(away) <= value->spread ? 1u << q : 0;
    }
}

static void fit_some(void *context, int first, int end) {
    desk *const d = context;
    feeder *const f = calloc(3, sizeof *f);
    up_fit_result *const result = calloc(1, sizeof *result);
    for (int i = first; i < end; i++) {
        up_values truth;
        up_fit_request request = {.known = &d->known, .temperature = 293.15, .recordings = 3};
        if (!f || !result) {
            d->of[i].failed = 1;
            continue;
        }
        draw_door(&d->known, i, &truth);
        record(&truth, i, &f[0], &f[1], &f[2]);
        request.recording[0] = (up_fit_recording){&f[0].recorded, UP_FIT_LOCKED, 0};
        request.recording[1] = (up_fit_recording){&f[1].recorded, UP_FIT_FREE, 0};
        request.recording[2] = (up_fit_recording){&f[2].recorded, UP_FIT_WITH_GLASS, 0};
        d->of[i].failed = up_fit(&request, result) != UP_OK;
        judge(result, &truth, &d->of[i]);
    }
    free(result);
    free(f);
}

void fit_doors(int doors, up_workers *workers, fit_doors_tally *tally) {
    static desk d;
    memset(&d, 0, sizeof d);
    memset(tally, 0, sizeof *tally);
    tally->doors = doors < FIT_DOORS_MAX ? doors : FIT_DOORS_MAX;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &d.known.values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, d.known.spread);
    up_share_work(workers, tally->doors, fit_some, &d);
    for (int i = 0; i < tally->doors; i++) {
        tally->failed += d.of[i].failed;
        for (int q = 0; q < UP_FIT_COUNT; q++) {
            tally->used[q] += (int)(d.of[i].used >> q & 1);
            tally->told[q] += (int)(d.of[i].told >> q & 1);
            tally->held[q] += (int)((d.of[i].held & d.of[i].used) >> q & 1);
        }
    }
}

double fit_doors_share(const fit_doors_tally *tally) {
    double held = 0, used = 0;
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        held += tally->held[q];
        used += tally->used[q];
    }
    return held / used;
}

/* The answer: what is left over, values with intervals, pairs that only hold together. */
#include <math.h>

#include "analysis/fit/fit_parts.h"
#include "analysis/student.h"

static double instrument_of(const up_fit_work *work, const up_fit_group *group) {
    const up_aligned *const a = &work->course[group->recording].aligned;
    const int amps = group->kind == UP_FIT_GROUP_LOCKED || group->kind == UP_FIT_GROUP_RUN_UP;
    const int torque = group->kind == UP_FIT_GROUP_FREE_TORQUE || group->kind == UP_FIT_GROUP_GLASS_TORQUE;
    const up_track *const volts = a->leads.track ? a->leads.track : a->battery.track;
    const double root = sqrt(12.0);
    if (amps) {
        return a->current.track->step / root;
    }
    if (group->kind == UP_FIT_GROUP_COAST) {
        return volts ? volts->step / root : NAN;
    }
    double samples = 0;
    for (int k = 0; k < group->rows; k++) {
        samples += (group->window[k].end - group->window[k].start) / work->course[group->recording].sample_interval /
                   group->rows;
    }
    const double amps_mean = a->current.track->step / root / sqrt(fmax(samples, 1));
    const double volts_mean = volts ? volts->step / root / sqrt(fmax(samples, 1)) : NAN;
    return torque ? amps_mean : hypot(volts_mean, work->door.winding_resistance * amps_mean);
}

static void fill_groups(const up_fit_work *work, up_fit_result *result) {
    double effective = 0;
    result->groups = work->groups;
    for (int g = 0; g < work->groups; g++) {
        const up_fit_group *const group = &work->group[g];
        const double unit = group->deviation * sqrt(group->widening);
        double square = 0;
        for (int k = 0; k < group->rows; k++) {
            square += work->residual[group->first + k] * work->residual[group->first + k];
        }
        const up_transient *const t = group->transient;
        result->group[g] = (up_fit_residuals){.kind = group->kind,
                                              .recording = group->recording,
                                              .rows = group->rows,
                                              .effective = group->rows / group->widening,
                                              .rms = unit * sqrt(square / group->rows),
                                              .instrument = instrument_of(work, group),
                                              .first = t ? t->time[0] : group->window[0].start,
                                              .last = t ? t->time[t->count - 1] : group->window[group->rows - 1].end};
        effective += group->rows / group->widening;
    }
    const double degrees = effective - work->parameters;
    result->degrees = degrees < 1 ? 1 : degrees > 1e6 ? 1000000 : (int)degrees;
}

static void fill_value(const up_fit_work *work, const up_squares_result *solved, int q, int place, double wide,
                       up_fit_value *value) {
    const up_number number = up_fit_number((up_fit_quantity)q);
    const double spread = work->request->known->spread[number];
    *value = (up_fit_value){.verdict = work->used >> q & 1 ? UP_FIT_NOT_TOLD : UP_FIT_UNTOUCHED,
                            .prior = work->base[q],
                            .prior_spread = spread,
                            .value = work->base[q],
                            .spread = spread};
    if (place < 0) {
        return;
    }
    value->value = solved->parameter[place];
    value->spread = fmin(wide * solved->deviation[place], spread);
    value->shift = (value->value - value->prior) / work->deviation[q];
    const double share = value->spread / spread;
    value->verdict = share < 0.5 ? UP_FIT_TOLD : share < 0.8 ? UP_FIT_HINTED : UP_FIT_NOT_TOLD;
}

void up_fit_tell_residuals(const up_fit_work *work) {
    const up_fit_request *const request = work->request;
    for (int g = 0; g < work->groups && request->residual; g++) {
        const up_fit_group *const group = &work->group[g];
        const double unit = group->deviation * sqrt(group->widening);
        for (int k = 0; k < group->rows; k++) {
            const up_window *const w = group->window ? &group->window[k] : NULL;
            const double time = w ? 0.5 * (w->start + w->end) : group->transient->time[k];
            request->residual(request->context, (int)group->kind, group->recording, time,
                              unit * work->residual[group->first + k]);
        }
    }
}

void up_fit_fill_result(const up_fit_work *work, const up_squares_result *solved, up_fit_result *result) {
    int place[UP_FIT_COUNT];
    fill_groups(work, result);
    const double wide = up_student_95(result->degrees);
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        place[q] = -1;
        for (int j = 0; j < work->parameters; j++) {
            place[q] = work->quantity[j] == q ? j : place[q];
        }
        fill_value(work, solved, q, place[q], wide, &result->value[q]);
    }
    for (int a = 0; a < UP_FIT_COUNT; a++) {
        for (int b = a + 1; b < UP_FIT_COUNT && place[a] >= 0; b++) {
            const double together = place[b] >= 0 ? up_squares_correlation(solved, place[a], place[b]) : 0;
            if (fabs(together) > 0.9 && result->pairs < UP_FIT_PAIRS_MAX) {
                result->pair[result->pairs++] = (up_fit_pair){(up_fit_quantity)a, (up_fit_quantity)b, together};
            }
        }
    }
    result->rank_lost = work->parameters - solved->rank;
}

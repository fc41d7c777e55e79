#include "analysis/fit/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"

enum { FIRST_ROUNDS = 2, LAST_ROUNDS = 3 };

/* ---- words ----------------------------------------------------------------------------------------------------------- */

up_number up_fit_number(up_fit_quantity quantity) {
    static const up_number number[UP_FIT_COUNT] = {
#define UP_FIT_NUMBER(id) UP_NUMBER_##id,
        UP_FIT_LIST(UP_FIT_NUMBER)
#undef UP_FIT_NUMBER
    };
    return number[quantity];
}

const char *up_fit_group_unit(up_fit_group_kind kind) {
    static const char *const unit[] = {
#define UP_FIT_UNIT(id, unit, text) unit,
        UP_FIT_GROUP_LIST(UP_FIT_UNIT)
#undef UP_FIT_UNIT
    };
    return (unsigned)kind < UP_FIT_GROUP_COUNT ? unit[kind] : "";
}

const char *up_fit_group_text(up_fit_group_kind kind) {
    static const char *const text[] = {
#define UP_FIT_TEXT(id, unit, text) text,
        UP_FIT_GROUP_LIST(UP_FIT_TEXT)
#undef UP_FIT_TEXT
    };
    return (unsigned)kind < UP_FIT_GROUP_COUNT ? text[kind] : "";
}

/* ---- all together ---------------------------------------------------------------------------------------------------- */

static void let_go(up_fit_work *work) {
    for (int i = 0; i < UP_FIT_RECORDINGS_MAX; i++) {
        up_course_free(&work->course[i]);
        free(work->window[i]);
    }
    for (int i = 0; i < work->transients; i++) {
        free(work->transient[i].time);
    }
    free(work->residual);
    free(work->slope);
    free(work->moved);
    free(work->scratch);
    free(work);
}

static up_status take_recordings(up_fit_work *work, up_fit_result *result) {
    for (int i = 0; i < work->request->recordings; i++) {
        const up_fit_recording *const r = &work->request->recording[i];
        const up_status status = up_course_take(&work->course[i], r->recorded, &work->door, r->setting == UP_FIT_LOCKED,
                                                work->speed[i].there ? &work->speed[i].track : NULL);
        if (status != UP_OK) {
            return status;
        }
        if (up_fit_cut(work, i, &result->course[i]) != 0 || up_fit_add_groups(work, i) != 0 ||
            up_fit_take_transients(work, i) != 0) {
            return UP_MEMORY_TOO_SMALL;
        }
    }
    return UP_OK;
}

static int make_memory(up_fit_work *work) {
    const size_t rows = (size_t)work->rows + 1;
    work->residual = malloc(rows * sizeof *work->residual);
    work->slope = malloc(rows * UP_SQUARES_MOST * sizeof *work->slope);
    work->moved = malloc(rows * sizeof *work->moved);
    return work->residual && work->slope && work->moved ? 0 : -1;
}

static up_status find(up_fit_work *work, int rounds, up_squares_result *solved, up_fit_result *result) {
    if (make_memory(work) != 0) {
        return UP_MEMORY_TOO_SMALL;
    }
    up_fit_choose_parameters(work);
    if (work->rows > 0 && work->parameters > 0 && up_fit_solve(work, rounds, solved) != UP_SQUARES_FOUND) {
        return UP_NOT_FINITE;
    }
    double p[UP_FIT_COUNT + UP_SQUARES_MOST];
    up_fit_fill_result(work, solved, result);
    up_fit_spread_out(work, solved->parameter, p);
    up_fit_profile(work, p, solved, result);
    up_fit_advise(work, result);
    if (rounds == LAST_ROUNDS) {
        up_fit_tell_residuals(work);
    }
    return UP_OK;
}

/* One pass with the door as it is thought to be: heating and places along the recordings follow from that. */
static up_status pass(const up_fit_request *request, const up_fit_speed_track *speed, const up_values *thought,
                      int rounds, up_fit_result *result) {
    up_fit_work *const work = calloc(1, sizeof *work);
    up_squares_result *const solved = calloc(1, sizeof *solved);
    up_status status = UP_MEMORY_TOO_SMALL;
    memset(result, 0, sizeof *result);
    if (work && solved) {
        work->request = request;
        work->speed = speed;
        work->scratch = malloc(sizeof *work->scratch);
        status = up_door_prepare(thought, request->temperature, &work->door);
        status = status == UP_OK && !work->scratch ? UP_MEMORY_TOO_SMALL : status;
    }
    if (status == UP_OK) {
        *work->scratch = work->door;
        status = take_recordings(work, result);
    }
    if (status == UP_OK) {
        status = find(work, rounds, solved, result);
    }
    if (work) {
        let_go(work);
    }
    free(solved);
    return status;
}

/* The sheet with what was found, kept inside the entries' bounds. */
static void think_again(const up_fit_result *result, up_values *thought) {
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_number number = up_fit_number((up_fit_quantity)q);
        double low = 0, high = 0;
        up_number_bounds(number, &low, &high);
        if (result->value[q].verdict != UP_FIT_UNTOUCHED) {
            thought->number[number] = fmin(fmax(result->value[q].value, low), high);
        }
    }
}

up_status up_fit(const up_fit_request *request, up_fit_result *result) {
    enum { PASSES = 2 };
    if (request->recordings < 1 || request->recordings > UP_FIT_RECORDINGS_MAX) {
        return UP_BAD_OPTION;
    }
    up_values thought = request->known->values;
    up_fit_speed_track speed[UP_FIT_RECORDINGS_MAX] = {0};
    up_status status = UP_OK;
    for (int i = 0; i < request->recordings && status == UP_OK; i++) {
        status = up_fit_find_speed(request, i, &speed[i]) == 0 ? UP_OK : UP_MEMORY_TOO_SMALL;
    }
    for (int i = 0; i < PASSES && status == UP_OK; i++) {
        if (i > 0) {
            think_again(result, &thought);
        }
        status = pass(request, speed, &thought, i + 1 < PASSES ? FIRST_ROUNDS : LAST_ROUNDS, result);
    }
    for (int i = 0; i < request->recordings; i++) {
        free(speed[i].time);
    }
    return status;
}

#include "analysis/pinch_batch.h"

#include <string.h>

#include "analysis/spread.h"
#include "core/batch/batch.h"

/* One closing under way. */
typedef struct room {
    up_values values;
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_pinch_lie lie;
    up_pinch_result *result;
} room;

/* The closings first..end - 1 on their way through a batch. */
typedef struct passage {
    const up_pinch_work *work;
    int next, end;
    room room[UP_BATCH_WIDTH_MAX];
    unsigned char memory[UP_BATCH_MEMORY];
} passage;

static void blank(const up_pinch_point *point, up_pinch_result *result) {
    *result = (up_pinch_result){.point = *point,
                                .seen_after = UP_ABSENT,
                                .peak_after = UP_ABSENT,
                                .start_opening = UP_ABSENT,
                                .reversal_opening = UP_ABSENT,
                                .final_opening = UP_ABSENT};
}

static up_status make(const up_pinch_work *work, int i, room *r) {
    const up_pinch_point *point = &work->points[work->same_point ? 0 : i];
    const up_known *known = work->study->known;
    r->result = &work->results[i];
    blank(point, r->result);
    if (!work->drawn) {
        return up_pinch_make(work->study, &known->values, point, &r->door, &r->options, &r->lie);
    }
    const up_status status = up_known_draw(known, work->study->seed, (uint64_t)i + 1, &r->values);
    return status == UP_OK ? up_pinch_make(work->study, &r->values, point, &r->door, &r->options, &r->lie) : status;
}

static int next_closing(void *context, int number, up_batch_item *item) {
    passage *const p = context;
    room *const r = &p->room[number];
    while (p->next < p->end) {
        const up_status status = make(p->work, p->next++, r);
        r->result->status = status;
        if (status == UP_OK) {
            *item = (up_batch_item){.door = &r->door, .options = &r->options, .outcome = &r->outcome};
            return 1;
        }
    }
    return 0;
}

static void keep_closing(void *context, int number, const up_batch_item *item) {
    const passage *const p = context;
    const room *const r = &p->room[number];
    r->result->status = item->status;
    if (item->status == UP_OK) {
        up_pinch_keep(&r->options, &r->lie, r->door.travel, &r->outcome, r->result);
    }
}

static void run_range(void *context, int first, int end) {
    passage p;
    p.work = context;
    p.next = first;
    p.end = end;
    const up_batch_source source = {&p, next_closing, keep_closing};
    (void)up_batch_run_from(&source, 0, p.memory, sizeof p.memory); /* the width is its own, the memory enough */
}

void up_pinch_run(const up_pinch_work *work, up_workers *workers) {
    up_pinch_work own = *work;
    up_share_work(workers, work->count, run_range, &own);
}

up_status up_pinch_run_one(const up_pinch_study *study, const up_pinch_point *point, const up_sink *sink,
                           up_pinch_result *result, up_outcome *outcome) {
    up_door door;
    up_run_options options;
    up_pinch_lie lie;
    blank(point, result);
    memset(outcome, 0, sizeof *outcome);
    result->status = up_pinch_make(study, &study->known->values, point, &door, &options, &lie);
    if (result->status == UP_OK) {
        result->status = up_run(&door, &options, sink, outcome, NULL);
    }
    if (result->status == UP_OK) {
        up_pinch_keep(&options, &lie, door.travel, outcome, result);
    }
    return result->status;
}

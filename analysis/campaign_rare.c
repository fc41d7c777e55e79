#include "analysis/campaign_rare.h"

#include "core/batch/batch.h"

#define RARE_STREAM 0x40000u

/* One thread: a part of the points, through a batch. */
typedef struct rare_room {
    up_case made;
    up_outcome outcome;
    int point;
} rare_room;

typedef struct rare_worker {
    const up_case_maker *maker;
    int next, end;
    const double *point;
    double *severity;
    rare_room room[UP_BATCH_WIDTH_MAX];
    unsigned char batch[UP_BATCH_MEMORY];
} rare_worker;

typedef struct rare_crew {
    const up_case_maker *maker;
    up_workers *workers;
    int threads;
    rare_worker *worker;
    /* of the evaluation at hand */
    int count;
    const double *point;
    double *severity;
} rare_crew;

static int next_point(void *context, int number, up_batch_item *item) {
    rare_worker *const w = context;
    rare_room *const room = &w->room[number];
    while (w->next < w->end) {
        room->point = w->next++;
        const double *const z = w->point + (size_t)room->point * (size_t)w->maker->numbers;
        if (up_case_make(w->maker, z, &room->made) == UP_OK) {
            *item =
                (up_batch_item){.door = &room->made.door, .options = &room->made.options, .outcome = &room->outcome};
            return 1;
        }
        w->severity[room->point] = UP_ABSENT;
    }
    return 0;
}

static void point_done(void *context, int number, const up_batch_item *item) {
    const rare_worker *const w = context;
    const rare_room *const room = &w->room[number];
    w->severity[room->point] = item->status == UP_OK ? up_case_nearness(&room->outcome) : UP_ABSENT;
}

static void run_parts(void *context, int first, int end) {
    const rare_crew *const crew = context;
    for (int part = first; part < end; part++) {
        rare_worker *const w = &crew->worker[part];
        w->maker = crew->maker;
        w->next = (int)((int64_t)crew->count * part / crew->threads);
        w->end = (int)((int64_t)crew->count * (part + 1) / crew->threads);
        w->point = crew->point;
        w->severity = crew->severity;
        const up_batch_source source = {w, next_point, point_done};
        (void)up_batch_run_from(&source, 0, w->batch, sizeof w->batch);
    }
}

static void evaluate(void *context, int dimension, int count, const double *point, double *severity) {
    rare_crew *const crew = context;
    (void)dimension; /* that of the maker */
    crew->count = count;
    crew->point = point;
    crew->severity = severity;
    up_share_work(crew->workers, crew->threads, run_parts, crew);
}

static up_rare_request request_of(const up_campaign_rare *request) {
    up_rare_request r;
    up_rare_request_default(&r);
    r.dimension = request->maker->numbers;
    r.limit = 1;
    r.population = request->population;
    r.populations = request->populations;
    r.seed = request->seed;
    r.stream = RARE_STREAM;
    r.evaluate = evaluate;
    return r;
}

size_t up_campaign_rare_memory(const up_campaign_rare *request, int threads) {
    const up_rare_request r = request_of(request);
    const size_t points = up_rare_memory(&r);
    return points > 0 ? points + (size_t)threads * sizeof(rare_worker) : 0;
}

/* rare.h hands its context to both, so the caller's stop goes through here. */
typedef struct rare_context {
    rare_crew crew; /* first: what evaluate sees */
    const up_campaign_rare *request;
} rare_context;

static int ask_stop(void *context) {
    const rare_context *const c = context;
    return c->request->stop != NULL && c->request->stop(c->request->context);
}

up_status up_campaign_rare_run(const up_campaign_rare *request, up_workers *workers, void *memory, size_t memory_size,
                               up_rare_result *result) {
    const int threads = workers ? workers->threads : 1;
    const size_t own = (size_t)threads * sizeof(rare_worker);
    if (!memory || memory_size < up_campaign_rare_memory(request, threads)) {
        return UP_MEMORY_TOO_SMALL;
    }
    rare_context context = {{request->maker, workers, threads, memory, 0, NULL, NULL}, request};
    up_rare_request r = request_of(request);
    r.context = &context;
    r.workers = workers;
    r.stop = ask_stop;
    return up_rare_run(&r, (unsigned char *)memory + own, memory_size - own, result);
}

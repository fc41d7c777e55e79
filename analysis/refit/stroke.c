#include "analysis/refit/stroke.h"

#include "analysis/spread.h"
#include "core/base/counter_random.h"
#include "core/door/door.h"
#include "core/sim/run.h"

/* Tolerance of the integrator, as `upstop move` takes it for its drawn closings. */
static const double draw_tolerance = 1e-4;

enum { ENCODER_STREAM = 0x5354524b }; /* of the random numbers, apart from those of the drawn doors */

/* What one door showed. */
typedef struct row {
    double time, current; /* NaN: not seen */
    int ran, done;
} row;

/* ---- the stopwatch ---- */

typedef struct stopwatch {
    up_event_kind starts, stops;
    double started, stopped; /* s; NaN: not yet */
    double stood;            /* s, when the glass last came to stand */
} stopwatch;

static void hear(void *context, const up_event *event) {
    stopwatch *watch = context;
    if (event->kind == watch->starts && up_is_absent(watch->started)) {
        watch->started = event->time;
    }
    if (event->kind == watch->stops && up_is_absent(watch->stopped)) {
        watch->stopped = event->time;
    }
    if (event->kind == UP_EVENT_GLASS_STOPS) {
        watch->stood = event->time;
    }
}

/* One door, one stroke. */
static up_status run_once(const up_stroke_request *request, const up_values *values, uint32_t seed, row *seen) {
    stopwatch watch = {request->raising ? UP_EVENT_BRIDGE_RAISE : UP_EVENT_BRIDGE_LOWER,
                       request->raising ? UP_EVENT_UP_STOP_TOUCHED : UP_EVENT_DOWN_STOP_TOUCHED, UP_ABSENT, UP_ABSENT,
                       UP_ABSENT};
    const up_sink sink = {.context = &watch, .event = hear};
    up_run_options options;
    up_outcome outcome;
    up_door door;
    *seen = (row){UP_ABSENT, UP_ABSENT, 0, 0};
    up_run_options_default(&options);
    options.temperature = request->temperature;
    options.tolerance = draw_tolerance;
    options.seed = seed;
    options.start_travel = request->raising ? 0 : values->glass_travel;
    options.switch_step[0].position = request->raising ? UP_SWITCH_RAISE_TOUCH : UP_SWITCH_LOWER_TOUCH;
    up_status status = up_door_prepare(values, request->temperature, &door);
    if (status == UP_OK) {
        status = up_run(&door, &options, &sink, &outcome, NULL);
    }
    if (status == UP_OK) {
        seen->ran = 1;
        seen->done = outcome.end == (request->raising ? UP_END_CLOSED : UP_END_OPENED);
        const double stopped = up_is_absent(watch.stopped) ? watch.stood : watch.stopped;
        seen->time = seen->done ? stopped - watch.started : UP_ABSENT;
        seen->current = seen->done ? outcome.running_current : UP_ABSENT;
    }
    return status;
}

/* ---- many doors ---- */

typedef struct job {
    const up_stroke_request *request;
    row *rows;
} job;

static void run_drawn(void *context, int first, int end) {
    const job *work = context;
    const up_stroke_request *request = work->request;
    for (int i = first; i < end; i++) {
        const uint64_t index = (uint64_t)i + 1;
        up_values values;
        work->rows[i] = (row){UP_ABSENT, UP_ABSENT, 0, 0};
        if (up_known_draw(request->known, request->seed, index, &values) == UP_OK) {
            const uint32_t seed = (uint32_t)up_random_u64(request->seed, ENCODER_STREAM, index);
            (void)run_once(request, &values, seed, &work->rows[i]); /* a run that gave up has not run */
        }
    }
}

size_t up_stroke_memory(int draws) {
    return draws < 1 ? 0 : (size_t)draws * (sizeof(row) + sizeof(double));
}

up_status up_stroke_run(const up_stroke_request *request, up_workers *workers, void *memory, size_t memory_size,
                        up_stroke *stroke) {
    if (request->draws < 1) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_stroke_memory(request->draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    row nominal;
    row *rows = memory;
    double *column = (double *)(void *)(rows + request->draws);
    const up_status status = run_once(request, &request->known->values, 0, &nominal);
    if (status != UP_OK) {
        return status;
    }
    job work = {request, rows};
    up_share_work(workers, request->draws, run_drawn, &work);
    int ran = 0;
    int done = 0;
    for (int i = 0; i < request->draws; i++) {
        ran += rows[i].ran;
        done += rows[i].done;
        column[i] = rows[i].time;
    }
    stroke->done = up_share_of(done, ran);
    stroke->time = up_reading_of(column, request->draws, nominal.time);
    for (int i = 0; i < request->draws; i++) {
        column[i] = rows[i].current;
    }
    stroke->current = up_reading_of(column, request->draws, nominal.current);
    return UP_OK;
}

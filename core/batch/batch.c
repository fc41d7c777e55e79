/* The loop of core/sim/run.c turned inside out: a lane says which attempt of a step it wants next, all lanes make theirs
 * together, and each judges its own. */
#include "core/batch/batch.h"

#include "core/base/up_math.h"
#include "core/batch/lanes.h"
#include "core/sim/crossing.h"
#include "core/sim/run_state.h"

_Static_assert((int)UP_BATCH_WIDTH_MAX == (int)UP_LANES_MAX, "a room for every lane");

/* What a lane's last attempt was for. */
typedef enum purpose {
    NOTHING,     /* no closing left for this lane                                 */
    ADVANCE,     /* the next span                                                 */
    TO_MIDDLE,   /* the half of it, where a crossing was seen                     */
    LOCATE,      /* a length the locator asked for                                */
    LOCATED,     /* the length it settled on, made before and lost since          */
    CUT_TO_TRIP, /* up to where the protector trips                              */
    CUT_TO_STOP  /* up to a bridge change                                         */
} purpose;

typedef struct batch_lane {
    up_run_state run;
    up_own_stepper memory;
    up_locator locator;
    up_batch_item item;
    purpose purpose;
    double deadline;
    double flow[UP_FLOWS];
    int trips;
    int renewed; /* regimes or state were changed since the rows were filled */
} batch_lane;

typedef struct batch {
    up_lanes lanes;                 /* first: it is the one that has to be aligned */
    batch_lane *lane[UP_LANES_MAX]; /* which run has which lane */
    batch_lane room[UP_LANES_MAX];
    int width, busy; /* lanes 0 to busy - 1 have a closing */
    const up_batch_source *source;
    int dry; /* the source has no more */
} batch;

_Static_assert(sizeof(batch) + 64 <= UP_BATCH_MEMORY, "UP_BATCH_MEMORY is enough");

/* ---- what a lane wants ------------------------------------------------------------------------------------------ */

static void want_exactly(batch *b, int k, purpose what, double length) {
    b->lane[k]->purpose = what;
    b->lanes.wish[k] = length;
    b->lanes.exact[k] = -1;
}

static void want_cut(batch *b, int k, purpose what, double time) {
    batch_lane *lane = b->lane[k];
    lane->run.counts.jacobian_calls++;
    want_exactly(b, k, what, time - lane->run.span.start);
}

static void want_span(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    up_run_state *run = &lane->run;
    lane->deadline = up_run_open_span(run);
    if (lane->renewed) {
        up_lanes_set_modes(&b->lanes, k, &run->world, &run->motion.modes);
        up_lanes_set_loads(&b->lanes, k, &run->span.loads0);
        lane->renewed = 0;
    }
    up_lanes_set_start(&b->lanes, k, &run->motion);
    run->counts.jacobian_calls++;
    lane->purpose = ADVANCE;
    b->lanes.wish[k] = up_min(lane->memory.next_length, up_shaking_longest_step(&run->world, run->motion.time));
    b->lanes.left[k] = lane->deadline - run->span.start;
    b->lanes.fresh[k] = -1;
    b->lanes.exact[k] = 0;
}

/* ---- from closing to closing -------------------------------------------------------------------------------------- */

static void note_restart(void *self, const up_scene *scene, int hurry) {
    batch_lane *lane = self;
    up_own_stepper_restart(&lane->memory, scene, hurry);
    lane->renewed = 1;
}

static void tell_done(batch *b, batch_lane *lane, up_status status) {
    lane->item.status = status;
    b->source->done(b->source->context, (int)(lane - b->room), &lane->item);
}

/* The next item that runs at all; one that is refused is done at once. 0: there is none. */
static int next_item(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    while (!b->dry && b->source->next(b->source->context, (int)(lane - b->room), &lane->item)) {
        const up_batch_item *item = &lane->item;
        up_stepper stepper = up_own_stepper_make(&lane->memory);
        stepper.self = lane;
        stepper.restart = note_restart;
        const up_status status = up_run_start(&lane->run, item->door, item->options, NULL, item->outcome, stepper);
        if (status == UP_OK) {
            lane->run.flow = lane->flow;
            up_lanes_set_door(&b->lanes, k, item->door, item->options->tolerance);
            up_lanes_set_disturbance(&b->lanes, k, &lane->run.world);
            return 1;
        }
        tell_done(b, lane, status);
    }
    b->dry = 1;
    return 0;
}

static void close_item(batch *b, int k, up_status status) {
    batch_lane *lane = b->lane[k];
    up_run_end(&lane->run, lane->item.counts);
    tell_done(b, lane, status);
}

static void begin_item(batch *b, int k) {
    while (next_item(b, k)) {
        if (!up_run_is_over(&b->lane[k]->run)) {
            want_span(b, k);
            return;
        }
        close_item(b, k, UP_OK);
    }
    b->lane[k]->purpose = NOTHING;
    up_lanes_empty(&b->lanes, k);
}

static void end_item(batch *b, int k, up_status status) {
    close_item(b, k, status);
    begin_item(b, k);
}

static void next_span(batch *b, int k, up_status status) {
    up_run_state *run = &b->lane[k]->run;
    if (status == UP_OK && run->steps_left-- == 0) {
        status = UP_STEP_LIMIT;
    }
    if (status != UP_OK || up_run_is_over(run)) {
        end_item(b, k, status);
    } else {
        want_span(b, k);
    }
}

/* ---- after an attempt ------------------------------------------------------------------------------------------------- */

/* The two lists: what core/sim looks at of a committed span. The rest of its loads stays in the rows, where the next
 * attempt finds them. */
#define UP_TAKE(member) loads->member = s->loads1[offsetof(up_loads, member) / sizeof(double)][k];

static void take_loads(const up_lanes *s, int k, up_loads *loads) {
    for (int n = 0; n < UP_STATES; n++) {
        loads->rate[n] = s->loads1[n][k];
    }
    UP_TAKE(heat_rate.winding)
    UP_TAKE(heat_rate.box)
    UP_TAKE(heat_rate.protector)
    UP_TAKE(rod_force)
    UP_TAKE(up_force)
    UP_TAKE(down_force)
}

static void take_span(const up_lanes *s, int k, batch_lane *lane) {
    up_span *span = &lane->run.span;
    span->length = s->length[k];
    for (int n = 0; n < UP_STATES; n++) {
        span->y1[n] = s->y1[n][k];
    }
    span->y_middle[UP_CURRENT] = s->y_middle[UP_CURRENT][k];
    take_loads(s, k, &span->loads1);
    span->middle.heat_rate = (up_heat){s->middle_heat[0][k], s->middle_heat[1][k], s->middle_heat[2][k]};
}

static void take_flows(const up_lanes *s, int k, batch_lane *lane) {
    for (int n = 0; n < UP_FLOWS; n++) {
        lane->flow[n] = s->flow[n][k];
    }
}

static up_sighting sighting_in(up_row *guard, int k) {
    up_sighting s;
    for (int n = 0; n < UP_GUARDS; n++) {
        s.value[n] = guard[n][k];
    }
    return s;
}

static void close_span(batch *b, int k, up_status status) {
    batch_lane *lane = b->lane[k];
    take_flows(&b->lanes, k, lane);
    if (up_run_close_span(&lane->run, lane->deadline)) {
        take_loads(&b->lanes, k, &lane->run.span.loads0);
        b->lanes.carry[k] = -1;
    }
    next_span(b, k, status);
}

static void discrete_part(batch *b, int k, up_status status) {
    batch_lane *lane = b->lane[k];
    up_run_state *run = &lane->run;
    const double stop = up_run_discrete(run);
    if (stop < run->span.start + run->span.length && status == UP_OK) {
        if (up_run_falls_at_once(run, stop)) {
            next_span(b, k, UP_OK);
        } else {
            want_cut(b, k, CUT_TO_STOP, stop);
        }
    } else if (lane->trips) {
        take_flows(&b->lanes, k, lane);
        up_run_trip_at_end(run);
        next_span(b, k, status);
    } else {
        close_span(b, k, status);
    }
}

static void span_made(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    up_run_state *run = &lane->run;
    const double trip = up_run_protector_passes(run);
    lane->trips = trip < run->span.start + run->span.length;
    if (lane->trips) {
        want_cut(b, k, CUT_TO_TRIP, trip);
    } else {
        discrete_part(b, k, UP_OK);
    }
}

static void locate_on(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    up_locator *locator = &lane->locator;
    if (up_locator_wants(locator, lane->run.span.start)) {
        want_exactly(b, k, LOCATE, locator->after);
    } else if (locator->made != locator->high) {
        want_exactly(b, k, LOCATED, locator->high);
    } else {
        span_made(b, k);
    }
}

static void look_at_end(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    up_run_state *run = &lane->run;
    run->span.fired = b->lanes.crossed_end[k] != 0;
    if (run->span.fired) {
        const up_sighting from = sighting_in(b->lanes.guard0, k);
        const up_sighting here = sighting_in(b->lanes.guard1, k);
        if (!up_near_enough(&from, &here)) {
            up_locator_begin(&lane->locator, &run->scene, &run->span, &from, &here);
            locate_on(b, k);
            return;
        }
    }
    span_made(b, k);
}

static void judge_advance(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    up_run_counts *counts = &lane->run.counts;
    double length = b->lanes.length[k];
    const double error = b->lanes.error[k];
    if (!(error <= 1.0)) {
        counts->rejected_steps++;
        const up_status status = up_length_rejected(&length, error, b->lanes.next[k]);
        b->lanes.wish[k] = length;
        b->lanes.fresh[k] = 0;
        if (status != UP_OK) {
            end_item(b, k, status);
        }
        return;
    }
    if (!b->lanes.finite[k]) {
        end_item(b, k, UP_NOT_FINITE);
        return;
    }
    take_span(&b->lanes, k, lane);
    up_length_remember(&lane->memory, length, b->lanes.next[k], b->lanes.left[k]);
    counts->steps++;
    counts->derivative_calls += 2;
    if (b->lanes.crossed_middle[k] != 0) {
        want_exactly(b, k, TO_MIDDLE, 0.5 * length);
    } else {
        look_at_end(b, k);
    }
}

static void judge_locating(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    take_span(&b->lanes, k, lane);
    lane->run.counts.locating_steps++;
    lane->run.counts.derivative_calls += 2;
    if (lane->purpose == TO_MIDDLE) {
        look_at_end(b, k);
        return;
    }
    const up_sighting here = sighting_in(b->lanes.guard1, k);
    up_locator_note(&lane->locator, &here);
    locate_on(b, k);
}

static void judge_cut(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    take_span(&b->lanes, k, lane);
    lane->run.counts.derivative_calls += 2;
    lane->run.span.fired = 0;
    const up_status status = b->lanes.finite[k] ? UP_OK : UP_NOT_FINITE;
    if (lane->purpose == CUT_TO_TRIP) {
        discrete_part(b, k, status);
    } else {
        close_span(b, k, status);
    }
}

static void judge(batch *b, int k) {
    batch_lane *lane = b->lane[k];
    lane->run.counts.derivative_calls += lane->purpose != NOTHING ? 5 : 0;
    switch (lane->purpose) {
    case ADVANCE:
        judge_advance(b, k);
        break;
    case TO_MIDDLE:
    case LOCATE:
        judge_locating(b, k);
        break;
    case LOCATED:
        take_span(&b->lanes, k, lane);
        span_made(b, k);
        break;
    case CUT_TO_TRIP:
    case CUT_TO_STOP:
        judge_cut(b, k);
        break;
    case NOTHING:
        break;
    }
}

/* ---- all items ------------------------------------------------------------------------------------------------------------ */

const int *up_batch_widths(void) {
    static const int narrow[] = {2, 0};
#if UP_LANES_WIDE
    static const int wide[] = {4, 2, 0};
    static const int widest[] = {8, 4, 2, 0};
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl")) {
        return widest;
    }
    if (__builtin_cpu_supports("avx2")) {
        return wide;
    }
#endif
    return narrow;
}

size_t up_batch_memory(void) {
    return sizeof(batch) + 64;
}

/* The narrowest attempt that does all busy lanes. */
static up_lanes_attempt *attempt_for(const batch *b) {
#if UP_LANES_WIDE
    if (b->width >= 8 && b->busy > 4) {
        return up_lanes_attempt_8;
    }
    if (b->width >= 4 && b->busy > 2) {
        return up_lanes_attempt_4;
    }
#else
    (void)b;
#endif
    return up_lanes_attempt_2;
}

/* Lanes that have run out of items are filled from behind. */
static void close_ranks(batch *b) {
    for (int k = 0; k < b->busy; k++) {
        while (b->busy > k && b->lane[b->busy - 1]->purpose == NOTHING) {
            b->busy--;
        }
        if (k < b->busy && b->lane[k]->purpose == NOTHING) {
            batch_lane *out = b->lane[k];
            b->busy--;
            up_lanes_move(&b->lanes, b->busy, k);
            b->lane[k] = b->lane[b->busy];
            b->lane[b->busy] = out;
        }
    }
}

static void run_all(batch *b) {
    for (int k = 0; k < b->width; k++) {
        b->lane[k] = &b->room[k];
        begin_item(b, k);
    }
    b->busy = b->width;
    close_ranks(b);
    while (b->busy > 0) {
        attempt_for(b)(&b->lanes);
        for (int k = 0; k < b->busy; k++) {
            judge(b, k);
        }
        if (b->dry) {
            close_ranks(b);
        }
    }
}

up_status up_batch_run_from(const up_batch_source *source, int width, void *memory, size_t memory_size) {
    const int *known = up_batch_widths();
    width = width == 0 ? known[0] : width;
    while (*known != 0 && *known != width) {
        known++;
    }
    if (*known == 0 || memory_size < up_batch_memory()) {
        return UP_BAD_OPTION;
    }
    const size_t skip = (64 - (size_t)((uintptr_t)memory & 63)) & 63;
    batch *b = (batch *)(void *)((unsigned char *)memory + skip);
    b->lanes = (up_lanes){0};
    b->source = source;
    b->dry = 0;
    b->width = width;
    run_all(b);
    return UP_OK;
}

/* ---- items in a row ------------------------------------------------------------------------------------------------- */

typedef struct row {
    up_batch_item *items;
    int next, count;
    int in_room[UP_BATCH_WIDTH_MAX];
} row;

static int next_of_row(void *context, int room, up_batch_item *item) {
    row *r = context;
    if (r->next == r->count) {
        return 0;
    }
    r->in_room[room] = r->next;
    *item = r->items[r->next++];
    return 1;
}

static void done_of_row(void *context, int room, const up_batch_item *item) {
    row *r = context;
    r->items[r->in_room[room]].status = item->status;
}

up_status up_batch_run(up_batch_item *items, int count, int width, void *memory, size_t memory_size) {
    row r = {.items = items, .count = count};
    const up_batch_source source = {&r, next_of_row, done_of_row};
    return count < 0 ? UP_BAD_OPTION : up_batch_run_from(&source, width, memory, memory_size);
}

#include "tests/reference/closing.h"

#include <math.h>

static void keep_edge(void *context, double time, int level) {
    closing *c = context;
    (void)level;
    if (c->edges < CLOSING_EDGES_MAX) {
        c->edge[c->edges] = time;
    }
    c->edges++;
}

static void keep_event(void *context, const up_event *event) {
    closing *c = context;
    if (c->events < CLOSING_EVENTS_MAX) {
        c->event[c->events] = *event;
    }
    c->events++;
}

up_sink closing_sink(closing *into) {
    into->edges = 0;
    into->events = 0;
    return (up_sink){.context = into, .event = keep_event, .edge = keep_edge};
}

/* What the controller does happens on its ticks or a fixed delay after: the same decision has the same time. */
static int is_decision(up_event_kind kind) {
    switch (kind) {
    case UP_EVENT_BRIDGE_RAISE:
    case UP_EVENT_BRIDGE_LOWER:
    case UP_EVENT_BRIDGE_BRAKE:
    case UP_EVENT_PINCH_SEEN:
    case UP_EVENT_STALL_SEEN:
    case UP_EVENT_REVERSAL:
    case UP_EVENT_TOP_FOUND:
    case UP_EVENT_BOTTOM_FOUND:
    case UP_EVENT_CONTROLLER_RESTS:
        return 1;
    default:
        return 0;
    }
}

static const up_event *next_decision(const closing *c, int *at) {
    const int kept = c->events < CLOSING_EVENTS_MAX ? c->events : CLOSING_EVENTS_MAX;
    while (*at < kept && !is_decision(c->event[*at].kind)) {
        (*at)++;
    }
    return *at < kept ? &c->event[(*at)++] : 0;
}

static int decisions_differ(const closing *a, const closing *b) {
    int at_a = 0, at_b = 0;
    for (;;) {
        const up_event *x = next_decision(a, &at_a);
        const up_event *y = next_decision(b, &at_b);
        if (x == 0 || y == 0) {
            return x != y;
        }
        if (x->kind != y->kind || fabs(x->time - y->time) > 1e-9) {
            return 1;
        }
    }
}

static double apart(double a, double b) {
    return isnan(a) && isnan(b) ? 0.0 : fabs(a - b);
}

closing_gap closing_compare(const closing *a, const closing *b) {
    closing_gap gap = {.decisions_differ = decisions_differ(a, b),
                       .edges_differ = a->edges != b->edges,
                       .force = apart(a->outcome.peak_rod_force, b->outcome.peak_rod_force),
                       .moving = apart(a->outcome.moving_time, b->outcome.moving_time),
                       .touch = apart(a->outcome.rod_touch_time, b->outcome.rod_touch_time)};
    int n = a->edges < b->edges ? a->edges : b->edges;
    n = n < CLOSING_EDGES_MAX ? n : CLOSING_EDGES_MAX;
    for (int i = 0; i < n; i++) {
        const double miss = apart(a->edge[i], b->edge[i]);
        const double period = i > 0 ? b->edge[i] - b->edge[i - 1] : INFINITY;
        gap.edge = fmax(gap.edge, miss);
        if (period < CLOSING_SWIFT) {
            gap.swift_edge = fmax(gap.swift_edge, miss);
        } else {
            gap.slow_edge = fmax(gap.slow_edge, miss / fmin(period, 1.0));
        }
    }
    return gap;
}

closing_gap closing_worst(closing_gap a, closing_gap b) {
    return (closing_gap){.decisions_differ = a.decisions_differ | b.decisions_differ,
                         .edges_differ = a.edges_differ | b.edges_differ,
                         .edge = fmax(a.edge, b.edge),
                         .swift_edge = fmax(a.swift_edge, b.swift_edge),
                         .slow_edge = fmax(a.slow_edge, b.slow_edge),
                         .force = fmax(a.force, b.force),
                         .moving = fmax(a.moving, b.moving),
                         .touch = fmax(a.touch, b.touch)};
}

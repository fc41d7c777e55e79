/* One closing written down so that two of them can be held against each other. */
#ifndef UPSTOP_TESTS_REFERENCE_CLOSING_H
#define UPSTOP_TESTS_REFERENCE_CLOSING_H

#include "core/sim/run.h"

enum { CLOSING_EDGES_MAX = 100000, CLOSING_EVENTS_MAX = 2000 };

typedef struct closing {
    up_status status;
    up_outcome outcome;
    up_run_counts counts;
    int edges, events;              /* how many were met; more than the maxima are not kept */
    double edge[CLOSING_EDGES_MAX]; /* s */
    up_event event[CLOSING_EVENTS_MAX];
} closing;

/* Empties *into and returns a sink that writes into it. */
up_sink closing_sink(closing *into);

typedef struct closing_gap {
    int decisions_differ; /* 1: the controller did something else, or at another tick; the rest then says little */
    int edges_differ;     /* 1: another number of encoder edges                                                  */
    double edge;          /* s, largest difference of an edge's time                                             */
    double swift_edge;    /* s, the same among edges that follow the one before within CLOSING_SWIFT              */
    double slow_edge;     /* the same among all others, as a share of the period before the edge                 */
    double force;         /* N, peak squeezing force                                                             */
    double moving;        /* s, moving time                                                                      */
    double touch;         /* s, when the rod is met                                                              */
} closing_gap;

/* s. A detector reckons with periods; where a shaft crawls the time of an edge is soft: a microradian at 0.1 rad/s is
 * 10 us. At longer periods than this edges are judged by the share of the period. */
#define CLOSING_SWIFT 0.01

closing_gap closing_compare(const closing *a, const closing *b);

/* The larger of the two in everything. */
closing_gap closing_worst(closing_gap a, closing_gap b);

#endif

/* A whole run of a door with all it told, for tests that look at the course of it. */
#ifndef UPSTOP_TESTS_RECORDING_H
#define UPSTOP_TESTS_RECORDING_H

#include "core/sim/run.h"

enum { RECORDING_SAMPLES = 40000, RECORDING_EVENTS = 4000, RECORDING_EDGES = 20000 };

typedef struct recording {
    up_values values; /* change before recording_run */
    up_run_options options;
    up_door door;
    up_outcome outcome;
    up_run_counts counts;
    up_sample sample[RECORDING_SAMPLES];
    up_event event[RECORDING_EVENTS];
    double edge[RECORDING_EDGES];
    int samples, events, edges;
} recording;

/* Typical door of a family, default options, samples every 2 ms. */
void recording_door(recording *r, up_family family);
/* One switch position from the start. */
void recording_hand(recording *r, up_switch position);
/* And another from a later time on. */
void recording_hand_then(recording *r, double time, up_switch position);
/* Prepares and runs. Fails the program unless that succeeds, the ledger closes within 0.001 % of the energy turned over,
 * and no heat came back. */
void recording_run(recording *r);

/* Time of the n-th event of a kind, from 0; NaN when there is none. */
double recording_time(const recording *r, up_event_kind kind, int n);
int recording_count(const recording *r, up_event_kind kind);
/* The sample at or just before a time. */
const up_sample *recording_at(const recording *r, double time);
const up_sample *recording_last(const recording *r);

#endif

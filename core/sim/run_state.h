/* Inside of a run; shared by the files of core/sim and by tests that drive a run with another integrator. */
#ifndef UPSTOP_SIM_RUN_STATE_H
#define UPSTOP_SIM_RUN_STATE_H

#include "core/control/controller.h"
#include "core/sim/span.h"

enum { UP_BRIDGE_QUEUE = 4 };

typedef struct up_bridge_change {
    double time;
    up_bridge bridge;
} up_bridge_change;

/* The battery under faults.battery_lost_time; without that fault it stays on. */
typedef enum up_battery { UP_BATTERY_ON, UP_BATTERY_OFF, UP_BATTERY_BACK } up_battery;

/* The detector's last readings, as many as it takes to decide, up to a bound. */
enum { UP_HEARD_MAX = 16 };
typedef struct up_heard {
    int32_t excess;  /* N times 16 */
    int32_t opening; /* edges, where the glass is */
} up_heard;

typedef struct up_run_state {
    const up_door *door;
    const up_run_options *options;
    const up_sink *sink;
    up_stepper stepper;
    up_scene scene;
    up_world world;
    up_motion motion;
    up_span span;
    up_run_counts counts;
    up_outcome *outcome;
    /* encoder */
    int64_t edge_index;    /* edges with a place at or below the present angle                    */
    uint64_t edges_passed; /* ever                                                                */
    /* controller */
    up_controller controller;
    int controlled; /* 0: leads direct or open                                             */
    uint64_t next_tick;
    up_measured measured;         /* at the last tick                                                  */
    up_heard heard[UP_HEARD_MAX]; /* ring of the detector's last readings                        */
    uint32_t readings;            /* in a row, since the detector began to count                 */
    up_drive asked;               /* what the bridge was last asked for                                  */
    up_bridge_change queue[UP_BRIDGE_QUEUE];
    int queued;
    int next_switch, next_supply;
    up_switch hand;
    int powered; /* 0: retained power has ended                                         */
    /* faults */
    up_battery battery;
    int encoder_died; /* told                                                               */
    /* books */
    double stock_at_start[UP_LEDGER_COUNT];
    double mean_time, mean_current, mean_distance; /* s, A s, m while running steadily               */
    double glass_started; /* s, last start of the glass; NaN                                      */
    double first_drive;   /* s, first bridge command; NaN                                         */
    double last_moved;    /* s, last time the glass was seen to move; NaN */
    double rest_since;    /* s, since when nothing moves and nothing is due; NaN                  */
    double highest;       /* m, highest travel since the last bridge-up                           */
    double next_sample;   /* s                                                                    */
    int told_top, told_bottom, told_released;
    uint64_t steps_left;
    const double *flow; /* J, what the span adds to each flow account; NULL: to be reckoned from the span */
} up_run_state;

/* run.c: the whole run with a stepper of the caller's. */
up_status up_run_with(const up_door *door, const up_run_options *options, const up_sink *sink, up_outcome *outcome,
                      up_run_counts *counts, up_stepper stepper);

/* The same in pieces, for whoever runs several side by side (core/batch). *run must stay where it is. */
up_status up_run_start(up_run_state *run, const up_door *door, const up_run_options *options, const up_sink *sink,
                       up_outcome *outcome, up_stepper stepper);
int up_run_is_over(up_run_state *run);
/* Makes what is due now happen and readies run->span; the time at which the span has to end. */
double up_run_open_span(up_run_state *run);
/* Time inside the span at which the protector's temperature passes its mark; the span's end when it does not. */
double up_run_protector_passes(const up_run_state *run);
/* 1: `stop` is the span's start, nothing to integrate. */
int up_run_falls_at_once(up_run_state *run, double stop);
/* The span ends where the protector passes its mark. */
void up_run_trip_at_end(up_run_state *run);
/* Commits it. 1: it goes on smoothly, the loads of its end are those of the next start; 0: they were made anew. */
int up_run_close_span(up_run_state *run, double deadline);
/* Regimes for the present state; loads ready for the next span. */
void up_run_settle(up_run_state *run, int hurry);
void up_run_end(up_run_state *run, up_run_counts *counts);

/* start.c */
up_status up_run_begin(up_run_state *run);

/* discrete.c: encoder edges and ticks inside the span, in order of time. Returns the time at which the span has to end
 * because a bridge change falls due inside it; the span's end when none does. */
double up_run_discrete(up_run_state *run);
/* Bridge changes, supply steps and switch steps due now; 1 when something changed. */
int up_run_due_now(up_run_state *run);
/* Next instant at which a span has to end. */
double up_run_next_deadline(const up_run_state *run);
/* 1 when the bridge was another one before; what falls away with it is booked and told. */
int up_run_set_bridge(up_run_state *run, up_bridge bridge);
/* The hand that holds the leads. */
up_bridge up_run_bridge_of_hand(up_switch hand);

/* heard.c: what the detector reckoned at the reading just made; duty: the controller's when it was made. */
void up_run_note_reading(up_run_state *run, double time, up_duty duty);

/* faults.c, options.faults: */
int up_faults_make_sense(const up_faults *faults, double tick);
/* How often the edge just passed, number run->edges_passed, arrives at the controller: 0, 1 or 2 times. */
int up_run_edge_arrivals(up_run_state *run, double time);
/* Time of the next tick. */
double up_run_tick_time(const up_run_state *run);
/* The limit contact as the controller reads it. */
int up_run_limit_closed(const up_run_state *run);
/* The motor current as the controller measures it, filtered, raising positive, `after` seconds into the span; mA. */
int32_t up_run_measured_ma(const up_run_state *run, double after);
/* The battery goes or comes now; 1 when the bridge changed. */
int up_run_battery_due(up_run_state *run);
/* When it goes or comes next; 1e300: no more. */
double up_run_battery_deadline(const up_run_state *run);

/* books.c: the span is history now. */
void up_run_commit(up_run_state *run);
/* Samples due before `time`, inside the span: edges and ticks that come later have not been passed yet. */
void up_run_samples_before(up_run_state *run, double time);
void up_run_event(up_run_state *run, double time, up_event_kind kind);
void up_run_close_books(up_run_state *run);
/* 1 when a body sticks, or creeps too slowly for anyone to see: a braked worm that does not hold dies away for ever. */
int up_run_is_still(const up_run_state *run, int body);

#endif

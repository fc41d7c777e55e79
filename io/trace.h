/* One run kept in memory, sample by sample and event by event, and written out as CSV.
 *
 * The core hands samples and events to a sink; this is the sink that remembers them. The CSV file is for spreadsheets
 * and for other people's programs: first row names and units, SI units, decimal point whatever the locale, an empty
 * field where the quantity does not exist (the counted opening after the position was lost). */
#ifndef UPSTOP_IO_TRACE_H
#define UPSTOP_IO_TRACE_H

#include <stddef.h>
#include <stdio.h>

#include "core/sim/run.h"

typedef struct up_trace {
    up_sample *sample; /* (samples), owned                                     */
    size_t samples, sample_room;
    up_event *event; /* (events), owned                                        */
    size_t events, event_room;
    int out_of_memory; /* 1: the run was cut short for lack of memory          */
} up_trace;

/* Empty trace. The caller frees it with up_trace_free, which leaves an empty trace again. */
void up_trace_init(up_trace *trace);
void up_trace_free(up_trace *trace);

/* A sink that appends to the trace; the trace must outlive it. */
up_sink up_trace_sink(up_trace *trace);

/* Rows of samples, one column per entry of UP_SAMPLE_LIST, then "opening [m]", closed_travel less travel.
 * closed_travel: m, glass travel at the up-stop. Returns 0, or -1 when the stream refused a write. */
int up_trace_print_samples(const up_trace *trace, double closed_travel, FILE *file);

/* Rows of events: time [s], event, travel [m], opening [m], speed [m/s], force [N], current [A], meaning. */
int up_trace_print_events(const up_trace *trace, double closed_travel, FILE *file);

/* A number with a decimal point in every locale, nothing for a NaN. digits: significant digits, 1..17. */
int up_trace_print_number(FILE *file, double number, int digits);

/* A name in small letters, as files and JSON spell the names of events and endings. out: 32 bytes are enough. */
char *up_trace_word(const char *name, char *out, size_t size);

/* The sample nearest in time at or before `time`; NULL for an empty trace. */
const up_sample *up_trace_at(const up_trace *trace, double time);

#endif

/* Which events of a run are worth telling a person.
 *
 * A closing passes through dozens of mode changes; stick-slip alone can make hundreds. For summary and chart the ones
 * that a person would tell are kept: what the hand, the controller and the obstacle did, the first start and the last
 * stop. Nothing is reckoned here, only chosen. */
#ifndef UPSTOP_IO_TRACE_EVENTS_H
#define UPSTOP_IO_TRACE_EVENTS_H

#include <stddef.h>

#include "io/trace.h"

/* Indices into trace->event, in order of time, at most `room`; returns how many. When there are more, the later ones
 * give way, except the very last. */
size_t up_trace_highlights(const up_trace *trace, size_t *index, size_t room);

/* Shorter wording than up_event_text for the margin of a chart; static storage. */
const char *up_trace_short_text(up_event_kind kind);

/* First event of a kind at or after event `from`; trace->events when there is none. */
size_t up_trace_find(const up_trace *trace, up_event_kind kind, size_t from);

#endif

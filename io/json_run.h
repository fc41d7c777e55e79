/* Results of a run, and of the closings behind its intervals, as JSON values.
 *
 * Every function returns a new reference that the caller gives away or drops, NULL when memory is short. Quantities are
 * {"value": 4.52, "unit": "s"}, in SI units; what does not exist is null, since JSON has no NaN. docs/json.md. */
#ifndef UPSTOP_IO_JSON_RUN_H
#define UPSTOP_IO_JSON_RUN_H

#include <jansson.h>
#include <stdio.h>

#include "analysis/spread.h"
#include "io/trace.h"

json_t *up_json_number(double number); /* null for NaN and infinities */
json_t *up_json_quantity(double value, const char *unit);

/* Adds a member; value is given away, NULL too: then the object is marked as broken and up_json_print refuses it. */
void up_json_set(json_t *object, const char *key, json_t *value);

/* {"time": {"value", "low", "high", "mean", "deviation", "closings", "unit", "text"}, ...}: every headline. */
json_t *up_json_figures(const up_spread_result *spread);

/* {"drawn", "failed", "ends": {"closed": share, ...}, "reversed": share}; share: {"hits", "of", "share", "low", "high"} */
json_t *up_json_closings(const up_spread_result *spread);

/* One rule's verdicts: {"rule", "citation", "edition", "overall", "verdicts": [...], "passed": share}. */
json_t *up_json_judgement(const up_spread_result *spread);

/* Rows of the literature on injuries that a squeezing force (N) reaches. */
json_t *up_json_advice(double peak_force);

json_t *up_json_events(const up_trace *trace, double closed_travel);
json_t *up_json_energy(const up_outcome *outcome);
json_t *up_json_work(const up_run_counts *work);

/* Puts the frame about it, prints it and drops it. Returns 0, or -1 when something was broken or could not be written. */
int up_json_print(json_t *json, const char *command, const char *sheet, FILE *out);

#endif

/* What a preamble states. */
#ifndef UPSTOP_IO_RECORDING_FACTS_H
#define UPSTOP_IO_RECORDING_FACTS_H

#include "io/recording/table.h"
#include "io/recording/words.h"

/* Adds one statement; texts are copied and cut. Returns it, NULL when the list is full or memory short (*failed = 1). */
up_fact *up_fact_add(up_recording *recording, long line, int column, const char *key, const char *value, double number,
                     const char *unit, int *failed);

/* All statements above and beside the table. Returns 0, or 3 when memory is short. */
int up_facts_collect(const up_head *head, const up_table *table, up_units *units, up_recording *recording);

/* The first statement with a number of that meaning, or NULL. */
up_fact *up_fact_find(up_recording *recording, up_key meaning);

/* Interval between samples as stated, s, from an interval or a rate; NaN when none is. *fact is the statement. */
double up_stated_interval(up_recording *recording, up_units *units, up_fact **fact);

/* Time of the first sample as stated, s; NaN. */
double up_stated_start(up_recording *recording, up_units *units, up_fact **fact);

#endif

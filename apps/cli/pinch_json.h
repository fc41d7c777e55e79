/* The answers of `upstop pinch` as JSON; keys and units stand in docs/json.md. */
#ifndef UPSTOP_CLI_PINCH_JSON_H
#define UPSTOP_CLI_PINCH_JSON_H

#include <stdio.h>

#include "apps/cli/pinch_run.h"

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_pinch_print_json(const up_pinch_answer *answer, FILE *out);

#endif

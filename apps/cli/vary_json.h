/* The answers of `upstop vary` as JSON (docs/json.md). */
#ifndef UPSTOP_CLI_VARY_JSON_H
#define UPSTOP_CLI_VARY_JSON_H

#include <stdio.h>

#include "apps/cli/vary_run.h"

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_vary_print_json(const up_vary_answer *answer, FILE *out);

#endif

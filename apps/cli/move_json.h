/* The answers of `upstop move` as JSON; keys and units stand in docs/json.md. */
#ifndef UPSTOP_CLI_MOVE_JSON_H
#define UPSTOP_CLI_MOVE_JSON_H

#include <stdio.h>

#include "apps/cli/move_run.h"

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_move_print_json(const up_move_answer *answer, FILE *out);

#endif

/* What was understood of recordings, as JSON: docs/json.md. */
#ifndef UPSTOP_CLI_READ_JSON_H
#define UPSTOP_CLI_READ_JSON_H

#include <stdio.h>

#include "io/recording.h"

/* Returns 0, or -1 when it could not be written. */
int up_read_print_json(const up_recording *recordings, int count, FILE *out);

#endif

/* The answers of `upstop train` as JSON; keys and units stand in docs/json.md. */
#ifndef UPSTOP_CLI_TRAIN_JSON_H
#define UPSTOP_CLI_TRAIN_JSON_H

#include <stdio.h>

#include "analysis/train.h"
#include "io/sheet.h"

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_train_print_json(const up_sheet *sheet, const up_train_request *request, const up_train *train, FILE *out);

#endif

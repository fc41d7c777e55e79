/* The answers of `upstop tune` in words and as JSON. */
#ifndef UPSTOP_CLI_TUNE_TEXT_H
#define UPSTOP_CLI_TUNE_TEXT_H

#include <stdio.h>

#include "apps/cli/tune_run.h"
#include "io/terminal_plot.h"

void up_tune_print(const up_tune_answer *answer, const up_plot_look *look, FILE *out);

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_tune_print_json(const up_tune_answer *answer, FILE *out);

#endif

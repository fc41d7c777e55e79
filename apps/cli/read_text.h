/* What was understood of a recording, for people. */
#ifndef UPSTOP_CLI_READ_TEXT_H
#define UPSTOP_CLI_READ_TEXT_H

#include <stdio.h>

#include "io/recording.h"

/* all_facts: also statements of the preamble that nothing follows from. */
void up_read_print_text(const up_recording *recording, int all_facts, FILE *out);

#endif

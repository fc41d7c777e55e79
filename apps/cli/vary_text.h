/* The answers of `upstop vary` in words, for people, and as JSON. */
#ifndef UPSTOP_CLI_VARY_TEXT_H
#define UPSTOP_CLI_VARY_TEXT_H

#include "apps/cli/vary_run.h"

/* Returns -1, or an exit status after one message. */
int up_vary_tell(const up_vary_answer *answer);

#endif

/* The options of `upstop vary` and of the same over MPI: from words with units to a plan. */
#ifndef UPSTOP_CLI_VARY_OPTIONS_H
#define UPSTOP_CLI_VARY_OPTIONS_H

#include <stdint.h>

#include "analysis/case.h"
#include "apps/cli/command.h"

typedef struct up_vary {
    const char *command; /* "upstop vary", for messages                                              */
    const char *sheet;   /* path as given                                                            */
    up_plan plan;
    uint64_t closings, seed;
    int threads;
    const char *store, *csv; /* file names; NULL: not asked                                          */
    const char *rod;         /* as written, for messages; NULL: none                                 */
    double allowed;          /* share of closings that may fail the rule, 0..1                       */
    int rare;                /* small rates by splitting                                             */
    int count_only;          /* no ranking, no advice what to measure                                */
    int progress, json;
} up_vary;

/* Reads the command line. command: what the program calls itself in messages. Returns -1 to go on, else the exit status to
 * return. */
int up_vary_read(const char *command, int argc, char **argv, up_vary *vary);

#endif

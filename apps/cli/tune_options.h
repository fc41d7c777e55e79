/* The options of `upstop tune`. */
#ifndef UPSTOP_CLI_TUNE_OPTIONS_H
#define UPSTOP_CLI_TUNE_OPTIONS_H

#include "analysis/tune.h"
#include "apps/cli/command.h"
#include "io/chart.h"

typedef struct up_tune_wish {
    const char *path;        /* of the door sheet, as given */
    up_tune_request request; /* known and facts are filled in later */
    int threads, json;
    const char *csv, *picture, *header, *entries, *sheet; /* file names; NULL: not asked */
    up_chart_format format;
} up_tune_wish;

/* Reads the command line. Returns -1 to go on, else the exit status to return. */
int up_tune_read(int argc, char **argv, up_tune_wish *wish);

#endif

/* The options of `upstop pinch`: ranges of the map, who closes and how, files. */
#ifndef UPSTOP_CLI_PINCH_OPTIONS_H
#define UPSTOP_CLI_PINCH_OPTIONS_H

#include "analysis/pinch_map.h"
#include "apps/cli/command.h"
#include "io/chart.h"

typedef struct up_pinch_request {
    const char *sheet;   /* path as given                               */
    const up_rule *rule; /* NULL: all                                   */
    up_facts facts;      /* what the command line says of who closes how */
    int given[UP_PINCH_AXES];
    up_pinch_range range[UP_PINCH_AXES]; /* SI, where given              */
    up_pinch_axis across;                /* of table and picture                        */
    int threads, draws;
    int samples; /* 0: the plan's own                               */
    uint64_t seed;
    const char *csv, *picture; /* file names; NULL: not asked            */
    up_chart_format format;
    int json, faults;
} up_pinch_request;

/* Reads the command line. Returns -1 to go on, else the exit status to return. */
int up_pinch_read(int argc, char **argv, up_pinch_request *request);

#endif

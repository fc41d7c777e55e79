/* The options of `upstop move`: from words with units to the options of a run. */
#ifndef UPSTOP_CLI_MOVE_OPTIONS_H
#define UPSTOP_CLI_MOVE_OPTIONS_H

#include "apps/cli/command.h"
#include "core/sim/run.h"
#include "io/chart.h"

typedef struct up_move {
    const char *sheet;  /* path as given                                                       */
    up_run_options run; /* complete, but for rod_stiffness while rod_stiffness_given is 0 and the
                                  release while to_opening is given                                    */
    int raising, one_touch;
    double rod_diameter; /* m; NaN: no rod                                                      */
    int rod_stiffness_given;
    double to_opening;       /* m, the switch is released there; NaN: not asked                      */
    double release_time;     /* s, the switch is released then; NaN: not asked                       */
    int tolerance_given;     /* 1: --tolerance was given                                               */
    int draws;               /* closings behind each interval                                       */
    const char *csv, *chart; /* file names; NULL: not asked                                         */
    up_chart_format format;
    int json;
    /* as written, resolved with the sheet */
    const char *from, *to;
} up_move;

/* Reads the command line. Returns -1 to go on, else the exit status to return. */
int up_move_read(int argc, char **argv, up_move *move);

/* Turns openings into travels of this door. closed_travel: m. Returns -1 to go on, else the exit status. */
int up_move_place(up_move *move, double closed_travel);

/* Lets go of the switch at that time of the run. */
void up_move_release(up_move *move, double time);

#endif

/* What `upstop refit` is asked for. */
#ifndef UPSTOP_CLI_REFIT_OPTIONS_H
#define UPSTOP_CLI_REFIT_OPTIONS_H

#include "analysis/refit/balance.h"
#include "analysis/refit/card.h"
#include "analysis/refit/fastener.h"

enum { UP_REFIT_SCREWS = 12, UP_REFIT_NAME = 40 };

/* One screw of the card: named after the place it holds. */
typedef struct up_refit_screw {
    char name[UP_REFIT_NAME];
    up_screw screw;
    int given;      /* 1: by --screw; 0: what such doors usually have (practice) */
    int into_given; /* 1: --screw also says what it goes into                    */
} up_refit_screw;

typedef struct up_refit {
    const char *sheet;
    const char *out, *svg, *pdf; /* file names; NULL: not wanted */
    int json;
    up_card_request request; /* without its `known` */
    int screws;
    up_refit_screw screw[UP_REFIT_SCREWS]; /* those given; up_refit_usual_screws adds the family's */
    double armature_mass;                  /* kg; NaN: not weighed                                 */
    double unbalance;                      /* kg m, measured; NaN: not measured                    */
    up_brush brush;
} up_refit;

/* Returns -1, or an exit status (0 after --help, 2 after one message). */
int up_refit_read(int argc, char **argv, up_refit *refit);

/* One screw as written: "regulator rail=M6 8.8 oiled into weld-nut". Returns -1, or an exit status after one message. */
int up_refit_read_screw(const char *text, up_refit_screw *screw);

#endif

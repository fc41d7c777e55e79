/* What `upstop pinch` finds out before it says anything. */
#ifndef UPSTOP_CLI_PINCH_RUN_H
#define UPSTOP_CLI_PINCH_RUN_H

#include "analysis/pinch_explain.h"
#include "analysis/pinch_table.h"
#include "analysis/pinch_verdict.h"
#include "apps/cli/pinch_faults.h"
#include "apps/cli/pinch_options.h"
#include "io/sheet.h"

enum { UP_PINCH_RULES_MAX = 4, UP_PINCH_STIFFER = 4, UP_PINCH_COLUMNS_MOST = 7 };

/* Factors on the rod's stiffness that a rule with a floor allows too. */
extern const double up_pinch_stiffer_factor[UP_PINCH_STIFFER];

/* What squeezes harder than the worst closing of a map and is none of its closings. */
typedef enum up_pinch_more_kind {
    UP_PINCH_MORE_STIFFER,     /* a stiffer rod, which the rule allows                          */
    UP_PINCH_MORE_DRAWN,       /* a door drawn from the tolerances, at the worst place          */
    UP_PINCH_MORE_UNPROTECTED, /* the attempt after the controller gave up protecting           */
    UP_PINCH_MORE_WHOLE,       /* the worst closing that comes up, from the very bottom         */
    UP_PINCH_MORE_FINE,        /* the worst closing at a finer tolerance of the integrator      */
    UP_PINCH_MORE_FAULT        /* --faults: something broken                                    */
} up_pinch_more_kind;

typedef struct up_pinch_more {
    up_pinch_more_kind kind;
    double force;  /* N                                                */
    double factor; /* on the rod's stiffness; NaN: another kind        */
} up_pinch_more;

enum { UP_PINCH_MORE_MAX = 12 };

/* The map under one rule. */
typedef struct up_pinch_rule {
    up_pinch_study study;
    up_pinch_plan plan;
    void *memory;
    up_pinch_map map;
    up_pinch_verdict verdict;
    double limit; /* N; NaN: the rule has none                                          */
    up_pinch_table table;
    up_status told[UP_PINCH_STARTS]; /* UP_OK: story is there                           */
    up_pinch_story story[UP_PINCH_STARTS];
    up_pinch_start worst;             /* the start with the larger force                            */
    int has_stiffer;                  /* 1: the rule's stiffness is a floor, and some rod was touched      */
    double stiffer[UP_PINCH_STIFFER]; /* N, at the worst place with rods stiffer by the factors */
    double unprotected;               /* N, there, when the controller gives up protecting; NaN: it never does */
    int more;
    up_pinch_more larger[UP_PINCH_MORE_MAX]; /* forces found larger than the worst, largest first */
    int helps;
    up_pinch_help help[UP_PINCH_HELPS_MAX]; /* for the worst of both starts             */
} up_pinch_rule;

typedef struct up_pinch_answer {
    const up_pinch_request *request;
    const up_sheet *sheet;
    int rules;
    up_pinch_rule rule[UP_PINCH_RULES_MAX];
    int closings;   /* of all maps           */
    double seconds; /* the maps took so long */
    /* --faults: one-touch from fully open at 20 degC */
    int has_faults;
    up_door fault_door;
    up_run_options fault_options;
    up_pinch_faults faults;
} up_pinch_answer;

/* Runs everything. *answer: zeroed by the caller, freed with up_pinch_forget in every case.
 * Returns -1, or an exit status after one message on stderr. */
int up_pinch_work_out(const up_pinch_request *request, const up_sheet *sheet, up_workers *workers,
                      up_pinch_answer *answer);
void up_pinch_forget(up_pinch_answer *answer);

/* "stiffer_rod"; static storage */
const char *up_pinch_more_name(up_pinch_more_kind kind);

/* Cell of the worst closing of a rule; -1: no rod was touched. */
int up_pinch_worst_cell(const up_pinch_rule *rule);

#endif

/* Everything the refit card is made of, worked out. */
#ifndef UPSTOP_CLI_REFIT_ANSWER_H
#define UPSTOP_CLI_REFIT_ANSWER_H

#include <stdio.h>

#include "analysis/refit/card.h"
#include "apps/cli/refit_options.h"
#include "io/paper.h"
#include "io/sheet.h"

typedef struct up_refit_answer {
    const up_refit *refit;
    const up_sheet *sheet;
    up_card card;
    up_tightening tightening[UP_REFIT_SCREWS];
    up_brush_answer brush;
    /* armature, at the fastest it turns; NaN without its mass */
    double eccentricity; /* m, permissible                          */
    double unbalance;    /* kg m, permissible, both planes together */
    double speck;        /* kg at UP_REFIT_SPECK_RADIUS, as much as all of it */
    int unbalanced;      /* 1: measured, and more than that         */
} up_refit_answer;

#define UP_REFIT_SPECK_RADIUS 0.010 /* m, where a speck of clay is stuck for the trial */

/* "2.60 to 2.91": two significant digits of the width, `factor` times; "-" when unknown. Returns out. */
char *up_refit_range(double low, double high, double factor, char *out, size_t size);
/* "2.60-2.91", for narrow columns. */
char *up_refit_close_range(double low, double high, char *out, size_t size);

/* "327 to 332": counts, rounded outwards. */
char *up_refit_whole_range(double low, double high, char *out, size_t size);

/* The card as a page of instructions. *paper: zeroed by the caller, freed by it. */
void up_refit_paper(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_screws(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_leads(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_restart(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_acceptance(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_pinch(const up_refit_answer *answer, up_paper *paper);
void up_refit_paper_armature(const up_refit_answer *answer, up_paper *paper);

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_refit_print_json(const up_refit_answer *answer, FILE *file);

/* The words at the foot of the drawn card, and in JSON. */
const char *up_refit_statement(void);

/* Before anything is worked out: can the files be made where they are asked for? -1, or an exit status. */
int up_refit_check_files(const up_refit *refit);
/* Writes text, PDF and SVG as asked for; prints the text when nothing else is. -1, or an exit status. */
int up_refit_write(const up_refit_answer *answer);

#endif

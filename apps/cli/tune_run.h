/* What `upstop tune` finds out before it says anything. */
#ifndef UPSTOP_CLI_TUNE_RUN_H
#define UPSTOP_CLI_TUNE_RUN_H

#include "apps/cli/tune_options.h"
#include "io/sheet.h"

/* What a warning in a file begins with: an earlier one is known by it. */
#define UP_TUNE_WARNING "WARNING (upstop tune): "

enum { UP_TUNE_LINES = 24, UP_TUNE_LINE = 160 };

typedef struct up_tune_answer {
    const up_tune_wish *wish;
    const up_sheet *sheet;
    const up_tune_choice *chosen; /* the recommended one */
    up_facts facts;
    up_tune_result result;
    double limit;   /* N, the smallest of the rules */
    double seconds; /* it took so long              */
    char line[UP_TUNE_LINES][UP_TUNE_LINE];
    const char *origin[UP_TUNE_LINES + 1]; /* how the constants came about, for header and entries; ended by NULL */
    int first_warning, warnings;           /* lines of these that warn: what no file and no text may hide */
    char *new_sheet;                       /* text; NULL: not asked for */
} up_tune_answer;

/* Tunes. *answer: zeroed by the caller, given to up_tune_forget in every case. Returns -1, or an exit status after one
 * message on stderr. */
int up_tune_work_out(const up_tune_wish *wish, const up_sheet *sheet, up_workers *workers, up_tune_answer *answer);
void up_tune_forget(up_tune_answer *answer);

/* "pace, learned profile" */
const char *up_tune_kind_words(int kind);

/* Refuses files that would overwrite one another or the sheet. Returns -1, or an exit status. */
int up_tune_check_files(const up_tune_wish *wish);
/* Writes what was asked for. Returns -1, or an exit status. */
int up_tune_write_files(const up_tune_answer *answer);

#endif

/* What `upstop fit` was asked, and what it found. */
#ifndef UPSTOP_CLI_FIT_RUN_H
#define UPSTOP_CLI_FIT_RUN_H

#include "analysis/fit/fit.h"
#include "apps/cli/read_options.h"

typedef struct up_fit_run {
    const char *path; /* of the sheet */
    int count;        /* recordings */
    const char *file[UP_FIT_RECORDINGS_MAX];
    up_fit_setting setting[UP_FIT_RECORDINGS_MAX];
    up_read_words reading;
    up_recording_options options;
    const char *temperature, *new_sheet, *residuals, *locked, *free_runs;
    char *names[3]; /* of the lists, cut up; owned */
    int bench_supply, json;
    double kelvin;
    up_recording recording[UP_FIT_RECORDINGS_MAX]; /* (count_read) */
    up_recorded recorded[UP_FIT_RECORDINGS_MAX];
    int count_read;
    up_fit_result result;
} up_fit_run;

const char *up_fit_setting_word(up_fit_setting setting); /* "with glass", "drive alone", "held" */
const char *up_fit_verdict_word(up_fit_verdict verdict); /* "told", "hinted" ... */
const char *up_fit_motion_word(up_motion motion);        /* "pulses" ... */

/* Command line. Returns -1 to go on, or the exit status after one message. */
int up_fit_options(int argc, char **argv, up_fit_run *run);

void up_fit_print_text(const up_fit_run *run, const up_sheet *sheet, FILE *out);
/* Returns 0, or -1 when the JSON cannot be written. */
int up_fit_print_json(const up_fit_run *run, const up_sheet *sheet, FILE *out);

/* The new sheet: before the work whether it can be written, behind it the writing. -1 to go on, or the exit status. */
int up_fit_check_sheet(const up_fit_run *run);
int up_fit_write_sheet(const up_fit_run *run, const up_sheet *sheet);

#endif

/* The picture of a tuning: worst squeezing force over the rate of false reversals, for each principle and profile. */
#ifndef UPSTOP_IO_TUNE_CHART_H
#define UPSTOP_IO_TUNE_CHART_H

#include <stdio.h>

#include "analysis/tune.h"
#include "io/chart.h"

typedef struct up_tune_chart {
    const up_tune_result *result;
    double limit;      /* N, drawn as a line; NaN: none           */
    const char *title; /* UTF-8, one line                         */
    const char *rules; /* UTF-8, one line: what it was judged by */
} up_tune_chart;

/* Draws into an open stream, which stays open. Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_tune_chart_write(const up_tune_chart *chart, up_chart_format format, FILE *file);

#endif

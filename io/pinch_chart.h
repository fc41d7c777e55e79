/* The picture of a pinch map: for each rule, the largest force found over the opening and one other axis. */
#ifndef UPSTOP_IO_PINCH_CHART_H
#define UPSTOP_IO_PINCH_CHART_H

#include <stdio.h>

#include "analysis/pinch_table.h"
#include "io/chart.h"
#include "io/chart_colour.h"

enum { UP_PINCH_CHART_PANELS = 2 };

typedef struct up_pinch_chart_panel {
    const up_pinch_map *map;
    double limit; /* N; NaN: none                                    */
    int worst;    /* cell of the map, ringed; -1: none               */
} up_pinch_chart_panel;

typedef struct up_pinch_chart {
    up_pinch_axis across;
    const char *title;  /* UTF-8, one line                              */
    const char *ranges; /* what else varies, UTF-8, one line; NULL: nothing */
    int panels;
    up_pinch_chart_panel panel[UP_PINCH_CHART_PANELS];
} up_pinch_chart;

/* Draws into an open stream, which stays open. Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_pinch_chart_write(const up_pinch_chart *chart, up_chart_format format, FILE *file);

/* The colour of a force, for one who draws a legend: lightness falls all the way, so that it also reads without colours. */
up_rgb up_pinch_chart_shade(double force);
/* The colour for digits on it. */
up_colour up_pinch_chart_letter(double force);

#endif

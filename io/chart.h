/* The picture of one closing or opening: opening, current, forces and what the detector made of them, one below the
 * other over the same time, with the events numbered along the top and named at the side. */
#ifndef UPSTOP_IO_CHART_H
#define UPSTOP_IO_CHART_H

#include <stdio.h>

#include "io/trace.h"

typedef enum up_chart_format { UP_CHART_SVG, UP_CHART_PNG } up_chart_format;

/* The panel at the foot, which looks closer at one thing. */
typedef enum up_chart_detail {
    UP_CHART_NO_DETAIL,
    UP_CHART_ROD_DETAIL,    /* force on the rod and detector over the time since contact         */
    UP_CHART_OPENING_DETAIL /* loads and detector over the opening, up to where it turned round   */
} up_chart_detail;

typedef struct up_chart {
    const up_trace *trace;
    double closed_travel;   /* m, glass travel at the up-stop                                                   */
    double header_depth;    /* m, the header seal is touched this far before it                                 */
    double rod_opening;     /* m, a test rod stands there; NaN: none                                            */
    double force_limit;     /* N, drawn across the forces as the limit; NaN: none                               */
    const char *limit_text; /* what the limit is called, UTF-8; NULL: nothing                                 */
    up_chart_detail detail; /* left out when the run has nothing to show there                                */
    const char *title;      /* UTF-8, one line                                                                  */
    const char *outcome;    /* UTF-8, one line below the title                                                  */
} up_chart;

/* Format by the file name's end, .svg or .png in any case. Returns 0, or -1 for any other name. */
int up_chart_format_of(const char *path, up_chart_format *format);

/* Draws into an open stream, which stays open. Returns 0, or -1 when memory is short, the trace holds fewer than two
 * samples or the stream refuses a write. */
int up_chart_write(const up_chart *chart, up_chart_format format, FILE *file);

#endif

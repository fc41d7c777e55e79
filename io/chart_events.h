/* The numbered events of a chart: discs along the top with their lines, and the key at the side. */
#ifndef UPSTOP_IO_CHART_EVENTS_H
#define UPSTOP_IO_CHART_EVENTS_H

#include "io/chart.h"
#include "io/chart_panel.h"

enum { UP_CHART_EVENTS_MAX = 22 };

/* Events of the same instant share one number. */
typedef struct up_chart_mark {
    double time;         /* s                                            */
    double x, label_x;   /* of the line, and of the disc beside it       */
    size_t first, count; /* in up_chart_marks.index                      */
} up_chart_mark;

typedef struct up_chart_marks {
    size_t index[UP_CHART_EVENTS_MAX]; /* into trace->event                */
    up_chart_mark mark[UP_CHART_EVENTS_MAX];
    size_t count; /* of marks                         */
} up_chart_marks;

/* Chooses the events worth telling and places their numbers above a panel over time. */
void up_chart_marks_place(const up_chart *chart, const up_panel *panel, up_chart_marks *marks);

/* Discs above `top`. */
void up_chart_marks_discs(const up_panel *panel, double top, const up_chart_marks *marks);

/* Dotted lines through one panel over time. */
void up_chart_marks_lines(const up_panel *panel, const up_chart_marks *marks);

/* Lines and discs in a panel over the milliseconds since the rod was touched. */
void up_chart_marks_closer(const up_panel *panel, const up_chart *chart, const up_chart_marks *marks);

/* The key, from (left, top) down to bottom. */
void up_chart_marks_key(cairo_t *cairo, const up_chart *chart, const up_chart_marks *marks, double left, double top,
                        double bottom);

#endif

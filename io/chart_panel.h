/* One panel of a chart: a frame with axes, and curves in it. Drawn with cairo; lengths in points of the picture. */
#ifndef UPSTOP_IO_CHART_PANEL_H
#define UPSTOP_IO_CHART_PANEL_H

#include <cairo.h>

#include "io/chart_axis.h"
#include "io/chart_colour.h"

/* Sizes of letters and lines, points: made for a picture 1200 wide that is read at arm's length. */
#define UP_CHART_LETTER 16.0
#define UP_CHART_SMALL 14.0
#define UP_CHART_HEADING 23.0

typedef struct up_panel {
    cairo_t *cairo;
    double left, top, width, height;
    up_axis across, up;
    int turned;  /* 1: small values at the top (an opening: closed is up); across is never turned unless flipped */
    int flipped; /* 1: large values at the left */
} up_panel;

double up_panel_x(const up_panel *panel, double across);
double up_panel_y(const up_panel *panel, double up);

void up_chart_ink(cairo_t *cairo, up_colour colour, double strength); /* strength 0..1: how opaque */
void up_chart_letters(cairo_t *cairo, double size, int bold);
/* share of the text's width left of x: 0 starts there, 0.5 centred, 1 ends there */
void up_chart_say(cairo_t *cairo, double x, double y, double share, const char *text);
double up_chart_text_width(cairo_t *cairo, const char *text);

/* Grid, marks and numbers. words_across: 1 when the numbers below the frame are wanted. */
void up_panel_frame(const up_panel *panel, int words_across);

/* Heading above the frame, at its left: "motor current (A)". Returns the x where it ends. */
double up_panel_heading(const up_panel *panel, const char *text);

/* Short sample of a line and its name, from x on. dashed: 1. Returns the x where it ends. */
double up_panel_legend(const up_panel *panel, double x, up_colour colour, int dashed, const char *text);

/* A tinted band between two heights. */
void up_panel_band(const up_panel *panel, double from, double to, up_colour colour, double strength);

/* A straight line across at a height. */
void up_panel_level(const up_panel *panel, double height, up_colour colour, int dashed);

/* value(context, i, &across, &up): point i of count; not finite: the line is broken there. Curves are cut at the frame.
 * Points that fall into the same half point across are drawn by their extremes only. */
typedef void up_panel_point(const void *context, size_t i, double *across, double *up);
typedef struct up_curve {
    up_panel_point *point;
    const void *context;
    size_t count;
    up_colour colour;
    double strength, width;
    int dashed;
} up_curve;
void up_panel_curve(const up_panel *panel, const up_curve *curve);

#endif

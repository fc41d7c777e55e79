/* Small plots and bars made of letters, for the terminal: braille dots where the locale has them, plain ASCII where
 * not; colours only where asked for. */
#ifndef UPSTOP_IO_TERMINAL_PLOT_H
#define UPSTOP_IO_TERMINAL_PLOT_H

#include <stddef.h>
#include <stdio.h>

#include "io/chart_colour.h"

typedef struct up_plot_look {
    int columns; /* width in letters, 40..200                    */
    int unicode; /* 1: UTF-8 may be printed                      */
    int colour;  /* 1: colours by escape sequences, the 16 of the terminal's own theme */
} up_plot_look;

/* What suits a stream: width of its terminal (or COLUMNS, or 80), UTF-8 by the locale's character set, colour only on
 * a terminal that is not "dumb" and where NO_COLOR is not set. Uses the locale that the program has set. */
up_plot_look up_plot_look_of(FILE *file);

typedef struct up_plot_curve {
    const double *up; /* (count); not finite: the line is broken there */
    up_colour colour;
    int level; /* 1: drawn thin, and only where nothing else stands: a threshold */
} up_plot_curve;

enum { UP_PLOT_CURVES_MAX = 4 };

typedef struct up_plot {
    const char *heading;  /* line above, with the unit                                       */
    const double *across; /* (count) rising or falling                                       */
    size_t count;
    int curves; /* 1..UP_PLOT_CURVES_MAX                                           */
    up_plot_curve curve[UP_PLOT_CURVES_MAX];
    double across_low, across_high; /* what the width shows                                  */
    double up_low, up_high;         /* what the height shows                                 */
    int rows;                       /* height in letters, 2..20                                        */
    int turned;                     /* 1: small values at the top                                      */
    int flipped;                    /* 1: large values at the left                                     */
    const char *across_name;        /* "s": numbers and this name below the plot; NULL: none        */
} up_plot;

/* Returns 0, or -1 when memory is short or the stream refuses a write. */
int up_plot_print(const up_plot *plot, const up_plot_look *look, FILE *file);

/* A bar of `share` (0..1) of `columns` letters, filled up with spaces; nothing else, no line end. */
void up_plot_bar(double share, int columns, up_colour colour, const up_plot_look *look, FILE *file);

/* Starts and ends a colour; nothing where look has none. */
void up_plot_colour(up_colour colour, const up_plot_look *look, FILE *file);
void up_plot_plain(const up_plot_look *look, FILE *file);

#endif

/* From a standard normal number to a number of the sheet: monotone, so that a small move of the one is a small move of the
 * other. */
#ifndef UPSTOP_ANALYSIS_CASE_DRAW_H
#define UPSTOP_ANALYSIS_CASE_DRAW_H

#include "analysis/known.h"

/* How one number of a sheet is drawn: normal about its value with a standard deviation of spread / 1.96, cut off beyond
 * 1.5 spreads and beyond the bounds of the entry, counts whole: the distribution of up_known_draw (analysis/spread.h). */
typedef struct up_draw {
    up_number number;
    double value, deviation; /* SI                                                            */
    double below, between;   /* share of the uncut distribution below the low cut, and between the cuts */
    double low, high;        /* SI, the cuts                                                  */
    int whole;               /* 1: a count                                                    */
} up_draw;

/* 1 and *draw filled when the number varies: it has a spread, is not absent, the family and the model use it. */
int up_draw_prepare(const up_known *known, up_number number, up_draw *draw);

/* The number, SI, for a standard normal z of which `share` = up_normal_below(z). */
double up_draw_value(const up_draw *draw, double share);

#endif

/* A row of printed times made into a time base: mended, cut where time starts anew, even if it is even. */
#ifndef UPSTOP_IO_RECORDING_TIMES_H
#define UPSTOP_IO_RECORDING_TIMES_H

#include "io/recording.h"

enum { UP_PARTS_MAX = 1000 };

typedef struct up_times {
    double *t; /* (n) s; changed in place */
    size_t n;
    double usual; /* s: the usual step; NaN when there is none */
    size_t mended, first_mended;
    size_t spread, first_spread; /* equal times drawn apart */
    int parts;
    size_t part[UP_PARTS_MAX + 1]; /* first rows of the parts, and n */
} up_times;

/* Fills missing times, puts single wrong ones right, finds where time starts anew. Returns 0 when these are no times at
 * all: nothing rises. */
int up_times_mend(up_times *times);

/* Looks at [t, t + n), one part. stated: interval stated elsewhere, NaN none; grain: s, as fine
 * as the times can be. Fills interval (NaN: uneven), start, shortest,
 * longest, rounded_to, gaps and the reason. *agrees: the stated interval was taken. */
void up_times_judge(const double *t, size_t n, double stated, double grain, up_time_base *base, int *agrees);

/* Draws equal times of an uneven base apart, so that they rise. Returns how many were moved. */
size_t up_times_spread(double *t, size_t n);

/* The roundest number within low..high: fewest digits of itself or of its reciprocal. */
double up_roundest(double low, double high);

#endif

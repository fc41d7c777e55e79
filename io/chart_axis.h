/* Round numbers along an axis, and the words for them. */
#ifndef UPSTOP_IO_CHART_AXIS_H
#define UPSTOP_IO_CHART_AXIS_H

#include <stddef.h>

typedef struct up_axis {
    double low, high; /* what the axis shows                                     */
    double step;      /* between marks; 1, 2 or 5 times a power of ten           */
    double first;     /* first mark, a multiple of step, at or above low         */
    int marks;        /* marks at first, first + step, ... up to high            */
    int decimals;     /* digits behind the point that tell the marks apart       */
} up_axis;

/* An axis over low..high with about `wanted` marks (2..20). widen: 1 lets the ends grow to whole steps.
 * Nonsense (not finite, empty or reversed range) becomes low..low + 1. */
up_axis up_axis_over(double low, double high, int wanted, int widen);

/* The words of a mark: decimal point in every locale, a true minus sign. out: 32 bytes are enough. */
char *up_axis_mark(const up_axis *axis, int mark, char *out, size_t size);

#endif

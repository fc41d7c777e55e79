/* The middle 95 % of numbers that were drawn. */
#ifndef UPSTOP_ANALYSIS_MIDDLE_H
#define UPSTOP_ANALYSIS_MIDDLE_H

/* Sorts values (count of them, no NaN; infinite ones allowed) and gives their 2.5 % and 97.5 % quantile, by straight lines
 * between the sorted values, (count - 1) p from the lowest; both NaN when there are none. Any unit, kept. */
void up_middle_95(double *values, int count, double *low, double *high);

#endif

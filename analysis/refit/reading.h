/* A figure of the refit card with its interval. */
#ifndef UPSTOP_ANALYSIS_REFIT_READING_H
#define UPSTOP_ANALYSIS_REFIT_READING_H

/* Of the sheet as it stands, and the 95 % interval over the doors that its tolerances allow: 2.5 % and 97.5 % quantile of
 * the draws in which it exists; both NaN when that is fewer than half of them. NaN: it does not exist there. */
typedef struct up_reading {
    double value, low, high;
    int count; /* draws in which it exists */
} up_reading;

/* From `draws` values, NaN where it does not exist; column is used up: sorted, the existing ones first. Quantiles by
 * straight lines between the sorted values, (n - 1) p from the lowest. */
up_reading up_reading_of(double *column, int draws, double value);

#endif

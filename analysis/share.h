/* A counted share and how well the count knows it. */
#ifndef UPSTOP_ANALYSIS_SHARE_H
#define UPSTOP_ANALYSIS_SHARE_H

/* A share of closings, say: counted, and its two-sided 95 % interval after Clopper and Pearson, Biometrika 26 (1934) 404. */
typedef struct up_share {
    int hits, of;
    double share, low, high; /* 0..1; NaN, 0, 1 when of is 0 */
} up_share;

/* hits 0..of; anything else gives hits, of and an interval of 0..1. */
up_share up_share_of(int hits, int of);

/* The same interval for another confidence, 0 < confidence < 1. */
void up_share_interval(int hits, int of, double confidence, double *low, double *high);

#endif

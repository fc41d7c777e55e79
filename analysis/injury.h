/* What squeezing forces do to people: figures from the literature, for advice beside a verdict and never instead of it.
 *
 * The law's limit is 100 N; bearable is less. Advice only: small samples, one kind of injury each. */
#ifndef UPSTOP_ANALYSIS_INJURY_H
#define UPSTOP_ANALYSIS_INJURY_H

#include "analysis/judge.h"

typedef struct up_injury {
    double force;       /* N                                                      */
    double deviation;   /* N, standard deviation over the people; NaN: not given  */
    const char *effect; /* what happens at that force                             */
    const char *people; /* on whom it was found                                   */
    const char *source; /* journal, volume, year, pages                           */
    up_source known;    /* UP_SOURCE_READ: read in a public page                  */
    const char *mark;   /* the page it was read in                                */
} up_injury;

/* Rows by rising force; NULL outside 0..up_injury_count() - 1. Static storage. */
int up_injury_count(void);
const up_injury *up_injury_at(int index);

/* How many rows, counted from the lowest, a squeezing force (N) reaches: rows 0..n-1 have force <= peak. 0 for NaN. */
int up_injury_reached(double peak_force);

/* The one advisory line for a force: the row with the highest force reached; NULL when none is. */
const up_injury *up_injury_advice(double peak_force);

#endif

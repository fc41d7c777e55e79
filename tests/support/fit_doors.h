/* Doors drawn from a sheet's tolerances, run, recorded and fitted: how often do the intervals hold the truth? */
#ifndef UPSTOP_TESTS_FIT_DOORS_H
#define UPSTOP_TESTS_FIT_DOORS_H

#include "analysis/fit/fit.h"
#include "analysis/workers.h"

typedef struct fit_doors_tally {
    int doors, failed;
    int used[UP_FIT_COUNT], told[UP_FIT_COUNT], held[UP_FIT_COUNT]; /* doors in which the entry was looked at, was told,
                                                                       lay in its interval */
} fit_doors_tally;

enum { FIT_DOORS_MAX = 2000 };

/* Crossed arms, typical sheet; each door held at 20 kHz, alone at 5 kHz, with its glass up to the stop at 1 kHz, noise 10 mV
 * and 20 mA, steps of the same. workers may be NULL. */
void fit_doors(int doors, up_workers *workers, fit_doors_tally *tally);

/* Share of all intervals that hold the truth, 0..1. */
double fit_doors_share(const fit_doors_tally *tally);

#endif

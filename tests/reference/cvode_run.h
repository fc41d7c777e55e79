/* The same run with another integrator: SUNDIALS CVODE instead of the library's own.
 *
 * Controller, encoder, detector and regimes are the library's (up_run_with); what is independent here is the integration
 * of the motion, the place of every change of regime in time, and, if asked for, the equations themselves (closed_form.h).
 * Winding, case and protector temperatures are full states, eleven in all, unless asked for otherwise. */
#ifndef UPSTOP_TESTS_REFERENCE_CVODE_RUN_H
#define UPSTOP_TESTS_REFERENCE_CVODE_RUN_H

#include "core/sim/run.h"

typedef enum cvode_method {
    CVODE_BDF_JACOBIAN,    /* BDF, Newton, dense LU, Jacobian written out */
    CVODE_BDF_DIFFERENCES, /* the same, Jacobian by difference quotients  */
    CVODE_ADAMS_JACOBIAN,  /* Adams, Newton, dense LU                     */
    CVODE_ADAMS_FIXED,     /* Adams, fixed-point iteration                */
    CVODE_METHODS
} cvode_method;

const char *cvode_method_name(cvode_method method);

typedef struct cvode_settings {
    cvode_method method;
    double tolerance; /* relative; absolute ones are this times what counts as one in each state */
    int closed_form;  /* 1: equations from closed_form.h, 0: the library's                       */
    int books;        /* 1: loads in the middle of a span for the ledger; 0: left out, the ledger is wrong */
    int heat_apart;   /* 1: temperatures run on straight over each step as in the library, eight states; 0: eleven */
    double longest;   /* s, no longer step; 0: no bound                                          */
    int order;        /* highest; 0: CVODE's own, 5 for BDF, 12 for Adams                        */
    double newton;    /* share of the error test at which Newton may stop; 0: CVODE's own, 0.1   */
} cvode_settings;

/* Accurate: BDF with Jacobian, eleven states, equations from closed_form.h. */
cvode_settings cvode_settings_accurate(double tolerance);
/* Fast: the fastest found, see docs/performance.md. */
cvode_settings cvode_settings_fast(double tolerance);

typedef struct cvode_work {
    long steps, rates, jacobians, guards, setups, error_fails, newton_fails, restarts;
    long sleepers; /* changes of regime that CVODE's root finder could not see, found by halving */
} cvode_work;

typedef struct cvode_run cvode_run;

/* NULL when out of memory. One may do many closings, one after another. */
cvode_run *cvode_run_make(const cvode_settings *settings);
void cvode_run_free(cvode_run *run);

/* As up_run; options->tolerance is not looked at. work may be NULL. */
up_status cvode_run_closing(cvode_run *run, const up_door *door, const up_run_options *options, const up_sink *sink,
                            up_outcome *outcome, up_run_counts *counts, cvode_work *work);

#endif

/* Feeds the fit with recordings of simulated drives: voltage, current and pulses at an even rate, with noise and steps. */
#ifndef UPSTOP_TESTS_FEEDER_H
#define UPSTOP_TESTS_FEEDER_H

#include "analysis/fit/recorded.h"
#include "core/sim/run.h"

enum { FEEDER_SAMPLES = 120000 };

typedef struct feeder_wish {
    double interval;                   /* s between samples                                       */
    double from;                       /* s of the run at which the recording begins              */
    double volts_noise, amps_noise;    /* r.m.s.                                                  */
    double volts_step, amps_step;      /* quantisation                                            */
    int with_ripple, with_battery;     /* 1: current with commutation ripple; a second voltage    */
    int without_pulses, without_volts; /* 1: left out                                             */
    double current_filter;             /* s, first order; 0: none                                 */
    uint64_t seed;
} feeder_wish;

typedef struct feeder {
    feeder_wish wish;
    up_recorded recorded; /* what the fit sees */
    up_outcome outcome;
    size_t count;
    double leads[FEEDER_SAMPLES], battery[FEEDER_SAMPLES], current[FEEDER_SAMPLES], pulses[FEEDER_SAMPLES];
    double filtered;
} feeder;

/* 10 mV and 20 mA of noise, steps of 10 mV and 20 mA, pulses. */
void feeder_usual(feeder_wish *wish, double interval, uint64_t seed);

/* Runs the door with these options (their sample interval is set here) and records. Fails the program when the run does. */
void feeder_run(feeder *f, const up_values *values, up_run_options *options);

/* From arrays of one's own, SI, already noisy or not: leads and current, no pulses. */
void feeder_arrays(feeder *f, const double *leads, const double *current, size_t count, double interval);

/* Armature held: only the winding lives, stepped finely here and apart from the library. On at 2 ms, off and open at `off`. */
void feeder_locked(feeder *f, const up_values *values, double off, double end);

/* Options: leads direct from a start, raising from `on` to `off` s, then open, to the end. */
void feeder_hand(up_run_options *options, double start_travel, double on, double off, double end);

/* Regulator off, nothing but drive and output shaft turn, which the library's simulation cannot do: stepped finely here and
 * apart from it (Runge and Kutta, closed form of the worm's efficiency). On at 2 ms, leads open from `off`. */
void feeder_free(feeder *f, const up_values *values, double off, double end);

#endif

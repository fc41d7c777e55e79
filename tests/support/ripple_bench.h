/* Made-up recordings of a motor whose speed is known at every moment: what analysis/fit has to find again. */
#ifndef UPSTOP_TESTS_SUPPORT_RIPPLE_BENCH_H
#define UPSTOP_TESTS_SUPPORT_RIPPLE_BENCH_H

#include <stdint.h>

#include "analysis/fit/recorded.h"
#include "analysis/fit/ripple.h"

enum { BENCH_SAMPLES_MOST = 1 << 20, BENCH_LINES = 8 };

typedef struct bench_line {
    double order; /* periods a turn */
    double size;  /* A, amplitude at running speed; grows with the current */
} bench_line;

/* One run: at rest, switched on, running with a wandering load, switched off and coasting to a stop. */
typedef struct bench {
    double rate, seconds;
    double on, off; /* s */
    double wander;  /* share of the current by which the load swings, slowly */
    double noise;   /* A, standard deviation, white */
    bench_line line[BENCH_LINES];
    double fixed_frequency, fixed_size; /* a line that does not move, Hz, A; all the time                 */
    double step;                        /* A, of the instrument; 0: none                                    */
    double filter;                      /* Hz, third-order low pass before sampling; 0: none                     */
    uint64_t seed;
    int lowering; /* 1: everything negative */
} bench;

/* 20 kHz, 6 s, on from 0.4 to 5.3 s, load swings by a fifth, no noise, no lines. */
bench bench_default(void);
/* Fills the arrays inside; tracks stay valid until the next call. */
void bench_make(const bench *b);
extern up_track bench_current, bench_voltage;
/* rad/s of the armature at a time. */
double bench_speed(double time);
/* Request with the motor's true numbers as guide. */
up_ripple_request bench_request(void);
/* Runs up_ripple_find in memory of its own size; the speeds stay valid until the next call. */
void bench_find(const up_ripple_request *request, up_ripple_result *result);

/* Told speeds against the truth. */
typedef struct bench_score {
    int frames;       /* frames in which the motor turned steadily enough (beyond start and stop)       */
    int told, within; /* of those: told; within `allowed` of the truth                                 */
    int covered;      /* told and the truth inside the interval                                          */
    int wrong;    /* of all frames, start and stop too: told, off by more than 2 %, and its interval does not say so */
    double worst; /* relative error, of the told ones among `frames`                                 */
    double typical; /* root mean square of it                                                          */
} bench_score;
bench_score bench_judge(const bench *b, const up_ripple_result *result, double allowed);

#endif

/* Times, medians, and programs started from outside. */
#ifndef UPSTOP_BENCH_STOPWATCH_H
#define UPSTOP_BENCH_STOPWATCH_H

/* Processor time of this thread, s: other work on the machine does not count. */
double stopwatch_now(void);

/* Of `count` numbers, which are sorted on the way. */
double median(double *numbers, int count);

/* Slope of log(y) over log(x), least squares. */
double exponent(const double *x, const double *y, int count);

typedef struct started {
    double wall;      /* s, from before the start to the end */
    long peak_memory; /* KiB, largest resident set           */
} started;

/* Runs a program with its output thrown away; arguments end with NULL, the first is the program's path. 0: it ran and said 0. */
int start_program(char *const arguments[], started *how);

#endif

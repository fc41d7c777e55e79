/* What several closings side by side are worth: a batch against one run after the other, one figure a line,
 * `name value unit`.
 *
 * usage: batch_bench
 *
 * The work: the four typical doors, three one-touch closings onto a rod each, every door in 32 slightly different states
 * of its battery: 384 closings. Then the same closings shaken all the while by pushes and presses of normal distribution,
 * 10 N and 6 N, values 5 ms apart, invented. Times are processor time of one thread, taken in turns, median over the
 * rounds. Bits that differ between the two ways end the program. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench/stopwatch.h"
#include "core/base/counter_random.h"
#include "core/batch/batch.h"
#include "tests/reference/doors.h"

enum { STATES = 32, CLOSINGS = TYPICAL_DOORS * ROD_CLOSINGS * STATES, ROUNDS = 9, WIDTHS_MAX = 4, VALUES = 2000 };

typedef struct job {
    up_door door;
    up_run_options options;
    up_shaking shaking;
    up_outcome alone, together;
} job;

static job jobs[CLOSINGS];
static up_batch_item items[CLOSINGS];
static unsigned char memory[UP_BATCH_MEMORY];

static void die(const char *what) {
    fprintf(stderr, "batch_bench: %s\n", what);
    exit(1);
}

static void make_jobs(void) {
    for (int i = 0; i < CLOSINGS; i++) {
        job *j = &jobs[i];
        const int kind = i / STATES;
        up_values values;
        typical_door(kind / ROD_CLOSINGS, &values);
        rod_closing(kind % ROD_CLOSINGS, &j->options);
        if (up_door_prepare(&values, j->options.temperature, &j->door) != UP_OK) {
            die("a typical door cannot be prepared");
        }
        j->options.open_voltage = values.supply_voltage * (1.0 - 0.004 * (i % STATES));
        items[i] = (up_batch_item){&j->door, &j->options, &j->together, NULL, UP_OK};
    }
}

static double time_alone(void) {
    const double start = stopwatch_now();
    for (int i = 0; i < CLOSINGS; i++) {
        job *j = &jobs[i];
        if (up_run(&j->door, &j->options, NULL, &j->alone, NULL) != UP_OK) {
            die("a closing failed");
        }
    }
    return stopwatch_now() - start;
}

static double time_together(int width) {
    const double start = stopwatch_now();
    if (up_batch_run(items, CLOSINGS, width, memory, sizeof memory) != UP_OK) {
        die("the batch was refused");
    }
    return stopwatch_now() - start;
}

static void compare(void) {
    for (int i = 0; i < CLOSINGS; i++) {
        if (items[i].status != UP_OK || memcmp(&jobs[i].alone, &jobs[i].together, sizeof jobs[i].alone) != 0) {
            die("a closing of the batch is not the same as alone");
        }
    }
}

/* Every closing by another stretch of one series. */
static void shake_jobs(void) {
    static double push[VALUES + CLOSINGS], press[VALUES + CLOSINGS];
    for (int k = 0; k < VALUES + CLOSINGS; k++) {
        push[k] = 10.0 * up_random_normal(1, 0, (uint64_t)k);
        press[k] = fabs(6.0 * up_random_normal(1, 1, (uint64_t)k));
    }
    for (int i = 0; i < CLOSINGS; i++) {
        jobs[i].shaking = (up_shaking){-0.01, 0.005, VALUES, push + i, press + i};
        jobs[i].options.shaking = &jobs[i].shaking;
    }
}

static void measure(const char *what) {
    static double alone[ROUNDS], together[WIDTHS_MAX][ROUNDS];
    const int *width = up_batch_widths();
    for (int round = 0; round < ROUNDS; round++) {
        alone[round] = time_alone();
        for (int w = 0; width[w] != 0; w++) {
            together[w][round] = time_together(width[w]);
            compare();
        }
    }
    const double one = median(alone, ROUNDS);
    printf("%sclosings_per_second %.6g 1/s\n", what, CLOSINGS / one);
    for (int w = 0; width[w] != 0; w++) {
        const double time = median(together[w], ROUNDS);
        printf("batch_%d_%sclosings_per_second %.6g 1/s\n", width[w], what, CLOSINGS / time);
        printf("batch_%d_%sspeed_ratio %.4g 1\n", width[w], what, one / time);
    }
}

int main(void) {
    make_jobs();
    measure("");
    shake_jobs();
    measure("shaken_");
    printf("batch_memory %zu B\n", up_batch_memory());
    return 0;
}

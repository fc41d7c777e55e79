/* How fast a closing is, and how right: against SUNDIALS CVODE in the same run, one figure a line, `name value unit`.
 *
 * usage: closing_bench                 the figures
 *        closing_bench alternatives    CVODE's ways of doing it, and the library's tolerances, side by side
 *
 * The work: the four typical doors, three one-touch closings onto a rod each, all encoder edges located. Both sides run the
 * same controller, encoder and ledger; CVODE uses the library's right-hand side. Times are processor time of one thread,
 * taken in turns, median over the rounds. Errors are against CVODE at 1e-10 with the equations written a second time.
 * docs/performance.md says what is compared with what, and why it is fair. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench/stopwatch.h"
#include "core/batch/batch.h"
#include "tests/reference/closing.h"
#include "tests/reference/cvode_run.h"
#include "tests/reference/doors.h"

enum { JOBS = TYPICAL_DOORS * ROD_CLOSINGS, ROUNDS = 15, REPEATS = 5, GROWTH = 8, STARTS = 31 };

typedef struct job {
    up_door door;
    up_run_options options;
    closing truth;
} job;

/* One way of doing all jobs: the library at a tolerance, or CVODE. */
typedef struct way {
    const char *name;
    double tolerance; /* of the library; 0: its default                */
    cvode_run *cvode; /* NULL: the library                             */
    int lanes;        /* 1: the library, closings side by side          */
    double time[ROUNDS];
    closing_gap gap;
    double steps, rates; /* of one round                               */
} way;

static job jobs[JOBS];
static closing answer;

static void die(const char *what) {
    fprintf(stderr, "closing_bench: %s\n", what);
    exit(1);
}

static void print(const char *name, double value, const char *unit) {
    printf("%s %.6g %s\n", name, value, unit);
    (void)fflush(stdout);
}

static cvode_run *make_cvode(cvode_settings settings) {
    cvode_run *run = cvode_run_make(&settings);
    if (run == NULL) {
        die("CVODE cannot be set up");
    }
    return run;
}

static void make_jobs(void) {
    cvode_run *accurate = make_cvode(cvode_settings_accurate(1e-10));
    for (int i = 0; i < JOBS; i++) {
        up_values values;
        typical_door(i / ROD_CLOSINGS, &values);
        rod_closing(i % ROD_CLOSINGS, &jobs[i].options);
        if (up_door_prepare(&values, jobs[i].options.temperature, &jobs[i].door) != UP_OK) {
            die("a typical door cannot be prepared");
        }
        closing *truth = &jobs[i].truth;
        const up_sink sink = closing_sink(truth);
        if (cvode_run_closing(accurate, &jobs[i].door, &jobs[i].options, &sink, &truth->outcome, &truth->counts,
                              NULL) != UP_OK) {
            die("the accurate closing failed");
        }
    }
    cvode_run_free(accurate);
}

/* ---- one way, all jobs ------------------------------------------------------------------------------------------------- */

static up_status do_job(way *w, const job *j, const up_sink *sink, up_outcome *outcome, double *steps, double *rates) {
    up_run_counts counts = {0};
    if (w->cvode != NULL) {
        cvode_work work;
        const up_status status = cvode_run_closing(w->cvode, &j->door, &j->options, sink, outcome, &counts, &work);
        *steps += (double)work.steps;
        *rates += (double)work.rates;
        return status;
    }
    up_run_options options = j->options;
    options.tolerance = w->tolerance > 0 ? w->tolerance : options.tolerance;
    const up_status status = up_run(&j->door, &options, sink, outcome, &counts);
    *steps += (double)counts.steps;
    *rates += (double)counts.derivative_calls;
    return status;
}

/* All jobs of a round as one batch. The bits of each are those of the closing by itself (tests/laws/lanes_test.c). */
static void do_batch(const way *w) {
    static up_batch_item items[JOBS * REPEATS];
    static up_outcome outcomes[JOBS * REPEATS];
    static unsigned char memory[UP_BATCH_MEMORY];
    for (int i = 0; i < JOBS * REPEATS; i++) {
        const job *j = &jobs[i % JOBS];
        items[i] = (up_batch_item){&j->door, &j->options, &outcomes[i], NULL, UP_OK};
    }
    if (up_batch_run(items, JOBS * REPEATS, 0, memory, sizeof memory) != UP_OK) {
        die(w->name);
    }
    for (int i = 0; i < JOBS * REPEATS; i++) {
        if (items[i].status != UP_OK || outcomes[i].peak_rod_force != outcomes[i % JOBS].peak_rod_force) {
            die(w->name);
        }
    }
}

static void do_one_by_one(way *w) {
    up_outcome outcome;
    double steps = 0, rates = 0;
    for (int repeat = 0; repeat < REPEATS; repeat++) {
        for (int i = 0; i < JOBS; i++) {
            if (do_job(w, &jobs[i], NULL, &outcome, &steps, &rates) != UP_OK) {
                die(w->name);
            }
        }
    }
    w->steps = steps / REPEATS;
    w->rates = rates / REPEATS;
}

/* Edges are located but thrown away: what is timed is the simulation. */
static void time_round(way *w, int round) {
    const double start = stopwatch_now();
    if (w->lanes) {
        do_batch(w);
    } else {
        do_one_by_one(w);
    }
    w->time[round] = (stopwatch_now() - start) / REPEATS;
}

static void check(way *w) {
    double steps = 0, rates = 0;
    for (int i = 0; i < JOBS; i++) {
        const up_sink sink = closing_sink(&answer);
        if (do_job(w, &jobs[i], &sink, &answer.outcome, &steps, &rates) != UP_OK) {
            die(w->name);
        }
        w->gap = closing_worst(w->gap, closing_compare(&answer, &jobs[i].truth));
    }
}

static void measure(way *ways, int count, int rounds) {
    for (int i = 0; i < count; i++) {
        check(&ways[i]);
    }
    for (int round = 0; round < rounds; round++) {
        for (int i = 0; i < count; i++) {
            time_round(&ways[i], round);
        }
    }
}

/* Median over the rounds of the time of one over the time of the other in the same round. */
static double ratio(const way *over, const way *under) {
    double quotient[ROUNDS];
    for (int round = 0; round < ROUNDS; round++) {
        quotient[round] = over->time[round] / under->time[round];
    }
    return median(quotient, ROUNDS);
}

static double time_of(const way *w, int rounds) {
    double copy[ROUNDS];
    memcpy(copy, w->time, sizeof copy);
    return median(copy, rounds) / JOBS;
}

/* ---- the figures --------------------------------------------------------------------------------------------------------- */

static void errors(const char *who, const closing_gap *gap) {
    char name[80];
    const struct {
        const char *name;
        double value;
        const char *unit;
    } row[] = {{"force_error_N", gap->force, "N"},
               {"edge_error_us", gap->swift_edge * 1e6, "us"},
               {"slow_edge_error_us", gap->edge * 1e6, "us"},
               {"moving_time_error_us", gap->moving * 1e6, "us"},
               {"decisions_differ", gap->decisions_differ || gap->edges_differ, "1"}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        (void)snprintf(name, sizeof name, "closing_%s%s", who, row[i].name);
        print(name, row[i].value, row[i].unit);
    }
}

static void compare_with_cvode(void) {
    cvode_settings full = cvode_settings_fast(1e-6);
    full.heat_apart = 0;
    static way ways[4] = {{.name = "library"},
                          {.name = "CVODE"},
                          {.name = "CVODE, eleven states"},
                          {.name = "library in lanes", .lanes = 1}};
    ways[1].cvode = make_cvode(cvode_settings_fast(1e-6));
    ways[2].cvode = make_cvode(full);
    measure(ways, 4, ROUNDS);
    print("closing_speed_ratio", ratio(&ways[1], &ways[3]), "1");
    print("closing_speed_ratio_one_by_one", ratio(&ways[1], &ways[0]), "1");
    print("closing_speed_ratio_eleven_states", ratio(&ways[2], &ways[3]), "1");
    print("closing_lanes", up_batch_widths()[0], "1");
    print("closing_time_us", time_of(&ways[3], ROUNDS) * 1e6, "us");
    print("closing_time_one_by_one_us", time_of(&ways[0], ROUNDS) * 1e6, "us");
    print("closing_cvode_time_us", time_of(&ways[1], ROUNDS) * 1e6, "us");
    print("closings_per_second", 1.0 / time_of(&ways[3], ROUNDS), "1/s");
    print("closings_per_second_one_by_one", 1.0 / time_of(&ways[0], ROUNDS), "1/s");
    errors("", &ways[0].gap);
    errors("cvode_", &ways[1].gap);
    print("closing_steps", ways[0].steps / JOBS, "1");
    print("closing_derivative_calls", ways[0].rates / JOBS, "1");
    print("closing_cvode_steps", ways[1].steps / JOBS, "1");
    print("closing_cvode_derivative_calls", ways[1].rates / JOBS, "1");
    cvode_run_free(ways[1].cvode);
    cvode_run_free(ways[2].cvode);
}

/* The same door with 1, 2, 4 .. 128 pulses a turn of the armature: time over the number of edges passed. The detector is
 * blunted and the way free, so that the motion is the same each time. */
static void growth(void) {
    static up_door door;
    double edges[GROWTH], times[GROWTH];
    for (int i = 0; i < GROWTH; i++) {
        up_values values;
        up_run_options options;
        up_outcome outcome;
        double round[ROUNDS];
        typical_door(UP_FAMILY_CROSSED_ARMS, &values);
        up_run_options_default(&options);
        values.encoder_pulses = (double)(1 << i);
        values.detect_force = 2000;
        if (up_door_prepare(&values, options.temperature, &door) != UP_OK) {
            die("the door of the growth measurement cannot be prepared");
        }
        for (int n = 0; n < ROUNDS; n++) {
            const double start = stopwatch_now();
            for (int repeat = 0; repeat < 4 * REPEATS; repeat++) {
                if (up_run(&door, &options, NULL, &outcome, NULL) != UP_OK) {
                    die("a closing of the growth measurement failed");
                }
            }
            round[n] = (stopwatch_now() - start) / (4 * REPEATS);
        }
        edges[i] = (double)outcome.edges;
        times[i] = median(round, ROUNDS);
        char name[60];
        (void)snprintf(name, sizeof name, "closing_time_us_at_%.0f_edges", edges[i]);
        print(name, times[i] * 1e6, "us");
    }
    print("closing_growth_exponent", exponent(edges, times, GROWTH), "1");
    print("closing_time_per_edge_ns", (times[GROWTH - 1] - times[0]) / (edges[GROWTH - 1] - edges[0]) * 1e9, "ns");
}

static void start_up(const char *figure, char *const arguments[], const char *memory) {
    double wall[STARTS];
    started how = {0, 0};
    long peak = 0;
    for (int i = 0; i < STARTS; i++) {
        if (start_program(arguments, &how) > 1) {
            fprintf(stderr, "closing_bench: %s could not be run; %s is left out\n", arguments[0], figure);
            return;
        }
        wall[i] = how.wall;
        peak = how.peak_memory > peak ? how.peak_memory : peak;
    }
    print(figure, median(wall, STARTS) * 1e3, "ms");
    print(memory, (double)peak, "KiB");
}

static void programs(void) {
    char *program = getenv("UPSTOP");
    if (program == NULL) {
        fprintf(stderr, "closing_bench: UPSTOP does not name the program; start-up is left out\n");
        return;
    }
    char sheet[] = UPSTOP_SOURCE_DIR "/examples/front-door.yaml";
    char version[] = "--version", checks[] = "check", move[] = "move", rod[] = "--rod", where[] = "25mm@120mm";
    char *const bare[] = {program, version, NULL};
    char *const check_sheet[] = {program, checks, sheet, NULL};
    char *const closing_of_sheet[] = {program, move, sheet, rod, where, NULL};
    start_up("startup_ms", bare, "startup_peak_memory");
    start_up("check_ms", check_sheet, "check_peak_memory");
    start_up("move_ms", closing_of_sheet, "move_peak_memory");
}

/* ---- alternatives -------------------------------------------------------------------------------------------------------- */

enum { CVODE_WAYS = 12, LIBRARY_WAYS = 5, FEW_ROUNDS = 7 };

static int cvode_ways(way *ways) {
    const cvode_settings fast = cvode_settings_fast(1e-6);
    cvode_settings plain = fast;
    plain.order = 0;
    plain.newton = 0;
    static const char *const name[CVODE_WAYS] = {"BDF order 4, Newton 0.6, Jacobian, 8 states",
                                                 "the same without the ledger",
                                                 "the same, no bound on a step",
                                                 "BDF order 5, Newton 0.1, Jacobian, 8 states",
                                                 "BDF order 4, Newton 0.1, Jacobian, 8 states",
                                                 "BDF order 5, Newton 0.6, Jacobian, 8 states",
                                                 "BDF, difference quotients, 8 states",
                                                 "Adams, Newton, Jacobian, 8 states",
                                                 "Adams, fixed point, 8 states",
                                                 "BDF order 4, Newton 0.6, Jacobian, 11 states",
                                                 "BDF order 5, Newton 0.1, Jacobian, 11 states",
                                                 "BDF order 4, Newton 0.6, 8 states, rtol 1e-7"};
    cvode_settings s[CVODE_WAYS];
    for (int i = 0; i < CVODE_WAYS; i++) {
        s[i] = i < 3 || i == 9 || i == 11 ? fast : plain;
    }
    s[1].books = 0;
    s[2].longest = 0;
    s[4].order = 4;
    s[5].newton = 0.6;
    s[6].method = CVODE_BDF_DIFFERENCES;
    s[7].method = CVODE_ADAMS_JACOBIAN;
    s[8].method = CVODE_ADAMS_FIXED;
    s[9].heat_apart = 0;
    s[10].heat_apart = 0;
    s[11].tolerance = 1e-7;
    for (int i = 0; i < CVODE_WAYS; i++) {
        ways[i] = (way){.name = name[i], .cvode = make_cvode(s[i])};
    }
    return CVODE_WAYS;
}

static void alternatives(void) {
    static way ways[CVODE_WAYS + LIBRARY_WAYS];
    static const double tolerance[LIBRARY_WAYS] = {1e-4, 3e-5, 1e-5, 3e-6, 1e-6};
    static const char *const name[LIBRARY_WAYS] = {"the library at 1e-4", "the library at 3e-5", "the library at 1e-5",
                                                   "the library at 3e-6", "the library at 1e-6"};
    int count = cvode_ways(ways);
    for (int i = 0; i < LIBRARY_WAYS; i++) {
        ways[count++] = (way){.name = name[i], .tolerance = tolerance[i]};
    }
    measure(ways, count, FEW_ROUNDS);
    printf("| way | us per closing | steps | rates | force N | edge us | slow edge us | moving us | decisions |\n");
    printf("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |\n");
    for (int i = 0; i < count; i++) {
        const way *w = &ways[i];
        printf("| %s | %.0f | %.0f | %.0f | %.2g | %.2g | %.2g | %.2g | %s |\n", w->name, time_of(w, FEW_ROUNDS) * 1e6,
               w->steps / JOBS, w->rates / JOBS, w->gap.force, w->gap.swift_edge * 1e6, w->gap.edge * 1e6,
               w->gap.moving * 1e6, w->gap.decisions_differ || w->gap.edges_differ ? "differ" : "agree");
        cvode_run_free(w->cvode);
    }
}

int main(int count, char **arguments) {
    if (count > 2 || (count == 2 && strcmp(arguments[1], "alternatives") != 0)) {
        fprintf(stderr, "usage: closing_bench [alternatives]\n");
        return 2;
    }
    make_jobs();
    if (count == 2) {
        alternatives();
        return 0;
    }
    compare_with_cvode();
    growth();
    programs();
    return 0;
}

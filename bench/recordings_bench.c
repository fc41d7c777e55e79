/* What reading a recording costs: a table of 10 million rows against a plain loop of strtod and against `wc -l`, on the same
 * file in the same minute. One figure a line, `name value unit`.
 *
 * usage: recordings_bench     with UPSTOP in the environment: the program, whose memory is measured. UPSTOP_BENCH_ROWS: rows
 *                             of the table, 10 000 000 unless set. The file is made in TMPDIR and taken away again.
 *
 * Times are by the clock on the wall, the file is in the page cache, the three take turns, and of each the fastest of five
 * rounds counts: other work on the machine only adds. csv_read_processor_MBps is by processor time of the one thread. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "analysis/fit/fit.h"
#include "bench/stopwatch.h"
#include "io/recording.h"
#include "io/threads.h"
#include "tests/support/fit_doors.h"

enum { ROUNDS = 5, PATH = 512, LINE = 256, COLUMNS = 3 };

static char folder[PATH - 32], path[PATH];

static void clean_up(void) {
    (void)unlink(path);
    (void)rmdir(folder);
}

static void die(const char *what) {
    fprintf(stderr, "recordings_bench: %s\n", what);
    exit(1);
}

static double fastest(const double *times, int count) {
    double least = times[0];
    for (int i = 1; i < count; i++) {
        least = times[i] < least ? times[i] : least;
    }
    return least;
}

static double wall(void) {
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A motor that starts, runs with ripple and stalls, as a two-channel oscilloscope would write it; about 30 bytes a row. */
static void make_file(long rows) {
    const char *temporary = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.400s/upstop-bench-XXXXXX", temporary != NULL ? temporary : "/tmp");
    if (mkdtemp(folder) == NULL) {
        die("no folder for the file");
    }
    snprintf(path, sizeof path, "%s/recording.csv", folder);
    (void)atexit(clean_up);
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        die("the file cannot be made");
    }
    fprintf(file, "Time (s),Voltage (V),Current (A)\n");
    unsigned noise = 1;
    for (long i = 0; i < rows; i++) {
        noise = noise * 1664525u + 1013904223u;
        const double wave = (double)(i % 997) / 997 - 0.5, small = (double)(noise >> 16) / 65536 - 0.5;
        fprintf(file, "%.7f,%.5f,%.6f\n", (double)i * 2e-6 - 0.01, 12.4 - 0.2 * wave + 0.05 * small,
                4.1 + wave + 0.1 * small);
    }
    if (fclose(file) != 0) {
        die("the file cannot be written");
    }
}

static double read_once(long rows, double *processor) {
    up_recording recording;
    up_recording_options options;
    up_problem problem;
    up_recording_options_usual(&options);
    const double busy = stopwatch_now(), start = wall();
    if (up_recording_read(path, &options, &recording, &problem) != 0 || recording.rows != (size_t)rows ||
        recording.column_count != COLUMNS || !(fabs(recording.base[0].interval / 2e-6 - 1) < 1e-9)) {
        die("the recording was not understood");
    }
    const double took = wall() - start;
    *processor = stopwatch_now() - busy;
    up_recording_free(&recording);
    return took;
}

/* What a person would write: a line, and strtod until it ends; the numbers are kept, too. */
static double strtod_once(long rows) {
    char line[LINE];
    double *kept = malloc((size_t)rows * COLUMNS * sizeof *kept);
    const double start = wall();
    FILE *file = fopen(path, "r");
    size_t count = 0;
    if (kept == NULL || file == NULL || fgets(line, sizeof line, file) == NULL) {
        die("the file cannot be read");
    }
    while (fgets(line, sizeof line, file) != NULL) {
        char *at = line;
        for (int k = 0; k < COLUMNS; k++) {
            char *end;
            kept[count++] = strtod(at, &end);
            at = end + 1;
        }
    }
    fclose(file);
    const double took = wall() - start;
    if (count != (size_t)rows * COLUMNS) {
        die("the loop of strtod lost numbers");
    }
    free(kept);
    return took;
}

static double wc_once(void) {
    char *const arguments[] = {"/usr/bin/wc", "-l", path, NULL};
    started how;
    if (start_program(arguments, &how) != 0) {
        die("wc did not run");
    }
    return how.wall;
}

static void memory(long rows) {
    char *program = getenv("UPSTOP");
    started how;
    if (program == NULL) {
        return;
    }
    char *const arguments[] = {program, "read", path, NULL};
    if (start_program(arguments, &how) != 0) {
        die("upstop read did not run");
    }
    printf("csv_read_peak_memory_MB %.4g MB\n", (double)how.peak_memory * 1024 / 1e6);
    printf("csv_read_memory_per_numeric_data %.3g 1\n",
           (double)how.peak_memory * 1024 / ((double)rows * COLUMNS * sizeof(double)));
}

/* The same recording fitted: the numbers are there already, only the fit is timed. Nothing can come of this made-up motor but
 * the work is that of a real one. */
static void fit_once(long rows) {
    up_recording recording;
    up_recording_options options;
    up_problem problem;
    up_recorded recorded;
    up_known known = {0};
    static up_fit_result result;
    up_recording_options_usual(&options);
    if (up_recording_read(path, &options, &recording, &problem) != 0 || recording.rows != (size_t)rows) {
        die("the recording was not understood");
    }
    up_recording_tracks(&recording, &recorded);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known.values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, known.spread);
    const up_fit_request request = {
        .known = &known, .temperature = 293.15, .recordings = 1, .recording = {{&recorded, UP_FIT_WITH_GLASS, 0}}};
    const double start = wall();
    if (up_fit(&request, &result) != UP_OK) {
        die("the recording was not fitted");
    }
    printf("fit_seconds %.3g s\n", wall() - start);
    up_recording_free(&recording);
}

/* 400 doors of which the truth is known; UPSTOP_BENCH_DOORS: another number. */
static void coverage(void) {
    const char *said = getenv("UPSTOP_BENCH_DOORS");
    fit_doors_tally tally;
    up_workers *const workers = up_threads_start(up_threads_available());
    fit_doors(said != NULL ? (int)strtol(said, NULL, 10) : 400, workers, &tally);
    up_threads_stop(workers);
    printf("fit_coverage_percent %.4g %%\n", 100 * fit_doors_share(&tally));
}

int main(void) {
    const char *said = getenv("UPSTOP_BENCH_ROWS");
    const long rows = said != NULL ? strtol(said, NULL, 10) : 10000000;
    double ours[ROUNDS], busy[ROUNDS], plain[ROUNDS], wc[ROUNDS];
    struct stat about;
    if (rows < 1000) {
        die("UPSTOP_BENCH_ROWS: 1000 or more");
    }
    make_file(rows);
    if (stat(path, &about) != 0) {
        die("the file is gone");
    }
    (void)wc_once(); /* into the page cache */
    for (int round = 0; round < ROUNDS; round++) {
        ours[round] = read_once(rows, &busy[round]);
        plain[round] = strtod_once(rows);
        wc[round] = wc_once();
    }
    const double took = fastest(ours, ROUNDS), megabytes = (double)about.st_size / 1e6;
    printf("csv_read_MBps %.4g MB/s\n", megabytes / took);
    printf("csv_read_vs_strtod_ratio %.3g 1\n", fastest(plain, ROUNDS) / took);
    printf("csv_read_vs_wc_ratio %.3g 1\n", fastest(wc, ROUNDS) / took);
    printf("csv_file_MB %.4g MB\n", megabytes);
    printf("csv_read_s %.3g s\n", took);
    printf("csv_read_processor_MBps %.4g MB/s\n", megabytes / fastest(busy, ROUNDS));
    memory(rows);
    fit_once(rows);
    coverage();
    return 0;
}

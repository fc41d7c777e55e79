/* What judging costs: campaigns against CVODE, on threads and on ranks, the pinch map, the detector on a chip. One figure a
 * line, `name value unit`.
 *
 * usage: judge_bench     with UPSTOP in the environment: the program; upstop-ranks and the detector's programs are looked
 *                        for beside it. Started in the repository's root.
 *
 * The campaign is that of `upstop vary examples/front-door.yaml`: a year of ordinary use, roads, wind, slams and other loads
 * included. Against CVODE both sides make the same cases and run them on one thread, in turns, processor time. Threads
 * and ranks are measured by the clock on the wall, in turns with one; other work on the machine shows. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "analysis/campaign.h"
#include "bench/stopwatch.h"
#include "io/sheet.h"
#include "io/threads.h"
#include "tests/reference/cvode_run.h"

enum { ROUNDS = 5, THREAD_BLOCKS = 24, PATH = 4096 };

static const char *const SHEET = "examples/front-door.yaml";
static const double CVODE_TOLERANCE = 1e-6, OWN_TOLERANCE = 1e-4;

static up_sheet sheet;
static up_case_maker maker;
static up_campaign campaign;

static void die(const char *what) {
    fprintf(stderr, "judge_bench: %s\n", what);
    exit(1);
}

static double wall(void) {
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void prepare(void) {
    up_findings findings = {0};
    up_plan plan;
    if (up_sheet_read_file(SHEET, &sheet, &findings) != 0) {
        die("the example sheet cannot be read; start it in the repository's root");
    }
    up_plan_default(&plan);
    if (up_case_maker_prepare(&sheet.known, &plan, OWN_TOLERANCE, &maker) != UP_OK) {
        die("the campaign cannot be prepared");
    }
    campaign = (up_campaign){.maker = &maker, .seed = 1};
}

/* ---- a desk that counts -------------------------------------------------------------------------------------------- */

typedef struct counting_desk {
    long next, blocks, reversals, failed; /* touched by several threads at once */
} counting_desk;

static int64_t next_block(void *context) {
    counting_desk *desk = context;
    const long block = __atomic_fetch_add(&desk->next, 1, __ATOMIC_RELAXED);
    return block < desk->blocks ? block : -1;
}

static void take_block(void *context, int64_t block, const up_closing_row *rows) {
    counting_desk *desk = context;
    (void)block;
    for (int i = 0; i < UP_BLOCK; i++) {
        __atomic_fetch_add(&desk->reversals, rows[i].reversals > 0, __ATOMIC_RELAXED);
        __atomic_fetch_add(&desk->failed, rows[i].status != UP_OK, __ATOMIC_RELAXED);
    }
}

static long run_blocks(up_workers *workers, long blocks) {
    const size_t size = up_campaign_memory() * (size_t)(workers != NULL ? workers->threads : 1);
    void *memory = aligned_alloc(64, (size + 63) / 64 * 64);
    counting_desk counts = {.blocks = blocks};
    const up_campaign_desk desk = {&counts, next_block, take_block, NULL};
    if (memory == NULL || up_campaign_run(&campaign, workers, &desk, memory, size) != UP_OK) {
        die("the campaign did not run");
    }
    free(memory);
    if (counts.failed > 0) {
        die("closings of the campaign failed");
    }
    return counts.reversals;
}

/* ---- against CVODE ------------------------------------------------------------------------------------------------- */

static long run_with_cvode(cvode_run *run) {
    static up_case made;
    static double z[UP_CASE_NUMBERS_MAX];
    long reversals = 0;
    for (uint64_t number = 1; number <= UP_BLOCK; number++) {
        up_outcome outcome;
        if (up_campaign_case(&campaign, number, z, &made) != UP_OK ||
            cvode_run_closing(run, &made.door, &made.options, NULL, &outcome, NULL, NULL) != UP_OK) {
            die("a case failed with CVODE");
        }
        reversals += outcome.reversals > 0;
    }
    return reversals;
}

static void against_cvode(void) {
    const cvode_settings settings = cvode_settings_fast(CVODE_TOLERANCE);
    cvode_run *run = cvode_run_make(&settings);
    double own[ROUNDS], other[ROUNDS];
    long own_reversals = 0, other_reversals = 0;
    if (run == NULL) {
        die("no memory for CVODE");
    }
    for (int round = 0; round < ROUNDS; round++) {
        double start = stopwatch_now();
        own_reversals = run_blocks(NULL, 1);
        own[round] = stopwatch_now() - start;
        start = stopwatch_now();
        other_reversals = run_with_cvode(run);
        other[round] = stopwatch_now() - start;
    }
    cvode_run_free(run);
    const double ours = median(own, ROUNDS) / UP_BLOCK, theirs = median(other, ROUNDS) / UP_BLOCK;
    printf("campaign_speed_ratio %.4g 1\n", theirs / ours);
    printf("campaign_closing_time_us %.4g us\n", 1e6 * ours);
    printf("campaign_cvode_closing_time_us %.4g us\n", 1e6 * theirs);
    printf("campaign_closings_per_second_and_core %.4g 1/s\n", 1.0 / ours);
    printf("campaign_reversals_of_256 %ld 1\n", own_reversals);
    printf("campaign_cvode_reversals_of_256 %ld 1\n", other_reversals);
}

/* ---- threads --------------------------------------------------------------------------------------------------------- */

static void on_threads(void) {
    up_workers *two = up_threads_start(2);
    double alone[ROUNDS], together[ROUNDS];
    if (two == NULL || two->threads != 2) {
        die("no second thread");
    }
    for (int round = 0; round < ROUNDS; round++) {
        double start = wall();
        (void)run_blocks(NULL, THREAD_BLOCKS);
        alone[round] = wall() - start;
        start = wall();
        (void)run_blocks(two, THREAD_BLOCKS);
        together[round] = wall() - start;
    }
    up_threads_stop(two);
    const double one = median(alone, ROUNDS), both = median(together, ROUNDS);
    printf("campaign_threads2_ratio %.4g 1\n", one / both);
    printf("campaign_closings_per_second %.5g 1/s\n", THREAD_BLOCKS * UP_BLOCK / both);
}

/* ---- programs -------------------------------------------------------------------------------------------------------- */

/* Path of something in the folder of the program under test. */
static const char *beside(const char *program, const char *name) {
    static char path[2][PATH];
    static int turn;
    char *out = path[turn = 1 - turn];
    const char *slash = strrchr(program, '/');
    snprintf(out, PATH, "%.*s/%s", slash != NULL ? (int)(slash - program) : 1, slash != NULL ? program : ".", name);
    return out;
}

static double time_program(char *const arguments[]) {
    started how;
    if (start_program(arguments, &how) != 0) {
        fprintf(stderr, "judge_bench: %s did not run\n", arguments[0]);
        return nan("");
    }
    return how.wall;
}

static double time_ranks(const char *ranks, const char *count, const char *closings) {
    char program[PATH], number[16], many[16];
    snprintf(program, sizeof program, "%s", ranks);
    snprintf(number, sizeof number, "%s", count);
    snprintf(many, sizeof many, "%s", closings);
    char *const arguments[] = {"/usr/bin/env",
                               "OMPI_ALLOW_RUN_AS_ROOT=1",
                               "OMPI_ALLOW_RUN_AS_ROOT_CONFIRM=1",
                               "mpirun",
                               "--oversubscribe",
                               "-n",
                               number,
                               program,
                               (char *)SHEET,
                               "-n",
                               many,
                               "--count-only",
                               "--threads",
                               "1",
                               NULL};
    return time_program(arguments);
}

/* The start of mpirun and of the ranks, measured with next to no closings, is taken off both. */
static void on_ranks(const char *program) {
    enum { RANK_ROUNDS = 3 };
    const char *ranks = beside(program, "upstop-ranks");
    double start[RANK_ROUNDS], one[RANK_ROUNDS], two[RANK_ROUNDS];
    for (int round = 0; round < RANK_ROUNDS; round++) {
        start[round] = time_ranks(ranks, "2", "256");
        one[round] = time_ranks(ranks, "1", "24576");
        two[round] = time_ranks(ranks, "2", "24576");
    }
    const double begin = median(start, RANK_ROUNDS), alone = median(one, RANK_ROUNDS), both = median(two, RANK_ROUNDS);
    printf("campaign_ranks2_ratio %.4g 1\n", (alone - begin) / (both - begin));
    printf("campaign_ranks2_ratio_with_start %.4g 1\n", alone / both);
    printf("campaign_ranks_start_seconds %.3g s\n", begin);
}

static void pinch_map(const char *program) {
    double time[ROUNDS];
    char path[PATH];
    snprintf(path, sizeof path, "%s", program);
    char *const arguments[] = {path, "pinch", (char *)SHEET, NULL};
    for (int round = 0; round < ROUNDS; round++) {
        started how;
        (void)start_program(arguments, &how); /* status 1: a verdict failed, which is no news of this door */
        time[round] = how.wall;
    }
    printf("pinch_map_seconds %.3g s\n", median(time, ROUNDS));
}

static void detector_cost(const char *program) {
    char vectors[PATH], replay[PATH], command[3 * PATH];
    snprintf(vectors, sizeof vectors, "%s", beside(program, "tests/detector/detector_vectors"));
    snprintf(replay, sizeof replay, "%s", beside(program, "tests/detector/detector_replay"));
    snprintf(command, sizeof command, "bash tools/detector-cost '%s' '%s'", vectors, replay);
    fflush(stdout);
    if (system(command) != 0) { /* NOLINT(cert-env33-c): our own script, paths of our own build */
        fprintf(stderr, "judge_bench: tools/detector-cost failed\n");
    }
}

int main(void) {
    const char *program = getenv("UPSTOP");
    (void)setvbuf(stdout, NULL, _IOLBF, 0); /* figures come as they are found */
    prepare();
    against_cvode();
    on_threads();
    if (program != NULL) {
        pinch_map(program);
        on_ranks(program);
        detector_cost(program);
    }
    up_sheet_free(&sheet);
    return 0;
}

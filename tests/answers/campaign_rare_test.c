/* Splitting on real closings against counting them. Source: brute force, with the interval of Clopper and Pearson. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/campaign_rare.h"
#include "analysis/campaign_tally.h"
#include "analysis/share.h"
#include "io/threads.h"

#ifdef UPSTOP_SANITIZED
enum { BLOCKS = 6, POPULATION = 200, POPULATIONS = 5 };
#else
enum { BLOCKS = 24, POPULATION = 400, POPULATIONS = 8 };
#endif

typedef struct counter {
    int next, hits, closings; /* touched by several threads at once */
} counter;

static int64_t next_of(void *context) {
    counter *const c = context;
    const int turn = __atomic_fetch_add(&c->next, 1, __ATOMIC_SEQ_CST);
    return turn < BLOCKS ? turn : -1;
}

static void count_rows(void *context, int64_t block, const up_closing_row *rows) {
    counter *const c = context;
    (void)block;
    for (int i = 0; i < UP_BLOCK; i++) {
        __atomic_fetch_add(&c->closings, rows[i].status == UP_OK, __ATOMIC_SEQ_CST);
        __atomic_fetch_add(&c->hits, rows[i].false_reversal, __ATOMIC_SEQ_CST);
    }
}

static up_known known;
static up_case_maker maker;

static up_share count(up_workers *workers) {
    const size_t size = up_campaign_memory() * (size_t)workers->threads;
    void *const memory = malloc(size);
    counter c = {0};
    const up_campaign campaign = {&maker, 21, NULL};
    const up_campaign_desk desk = {&c, next_of, count_rows, NULL};
    assert_non_null(memory);
    assert_int_equal(up_campaign_run(&campaign, workers, &desk, memory, size), UP_OK);
    free(memory);
    return up_share_of(c.hits, c.closings);
}

static void split(up_workers *workers, up_rare_result *result) {
    const up_campaign_rare request = {
        .maker = &maker, .seed = 22, .population = POPULATION, .populations = POPULATIONS};
    const size_t size = up_campaign_rare_memory(&request, workers->threads);
    void *const memory = malloc(size);
    assert_non_null(memory);
    assert_int_equal(up_campaign_rare_run(&request, workers, memory, 64, result), UP_MEMORY_TOO_SMALL);
    assert_int_equal(up_campaign_rare_run(&request, workers, memory, size, result), UP_OK);
    free(memory);
}

static void splitting_and_counting_agree(void **state) {
    up_workers *const workers = up_threads_start(2);
    up_rare_result rare;
    up_plan plan;
    (void)state;
    memset(&known, 0, sizeof known);
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &known.values);
    up_values_fallback_spread(UP_FAMILY_SINGLE_ARM, known.spread);
    up_plan_default(&plan);
    plan.temperature_low = 283.15;
    assert_int_equal(up_case_maker_prepare(&known, &plan, 1e-4, &maker), UP_OK);
    const up_share counted = count(workers);
    split(workers, &rare);
    print_message("counted %d of %d: %.4g (%.4g to %.4g); split: %.4g (%.4g to %.4g), %d levels, %.0f closings\n",
                  counted.hits, counted.of, counted.share, counted.low, counted.high, rare.probability, rare.low,
                  rare.high, rare.levels, (double)rare.evaluations);
    assert_true(counted.hits >= 5);   /* enough to compare with */
    assert_true(counted.share < 0.1); /* and a level to climb   */
    assert_true(rare.levels >= 2);
    /* with 95 % on the side of counting too, one honest comparison in some fifty would fail */
    double low, high;
    up_share_interval(counted.hits, counted.of, 0.999, &low, &high);
    assert_true(rare.low <= high && rare.high >= low);
    up_threads_stop(workers);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(splitting_and_counting_agree)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

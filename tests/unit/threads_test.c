/* Shared work: each piece done once, results independent of the number of threads. No outside reference: the wanted
 * counts follow from the contract in workers.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "io/threads.h"

enum { PIECES = 10007 };

typedef struct tally {
    int times[PIECES];
    uint32_t result[PIECES];
} tally;

static void work(void *context, int first, int end) {
    tally *const t = context;
    for (int i = first; i < end; i++) {
        uint32_t x = (uint32_t)i + 1;
        for (int k = 0; k < 50 + i % 97; k++) {
            x = x * 1664525U + 1013904223U;
        }
        t->times[i]++;
        t->result[i] = x;
    }
}

static void each_piece_is_done_once_whatever_the_threads(void **state) {
    (void)state;
    static tally alone;
    up_share_work(NULL, PIECES, work, &alone);
    for (int threads = 1; threads <= 5; threads++) {
        static tally shared;
        shared = (tally){{0}, {0}};
        up_workers *workers = up_threads_start(threads);
        assert_non_null(workers);
        assert_in_range(workers->threads, 1, threads);
        up_share_work(workers, PIECES, work, &shared);
        for (int i = 0; i < PIECES; i++) {
            assert_int_equal(shared.times[i], 1);
            assert_int_equal(shared.result[i], alone.result[i]);
        }
        up_threads_stop(workers);
    }
}

static void one_crew_serves_many_jobs_of_any_size(void **state) {
    (void)state;
    static tally shared;
    up_workers *workers = up_threads_start(3);
    int wanted = 0;
    for (int job = 0; job < 3000; job++) {
        const int count = job % 4 == 0 ? 0 : job % 7; /* none, one, fewer and more than the threads */
        up_share_work(workers, count, work, &shared);
        wanted += count > 0;
        assert_int_equal(shared.times[0], wanted);
    }
    up_threads_stop(workers);
}

static void no_threads_no_crew_and_stopping_nothing_is_allowed(void **state) {
    (void)state;
    assert_null(up_threads_start(0));
    assert_null(up_threads_start(-3));
    up_threads_stop(NULL);
    up_threads_stop(up_threads_start(4)); /* never used */
    assert_true(up_threads_available() >= 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_piece_is_done_once_whatever_the_threads),
        cmocka_unit_test(one_crew_serves_many_jobs_of_any_size),
        cmocka_unit_test(no_threads_no_crew_and_stopping_nothing_is_allowed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

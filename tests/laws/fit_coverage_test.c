/* Do the 95 % intervals of the fit hold the truth in 95 of 100 recordings?
 *
 * Doors are drawn from a sheet's tolerances, run (held, alone, with the glass up to the stop), recorded with noise and steps,
 * and fitted with the sheet as earlier knowledge. Truth and interval are then independent of any single draw's luck: the
 * share of intervals that hold the truth is binomial. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "io/entry_texts.h"
#include "io/threads.h"
#include "tests/support/fit_doors.h"

#ifdef UPSTOP_SANITIZED
enum { DOORS = 40 };
#else
enum { DOORS = 400 };
#endif

/* Below 91 % or so a quantity's own intervals would be too narrow beyond chance (four deviations of the binomial with 400
 * are 4.4 %). The winding's heat capacity is a by-product: the case's and the protector's warming, which the fit follows
 * with the sheet's numbers, is as large as its interval. */
static double least_share(int q) {
    return q == UP_FIT_winding_capacity ? 0.84 : 0.906;
}

static void intervals_hold_the_truth(void **state) {
    (void)state;
    fit_doors_tally tally;
    up_workers *const workers = up_threads_start(up_threads_available());
    fit_doors(DOORS, workers, &tally);
    up_threads_stop(workers);
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        printf("  %-28s %6.2f %% of %d, told in %d\n", up_entry_text_of_number(up_fit_number((up_fit_quantity)q))->key,
               100.0 * tally.held[q] / tally.used[q], tally.used[q], tally.told[q]);
        assert_int_equal(tally.used[q], DOORS);
        assert_true(DOORS < 400 || tally.held[q] >= least_share(q) * DOORS);
    }
    printf("  fit_coverage_percent %.2f\n", 100 * fit_doors_share(&tally));
    assert_int_equal(tally.failed, 0);
    assert_true(DOORS < 400 || (fit_doors_share(&tally) >= 0.93 && fit_doors_share(&tally) <= 0.97));
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(intervals_hold_the_truth)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

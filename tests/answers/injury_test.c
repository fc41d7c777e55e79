/* Advisory forces against the papers named in each row (figures read in the public abstracts that the rows name). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/injury.h"

static const struct {
    const char *source;
    double force, deviation; /* N; 0: not given */
} published[] = {
    {"Journal of Biomechanics 44(11), 2011", 36.9, 17.8},
    {"Journal of Biomechanics 44(11), 2011", 43.4, 19.9},
    {"Journal of Biomechanics 44(11), 2011", 97.2, 51.8},
    {"Plastische Chirurgie 44(1), 2012", 50, 0},
    {"Plastische Chirurgie 44(1), 2012", 78.4, 0},
    {"ISO/TS 15066:2016, table A.2", 110, 0},
    {"ISO/TS 15066:2016, table A.2", 140, 0},
    {"ISO/TS 15066:2016, table A.2", 150, 0},
    {"doi 10.1016/j.injury.2011.12.013", 300, 0},
    {"doi 10.1016/j.injury.2011.12.013", 500, 0},
};

static void every_published_force_stands_once_with_its_source(void **state) {
    (void)state;
    assert_int_equal(up_injury_count(), sizeof published / sizeof published[0]);
    for (size_t p = 0; p < sizeof published / sizeof published[0]; p++) {
        int found = 0;
        for (int i = 0; i < up_injury_count(); i++) {
            const up_injury *row = up_injury_at(i);
            const double deviation = up_is_absent(row->deviation) ? 0 : row->deviation;
            found += strstr(row->source, published[p].source) && row->force == published[p].force &&
                     deviation == published[p].deviation && row->known == UP_SOURCE_READ && *row->mark;
        }
        assert_int_equal(found, 1);
    }
}

static void advice_takes_the_highest_force_reached(void **state) {
    (void)state;
    assert_null(up_injury_advice(36.8));
    assert_null(up_injury_advice(NAN));
    assert_true(up_injury_advice(36.9)->force == 36.9);
    assert_true(up_injury_advice(77)->force == 50);
    assert_true(up_injury_advice(99.9)->force == 97.2); /* passes the law, is more than most bear */
    assert_true(up_injury_advice(9000)->force == 500);
    assert_int_equal(up_injury_reached(9000), up_injury_count());
    for (int i = 1; i < up_injury_count(); i++) {
        assert_true(up_injury_at(i)->force > up_injury_at(i - 1)->force);
    }
    assert_null(up_injury_at(-1));
    assert_null(up_injury_at(up_injury_count()));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_published_force_stands_once_with_its_source),
        cmocka_unit_test(advice_takes_the_highest_force_reached),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

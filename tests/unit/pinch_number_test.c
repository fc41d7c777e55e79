/* Numbers in few digits that still say the truth. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "io/pinch_number.h"

static void a_value_beside_the_limit_does_not_read_like_it(void **state) {
    (void)state;
    char word[64];
    assert_string_equal(up_number_beside(100, 100, 0, word, sizeof word), "100");
    assert_string_equal(up_number_beside(100.3, 100, 0, word, sizeof word), "100.3");
    assert_string_equal(up_number_beside(100.04, 100, 0, word, sizeof word), "100.04");
    assert_string_equal(up_number_beside(99.96, 100, 0, word, sizeof word), "99.96");
    assert_string_equal(up_number_beside(99.4, 100, 0, word, sizeof word), "99");
    assert_string_equal(up_number_beside(338.2, 100, 0, word, sizeof word), "338");
    assert_string_equal(up_number_beside(338.2, NAN, 0, word, sizeof word), "338");
    assert_string_equal(up_number_beside(99.96, 100, 1, word, sizeof word), "99.96");
    assert_string_equal(up_number_beside(100 + 1e-12, 100, 0, word, sizeof word), "100.000000000"); /* it gives up */
}

static void a_band_has_two_ends_only_where_they_differ(void **state) {
    (void)state;
    char word[64];
    assert_string_equal(up_number_band(9, 16, "..", word, sizeof word), "9..16");
    assert_string_equal(up_number_band(-30, -8, "..", word, sizeof word), "-30..-8");
    assert_string_equal(up_number_band(20, 20, "..", word, sizeof word), "20");
    assert_string_equal(up_number_band(12.6, 12.6, " to ", word, sizeof word), "12.6");
    assert_string_equal(up_number_band(12.601, 12.604, " to ", word, sizeof word), "12.601 to 12.604");
    assert_string_equal(up_number_band(20.0, 20.14, "..", word, sizeof word), "20..20.1");
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_value_beside_the_limit_does_not_read_like_it),
                                       cmocka_unit_test(a_band_has_two_ends_only_where_they_differ)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

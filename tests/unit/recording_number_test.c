/* Numbers out of text against the C library's strtod, which rounds correctly (glibc manual, "Parsing of Floats": the result
 * is the nearest representable value [memory]). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/number.h"

static void assert_like_strtod(const char *text) {
    char room[128] = {0};
    char *end = NULL;
    double value = NAN;
    snprintf(room, 100, "%s,", text);
    const double wanted = strtod(text, &end);
    const char *stopped = up_number_scan(room, '.', &value);
    if (stopped == NULL || stopped - room != end - text || memcmp(&value, &wanted, sizeof value) != 0) {
        fail_msg("\"%s\": %.17g is not %.17g", text, value, wanted);
    }
}

static void written_numbers_are_those_of_strtod(void **state) {
    (void)state;
    static const char *const texts[] = {"0",
                                        "-0",
                                        "0.0",
                                        "1",
                                        "12.5",
                                        "-3.25",
                                        "+7",
                                        "0.1",
                                        "1e22",
                                        "1e23",
                                        "1e-22",
                                        "1e-23",
                                        "9007199254740992",
                                        "9007199254740993",
                                        "90071992547409931e-1",
                                        ".5",
                                        "5.",
                                        "1.7976931348623157e308",
                                        "4.9e-324",
                                        "2.2250738585072011e-308",
                                        "123456789012345678901234567890",
                                        "1e400",
                                        "-1e400",
                                        "0.00000000000000000000000000000000000123",
                                        "8.5e-05",
                                        "-2.000000e-03",
                                        "1E+05",
                                        "12345678.12345678",
                                        "0.123456789012345678",
                                        "99999999.99999999",
                                        "1.00000000",
                                        "100000000000000000000",
                                        "3.14159265358979323846264338327950288",
                                        "0e5",
                                        "1e0000000000005"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        assert_like_strtod(texts[i]);
    }
}

/* A million numbers of every length and size, from a fixed seed. */
static void random_numbers_are_those_of_strtod(void **state) {
    (void)state;
    uint64_t noise = 12345;
    for (int i = 0; i < 1000000; i++) {
        char text[64];
        noise = noise * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        const int behind = (int)(noise >> 60), power = (int)(noise >> 52 & 63) - 32;
        const double number = ldexp((double)(int64_t)(noise << 8), -40 - (int)(noise >> 58));
        if (noise & 64) {
            snprintf(text, sizeof text, "%.*fe%d", behind, number, power);
        } else {
            snprintf(text, sizeof text, "%.*f", behind, number);
        }
        assert_like_strtod(text);
    }
}

static void what_is_no_number_is_refused(void **state) {
    (void)state;
    static const char *const texts[] = {"", "-", "+", ".", "e5", "-.", "abc", "nan", "inf", "--1", "\x80"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        char room[128] = {0};
        double value;
        snprintf(room, 100, "%s,", texts[i]);
        assert_null(up_number_scan(room, '.', &value));
    }
}

static void decimal_commas_are_read(void **state) {
    (void)state;
    const char room[64] = "-12,0625;";
    const char wide[128] = "0,1000000000000000055511151231257827;";
    double value = NAN;
    assert_ptr_equal(up_number_scan(room, ',', &value), room + 8);
    assert_true(value == -12.0625);
    assert_non_null(up_number_scan(wide, ',', &value));
    assert_true(value == 0.1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(written_numbers_are_those_of_strtod),
        cmocka_unit_test(random_numbers_are_those_of_strtod),
        cmocka_unit_test(what_is_no_number_is_refused),
        cmocka_unit_test(decimal_commas_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

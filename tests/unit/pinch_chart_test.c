/* The scale of forces reads without colours, and its digits stand out from it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "io/pinch_chart.h"

/* IEC 61966-2-1 (sRGB), from encoded to linear. */
static double linear_of(unsigned char encoded) {
    const double c = encoded / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

/* W3C, Web Content Accessibility Guidelines 2.1, "relative luminance". */
static double luminance(up_rgb rgb) {
    return 0.2126 * linear_of(rgb.red) + 0.7152 * linear_of(rgb.green) + 0.0722 * linear_of(rgb.blue);
}

static void lightness_falls_all_the_way(void **state) {
    (void)state;
    for (double force = 0; force < 200; force += 5) {
        assert_true(luminance(up_pinch_chart_shade(force + 5)) < luminance(up_pinch_chart_shade(force)));
    }
    assert_true(luminance(up_pinch_chart_shade(1e6)) <= luminance(up_pinch_chart_shade(200)));
    assert_true(luminance(up_pinch_chart_shade(-1)) >= luminance(up_pinch_chart_shade(0)));
}

/* WCAG 2.1, success criterion 1.4.3: 3:1 for large letters. */
static void digits_stand_out_from_their_field(void **state) {
    (void)state;
    for (double force = 0; force <= 300; force += 1) {
        const double field = luminance(up_pinch_chart_shade(force)) + 0.05;
        const double digits = luminance(up_colour_rgb(up_pinch_chart_letter(force))) + 0.05;
        assert_true((field > digits ? field / digits : digits / field) >= 3.0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(lightness_falls_all_the_way),
                                       cmocka_unit_test(digits_stand_out_from_their_field)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

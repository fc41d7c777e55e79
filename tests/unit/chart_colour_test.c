/* Our colours stand out from the paper and from one another, for everybody. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <math.h>
#include <cmocka.h>

#include "io/chart_colour.h"

typedef struct linear {
    double red, green, blue;
} linear;

/* IEC 61966-2-1 (sRGB), from encoded to linear. */
static double linear_of(unsigned char encoded) {
    double c = encoded / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static linear linear_colour(up_colour colour) {
    up_rgb rgb = up_colour_rgb(colour);
    return (linear){linear_of(rgb.red), linear_of(rgb.green), linear_of(rgb.blue)};
}

/* W3C, Web Content Accessibility Guidelines 2.1, "relative luminance" and "contrast ratio". */
static double luminance(linear c) {
    return 0.2126 * c.red + 0.7152 * c.green + 0.0722 * c.blue;
}

static double contrast(up_colour a, up_colour b) {
    double first = luminance(linear_colour(a)) + 0.05;
    double second = luminance(linear_colour(b)) + 0.05;
    return first > second ? first / second : second / first;
}

/* WCAG 2.1, worked values: white on black is 21:1; the grey #767676 on white is just above 4.5:1. */
static void contrast_formula_gives_the_known_extremes(void **state) {
    (void)state;
    linear white = {1, 1, 1};
    linear black = {0, 0, 0};
    linear grey = {linear_of(0x76), linear_of(0x76), linear_of(0x76)};
    assert_true(fabs((luminance(white) + 0.05) / (luminance(black) + 0.05) - 21) < 1e-9);
    assert_true(fabs((luminance(white) + 0.05) / (luminance(grey) + 0.05) - 4.54) < 0.005);
}

/* WCAG 2.1, success criterion 1.4.11: graphical objects at least 3:1; 1.4.3: words at least 4.5:1. */
static void every_meaning_stands_out_from_the_paper(void **state) {
    (void)state;
#define STANDS_OUT(id, red, green, blue, meaning) assert_true(contrast(UP_COLOUR_##id, UP_COLOUR_PAPER) >= 3.0);
    UP_COLOUR_LIST(STANDS_OUT)
#undef STANDS_OUT
    assert_true(contrast(UP_COLOUR_INK, UP_COLOUR_PAPER) >= 4.5);
    assert_true(contrast(UP_COLOUR_QUIET, UP_COLOUR_PAPER) >= 4.5);
    assert_true(contrast(UP_COLOUR_SQUEEZE, UP_COLOUR_PAPER) >= 4.5); /* also used for words */
    assert_true(contrast(UP_COLOUR_HEADER, UP_COLOUR_PAPER) >= 4.5);
}

/* CIE 15: from linear sRGB over XYZ (D65) to L*a*b*. */
static double lab_root(double t) {
    return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

static void lab_of(linear c, double lab[3]) {
    double x = lab_root((0.4124564 * c.red + 0.3575761 * c.green + 0.1804375 * c.blue) / 0.95047);
    double y = lab_root(luminance(c));
    double z = lab_root((0.0193339 * c.red + 0.1191920 * c.green + 0.9503041 * c.blue) / 1.08883);
    lab[0] = 116 * y - 16;
    lab[1] = 500 * (x - y);
    lab[2] = 200 * (y - z);
}

static double clamped(double c) {
    return c < 0 ? 0 : c > 1 ? 1 : c;
}

static linear seen_with(const double m[3][3], linear c) {
    return (linear){clamped(m[0][0] * c.red + m[0][1] * c.green + m[0][2] * c.blue),
                    clamped(m[1][0] * c.red + m[1][1] * c.green + m[1][2] * c.blue),
                    clamped(m[2][0] * c.red + m[2][1] * c.green + m[2][2] * c.blue)};
}

/* Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE
 * Trans. Visualization and Computer Graphics 15(6), 2009, severity 1.0; matrices from memory. */
static const double eyes[4][3][3] = {
    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
    {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
};

/* A difference of 25 in L*a*b* is ten times what is just seen side by side (common practice, no source). */
static void no_two_meanings_look_alike_to_anyone(void **state) {
    (void)state;
    static const up_colour meaning[] = {UP_COLOUR_GLASS,  UP_COLOUR_ELECTRIC, UP_COLOUR_FRICTION,
                                        UP_COLOUR_HEADER, UP_COLOUR_SQUEEZE,  UP_COLOUR_DETECTOR};
    enum { MEANINGS = sizeof meaning / sizeof meaning[0] };
    for (int eye = 0; eye < 4; eye++) {
        for (int i = 0; i < MEANINGS; i++) {
            for (int j = 0; j < i; j++) {
                double a[3];
                double b[3];
                lab_of(seen_with(eyes[eye], linear_colour(meaning[i])), a);
                lab_of(seen_with(eyes[eye], linear_colour(meaning[j])), b);
                assert_true(sqrt(pow(a[0] - b[0], 2) + pow(a[1] - b[1], 2) + pow(a[2] - b[2], 2)) >= 25);
            }
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrast_formula_gives_the_known_extremes),
        cmocka_unit_test(every_meaning_stands_out_from_the_paper),
        cmocka_unit_test(no_two_meanings_look_alike_to_anyone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

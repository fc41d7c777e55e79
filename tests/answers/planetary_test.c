/* Planetary sets against solved textbook problems. "Read" means the figure was found in the source named. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/parts/planetary.h"

static void near(double got, double expected, double within) {
    if (!(fabs(got - expected) <= within)) {
        fail_msg("got %.9g, expected %.9g within %.3g", got, expected, within);
    }
}

/* A public collection of solved epicyclic problems, problem 1, read: ring 72 inside teeth held, sun 32, arm at +18 rpm:
 * planet 20 teeth, sun +58.5 rpm, planet -46.8 rpm. */
static void held_ring_with_driven_arm(void **state) {
    (void)state;
    near(up_willis_speed(-72.0 / 32, 0, 18), 58.5, 1e-9);
    near(up_willis_speed(72.0 / 20, 0, 18), -46.8, 1e-9);
    near(18 / up_willis_speed(-72.0 / 32, 0, 18), up_planetary_carrier_turns(32, 72), 1e-12);
}

/* A public solved problem, read: sun 23 held, ring 55, arm driven at 100 rpm: ring 141.8 rpm. */
static void held_sun_with_driven_arm(void **state) {
    (void)state;
    near(up_willis_speed(-23.0 / 55, 0, 100), 141.8, 0.05);
}

/* Theory of Machines, chapter 13, example 13.1, p. 432, read: 975 rpm through 20/50, 25/75 and 26/65 gives 52 rpm. With
 * the carrier standing Willis is a plain train. */
static void standing_carrier_is_a_plain_train(void **state) {
    (void)state;
    const double first = up_willis_speed(20.0 / 50, 975, 0);
    const double second = up_willis_speed(25.0 / 75, first, 0);
    near(up_willis_speed(26.0 / 65, second, 0), 52, 1e-9);
}

/* A public epicyclic gear page, read: sun in, carrier out, ring held reduces by 1 + ring/sun, so 24/72 by 4. */
static void held_ring_reduces_by_one_plus_ring_over_sun(void **state) {
    (void)state;
    near(1 / up_planetary_carrier_turns(24, 72), 4, 1e-12);
}

/* Assembly: ring = sun + 2 planet (the same page, read); whole (sun + ring) / planets and free neighbours: textbook
 * conditions, from memory. */
static void sets_that_cannot_be_put_together_are_named(void **state) {
    (void)state;
    assert_int_equal(up_planetary_assembly(24, 12, 48, 3), UP_PLANETARY_FITS);
    assert_int_equal(up_planetary_assembly(32, 20, 72, 4), UP_PLANETARY_FITS);
    assert_int_equal(up_planetary_assembly(24, 13, 48, 3), UP_PLANETARY_RING_SIZE);
    assert_int_equal(up_planetary_assembly(24, 12, 48, 5), UP_PLANETARY_SPACING);
    assert_int_equal(up_planetary_assembly(24, 24, 72, 4), UP_PLANETARY_FITS);
    assert_int_equal(up_planetary_assembly(24, 24, 72, 6), UP_PLANETARY_CROWDED);
    assert_int_equal(up_planetary_assembly(24, 24, 70, 1), UP_PLANETARY_RING_SIZE);
    assert_int_equal(up_planetary_assembly(24, 24, 72, 1), UP_PLANETARY_FITS);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(held_ring_with_driven_arm),
        cmocka_unit_test(held_sun_with_driven_arm),
        cmocka_unit_test(standing_carrier_is_a_plain_train),
        cmocka_unit_test(held_ring_reduces_by_one_plus_ring_over_sun),
        cmocka_unit_test(sets_that_cannot_be_put_together_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

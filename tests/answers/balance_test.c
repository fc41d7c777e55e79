/* Permissible unbalance against ISO 21940-11 as published worked figures give it; brushes. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "analysis/refit/balance.h"

#define NEAR(value, wanted, by) assert_true(fabs((value) - (wanted)) <= (by))

static const double per_rpm = 0.10471975511965977; /* rad/s */

static void unbalance_is_that_of_iso_21940_11(void **state) {
    (void)state;
    /* U_per [g mm] = 9549 G m[kg] / n[rpm], ISO 21940-11 (formerly ISO 1940-1); its imperial twin 6.015 G W / N was read
     * in a public article. Worked by hand: G 6.3, 40 kg, 1500 rpm: 40.107 um, 1604.2 g mm; G 6.3, 3000 rpm: 20.054 um;
     * G 2.5, 3000 rpm: 7.958 um; armature of 0.08 kg at 5000 rpm: 12.03 um, 0.9626 g mm. */
    NEAR(1e6 * up_balance_eccentricity(6.3e-3, 1500 * per_rpm), 40.107, 0.001);
    NEAR(1e6 * up_balance_unbalance(6.3e-3, 40, 1500 * per_rpm), 9549 * 6.3 * 40 / 1500, 0.1);
    NEAR(1e6 * up_balance_eccentricity(6.3e-3, 3000 * per_rpm), 20.054, 0.001);
    NEAR(1e6 * up_balance_eccentricity(2.5e-3, 3000 * per_rpm), 7.958, 0.001);
    NEAR(1e6 * up_balance_eccentricity(UP_BALANCE_GRADE_ARMATURE, 5000 * per_rpm), 12.03, 0.005);
    NEAR(1e6 * up_balance_unbalance(UP_BALANCE_GRADE_ARMATURE, 0.08, 5000 * per_rpm), 0.9626, 0.0001);
    /* oz in = 6.015 G W[lb] / N[rpm]: one ounce inch is 720.08 g mm, a pound 0.45359237 kg. */
    NEAR(1e6 * up_balance_unbalance(2.5e-3, 10 * 0.45359237, 1800 * per_rpm), 720.0778 * 6.015 * 2.5 * 10 / 1800, 0.01);
    NEAR(up_balance_unbalance(6.3e-3, 1, -100), up_balance_unbalance(6.3e-3, 1, 100), 0); /* either way round */
}

static void specks_and_forces_follow(void **state) {
    (void)state;
    NEAR(1e6 * up_balance_speck(1e-6, 10e-3), 100, 1e-9); /* 1 g mm: a tenth of a gram at 10 mm */
    /* m r w^2: 1 g mm at 1000 rad/s is one newton */
    NEAR(up_balance_force(1e-6, 1000), 1, 1e-12);
}

static void brushes_are_judged_by_the_makers_length_first(void **state) {
    (void)state;
    up_brush_answer answer;
    up_brush_judge(&(up_brush){10e-3, 7e-3, 4e-3}, &answer);
    assert_true(answer.makers && !answer.short_of);
    NEAR(answer.worn, 0.5, 1e-12);
    up_brush_judge(&(up_brush){10e-3, 4.9e-3, NAN}, &answer);
    assert_true(!answer.makers && answer.short_of);
    NEAR(answer.least, 5e-3, 1e-12);
    up_brush_judge(&(up_brush){NAN, 6e-3, NAN}, &answer);
    assert_true(isnan(answer.least) && isnan(answer.worn) && !answer.short_of);
    up_brush_judge(&(up_brush){NAN, 3e-3, 4e-3}, &answer);
    assert_true(answer.short_of && isnan(answer.worn));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unbalance_is_that_of_iso_21940_11),
        cmocka_unit_test(specks_and_forces_follow),
        cmocka_unit_test(brushes_are_judged_by_the_makers_length_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Random doors: usable by the core's own check, repeatable, different, of all families. No outside reference. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/door/check.h"

static void ten_thousand_doors_are_all_usable(void **state) {
    (void)state;
    for (uint64_t i = 0; i < 10000; i++) {
        up_values door;
        assert_int_equal(up_random_door(1, i, &door), UP_OK);
        assert_true(up_door_is_usable(&door));
        assert_int_equal(door.family, i % UP_FAMILY_COUNT);
    }
}

static void the_same_seed_and_index_give_the_same_door_and_run(void **state) {
    (void)state;
    for (uint64_t i = 0; i < 40; i++) {
        up_values a, b, c;
        memset(&a, 0, sizeof a);
        memset(&b, 255, sizeof b);
        assert_int_equal(up_random_door(5, i, &a), UP_OK);
        assert_int_equal(up_random_door(5, i, &b), UP_OK);
        assert_int_equal(up_random_door(6, i, &c), UP_OK);
        assert_memory_equal(a.number, b.number, sizeof a.number);
        assert_memory_equal(a.choice, b.choice, sizeof a.choice);
        assert_true(a.glass_mass != c.glass_mass);
    }
}

/* The ranges are meant to be wide: over a thousand doors every drawn number takes many values. */
static void the_doors_differ_in_every_number_of_their_family(void **state) {
    (void)state;
    static up_values door[1000];
    for (uint64_t i = 0; i < 1000; i++) {
        assert_int_equal(up_random_door(2, i, &door[i]), UP_OK);
    }
    for (int n = 0; n < UP_NUMBER_measured_raise_time; n++) {
        /* Strength figures and tooth widths for stress only: no part in the simulation. */
        int differs = n == UP_NUMBER_wheel_strength || n == UP_NUMBER_pinion_strength || n == UP_NUMBER_pinion_face;
        for (int i = 1; i < 1000 && !differs; i++) {
            differs = door[i].number[n] != door[0].number[n];
        }
        assert_true(differs);
    }
    for (int n = UP_NUMBER_measured_raise_time; n < UP_NUMBER_COUNT; n++) {
        assert_true(up_is_absent(door[0].number[n]));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_thousand_doors_are_all_usable),
        cmocka_unit_test(the_same_seed_and_index_give_the_same_door_and_run),
        cmocka_unit_test(the_doors_differ_in_every_number_of_their_family),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* The numbers of a door: one list makes the struct, the bounds and the typical values. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/door/check.h"
#include "core/door/door.h"
#include "core/door/values.h"

/* values.h promises that number[] and the named members are the same storage, in list order. */
static void numbers_and_members_share_their_storage(void **state) {
    (void)state;
    static const size_t offset[] = {
#define UP_NUMBER(id, ...) offsetof(up_values, id),
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    assert_int_equal(sizeof offset / sizeof offset[0], UP_NUMBER_COUNT);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        assert_int_equal(offset[i], offsetof(up_values, number) + (size_t)i * sizeof(double));
    }
    static const size_t choice[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...) offsetof(up_values, id),
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    assert_int_equal(sizeof choice / sizeof choice[0], UP_CHOICE_COUNT);
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        assert_int_equal(choice[i], offsetof(up_values, choice) + (size_t)i * sizeof(int));
    }
}

static void typical_values_lie_within_their_bounds(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        double spread[UP_NUMBER_COUNT];
        up_values_fallback((up_family)family, &v);
        up_values_fallback_spread((up_family)family, spread);
        assert_int_equal(v.family, family);
        assert_int_equal(v.drag_count, 0);
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            double low, high;
            up_number_bounds((up_number)i, &low, &high);
            assert_true(low <= high && isfinite(low) && isfinite(high));
            assert_true(spread[i] >= 0 && isfinite(spread[i]));
            assert_true(up_is_absent(v.number[i]) || (v.number[i] >= low && v.number[i] <= high));
            assert_true((up_number_families((up_number)i) & ~UP_ALL) == 0 && up_number_families((up_number)i) != 0);
        }
    }
}

/* A sheet that names only the family makes a door that can be put together, at any weather. */
static void a_typical_door_of_every_family_can_be_prepared(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values v;
        static up_door door;
        up_door_finding findings[UP_DOOR_FINDINGS_MAX];
        up_values_fallback((up_family)family, &v);
        assert_int_equal(up_door_check(&v, findings, UP_DOOR_FINDINGS_MAX), 0);
        for (double temperature = 233.15; temperature < 354; temperature += 20) {
            assert_int_equal(up_door_prepare(&v, temperature, &door), UP_OK);
        }
        assert_int_equal(up_door_prepare(&v, 199.9, &door), UP_BAD_OPTION);
        assert_int_equal(up_door_prepare(&v, 400.1, &door), UP_BAD_OPTION);
        assert_int_equal(up_door_prepare(&v, NAN, &door), UP_BAD_OPTION);
    }
}

/* What differs between families comes from the list's own rows. */
static void a_family_has_its_own_typical_values(void **state) {
    (void)state;
    static const struct {
        int number, family;
        double value, spread;
    } row[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, family, value, spread) {UP_NUMBER_##id, (int)UP_FAMILY_of_##family, value, spread},
#define UP_FAMILY_of_single_arm UP_FAMILY_SINGLE_ARM
#define UP_FAMILY_of_crossed_arms UP_FAMILY_CROSSED_ARMS
#define UP_FAMILY_of_cable UP_FAMILY_CABLE
#define UP_FAMILY_of_rack UP_FAMILY_RACK
#include "core/door/entries.def"
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        up_values v, other;
        double spread[UP_NUMBER_COUNT];
        up_values_fallback((up_family)row[i].family, &v);
        up_values_fallback_spread((up_family)row[i].family, spread);
        assert_true(v.number[row[i].number] == row[i].value && spread[row[i].number] == row[i].spread);
        up_values_fallback((up_family)((row[i].family + 2) % UP_FAMILY_COUNT), &other);
        assert_true(isfinite(other.number[row[i].number]));
    }
}

/* A number that the family does not use may be anything; one that it uses may not be missing or out of bounds. */
static void only_numbers_of_the_family_count(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            up_values v;
            double low, high;
            up_values_fallback((up_family)family, &v);
            up_number_bounds((up_number)i, &low, &high);
            v.number[i] = high + 1 + fabs(high);
            const int used = (up_number_families((up_number)i) >> family) & 1;
            assert_int_equal(up_door_is_usable(&v), !used);
            v.number[i] = low - 1 - fabs(low);
            assert_int_equal(up_door_is_usable(&v), !used);
        }
    }
}

static void absent_is_no_number(void **state) {
    (void)state;
    assert_true(up_is_absent(UP_ABSENT));
    assert_false(up_is_absent(0));
    assert_false(up_is_absent(INFINITY));
    for (int i = 0; i < (int)UP_STATUS_COUNT; i++) {
        assert_true(strlen(up_status_text((up_status)i)) > 3);
    }
    assert_non_null(up_status_text((up_status)1000));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_and_members_share_their_storage),
        cmocka_unit_test(typical_values_lie_within_their_bounds),
        cmocka_unit_test(a_typical_door_of_every_family_can_be_prepared),
        cmocka_unit_test(a_family_has_its_own_typical_values),
        cmocka_unit_test(only_numbers_of_the_family_count),
        cmocka_unit_test(absent_is_no_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

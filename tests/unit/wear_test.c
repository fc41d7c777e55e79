/* Wear: the table keeps to its promises, and a worn door still is a door. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/wear.h"
#include "core/door/check.h"
#include "tests/support/recording.h"

static void a_new_door_is_a_copy(void **state) {
    (void)state;
    static const double none[] = {0, -1, -INFINITY, NAN};
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values door, worn;
        up_values_fallback((up_family)family, &door);
        for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
            memset(&worn, 0x55, sizeof worn);
            up_worn(&door, none[i], &worn);
            assert_memory_equal(&worn, &door, sizeof door);
        }
    }
}

static void every_row_does_what_it_says_and_nothing_else_changes(void **state) {
    (void)state;
    up_values door, worn, half;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &door);
    up_worn(&door, 1, &worn);
    up_worn(&door, 0.5, &half);
    int named[UP_NUMBER_COUNT] = {0};
    for (int i = 0; i < up_wear_rows(); i++) {
        const up_wear_row *const row = up_wear_row_at(i);
        const double fresh = door.number[row->number], end = fresh * row->factor + row->added;
        assert_int_equal(named[row->number]++, 0); /* once each */
        assert_true(row->factor != 1 || row->added != 0);
        assert_true(strncmp(row->source, "read: ", 6) == 0 || strcmp(row->source, "assumption of this tool") == 0);
        assert_true(strlen(row->text) > 5);
        assert_true(fabs(worn.number[row->number] - end) <= 1e-12 * fabs(end));
        assert_true(fabs(half.number[row->number] - 0.5 * (fresh + end)) <= 1e-12 * fabs(fresh + end));
    }
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        assert_true(named[i] || worn.number[i] == door.number[i] || isnan(door.number[i]));
    }
    assert_memory_equal(worn.choice, door.choice, sizeof door.choice);
    assert_null(up_wear_row_at(-1));
    assert_null(up_wear_row_at(up_wear_rows()));
}

static void more_than_the_end_of_life_is_the_end_and_out_may_be_in(void **state) {
    (void)state;
    up_values door, worn, same;
    up_values_fallback(UP_FAMILY_CABLE, &door);
    up_worn(&door, 1, &worn);
    up_worn(&door, 17, &same);
    assert_memory_equal(&same, &worn, sizeof worn);
    same = door;
    up_worn(&same, 1, &same);
    assert_memory_equal(&same, &worn, sizeof worn);
}

static void values_stay_within_their_bounds_and_the_damper_whole(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values door, worn;
        up_values_fallback((up_family)family, &door);
        door.damper_play = 0.04;
        door.damper_limit = 0.03; /* short dogs */
        assert_true(up_door_is_usable(&door));
        up_worn(&door, 1, &worn);
        assert_true(up_door_is_usable(&worn));
        assert_true(worn.damper_play >= door.damper_play);
        for (int i = 0; i < up_wear_rows(); i++) { /* from the far end of what is allowed */
            const up_wear_row *const row = up_wear_row_at(i);
            double low, high;
            up_number_bounds(row->number, &low, &high);
            up_values_fallback((up_family)family, &door);
            door.number[row->number] = row->factor < 1 && row->added <= 0 ? low : high;
            up_worn(&door, 1, &worn);
            assert_true(worn.number[row->number] >= low && worn.number[row->number] <= high);
        }
    }
}

/* Common practice, no source: an old window is slower and draws more current, and still reaches its top on a healthy
 * battery. The leads are held to the battery, so that no controller has a say. */
static void a_worn_door_closes_slower_and_draws_more(void **state) {
    (void)state;
    static recording fresh, worn;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        recording *const both[] = {&fresh, &worn};
        for (int i = 0; i < 2; i++) {
            recording_door(both[i], (up_family)family);
            recording_hand(both[i], UP_SWITCH_RAISE_HELD);
            both[i]->options.leads_direct = 1;
            both[i]->options.time_limit = 10;
            up_worn(&both[i]->values, i, &both[i]->values);
            recording_run(both[i]);
            assert_true(recording_count(both[i], UP_EVENT_UP_STOP_TOUCHED) > 0);
        }
        const double time[] = {recording_time(&fresh, UP_EVENT_UP_STOP_TOUCHED, 0),
                               recording_time(&worn, UP_EVENT_UP_STOP_TOUCHED, 0)};
        print_message("family %d: %.2f s, %.2f A new; %.2f s, %.2f A at the end of life\n", family, time[0],
                      fresh.outcome.running_current, time[1], worn.outcome.running_current);
        assert_true(time[1] > time[0]);
        assert_true(worn.outcome.running_current > fresh.outcome.running_current);
    }
}

static const char *const key[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, name, ...) name,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

/* Source: docs/disturbances.md, which a reader goes by. */
static void the_table_is_the_documented_one(void **state) {
    (void)state;
    static char text[100000];
    FILE *const file = fopen(UPSTOP_SOURCE_DIR "/docs/disturbances.md", "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = 0;
    (void)fclose(file);
    for (int i = 0; i < up_wear_rows(); i++) {
        const up_wear_row *const row = up_wear_row_at(i);
        const char *const mark = row->source[0] == 'r' ? "direction read, size assumed" : "assumed";
        char line[300];
        if (row->added != 0) { /* one row, an angle */
            (void)snprintf(line, sizeof line, "| `%s` | + %.0f deg | %s | %s |\n", key[row->number],
                           row->added * 57.29577951308232, row->text, mark);
        } else {
            (void)snprintf(line, sizeof line, "| `%s` | x %g | %s | %s |\n", key[row->number], row->factor, row->text,
                           mark);
        }
        if (!strstr(text, line)) {
            fail_msg("docs/disturbances.md lacks: %s", line);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_door_is_a_copy),
        cmocka_unit_test(every_row_does_what_it_says_and_nothing_else_changes),
        cmocka_unit_test(more_than_the_end_of_life_is_the_end_and_out_may_be_in),
        cmocka_unit_test(values_stay_within_their_bounds_and_the_damper_whole),
        cmocka_unit_test(the_table_is_the_documented_one),
        cmocka_unit_test(a_worn_door_closes_slower_and_draws_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

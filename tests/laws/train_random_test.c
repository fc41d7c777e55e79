/* Laws of the power train on random doors: nothing hangs or yields a number that is none, power is conserved from
 * stage to stage, the balance of torques and forces holds. No outside source: conservation. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "analysis/train.h"
#include "analysis/train_stages.h"

enum { DOORS = 4000 };

static void held_to(int holds, int index, const char *what) {
    if (!holds) {
        fail_msg("random door (1, %d): %s", index, what);
    }
}

static void check_stages(const up_door *door, const up_circuit *circuit, double travel, int direction, int index) {
    up_place_on_travel place;
    up_steady steady;
    up_stage_state stage[UP_STAGE_COUNT];
    up_place_at(door, travel, &place);
    up_steady_at(door, circuit, &place, direction, 0, &steady);
    if (!steady.runs) {
        held_to(steady.glass_speed == 0 && steady.armature_speed == 0, index, "stalled, but moves");
        return;
    }
    up_stages_of(door, circuit, &place, direction, &steady, stage);
    const double all = fabs(stage[0].power_in) + fabs(stage[UP_STAGE_GLASS].power_out);
    held_to(steady.glass_speed * direction > 0, index, "moves the wrong way");
    for (int i = 0; i < UP_STAGE_COUNT; i++) {
        held_to(isfinite(stage[i].power_in) && isfinite(stage[i].power_out), index, "a power is no number");
        held_to(i == 0 || fabs(stage[i].power_in - stage[i - 1].power_out) <= 1e-6 * all, index,
                "power lost between stages");
        held_to(stage[i].power_in - stage[i].power_out >= -1e-6 * all || place.balance != 0, index,
                "a stage gains power");
        held_to(!(stage[i].efficiency > 1 + 1e-6) || place.balance != 0, index, "efficiency above one");
    }
    /* The glass: lift, weight, header and friction add up to nothing. */
    const double rest = steady.lift - place.weight - place.header - direction * steady.friction;
    held_to(fabs(rest) <= 1e-9 * (fabs(steady.lift) + place.weight + place.header), index, "forces on the glass");
}

static void powers_and_forces_balance_on_random_doors(void **state) {
    (void)state;
    for (int i = 0; i < DOORS; i++) {
        up_values values;
        up_door door;
        up_circuit circuit;
        assert_int_equal(up_random_door(1, (uint64_t)i, &values), UP_OK);
        assert_int_equal(up_door_prepare(&values, 233.15 + i % 100, &door), UP_OK);
        up_circuit_of(&door, &circuit);
        for (int k = 0; k < 6; k++) {
            check_stages(&door, &circuit, door.header_start * (k / 2) / 2, k % 2 ? UP_LOWERING : UP_RAISING, i);
        }
    }
}

/* Figures that may not exist: those of a pinion on a cable door, times and speeds where it stalls. */
static int may_be_missing(const up_values *values, int figure) {
    if (figure >= UP_TRAIN_FIGURE_contact_ratio && figure <= UP_TRAIN_FIGURE_pinion_stress_share) {
        return values->family == UP_FAMILY_CABLE;
    }
    return figure <= UP_TRAIN_FIGURE_lower_speed || figure == UP_TRAIN_FIGURE_free_speed;
}

static void figures_exist_on_random_doors(void **state) {
    (void)state;
    int missing_times = 0;
    for (int i = 0; i < DOORS; i++) {
        up_values values;
        up_door door;
        double figures[UP_TRAIN_FIGURE_COUNT];
        assert_int_equal(up_random_door(1, (uint64_t)i, &values), UP_OK);
        assert_int_equal(up_door_prepare(&values, 233.15 + i % 100, &door), UP_OK);
        up_train_figures(&door, figures);
        for (int k = 0; k < UP_TRAIN_FIGURE_COUNT; k++) {
            held_to(!isnan(figures[k]) || may_be_missing(&values, k), i, up_train_figure_name((up_train_figure)k));
        }
        missing_times += isnan(figures[UP_TRAIN_FIGURE_raise_time]) != 0;
        held_to(figures[UP_TRAIN_FIGURE_stall_squeeze_least] <= figures[UP_TRAIN_FIGURE_stall_squeeze_most], i,
                "squeeze");
        /* Below 1 it cannot close from rest, so a door that closes steadily may do so only by its running friction. */
        held_to(figures[UP_TRAIN_FIGURE_lift_reserve] >= 0, i, "reserve");
    }
    assert_true(missing_times < DOORS / 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(powers_and_forces_balance_on_random_doors),
        cmocka_unit_test(figures_exist_on_random_doors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

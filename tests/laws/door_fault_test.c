/* Faults on the virtual bench: each does what it claims, none does more than it says, and every door can have them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/bench/bench_case.h"
#include "core/door/check.h"

static void known_door(up_family family, up_known *known) {
    memset(known, 0, sizeof *known);
    up_values_fallback(family, &known->values);
    up_values_fallback_spread(family, known->spread);
    known->values.balance_bottom = 2; /* every family gets a spring to break */
    known->values.balance_top = 1;
    if (family >= UP_FAMILY_CABLE) { /* no arm in between: on the drum itself */
        known->values.balance_bottom = 0.2;
        known->values.balance_top = 0.1;
    }
}

typedef struct reel {
    double *room;
    up_recorded recorded;
    up_outcome outcome;
} reel;

static up_status record(reel *r, const up_bench_case *c) {
    const size_t size = up_bench_room(&c->bench);
    r->room = malloc((size + 1) * sizeof *r->room);
    assert_non_null(r->room);
    return up_bench_record(&c->values, &c->bench, r->room, size, &r->recorded, &r->outcome);
}

/* r.m.s. of the difference of two tracks of the same instrument. */
static double apart(const up_track *a, const up_track *b) {
    double sum = 0;
    assert_int_equal(a->count, b->count);
    for (size_t k = 0; k < a->count; k++) {
        sum += (a->value[k] - b->value[k]) * (a->value[k] - b->value[k]);
    }
    return sqrt(sum / (double)a->count);
}

static void case_of(const up_known *known, up_door_fault fault, double severity, up_bench_case *out) {
    up_bench_plan plan;
    up_bench_plan_default(&plan);
    plan.fault = fault;
    plan.severity_low = plan.severity_high = severity;
    plan.duration = 5;
    plan.instrument = UP_INSTRUMENT_CARD;
    if (fault == UP_DOOR_FAULT_FROZEN_SEAL) { /* the day is not what is judged here */
        plan.fault = UP_DOOR_FAULT_NONE;
        assert_int_equal(up_bench_case_draw(known, &plan, 5, 2, out), UP_OK);
        up_door_fault_put(fault, severity, out->place, &out->values, &out->bench);
        return;
    }
    assert_int_equal(up_bench_case_draw(known, &plan, 5, 2, out), UP_OK);
}

/* Which track of the card: voltage, current, encoder's lead, limit contact's lead. */
static int track_of(up_door_fault fault) {
    const up_signal signal = up_door_fault_at(fault)->signal;
    const int pulses = fault == UP_DOOR_FAULT_DIRTY_LIMIT ? 3 : 2;
    return signal == UP_SIGNAL_VOLTAGE ? 0 : (signal == UP_SIGNAL_CURRENT ? 1 : pulses);
}

static void at_full_severity_each_fault_shows_in_its_signal(void **state) {
    (void)state;
    up_known known;
    for (int f = 1; f < UP_DOOR_FAULT_COUNT; f++) {
        known_door(f == UP_DOOR_FAULT_FRAYED_CABLE ? UP_FAMILY_CABLE : UP_FAMILY_CROSSED_ARMS, &known);
        if (f == UP_DOOR_FAULT_TIGHT_THRESHOLDS) { /* there has to be something new to take for an obstacle */
            known.values.drag_count = 2;
            known.values.drag_position[0] = 0.34;
            known.values.drag_force[0] = 0;
            known.values.drag_position[1] = 0.36;
            known.values.drag_force[1] = 30;
            known.values.detect_profile = UP_PROFILE_NONE;
        }
        up_bench_case sound, same, bad;
        case_of(&known, UP_DOOR_FAULT_NONE, 0, &sound);
        case_of(&known, (up_door_fault)f, 1, &bad);
        same = sound;
        same.bench.seed += 1; /* other noise, the same run */
        same.bench.brushes = sound.bench.brushes;
        reel r, s, b;
        assert_int_equal(record(&r, &sound), UP_OK);
        assert_int_equal(record(&s, &same), UP_OK);
        assert_int_equal(record(&b, &bad), UP_OK);
        const int t = track_of((up_door_fault)f);
        const double noise = apart(&r.recorded.track[t], &s.recorded.track[t]);
        const double fault = apart(&r.recorded.track[t], &b.recorded.track[t]);
        if (!(fault > 4 * noise && fault > 0)) {
            fail_msg("%s: %g against %g of noise", up_door_fault_at((up_door_fault)f)->name, fault, noise);
        }
        free(r.room);
        free(s.room);
        free(b.room);
    }
}

static void severity_nought_and_no_number_change_nothing(void **state) {
    (void)state;
    for (int f = 0; f < UP_DOOR_FAULT_COUNT; f++) {
        static const double none[] = {0, -1, NAN};
        for (int n = 0; n < 3; n++) {
            up_values values, before;
            up_bench bench, bench_before;
            up_values_fallback(UP_FAMILY_CABLE, &values);
            memset(&bench, 0, sizeof bench);
            up_bench_default(&bench);
            before = values;
            memcpy(&bench_before, &bench, sizeof bench);
            up_door_fault_put((up_door_fault)f, none[n], 0.5, &values, &bench);
            assert_memory_equal(&values, &before, sizeof values);
            assert_memory_equal(&bench, &bench_before, sizeof bench);
        }
    }
}

/* What a fault changes in the door grows with its severity: no number comes back. */
static void worse_is_worse(void **state) {
    (void)state;
    for (int f = 1; f < UP_DOOR_FAULT_COUNT; f++) {
        up_values sound, half, full;
        up_bench bench;
        up_bench_default(&bench);
        up_values_fallback(UP_FAMILY_CABLE, &sound);
        sound.balance_bottom = sound.balance_top = 0.2;
        half = full = sound;
        up_door_fault_put((up_door_fault)f, 0.5, 0.5, &half, &bench);
        up_door_fault_put((up_door_fault)f, 1.0, 0.5, &full, &bench);
        for (int n = 0; n < UP_NUMBER_COUNT; n++) {
            if (!up_is_absent(sound.number[n])) {
                const double first = half.number[n] - sound.number[n], second = full.number[n] - half.number[n];
                assert_true(first * second >= 0);
                assert_true((first != 0) == (full.number[n] != sound.number[n]));
            }
        }
    }
}

static void every_fault_fits_its_families_and_records(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_known known;
        known_door((up_family)family, &known);
        for (int f = 0; f < UP_DOOR_FAULT_COUNT; f++) {
            const up_door_fault_row *row = up_door_fault_at((up_door_fault)f);
            up_bench_plan plan;
            up_bench_plan_default(&plan);
            plan.fault = (up_door_fault)f;
            plan.severity_high = 1;
            plan.duration = 1.5;
            plan.leads_direct = f % 2;
            const int fits = (row->families & (1 << family)) != 0;
            assert_int_equal(up_door_fault_fits((up_door_fault)f, &known.values), fits);
            for (uint64_t index = 0; index < 3; index++) {
                up_bench_case c;
                const up_status status = up_bench_case_draw(&known, &plan, 9, index, &c);
                assert_int_equal(status, fits ? UP_OK : UP_BAD_OPTION);
                if (fits) {
                    reel r;
                    assert_true(up_door_is_usable(&c.values));
                    assert_int_equal(record(&r, &c), UP_OK);
                    free(r.room);
                }
            }
        }
    }
}

static void a_case_is_its_sound_twin_but_for_the_fault(void **state) {
    (void)state;
    up_known known;
    known_door(UP_FAMILY_SINGLE_ARM, &known);
    up_bench_case sound, bad, other, again;
    case_of(&known, UP_DOOR_FAULT_NONE, 0, &sound);
    case_of(&known, UP_DOOR_FAULT_DRY_CHANNEL, 1, &bad);
    case_of(&known, UP_DOOR_FAULT_DRY_CHANNEL, 1, &again);
    assert_memory_equal(&sound.sound, &bad.sound, sizeof sound.sound);
    assert_memory_equal(&bad.values, &again.values, sizeof bad.values);
    assert_true(bad.values.glass_mass == sound.sound.glass_mass && bad.values.glass_mass != known.values.glass_mass);
    assert_true(sound.temperature == bad.temperature && sound.bench.seed == bad.bench.seed);
    assert_true(bad.values.run_channel_drag > 2 * sound.values.run_channel_drag);
    up_bench_plan plan;
    up_bench_plan_default(&plan);
    assert_int_equal(up_bench_case_draw(&known, &plan, 6, 2, &other), UP_OK);
    assert_true(other.sound.glass_mass != sound.sound.glass_mass && other.bench.seed != sound.bench.seed);
}

/* Closing first, opening in the second half, by the controller and by the leads. */
static void a_case_both_ways_goes_up_and_down(void **state) {
    (void)state;
    up_known known;
    known_door(UP_FAMILY_RACK, &known);
    for (int leads = 0; leads < 2; leads++) {
        up_bench_plan plan;
        up_bench_plan_default(&plan);
        plan.both_ways = 1;
        plan.leads_direct = leads;
        plan.duration = 12;
        plan.instrument = UP_INSTRUMENT_LOGGER;
        up_bench_case c;
        assert_int_equal(up_bench_case_draw(&known, &plan, 3, 1, &c), UP_OK);
        up_bench_add(&c.bench, UP_SIGNAL_POSITION, UP_PROBE_GLASS, 100);
        reel r;
        assert_int_equal(record(&r, &c), UP_OK);
        const double *glass = r.recorded.track[2].value, top = c.sound.glass_travel;
        assert_true(glass[0] == 0 && fabs(glass[590] - top) < 0.01 && fabs(glass[1199]) < 0.02);
        assert_true(r.recorded.track[1].value[500] > 0.3 && r.recorded.track[1].value[3700] < -0.3);
        free(r.room);
    }
}

/* With the leads on the battery, what only a controller does shows nothing, and everything else does. */
static void leads_direct_hide_what_needs_a_controller(void **state) {
    (void)state;
    for (int f = 1; f < UP_DOOR_FAULT_COUNT; f++) {
        up_known known;
        known_door(f == UP_DOOR_FAULT_FRAYED_CABLE ? UP_FAMILY_CABLE : UP_FAMILY_SINGLE_ARM, &known);
        up_bench_plan plan;
        up_bench_plan_default(&plan);
        plan.leads_direct = 1;
        plan.instrument = UP_INSTRUMENT_CARD;
        plan.severity_low = plan.severity_high = 1;
        up_bench_case sound, bad;
        assert_int_equal(up_bench_case_draw(&known, &plan, 8, 0, &sound), UP_OK);
        bad = sound;
        up_door_fault_put((up_door_fault)f, 1, 0.5, &bad.values, &bad.bench);
        reel a, b;
        assert_int_equal(record(&a, &sound), UP_OK);
        assert_int_equal(record(&b, &bad), UP_OK);
        const int same = memcmp(a.room, b.room, up_bench_room(&sound.bench) * sizeof *a.room) == 0;
        if (same != up_door_fault_at((up_door_fault)f)->needs_controller) {
            fail_msg("%s: %s", up_door_fault_at((up_door_fault)f)->name, same ? "shows nothing" : "shows");
        }
        free(a.room);
        free(b.room);
    }
}

static void a_spring_that_is_not_there_cannot_break(void **state) {
    (void)state;
    up_values values;
    up_values_fallback(UP_FAMILY_SINGLE_ARM, &values);
    assert_int_equal(up_door_fault_fits(UP_DOOR_FAULT_BROKEN_SPRING, &values), 0);
    values.balance_top = 1;
    assert_int_equal(up_door_fault_fits(UP_DOOR_FAULT_BROKEN_SPRING, &values), 1);
    assert_int_equal(up_door_fault_fits(UP_DOOR_FAULT_COUNT, &values), 0);
    assert_null(up_door_fault_at(UP_DOOR_FAULT_COUNT));
}

/* Extra drag at a place adds to the sheet's points and leaves the rest of the travel alone. */
static void a_tight_place_is_where_it_was_put(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    up_bench_default(&bench);
    up_values_fallback(UP_FAMILY_RACK, &values);
    values.drag_count = 2;
    values.drag_position[0] = 0.30;
    values.drag_force[0] = 0;
    values.drag_position[1] = 0.36;
    values.drag_force[1] = 46;
    up_values tight = values;
    up_door_fault_put(UP_DOOR_FAULT_TIGHT_CHANNEL, 1, 0.5, &tight, &bench);
    up_door before, after;
    assert_int_equal(up_door_prepare(&values, 293.15, &before), UP_OK);
    assert_int_equal(up_door_prepare(&tight, 293.15, &after), UP_OK);
    const double middle = 0.5 * values.glass_travel;
    for (int n = 0; n <= 100; n++) {
        const double x = 0.01 * n * values.glass_travel;
        const double extra = up_glass_drag(&after, x, NULL) - up_glass_drag(&before, x, NULL);
        assert_true(fabs(x - middle) < 0.03 ? extra > -1e-9 : fabs(extra) < 1e-9);
    }
    const double most = up_glass_drag(&after, middle, NULL) - up_glass_drag(&before, middle, NULL);
    assert_true(fabs(most - 90) < 1e-9);
}

static void the_page_lists_every_fault(void **state) {
    (void)state;
    FILE *file = fopen(UPSTOP_SOURCE_DIR "/docs/bench.md", "r");
    assert_non_null(file);
    static char page[1 << 16];
    page[fread(page, 1, sizeof page - 1, file)] = 0;
    fclose(file);
    for (int f = 1; f < UP_DOOR_FAULT_COUNT; f++) {
        const up_door_fault_row *row = up_door_fault_at((up_door_fault)f);
        char wanted[512];
        (void)snprintf(wanted, sizeof wanted, "| `%s` | %s | %s | %s |", row->name, row->text, row->change, row->why);
        if (strstr(page, wanted) == NULL) {
            fail_msg("docs/bench.md has no row: %s", wanted);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(at_full_severity_each_fault_shows_in_its_signal),
        cmocka_unit_test(severity_nought_and_no_number_change_nothing),
        cmocka_unit_test(worse_is_worse),
        cmocka_unit_test(every_fault_fits_its_families_and_records),
        cmocka_unit_test(a_case_is_its_sound_twin_but_for_the_fault),
        cmocka_unit_test(a_case_both_ways_goes_up_and_down),
        cmocka_unit_test(leads_direct_hide_what_needs_a_controller),
        cmocka_unit_test(a_spring_that_is_not_there_cannot_break),
        cmocka_unit_test(a_tight_place_is_where_it_was_put),
        cmocka_unit_test(the_page_lists_every_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* One overheard closing answers for every setting of the detector: what is told again decides at the same tick as the
 * simulation does, with the very same constants; and the largest force of a setting is the one that brute force finds.
 *
 * Compared with the library's own simulation and with nothing outside: what that is worth is held by the other tests. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/tune_days.h"
#include "analysis/tune_rods.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "io/threads.h"

enum {
    SEED = 5,
#ifdef UPSTOP_SANITIZED
    DAYS = 12,
    SETTINGS = 8,
#else
    DAYS = 48,
    SETTINGS = 24,
#endif
    RODS = 24
};

typedef struct bench {
    up_known known;
    up_plan plan;
    up_case_maker maker;
    up_control_settings teacher[2];
    up_day_bank days;
} bench;

/* Anything within the ranges. */
static void any_tuning(const up_values *sheet, int index, up_tuning *tuning) {
    up_tuning_of(sheet, tuning);
    tuning->principle = index % 2;
    tuning->profile = index / 2 % 2;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        double low = 0;
        double high = 0;
        up_tuned_range((up_tuned)i, &low, &high);
        const double u = up_random_unit(SEED, 77, (uint64_t)(index * UP_TUNED_COUNT + i));
        tuning->value[i] = up_tuned_rounded((up_tuned)i, low * pow(high / low, u));
    }
}

static up_control_settings control_of(const up_values *sheet, const up_tuning *tuning) {
    up_control_settings control;
    assert_int_equal(up_tuning_control(sheet, tuning, &control), UP_OK);
    assert_true(up_detector_settings_are_valid(&control.detector));
    return control;
}

static int set_up(void **state) {
    bench *const b = calloc(1, sizeof *b);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &b->known.values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, b->known.spread);
    up_plan_default(&b->plan);
    assert_int_equal(up_case_maker_prepare(&b->known, &b->plan, 1e-4, &b->maker), UP_OK);
    for (int principle = 0; principle < 2; principle++) {
        up_tuning tuning;
        up_tuning_of(&b->known.values, &tuning);
        tuning.principle = principle;
        tuning.profile = UP_PROFILE_LEARNED;
        b->teacher[principle] = control_of(&b->known.values, &tuning);
    }
    b->days = (up_day_bank){.maker = &b->maker,
                            .seed = SEED,
                            .first = 1,
                            .count = DAYS,
                            .teacher = b->teacher,
                            .day = calloc(DAYS, sizeof *b->days.day),
                            .word = malloc(DAYS * UP_OVERHEARD_MOST * sizeof *b->days.word)};
    up_workers *const workers = up_threads_start(2);
    up_day_bank_fill(&b->days, workers);
    up_threads_stop(workers);
    *state = b;
    return 0;
}

static int tear_down(void **state) {
    bench *const b = *state;
    free(b->days.day);
    free(b->days.word);
    free(b);
    return 0;
}

/* The same closing with the setting in its controller; returns 1 when it turned round, then *time is when. */
static int simulate(const bench *b, int day, const up_control_settings *tuned, int flashed, double *time,
                    double *excess) {
    static up_case made;
    static double z[UP_CASE_NUMBERS_MAX];
    up_outcome outcome;
    up_detector_memory memory;
    assert_int_equal(up_case_draw(&b->maker, SEED, (uint64_t)day + 1, NULL, z, &made), UP_OK);
    up_day_control(&b->days.day[day], tuned, flashed, &made.door.control, &memory);
    made.options.memory = &memory;
    assert_int_equal(up_run(&made.door, &made.options, NULL, &outcome, NULL), UP_OK);
    *time = outcome.detection_time;
    *excess = outcome.lasting_detector_excess;
    return outcome.reversals > 0;
}

static double time_of_tick(const up_overheard *heard, int tick) {
    for (int i = 0; i < heard->count; i++) {
        if ((heard->word[i].what & UP_OVERHEARD_EDGE) == 0 && tick-- == 0) {
            return 1e-6 * heard->word[i].now_us;
        }
    }
    return -1;
}

static void test_a_replay_decides_as_the_simulation_does(void **state) {
    bench *const b = *state;
    int reversed = 0;
    int closed = 0;
    for (int i = 0; i < SETTINGS; i++) {
        up_tuning tuning;
        any_tuning(&b->known.values, i, &tuning);
        const up_control_settings flashed = control_of(&b->known.values, &tuning);
        for (int day = i % 2; day < DAYS; day += 2) {
            const up_day *const d = &b->days.day[day];
            up_control_settings control;
            up_detector_memory memory;
            up_replay replay;
            double time = 0;
            double excess = 0;
            assert_true(d->usable);
            up_day_control(d, &flashed, i / 4 % 2, &control, &memory);
            up_replay_overheard(&d->heard, &control, &memory, 0, &replay);
            const int turned = simulate(b, day, &flashed, i / 4 % 2, &time, &excess);
            assert_int_equal(up_replay_reversed(&replay), turned);
            if (turned) {
                assert_true(fabs(time_of_tick(&d->heard, replay.tick) - time) < 1.1e-6);
            }
            reversed += turned;
            closed += !turned;
        }
    }
    assert_true(reversed > 20 && closed > 20); /* both are looked at */
}

/* At its own threshold what lasts says exactly whether it turns round, but for what a stall decides. */
static void test_what_lasts_is_exact_at_its_own_threshold(void **state) {
    bench *const b = *state;
    int decided = 0;
    for (int i = 0; i < SETTINGS; i++) {
        up_tuning tuning;
        up_control_settings flashed;
        double lasting[DAYS];
        any_tuning(&b->known.values, i, &tuning);
        flashed = control_of(&b->known.values, &tuning);
        up_day_bank_lasting(&b->days, 0, DAYS, &flashed, 1, NULL, lasting);
        for (int day = 0; day < DAYS; day++) {
            int hits = 0;
            int of = 0;
            up_day_bank_judge(&b->days, day, day + 1, &flashed, 1, 0, NULL, &hits, &of);
            assert_int_equal(of, 1);
            if (isfinite(lasting[day]) && lasting[day] > flashed.detector.threshold / 16.0) {
                assert_int_equal(hits, 1);
            } else if (isfinite(lasting[day])) {
                assert_int_equal(hits, 0);
            }
            decided += isfinite(lasting[day]);
        }
    }
    assert_true(decided > DAYS * SETTINGS / 2);
}

/* up_outcome tells the same number where nothing was decided. */
static void test_what_lasts_is_what_the_simulation_keeps(void **state) {
    bench *const b = *state;
    int compared = 0;
    int same = 0;
    for (int i = 0; i < SETTINGS; i++) {
        up_tuning tuning;
        double lasting[DAYS];
        any_tuning(&b->known.values, i, &tuning);
        const up_control_settings flashed = control_of(&b->known.values, &tuning);
        if (flashed.detector.confirm_edges > 16) {
            continue; /* the simulation looks at no more */
        }
        up_day_bank_lasting(&b->days, 0, 6, &flashed, 1, NULL, lasting);
        for (int day = 0; day < 6; day++) {
            double time = 0;
            double excess = 0;
            if (!simulate(b, day, &flashed, 0, &time, &excess) && isfinite(lasting[day])) {
                assert_true(lasting[day] >= excess); /* the simulation leaves out what is reckoned while it is masked */
                same += !(lasting[day] > excess);
                compared++;
            }
        }
    }
    assert_true(compared > 5 && same > compared / 2);
}

/* ---- rods ---- */

typedef struct rods {
    up_known known;
    up_facts facts;
    up_rod_bank bank;
} rods;

static void place_rods(rods *r, const up_known *sheet) {
    up_pinch_plan plan;
    up_pinch_point points[RODS];
    up_facts_default(&r->facts);
    r->facts.place = UP_FROM_SWITCH;
    r->facts.way = UP_WAY_ONE_TOUCH;
    r->facts.reversing = UP_ANSWER_YES;
    up_rod_bank_known(sheet, &r->known);
    r->bank.known = &r->known;
    r->bank.rules = 2;
    r->bank.room = RODS;
    r->bank.cases = calloc(RODS, sizeof *r->bank.cases);
    r->bank.word = malloc(RODS * UP_OVERHEARD_MOST * sizeof *r->bank.word);
    for (int rule = 0; rule < 2; rule++) {
        r->bank.study[rule] = (up_pinch_study){.known = &r->known,
                                               .rule = up_rule_named(rule ? "UN" : "US"),
                                               .facts = &r->facts,
                                               .seed = SEED,
                                               .encoder_seed = SEED,
                                               .tolerance = 1e-4};
        r->bank.must_turn[rule] = 1;
        up_pinch_plan_default(&r->bank.study[rule], &plan);
        for (int i = 0; i < RODS / 2; i++) {
            double u[UP_PINCH_AXES];
            for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
                u[axis] = up_random_unit(SEED, 78, (uint64_t)((rule * RODS + i) * UP_PINCH_AXES + axis));
            }
            up_pinch_plan_point(&plan, i % 2 ? UP_PINCH_FROM_REST : UP_PINCH_RUNNING, u, &points[i]);
        }
        assert_int_equal(up_rod_bank_add(&r->bank, rule, points, RODS / 2, NULL), RODS / 2);
    }
    assert_int_equal(up_rod_bank_add(&r->bank, 0, points, 1, NULL), 0); /* full */
}

/* Each closing with the setting in its controller. */
static void brute_force(const rods *r, const up_control_settings *tuned, double worst[2]) {
    worst[0] = worst[1] = 0;
    for (int i = 0; i < RODS; i++) {
        const up_rod_case *const one = &r->bank.cases[i];
        up_pinch_result result;
        up_outcome outcome;
        up_run_options options;
        up_pinch_lie lie;
        up_door door;
        if (up_pinch_make(&r->bank.study[one->rule], &r->known.values, &one->point, &door, &options, &lie) != UP_OK) {
            continue;
        }
        up_set(tuned, &door.control);
        if (up_run(&door, &options, NULL, &outcome, NULL) == UP_OK) {
            up_pinch_keep(&options, &lie, door.travel, &outcome, &result);
            worst[one->rule] = fmax(worst[one->rule], result.force);
        }
    }
}

static void test_the_largest_force_is_what_brute_force_finds(void **state) {
    bench *const b = *state;
    static rods r;
    up_control_settings control[SETTINGS];
    up_rod_worst worst[SETTINGS];
    up_rod_worst again[SETTINGS];
    static int keys[UP_ROD_AT_ONCE * RODS];
    static up_rod_job jobs[UP_ROD_AT_ONCE * RODS];
    place_rods(&r, &b->known);
    for (int i = 0; i < SETTINGS; i++) {
        up_tuning tuning;
        any_tuning(&b->known.values, i, &tuning);
        control[i] = control_of(&b->known.values, &tuning);
    }
    up_rod_bank_judge(&r.bank, control, SETTINGS, keys, jobs, NULL, worst);
    up_workers *const workers = up_threads_start(3);
    up_rod_bank_judge(&r.bank, control, SETTINGS, keys, jobs, workers, again);
    up_threads_stop(workers);
    double largest = 0;
    double least = HUGE_VAL;
    for (int i = 0; i < SETTINGS; i++) {
        double wanted[2];
        brute_force(&r, &control[i], wanted);
        for (int rule = 0; rule < 2; rule++) {
            /* a closing that was passed over may squeeze a little more than was assumed of it */
            assert_true(worst[i].force[rule] <= wanted[rule] && worst[i].force[rule] >= 0.98 * wanted[rule]);
            assert_true(again[i].force[rule] >= worst[i].force[rule]);
            largest = fmax(largest, wanted[rule]);
            least = fmin(least, wanted[rule]);
        }
    }
    assert_true(largest > 1.5 * least); /* the settings do differ */
    free(r.bank.cases);
    free(r.bank.word);
}

/* ---- what a closing teaches ---- */

/* A profile that was learned tells the load of the same closing: in a second one little is left to note. */
static void test_a_learned_profile_settles(void **state) {
    bench *const b = *state;
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_overheard heard;
    up_overheard_word *const word = malloc(UP_OVERHEARD_MOST * sizeof *word);
    assert_int_equal(up_door_prepare(&b->known.values, UP_ROOM_TEMPERATURE, &door), UP_OK);
    up_run_options_default(&options);
    options.tolerance = 1e-4;
    up_overheard_clear(&heard, word, UP_OVERHEARD_MOST);
    const up_listener listener = up_overhear(&heard);
    options.listener = &listener;
    up_hold_back(&door.control);
    assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
    assert_int_equal(heard.cut, 0);
    for (int principle = 0; principle < 2; principle++) {
        up_control_settings control = b->teacher[principle];
        up_detector_memory start;
        up_detector_memory once;
        up_detector_memory twice;
        double first = 0;
        double second = 0;
        up_detector_memory_start(&start, &control.detector);
        once = start;
        up_learn_overheard(&heard, &control, &once);
        twice = once;
        up_learn_overheard(&heard, &control, &twice);
        for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
            first += fabs((double)once.profile[k] - start.profile[k]);
            second += fabs((double)twice.profile[k] - once.profile[k]);
        }
        assert_true(first > 0);
        assert_true(second < 0.5 * first);
        up_keep_bound(&control.detector, &once);
        for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
            assert_true(abs(once.profile[k] - start.profile[k]) <= control.detector.bound);
        }
    }
    free(word);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_a_replay_decides_as_the_simulation_does),
                                       cmocka_unit_test(test_what_lasts_is_exact_at_its_own_threshold),
                                       cmocka_unit_test(test_what_lasts_is_what_the_simulation_keeps),
                                       cmocka_unit_test(test_the_largest_force_is_what_brute_force_finds),
                                       cmocka_unit_test(test_a_learned_profile_settles)};
    return cmocka_run_group_tests(tests, set_up, tear_down);
}

/* The same bits every time and everywhere: closings of all families against their pinned digests, on one thread and on
 * two. tests/golden/closing.digest holds what all builds agree on; tools/digest compares compilers, levels of
 * optimisation and WebAssembly, and renews the file when the model was changed on purpose.
 *
 * Where it cannot hold: on processors that compute doubles wider than 64 bits between stores (the 387 unit of 32-bit x86
 * without SSE2), and with compilers told to reorder or fuse (-ffast-math, -ffp-contract=fast). */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/traces_digest.h"

enum { CASES_MAX = 256 };

/* Published values of FNV-1a, 64 bits, for short texts: draft-eastlake-fnv, test vectors, from memory. */
static void the_hash_is_fnv_1a(void **state) {
    (void)state;
    assert_true(up_digest_bytes(UP_DIGEST_START, "", 0) == UINT64_C(0xcbf29ce484222325));
    assert_true(up_digest_bytes(UP_DIGEST_START, "a", 1) == UINT64_C(0xaf63dc4c8601ec8c));
    assert_true(up_digest_bytes(UP_DIGEST_START, "foobar", 6) == UINT64_C(0x85944171f73967e8));
}

static void one_bit_anywhere_changes_it(void **state) {
    (void)state;
    up_outcome outcome;
    memset(&outcome, 0, sizeof outcome);
    const uint64_t before = up_digest_outcome(UP_DIGEST_START, &outcome);
    outcome.ledger[UP_LEDGER_pushed] = 4.9e-324;
    const uint64_t ledger = up_digest_outcome(UP_DIGEST_START, &outcome);
    outcome.ledger[UP_LEDGER_pushed] = -0.0;
    const uint64_t sign = up_digest_outcome(UP_DIGEST_START, &outcome);
    outcome.protector_trips = 1;
    const uint64_t trips = up_digest_outcome(UP_DIGEST_START, &outcome);
    assert_true(before != ledger && before != sign && ledger != sign && trips != sign);
}

static void every_closing_has_its_pinned_digest(void **state) {
    (void)state;
    FILE *file = fopen(UPSTOP_SOURCE_DIR "/tests/golden/closing.digest", "r");
    assert_non_null(file);
    uint64_t digests[CASES_MAX];
    char name[64];
    unsigned long long pinned;
    int wrong = 0;
    const int cases = up_digest_cases();
    for (int i = 0; i < cases; i++) {
        digests[i] = up_digest_of_case(i);
        assert_int_equal(fscanf(file, "%63s %16llx", name, &pinned), 2);
        assert_string_equal(name, up_digest_case_name(i));
        if (digests[i] != pinned) {
            print_message("%s: %016llx, pinned is %016llx\n", name, (unsigned long long)digests[i], pinned);
            wrong++;
        }
    }
    assert_int_equal(fscanf(file, "%63s %16llx", name, &pinned), 2);
    assert_string_equal(name, "all");
    fclose(file);
    if (wrong > 0) {
        fail_msg("%d of %d closings differ; if the model was changed on purpose: tools/digest renew", wrong, cases);
    }
    assert_true(up_digest_fold(digests, cases) == pinned);
}

/* ---- threads -------------------------------------------------------------------------------------------------------- */

typedef struct half {
    int first; /* every second case from here */
    uint64_t digests[CASES_MAX];
} half;

static void *run_half(void *context) {
    half *const h = context;
    for (int i = h->first; i < up_digest_cases(); i += 2) {
        h->digests[i] = up_digest_of_case(i);
    }
    return NULL;
}

static void two_threads_give_what_one_gives(void **state) {
    (void)state;
    static half other = {.first = 1}, own = {.first = 0};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, run_half, &other), 0);
    run_half(&own);
    assert_int_equal(pthread_join(thread, NULL), 0);
    for (int i = 0; i < up_digest_cases(); i++) {
        assert_true((i % 2 ? &other : &own)->digests[i] == up_digest_of_case(i));
    }
}

/* A prepared door is read-only: two threads run different closings on the same one. */
typedef struct shared {
    const up_door *door;
    int lower;
    uint64_t digest;
} shared;

static void *run_shared(void *context) {
    shared *const s = context;
    up_run_options options;
    up_outcome outcome;
    up_run_options_default(&options);
    if (s->lower) {
        options.start_travel = s->door->travel;
        options.switch_step[0].position = UP_SWITCH_LOWER_TOUCH;
    }
    s->digest = UP_DIGEST_START;
    for (int i = 0; i < 10; i++) {
        (void)up_run(s->door, &options, NULL, &outcome, NULL);
        s->digest = up_digest_outcome(s->digest, &outcome);
    }
    return NULL;
}

static void two_threads_may_share_a_door(void **state) {
    (void)state;
    up_values values;
    static up_door door;
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &values);
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    shared raise = {&door, 0, 0}, lower = {&door, 1, 0}, raise_alone = raise, lower_alone = lower;
    run_shared(&raise_alone);
    run_shared(&lower_alone);
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, run_shared, &lower), 0);
    run_shared(&raise);
    assert_int_equal(pthread_join(thread, NULL), 0);
    assert_true(raise.digest == raise_alone.digest);
    assert_true(lower.digest == lower_alone.digest);
    assert_true(raise.digest != lower.digest);
}

/* The cases are about something: each prepares, runs to its end, and what it is named after happens in it. */
static void the_closings_do_what_they_are_named_after(void **state) {
    (void)state;
    int closed = 0, opened = 0, reversed = 0, tripped = 0, squeezed = 0;
    for (int i = 0; i < up_digest_cases(); i++) {
        up_values values;
        up_run_options options;
        static up_door door;
        up_outcome outcome;
        up_digest_case(i, &values, &options);
        assert_int_equal(up_door_prepare(&values, options.temperature, &door), UP_OK);
        assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
        closed += outcome.end == UP_END_CLOSED;
        opened += outcome.end == UP_END_OPENED;
        reversed += outcome.reversals > 0;
        tripped += outcome.protector_trips > 0;
        squeezed += outcome.peak_rod_force > 0;
    }
    assert_true(closed >= 4 && opened >= 4 && reversed >= 8 && tripped >= 4 && squeezed >= 8);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_hash_is_fnv_1a),
        cmocka_unit_test(one_bit_anywhere_changes_it),
        cmocka_unit_test(every_closing_has_its_pinned_digest),
        cmocka_unit_test(two_threads_give_what_one_gives),
        cmocka_unit_test(two_threads_may_share_a_door),
        cmocka_unit_test(the_closings_do_what_they_are_named_after),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

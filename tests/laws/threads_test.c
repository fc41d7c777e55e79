/* The number of threads cannot change a bit: closings of random doors, spreads and rankings, on one thread and on more.
 * The law is the contract of analysis/workers.h; no outside reference. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "analysis/spread.h"
#include "io/threads.h"

enum {
#ifdef UPSTOP_SANITIZED
    DOORS = 40,
    DRAWS = 30
#else
    DOORS = 400,
    DRAWS = 200
#endif
};

/* FNV-1a over the bits of numbers, one after the other: padding never counts. */
static void mix(uint64_t *digest, double number) {
    unsigned char byte[sizeof number];
    memcpy(byte, &number, sizeof byte);
    for (size_t i = 0; i < sizeof byte; i++) {
        *digest = (*digest ^ byte[i]) * 0x100000001b3U;
    }
}

static void mix_sample(void *context, const up_sample *sample) {
#define MIX_MEMBER(id, unit, text) mix(context, sample->id);
    UP_SAMPLE_LIST(MIX_MEMBER)
#undef MIX_MEMBER
}

static void mix_event(void *context, const up_event *event) {
    mix(context, event->time);
    mix(context, event->speed);
    mix(context, event->force);
    mix(context, event->current);
    mix(context, (double)event->kind);
}

static void mix_edge(void *context, double time, int level) {
    mix(context, time);
    mix(context, level);
}

static uint64_t digest_of(uint64_t index) {
    uint64_t digest = 0xcbf29ce484222325U;
    const up_sink sink = {.context = &digest, .sample = mix_sample, .event = mix_event, .edge = mix_edge};
    up_values values;
    up_run_options options;
    up_door door;
    up_outcome outcome;
    if (up_random_door(77, index, &values) != UP_OK) {
        return 0;
    }
    up_random_run(77, index, &values, &options);
    options.sample_interval = 0.01;
    if (up_door_prepare(&values, options.temperature, &door) != UP_OK) {
        return 0;
    }
    mix(&digest, (double)up_run(&door, &options, &sink, &outcome, NULL));
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        mix(&digest, outcome.ledger[i]);
    }
    mix(&digest, outcome.time);
    mix(&digest, outcome.peak_rod_force);
    mix(&digest, outcome.final_travel);
    return digest;
}

static void digest_doors(void *context, int first, int end) {
    uint64_t *const digests = context;
    for (int i = first; i < end; i++) {
        digests[i] = digest_of((uint64_t)i);
    }
}

static void traces_have_the_same_bits_on_any_number_of_threads(void **state) {
    (void)state;
    static uint64_t alone[DOORS], shared[DOORS];
    up_share_work(NULL, DOORS, digest_doors, alone);
    int different = 0;
    for (int i = 0; i < DOORS; i++) {
        assert_true(alone[i] != 0);
        different += i > 0 && alone[i] != alone[0];
    }
    assert_int_equal(different, DOORS - 1);
    for (int threads = 1; threads <= 3; threads++) {
        up_workers *workers = up_threads_start(threads);
        memset(shared, 0, sizeof shared);
        up_share_work(workers, DOORS, digest_doors, shared);
        up_threads_stop(workers);
        assert_memory_equal(alone, shared, sizeof alone);
    }
}

/* A typical door with a rod in its way. */
static void typical_request(up_known *known, up_run_options *options, up_facts *facts, up_spread_request *request) {
    memset(known, 0, sizeof *known);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known->values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, known->spread);
    up_run_options_default(options);
    options->switch_steps = 1;
    options->switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_TOUCH};
    options->rod = 1;
    options->rod_opening = 0.12;
    options->rod_stiffness = 10e3;
    up_facts_default(facts);
    facts->reversing = UP_ANSWER_YES;
    *request = (up_spread_request){
        .known = known, .options = options, .facts = facts, .rule = up_rule_named("UN"), .seed = 3, .draws = DRAWS};
}

static uint64_t digest_spread(const up_spread_request *request, up_workers *workers) {
    uint64_t digest = 0xcbf29ce484222325U;
    up_spread_result result;
    void *memory = malloc(up_spread_memory(request->draws));
    assert_int_equal(up_spread_run(request, workers, memory, up_spread_memory(request->draws), &result), UP_OK);
    free(memory);
    assert_int_equal(result.draws + result.failed, request->draws);
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        const up_spread_figure *f = &result.figure[h];
        mix(&digest, f->nominal);
        mix(&digest, f->low);
        mix(&digest, f->high);
        mix(&digest, f->mean);
        mix(&digest, f->deviation);
    }
    mix(&digest, result.passed_all.share);
    mix(&digest, result.reversed.low);
    return digest;
}

static uint64_t digest_matters(const up_spread_request *request, up_workers *workers) {
    uint64_t digest = 0xcbf29ce484222325U;
    up_matter matters[UP_NUMBER_COUNT];
    int count = 0;
    assert_int_equal(up_matter_run(request, workers, matters, &count), UP_OK);
    assert_true(count > 20);
    for (int i = 0; i < count; i++) {
        for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
            mix(&digest, matters[i].effect[h]);
        }
        mix(&digest, (double)matters[i].number);
        mix(&digest, matters[i].changes_end);
    }
    return digest;
}

static void spreads_and_rankings_have_the_same_bits_on_any_number_of_threads(void **state) {
    (void)state;
    up_known known;
    up_run_options options;
    up_facts facts;
    up_spread_request request;
    typical_request(&known, &options, &facts, &request);
    const uint64_t spread = digest_spread(&request, NULL), matters = digest_matters(&request, NULL);
    for (int threads = 1; threads <= 3; threads++) {
        up_workers *workers = up_threads_start(threads);
        assert_true(digest_spread(&request, workers) == spread);
        assert_true(digest_matters(&request, workers) == matters);
        up_threads_stop(workers);
    }
    request.seed = 4;
    assert_true(digest_spread(&request, NULL) != spread);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(traces_have_the_same_bits_on_any_number_of_threads),
        cmocka_unit_test(spreads_and_rankings_have_the_same_bits_on_any_number_of_threads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

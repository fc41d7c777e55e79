/* Tuning compares fairly: no choice may look better because the search for its worst rod went elsewhere. At the worst place
 * that was found for any other choice it squeezes no more than what is told of it.
 *
 * Compared with the library's own closings, run once more at those places, and with nothing outside. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/tune.h"
#include "io/threads.h"

#ifdef UPSTOP_SANITIZED
enum { SHAPES = 1, ROUNDS = 0 };
#else
enum { SHAPES = 2, ROUNDS = 1 };
#endif

static double force_at(const up_tune_request *request, const up_tune_choice *choice, int rule,
                       const up_pinch_point *point, int *lies) {
    up_known known = *request->known;
    up_pinch_result squeezed;
    up_tuning_into(&choice->point.tuning, &known.values);
    const up_pinch_study study = {.known = &known,
                                  .rule = request->rule[rule],
                                  .facts = request->facts,
                                  .seed = request->seed,
                                  .encoder_seed = (uint32_t)request->seed,
                                  .tolerance = request->tolerance};
    const up_pinch_work work = {.study = &study, .points = point, .count = 1, .results = &squeezed};
    up_pinch_run(&work, NULL);
    *lies = squeezed.status == UP_OK && squeezed.touched && squeezed.reversals == 0;
    return squeezed.status == UP_OK && squeezed.touched ? squeezed.force : 0;
}

static void every_choice_is_judged_where_the_others_are_worst(void **state) {
    (void)state;
    up_known known;
    up_facts facts;
    up_tune_request request;
    up_tune_result *const result = calloc(1, sizeof *result);
    memset(&known, 0, sizeof known);
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &known.values);
    up_values_fallback_spread(UP_FAMILY_CROSSED_ARMS, known.spread);
    up_facts_default(&facts);
    facts.place = UP_FROM_SWITCH;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.reversing = UP_ANSWER_YES;
    up_tune_request_default(&request);
    request.known = &known;
    request.facts = &facts;
    for (int i = 0; i < up_rule_count(); i++) {
        if (strcmp(up_rule_at(i)->name, "UN") == 0) {
            request.rule[request.rules++] = up_rule_at(i);
        }
    }
    assert_int_equal(request.rules, 1);
    const int must_turn = up_tune_must_turn(request.rule[0]);
    request.days = request.confirm_days = 64;
    request.shapes = SHAPES;
    request.rounds = ROUNDS;
    request.draws = 20;
    request.kinds = 1 << 0 | 1 << 2;
    const size_t size = up_tune_memory(&request);
    void *const memory = malloc(size);
    up_workers *const workers = up_threads_start(2);
    assert_int_equal(up_tune_run(&request, workers, memory, size, result), UP_OK);
    up_threads_stop(workers);

    const up_tune_choice *choice[] = {&result->today, &result->best[0], &result->best[2]};
    for (int i = 0; i < 3; i++) {
        assert_true(choice[i]->is_there);
        assert_true(choice[i]->unturned_same[0] <= choice[i]->unturned[0]);
        for (int k = 0; k < 3; k++) {
            int lies = 0;
            const double force = force_at(&request, choice[i], 0, &choice[k]->worst[0].point, &lies);
            assert_true(choice[k]->worst[0].force > 0);
            assert_true(force <= choice[i]->worst[0].force * (1 + 1e-9));
            assert_true(!lies || !must_turn || choice[i]->unturned_same[0] > 0);
            assert_true(i != k || force >= choice[i]->worst[0].force * (1 - 1e-9));
        }
    }
    free(memory);
    free(result);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_choice_is_judged_where_the_others_are_worst)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

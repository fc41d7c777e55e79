/* What the result hangs on, what to measure next, and rates too small to count. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/vary_desk.h"
#include "apps/cli/vary_run.h"
#include "io/entry_texts.h"

enum {
    ROWS_FEWEST = 96, /* of the ranking, for campaigns of some hundred closings   */
    ROWS_FEW = 256,   /* of some thousand                                         */
    ROWS_MANY = 2048, /* for the large ones                                       */
    SMALL = 1000,     /* closings                                                 */
    LARGE = 100000,
    ENTRIES_ALONE = 10,     /* ranked one by one                                        */
    TRIED_CLOSINGS = 20000, /* at most, to see what a measurement changes               */
    POPULATION = 4000,      /* 1000 miss ways to turn round that are rare from the start: docs/campaigns.md, 5 */
    POPULATIONS = 8
};

/* Draws that have nothing to do with the campaign's own. */
static const uint64_t ranking_seed = 0x72616e6bULL << 32;
/* A measurement is taken to leave that part of the present interval. */
static const double measured_part = 1.0 / 3;

static int out_of_memory(const up_vary *vary) {
    fprintf(stderr, "upstop %s: out of memory\n", vary->command);
    return UP_EXIT_INTERNAL;
}

static void tell(const up_vary *vary, const char *doing) {
    if (vary->progress) {
        fprintf(stderr, "%s\n", doing);
    }
}

static int threads_of(const up_vary_crew *crew) {
    return crew->workers ? crew->workers->threads : 1;
}

/* ---- ranking ---- */

static int rank_factors(up_vary_answer *answer, const up_vary_crew *crew) {
    const up_vary *const vary = answer->vary;
    const up_rank_request request = {.maker = &answer->maker,
                                     .tally = answer->tally,
                                     .seed = vary->seed ^ ranking_seed,
                                     .entries = ENTRIES_ALONE,
                                     .rows = vary->closings < SMALL   ? ROWS_FEWEST
                                             : vary->closings < LARGE ? ROWS_FEW
                                                                      : ROWS_MANY};
    const size_t size = up_rank_memory(threads_of(crew));
    void *const memory = malloc(size);
    if (!memory) {
        return out_of_memory(vary);
    }
    answer->ranked = up_rank_run(&request, crew->workers, memory, size, &answer->rank) == UP_OK;
    free(memory);
    return -1;
}

/* ---- what to measure ---- */

up_vary_result up_vary_result_of(const up_tally *tally) {
    const int rod = tally->maker->plan.rod;
    const up_quantile *const result = rod ? &tally->headline[UP_HEADLINE_peak_rod_force] : &tally->severity;
    const uint64_t judged = tally->passed + tally->refused;
    return (up_vary_result){.low = up_quantile_at(result, 0.025),
                            .high = up_quantile_at(result, 0.975),
                            .share = rod ? up_share_of((int)tally->passed, (int)judged)
                                         : up_share_of((int)tally->false_reversals, (int)tally->closings)};
}

/* The campaign once more, with other knowledge of the door. */
static int try_known(const up_vary_answer *answer, const up_known *known, up_vary_crew *crew, up_tally *tally,
                     up_vary_result *result) {
    up_case_maker *const maker = malloc(sizeof *maker);
    if (!maker) {
        return out_of_memory(answer->vary);
    }
    int status = UP_EXIT_INTERNAL;
    if (up_case_maker_prepare(known, &answer->maker.plan, answer->maker.tolerance, maker) == UP_OK) {
        const up_campaign campaign = {maker, answer->campaign.seed, NULL};
        status = up_vary_count(answer->vary, &campaign, answer->tried_closings, crew, tally);
        *result = up_vary_result_of(tally);
    }
    free(maker);
    return status;
}

static void keep_quarters(const up_tally *tally, int single, up_tally_quarter quarter[2]) {
    quarter[0] = up_tally_quarter_of(tally, single, 0);
    quarter[1] = up_tally_quarter_of(tally, single, 1);
}

static int try_measures(up_vary_answer *answer, up_vary_crew *crew, up_tally *tally, up_known *then) {
    int status = -1;
    answer->tried_closings = answer->vary->closings < TRIED_CLOSINGS ? answer->vary->closings : TRIED_CLOSINGS;
    if (answer->tried_closings == answer->vary->closings) {
        answer->now = up_vary_result_of(answer->tally);
    } else {
        status = try_known(answer, answer->maker.known, crew, tally, &answer->now);
    }
    for (int i = 0; i < answer->measures && status < 0; i++) {
        up_vary_measure *const one = &answer->measure[i];
        keep_quarters(answer->tally, one->measure.single, one->now_quarter);
        up_measure_known(answer->maker.known, &one->measure, then);
        status = try_known(answer, then, crew, tally, &one->then);
        keep_quarters(tally, one->measure.single, one->then_quarter);
    }
    return status;
}

/* Not with a caliper and a scale: the sheet itself says to leave such an entry out. */
static int can_be_measured(up_number number) {
    return strstr(up_entry_text_of_number(number)->how, "eave it out") == NULL;
}

static int find_measures(up_vary_answer *answer, up_vary_crew *crew) {
    enum { CANDIDATES = 6 * UP_VARY_MEASURES };
    up_measure found[CANDIDATES];
    const int count =
        up_measure_choose(&answer->maker, answer->tally, measured_part, found, CANDIDATES, &answer->by_hits);
    answer->measures = 0;
    for (int i = 0; i < count && answer->measures < UP_VARY_MEASURES; i++) {
        if (can_be_measured(found[i].number)) {
            answer->measure[answer->measures++].measure = found[i];
        }
    }
    up_tally *const tally = malloc(sizeof *tally);
    up_known *const then = malloc(sizeof *then);
    const int status = tally && then ? try_measures(answer, crew, tally, then) : out_of_memory(answer->vary);
    free(then);
    free(tally);
    return status;
}

/* ---- small rates ---- */

static int asked_to_stop(void *context) {
    (void)context;
    return up_vary_signal() != 0;
}

static int find_rare(up_vary_answer *answer, const up_vary_crew *crew) {
    const up_campaign_rare request = {.maker = &answer->maker,
                                      .seed = answer->vary->seed ^ ranking_seed,
                                      .population = POPULATION,
                                      .populations = POPULATIONS,
                                      .stop = asked_to_stop};
    const size_t size = up_campaign_rare_memory(&request, threads_of(crew));
    void *const memory = malloc(size);
    if (!memory) {
        return out_of_memory(answer->vary);
    }
    const up_status status = up_campaign_rare_run(&request, crew->workers, memory, size, &answer->rare);
    free(memory);
    answer->has_rare = status == UP_OK;
    return status == UP_OK ? -1 : UP_EXIT_INTERNAL;
}

int up_vary_rank(up_vary_answer *answer, up_vary_crew *crew) {
    int status = -1;
    if (!answer->vary->count_only) {
        tell(answer->vary, "looking what it hangs on, and what to measure");
        status = rank_factors(answer, crew);
        if (status < 0) {
            status = find_measures(answer, crew);
        }
    }
    if (status < 0 && answer->vary->rare) {
        tell(answer->vary, "splitting");
        status = find_rare(answer, crew);
    }
    return status;
}

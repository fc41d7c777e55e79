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
    fprintf(stderr, "%s: out of memory\n", vary->command);
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

/* The campaign as it is, cut to what is tried. */
static int try_now(up_vary_answer *answer, up_vary_crew *crew, up_tally *tally) {
    answer->tried_closings = answer->vary->closings < TRIED_CLOSINGS ? answer->vary->closings : TRIED_CLOSINGS;
    if (answer->tried_closings == answer->vary->closings) {
        answer->now = up_vary_result_of(answer->tally);
        return -1;
    }
    return try_known(answer, answer->maker.known, crew, tally, &answer->now);
}

/* One entry measured; kept among the answer's when it leaves less open. */
static int try_measure(up_vary_answer *answer, const up_measure *measure, up_vary_crew *crew, up_tally *tally,
                       up_known *then) {
    up_vary_measure *const one = &answer->measure[answer->measures];
    one->measure = *measure;
    keep_quarters(answer->tally, measure->single, one->now_quarter);
    up_measure_known(answer->maker.known, measure, then);
    const int status = try_known(answer, then, crew, tally, &one->then);
    if (status >= 0) {
        return status;
    }
    keep_quarters(tally, measure->single, one->then_quarter);
    answer->tried++;
    answer->measures += up_measure_narrows(one->now_quarter, one->then_quarter, answer->by_hits);
    return -1;
}

/* Does the text that tells how to measure an entry name a tool? Most that say to leave it out do not. */
static int can_be_measured(up_number number) {
    static const char *const tools[] = {"meter", "scale", "caliper", "hone", "ruler", "tape", "stopwatch", "record"};
    const char *const how = up_entry_text_of_number(number)->how;
    if (!strstr(how, "eave it out")) {
        return 1;
    }
    for (size_t i = 0; i < sizeof tools / sizeof tools[0]; i++) {
        if (strstr(how, tools[i])) {
            return 1;
        }
    }
    return 0;
}

static int try_measures(up_vary_answer *answer, const up_measure *found, int count, up_vary_crew *crew, up_tally *tally,
                        up_known *then) {
    int status = try_now(answer, crew, tally);
    for (int i = 0; i < count && status < 0; i++) {
        if (!can_be_measured(found[i].number)) {
            if (answer->no_tools < UP_VARY_NO_TOOL) {
                answer->no_tool[answer->no_tools++] = found[i].number;
            }
        } else if (answer->measures < UP_VARY_MEASURES && answer->tried < UP_VARY_TRIES) {
            status = try_measure(answer, &found[i], crew, tally, then);
        }
    }
    return status;
}

static int find_measures(up_vary_answer *answer, up_vary_crew *crew) {
    up_measure found[UP_CASE_ENTRIES_MAX];
    answer->beyond =
        up_measure_choose(&answer->maker, answer->tally, measured_part, found, UP_CASE_ENTRIES_MAX, &answer->by_hits);
    up_tally *const tally = malloc(sizeof *tally);
    up_known *const then = malloc(sizeof *then);
    const int status =
        tally && then ? try_measures(answer, found, answer->beyond, crew, tally, then) : out_of_memory(answer->vary);
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

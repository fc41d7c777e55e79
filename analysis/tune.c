#include "analysis/tune.h"

#include <math.h>
#include <string.h>

#include "analysis/tune_parts.h"
#include "core/base/up_math.h"

enum {
    RODS_OF_RULE = 160,
    DAYS_LEAST = 64,
    SHAPES_MOST = 256,
    ROUNDS_MOST = 20,
    DRAWS_LEAST = 20,
    COUNT_MOST = 1000000
};

static const double nobody_minds = 50; /* N, below every rule's limit */

void up_tune_request_default(up_tune_request *request) {
    *request = (up_tune_request){.kinds = (1 << UP_TUNE_KINDS) - 1,
                                 .margin = 10,
                                 .rate = 0.01,
                                 .seed = 1,
                                 .tolerance = 1e-4,
                                 .days = 768,
                                 .confirm_days = 2048,
                                 .shapes = 24,
                                 .rounds = 3,
                                 .draws = 100};
    up_plan_default(&request->plan);
}

/* A rod of 100 mm squeezed with some force. */
static void judge_mild(const up_rule *rule, int turned, double force, up_judgement *judgement) {
    up_facts facts;
    up_facts_default(&facts);
    facts.place = UP_FROM_SWITCH;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.reversing = UP_ANSWER_YES;
    facts.obstructed = 1;
    facts.start_opening = 0.3;
    facts.reversal_opening = turned ? 0.099 : UP_ABSENT;
    facts.final_opening = turned ? 0.29 : 0.099;
    facts.peak_force = force;
    facts.rod_opening = facts.rod_diameter = 0.1;
    up_judge(rule, &facts, judgement);
}

static const up_verdict *force_verdict(const up_judgement *judgement) {
    for (int i = 0; i < judgement->count; i++) {
        if (strcmp(judgement->verdict[i].title, "squeezing force") == 0) {
            return &judgement->verdict[i];
        }
    }
    return NULL;
}

double up_tune_limit(const up_rule *rule, int *below) {
    up_judgement judgement;
    judge_mild(rule, 1, nobody_minds, &judgement);
    const up_verdict *const mild = force_verdict(&judgement);
    const double limit = mild ? mild->limit : UP_ABSENT;
    if (below) {
        judge_mild(rule, 1, limit, &judgement);
        const up_verdict *const at_limit = force_verdict(&judgement);
        *below = at_limit && at_limit->result == UP_VERDICT_FAILED;
    }
    return limit;
}

int up_tune_must_turn(const up_rule *rule) {
    up_judgement judgement;
    judge_mild(rule, 0, nobody_minds, &judgement);
    return judgement.closing == UP_VERDICT_FAILED;
}

/* ---- memory ---- */

typedef struct space {
    unsigned char *at; /* NULL: only counted */
    size_t used;
} space;

static void *take(space *s, size_t count, size_t size) {
    const size_t align = 64;
    s->used = (s->used + align - 1) / align * align;
    void *const here = s->at ? s->at + s->used : NULL;
    s->used += count * size;
    return here;
}

/* Stands for any plan: the thorough hunt is the largest map. */
static size_t map_size(const up_tune_request *request) {
    up_pinch_study study = {.known = request->known, .rule = request->rule[0], .facts = request->facts};
    up_pinch_plan plan;
    up_pinch_plan_default(&study, &plan);
    return up_pinch_map_memory(&plan);
}

static void lay_out(const up_tune_request *request, space *s, up_tune_bench *bench) {
    const int room = RODS_OF_RULE * request->rules;
    const int days = request->days > UP_TUNE_CHUNK ? request->days : UP_TUNE_CHUNK;
    bench->rods.room = room;
    bench->rods.cases = take(s, (size_t)room, sizeof *bench->rods.cases);
    bench->rods.word = take(s, (size_t)room * UP_OVERHEARD_MOST, sizeof *bench->rods.word);
    bench->days.day = take(s, (size_t)days, sizeof *bench->days.day);
    bench->days.word = take(s, (size_t)days * UP_OVERHEARD_MOST, sizeof *bench->days.word);
    bench->point = take(s, UP_TUNE_POINTS, sizeof *bench->point);
    bench->keys = take(s, (size_t)room * UP_ROD_AT_ONCE, sizeof *bench->keys);
    bench->jobs = take(s, (size_t)room * UP_ROD_AT_ONCE, sizeof *bench->jobs);
    bench->lasting = take(s, (size_t)UP_TUNE_BATCH * UP_TUNE_SCREEN_DAYS, sizeof *bench->lasting);
    bench->map_size = map_size(request);
    bench->map_memory = take(s, 1, bench->map_size);
    bench->draws = take(s, (size_t)request->draws, sizeof *bench->draws);
    bench->force = take(s, (size_t)request->draws, sizeof *bench->force);
}

static int makes_sense(const up_tune_request *request) {
    return request->rules >= 1 && request->rules <= UP_ROD_RULES_MAX && request->kinds > 0 &&
           request->kinds < 1 << UP_TUNE_KINDS && request->days >= DAYS_LEAST && request->days <= COUNT_MOST &&
           request->confirm_days >= DAYS_LEAST && request->confirm_days <= COUNT_MOST && request->shapes >= 1 &&
           request->shapes <= SHAPES_MOST && request->rounds >= 0 && request->rounds <= ROUNDS_MOST &&
           request->draws >= DRAWS_LEAST && request->draws <= COUNT_MOST && request->margin >= 0 &&
           request->rate >= 0 && request->rate <= 1 && !request->plan.rod;
}

size_t up_tune_memory(const up_tune_request *request) {
    up_tune_bench bench;
    space s = {0};
    if (!makes_sense(request)) {
        return 0;
    }
    lay_out(request, &s, &bench);
    return s.used + 64;
}

/* ---- the whole of it ---- */

static void prepare_studies(up_tune_bench *bench) {
    const up_tune_request *request = bench->request;
    bench->limit = HUGE_VAL;
    up_rod_bank_known(request->known, &bench->rod_known);
    bench->rods.known = &bench->rod_known;
    bench->rods.rules = request->rules;
    for (int i = 0; i < request->rules; i++) {
        bench->rods.study[i] = (up_pinch_study){.known = &bench->rod_known,
                                                .rule = request->rule[i],
                                                .facts = request->facts,
                                                .seed = request->seed,
                                                .encoder_seed = (uint32_t)request->seed,
                                                .tolerance = request->tolerance};
        bench->result->limit[i] = up_tune_limit(request->rule[i], &bench->result->below[i]);
        bench->rods.must_turn[i] = up_tune_must_turn(request->rule[i]);
        bench->limit = fmin(bench->limit, bench->result->limit[i]);
    }
}

static up_status prepare_days(up_tune_bench *bench) {
    const up_tune_request *request = bench->request;
    up_status status = up_case_maker_prepare(request->known, &request->plan, request->tolerance, &bench->maker);
    for (int principle = 0; principle < 2 && status == UP_OK; principle++) {
        up_tuning tuning;
        up_tuning_of(&request->known->values, &tuning);
        tuning.principle = principle;
        tuning.profile = UP_PROFILE_LEARNED;
        status = up_tuning_control(&request->known->values, &tuning, &bench->teacher[principle]);
    }
    bench->days.maker = &bench->maker;
    bench->days.seed = request->seed;
    bench->days.first = 1;
    bench->days.count = request->days;
    return status;
}

void up_tune_tell(const up_tune_bench *bench, const char *what) {
    if (bench->request->progress) {
        bench->request->progress(bench->request->context, what);
    }
}

up_status up_tune_run(const up_tune_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_tune_result *result) {
    up_tune_bench bench = {.request = request, .workers = workers, .result = result};
    if (!makes_sense(request)) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_tune_memory(request)) {
        return UP_MEMORY_TOO_SMALL;
    }
    space s = {.at = memory};
    memset(result, 0, sizeof *result);
    lay_out(request, &s, &bench);
    prepare_studies(&bench);
    up_status status = prepare_days(&bench);
    if (status == UP_OK) {
        status = up_tune_search(&bench);
    }
    if (status == UP_OK) {
        result->settings = bench.points;
        result->rods = bench.rods.count;
        result->days = request->days;
        status = up_tune_confirm(&bench);
    }
    result->closings += bench.rods.simulated;
    return status;
}

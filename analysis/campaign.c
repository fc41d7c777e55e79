#include "analysis/campaign.h"

#include <string.h>

#include "core/base/up_math.h"
#include "core/batch/batch.h"

/* ---- one closing ---------------------------------------------------------------------------------------------------- */

up_status up_campaign_case(const up_campaign *campaign, uint64_t number, double *z, up_case *out) {
    return up_case_draw(campaign->maker, campaign->seed, number, campaign->index, z, out);
}

up_turned up_turned_at(double opening, double travel) {
    const double near = up_min(UP_TURNED_NEAR, travel / 3);
    return opening <= near ? UP_TURNED_TOP : travel - opening <= near ? UP_TURNED_START : UP_TURNED_WAY;
}

const char *up_turned_word(up_turned turned) {
    static const char *const words[UP_TURNED_COUNT] = {"start", "way", "top"};
    return (unsigned)turned < UP_TURNED_COUNT ? words[turned] : NULL;
}

static int32_t judge(const up_plan *plan, const up_case *made, const up_outcome *outcome) {
    up_facts facts;
    up_judgement judgement;
    up_facts_default(&facts);
    facts.rod_diameter = plan->rod_diameter;
    facts.place = UP_FROM_SWITCH;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.reversing = UP_ANSWER_YES;
    up_facts_from_run(&made->values, &made->options, outcome, &facts);
    up_judge(plan->rule, &facts, &judgement);
    return (int32_t)judgement.closing;
}

int32_t up_campaign_verdict(const up_plan *plan, const up_case *made, const up_outcome *outcome, int *met) {
    const int touched = plan->rod && !up_is_absent(outcome->rod_touch_time);
    const int32_t verdict = touched && plan->rule ? judge(plan, made, outcome) : -1;
    *met = touched && (!up_case_false_reversal(outcome) || verdict == UP_VERDICT_FAILED);
    return *met ? verdict : -1;
}

/* Headlines of what did not happen. */
static void take_away(up_closing_row *row, const up_outcome *outcome, int met) {
    if (!met) {
        row->headline[UP_HEADLINE_peak_rod_force] = UP_ABSENT; /* no rod, or it never came so far */
    }
    if (!met || row->false_reversal) {
        row->headline[UP_HEADLINE_detection_delay] = UP_ABSENT;
    }
    if (!(outcome->peak_stop_force > 0)) {
        row->headline[UP_HEADLINE_peak_stop_force] = UP_ABSENT;
    }
    if (!(outcome->running_speed > 0)) { /* it never ran free */
        row->headline[UP_HEADLINE_running_speed] = UP_ABSENT;
        row->headline[UP_HEADLINE_running_current] = UP_ABSENT;
    }
    if (outcome->reversals == 0) {
        row->headline[UP_HEADLINE_reversed_distance] = UP_ABSENT;
    }
}

void up_campaign_row(const up_campaign *campaign, uint64_t number, const up_case *made, up_status status,
                     const up_outcome *outcome, up_closing_row *row) {
    memset(row, 0, sizeof *row); /* holes too: rows are compared and sent as bytes */
    row->number = number;
    row->status = (int32_t)status;
    row->halvings = made->halvings;
    row->verdict = row->turned = -1;
    memcpy(row->drawn, made->drawn, sizeof row->drawn);
    memcpy(row->share, made->share, sizeof row->share);
    if (status != UP_OK) {
        return;
    }
    row->end = (int32_t)outcome->end;
    row->reversals = outcome->reversals;
    row->false_reversal = up_case_false_reversal(outcome);
    row->severity = up_case_severity(made, outcome);
    if (row->false_reversal) {
        row->turned = (int32_t)up_turned_at(made->door.travel - outcome->reversal_travel, made->door.travel);
    }
    int met = 0;
    row->verdict = up_campaign_verdict(&campaign->maker->plan, made, outcome, &met);
    up_headlines(&made->values, outcome, row->headline);
    take_away(row, outcome, met);
}

void up_campaign_shares(const up_campaign *campaign, up_closing_row *row, double *z) {
    up_case_singles(campaign->maker, campaign->seed, row->number, campaign->index, z);
    up_case_shares(campaign->maker, z, row->share);
}

/* ---- one worker -------------------------------------------------------------------------------------------------------- */

/* A block under way. As many as closings side by side, and one that is being handed out: a slow closing of one block then
 * never holds up the next. */
typedef struct open_block {
    int64_t number;
    int left; /* rows not yet filled; 0: the place is free */
    up_closing_row row[UP_BLOCK];
} open_block;

enum { OPEN_BLOCKS = UP_BATCH_WIDTH_MAX + 1 };

typedef struct closing_room {
    up_case made;
    up_outcome outcome;
    open_block *block;
    int place;
} closing_room;

typedef struct worker {
    const up_campaign *campaign;
    const up_campaign_desk *desk;
    open_block *current; /* the one being handed out; NULL: none */
    int handed, dry;
    open_block open[OPEN_BLOCKS];
    closing_room room[UP_BATCH_WIDTH_MAX];
    double z[UP_CASE_NUMBERS_MAX];
    unsigned char batch[UP_BATCH_MEMORY];
} worker;

/* Makes `current` a new block; 0: there are no more. */
static int open_next(worker *w) {
    const int64_t number = w->dry ? -1 : w->desk->next(w->desk->context);
    if (number < 0) {
        w->dry = 1;
        return 0;
    }
    open_block *block = w->open;
    while (block->left > 0) { /* one is free: fewer closings are under way than there are places */
        block++;
    }
    block->number = number;
    block->left = UP_BLOCK;
    w->current = block;
    w->handed = 0;
    return 1;
}

static void fill_row(worker *w, open_block *block, int place, const up_case *made, up_status status,
                     const up_outcome *outcome) {
    const uint64_t number = (uint64_t)block->number * UP_BLOCK + (uint64_t)place + 1;
    up_campaign_row(w->campaign, number, made, status, outcome, &block->row[place]);
    if (--block->left == 0) {
        w->desk->deliver(w->desk->context, block->number, block->row);
    }
}

static int next_closing(void *context, int number, up_batch_item *item) {
    worker *const w = context;
    closing_room *const room = &w->room[number];
    for (;;) {
        if (w->desk->breathe) {
            w->desk->breathe(w->desk->context);
        }
        if ((!w->current || w->handed == UP_BLOCK) && !open_next(w)) {
            return 0;
        }
        room->block = w->current;
        room->place = w->handed++;
        const uint64_t closing = (uint64_t)room->block->number * UP_BLOCK + (uint64_t)room->place + 1;
        const up_status status = up_campaign_case(w->campaign, closing, w->z, &room->made);
        if (status == UP_OK) {
            *item =
                (up_batch_item){.door = &room->made.door, .options = &room->made.options, .outcome = &room->outcome};
            return 1;
        }
        fill_row(w, room->block, room->place, &room->made, status, NULL);
    }
}

static void closing_done(void *context, int number, const up_batch_item *item) {
    worker *const w = context;
    closing_room *const room = &w->room[number];
    fill_row(w, room->block, room->place, &room->made, item->status, item->outcome);
}

size_t up_campaign_memory(void) {
    return sizeof(worker);
}

up_status up_campaign_work(const up_campaign *campaign, const up_campaign_desk *desk, void *memory,
                           size_t memory_size) {
    if (!memory || memory_size < sizeof(worker)) {
        return UP_MEMORY_TOO_SMALL;
    }
    worker *const w = memory;
    w->campaign = campaign;
    w->desk = desk;
    w->current = NULL;
    w->handed = w->dry = 0;
    for (int i = 0; i < OPEN_BLOCKS; i++) {
        w->open[i].left = 0;
    }
    const up_batch_source source = {w, next_closing, closing_done};
    return up_batch_run_from(&source, 0, w->batch, sizeof w->batch);
}

/* ---- all of them --------------------------------------------------------------------------------------------------------- */

typedef struct crew {
    const up_campaign *campaign;
    const up_campaign_desk *desk;
    unsigned char *memory;
} crew;

static void work_pieces(void *context, int first, int end) {
    const crew *const c = context;
    for (int i = first; i < end; i++) {
        (void)up_campaign_work(c->campaign, c->desk, c->memory + (size_t)i * sizeof(worker), sizeof(worker));
    }
}

up_status up_campaign_run(const up_campaign *campaign, up_workers *workers, const up_campaign_desk *desk, void *memory,
                          size_t memory_size) {
    const int threads = workers ? workers->threads : 1;
    if (!memory || memory_size / sizeof(worker) < (size_t)threads) {
        return UP_MEMORY_TOO_SMALL;
    }
    /* A piece of work is a whole worker; whoever comes late finds no blocks left. */
    crew c = {campaign, desk, memory};
    up_share_work(workers, threads, work_pieces, &c);
    return UP_OK;
}

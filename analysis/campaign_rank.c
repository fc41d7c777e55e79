#include "analysis/campaign_rank.h"

#include <math.h>
#include <string.h>

#include "analysis/normals.h"
#include "core/batch/batch.h"

/* ---- which factors ----------------------------------------------------------------------------------------------------- */

/* First-order indices of the entries from the slices, and their order. */
typedef struct entry_order {
    int count;
    double first[UP_CASE_ENTRIES_MAX];
    int order[UP_CASE_ENTRIES_MAX]; /* by falling index, ties in list order */
} entry_order;

static void order_entries(const up_case_maker *maker, const up_tally *tally, entry_order *e) {
    e->count = maker->entries;
    for (int i = 0; i < e->count; i++) {
        const double first = up_tally_first_order(tally, i);
        e->first[i] = up_is_absent(first) ? 0 : first;
        int place = i;
        while (place > 0 && e->first[e->order[place - 1]] < e->first[i]) {
            e->order[place] = e->order[place - 1];
            place--;
        }
        e->order[place] = i;
    }
}

static int group_varies(const up_case_maker *maker, int group) {
    const up_plan *const plan = &maker->plan;
    const up_surroundings *const around = &plan->around;
    switch (group) {
    case UP_GROUP_temperature:
        return plan->temperature_high > plan->temperature_low;
    case UP_GROUP_supply:
        return plan->supply_high > plan->supply_low;
    case UP_GROUP_road:
        return plan->driving_share > 0;
    case UP_GROUP_wind:
        return around->wind_high > 0 || (plan->driving_share > 0 && around->speed_high > 0);
    case UP_GROUP_slam:
        return around->slam_chance > 0;
    case UP_GROUP_loads:
        return around->load_chance > 0;
    case UP_GROUP_wear:
        return plan->wear_high > plan->wear_low;
    default:
        return 1;
    }
}

/* Lists the factors, and says for each factor of a case which of them it belongs to. */
static void choose_factors(const up_rank_request *request, up_rank_result *result, int *belongs) {
    const up_case_maker *const maker = request->maker;
    entry_order e;
    order_entries(maker, request->tally, &e);
    const int alone = request->entries < maker->entries ? request->entries : maker->entries;
    int n = 0;
    for (int i = 0; i < e.count; i++) {
        const int entry = e.order[i];
        if (i < alone) {
            result->factor[n++] = (up_rank_factor){.kind = UP_RANK_ENTRY, .number = maker->entry[entry].number};
        } else if (i == alone) {
            result->factor[n++] = (up_rank_factor){.kind = UP_RANK_OTHER_ENTRIES};
        }
        belongs[entry] = n - 1;
    }
    for (int g = 0; g < UP_GROUP_COUNT; g++) {
        const int varies = group_varies(maker, g);
        belongs[maker->entries + g] = varies ? n : -1;
        if (varies) {
            result->factor[n++] = (up_rank_factor){.kind = UP_RANK_GROUP, .group = (up_group)g};
        }
    }
    result->factors = n;
}

/* ---- running the plan ---------------------------------------------------------------------------------------------------- */

typedef struct rank_room {
    up_case made;
    up_outcome outcome;
    int place; /* in the block's results */
} rank_room;

enum { POINTS_MAX = UP_RANK_FACTORS_MAX + 2, ROWS_AT_ONCE = 32 };

/* One thread's memory: some rows at a time through a batch. */
typedef struct rank_worker {
    const up_rank_request *request;
    const int *belongs;
    int factors;
    double neutral; /* result that stands in where there is none */
    uint64_t row;   /* first of those at hand */
    int rows, next;
    double result[ROWS_AT_ONCE * POINTS_MAX];
    rank_room room[UP_BATCH_WIDTH_MAX];
    double z[UP_CASE_NUMBERS_MAX];
    unsigned char batch[UP_BATCH_MEMORY];
} rank_worker;

typedef struct rank_job {
    const up_rank_request *request;
    const int *belongs;
    int factors, threads;
    unsigned char *memory;
    up_variance_block *block;
} rank_job;

/* Places at which the factors of a case are drawn for a point of a row. */
static void choose_places(const rank_worker *w, uint64_t row, int point, uint64_t *index) {
    for (int f = 0; f < up_case_factors(w->request->maker); f++) {
        const int factor = w->belongs[f];
        const up_variance_sample sample = factor < 0 ? UP_VARIANCE_A : up_variance_sample_of(point, factor);
        index[f] = 2 * row + (sample == UP_VARIANCE_B);
    }
}

static int next_point(void *context, int number, up_batch_item *item) {
    rank_worker *const w = context;
    rank_room *const room = &w->room[number];
    const int points = up_variance_points(w->factors);
    while (w->next < w->rows * points) {
        uint64_t index[UP_CASE_FACTORS_MAX];
        room->place = w->next++;
        choose_places(w, w->row + (uint64_t)(room->place / points), room->place % points, index);
        if (up_case_draw(w->request->maker, w->request->seed, 0, index, w->z, &room->made) == UP_OK) {
            *item =
                (up_batch_item){.door = &room->made.door, .options = &room->made.options, .outcome = &room->outcome};
            return 1;
        }
        w->result[room->place] = UP_ABSENT;
    }
    return 0;
}

/* A closing that never met the rod says nothing of the force on it: the campaign's mean stands in, lest a few zeros make up
 * all the variance there is. */
static void point_done(void *context, int number, const up_batch_item *item) {
    rank_worker *const w = context;
    const rank_room *const room = &w->room[number];
    const up_outcome *const outcome = &room->outcome;
    double result = UP_ABSENT;
    if (item->status == UP_OK && !w->request->maker->plan.rod) {
        result = up_case_severity(&room->made, outcome);
    } else if (item->status == UP_OK) {
        int met = 0;
        (void)up_campaign_verdict(&w->request->maker->plan, &room->made, outcome, &met);
        result = met ? outcome->peak_rod_force : w->neutral;
    }
    w->result[room->place] = result;
}

static void run_block(rank_worker *w, uint64_t first, uint64_t end, up_variance_block *block) {
    const up_batch_source source = {w, next_point, point_done};
    up_variance_block_clear(block, w->factors);
    for (w->row = first; w->row < end; w->row += (uint64_t)w->rows) {
        w->rows = end - w->row < ROWS_AT_ONCE ? (int)(end - w->row) : ROWS_AT_ONCE;
        w->next = 0;
        (void)up_batch_run_from(&source, 0, w->batch, sizeof w->batch);
        for (int r = 0; r < w->rows; r++) {
            up_variance_add(block, w->result + (size_t)r * (size_t)up_variance_points(w->factors));
        }
    }
}

static void run_pieces(void *context, int first, int end) {
    const rank_job *const job = context;
    for (int piece = first; piece < end; piece++) {
        rank_worker *const w = (rank_worker *)(void *)(job->memory + (size_t)piece * sizeof *w);
        w->request = job->request;
        w->belongs = job->belongs;
        w->factors = job->factors;
        w->neutral = up_tally_mean(job->request->tally);
        for (int b = piece; b < UP_RANK_BLOCKS; b += job->threads) {
            run_block(w, up_variance_first_row(job->request->rows, UP_RANK_BLOCKS, b),
                      up_variance_first_row(job->request->rows, UP_RANK_BLOCKS, b + 1), &job->block[b]);
        }
    }
}

static size_t blocks_size(void) {
    return UP_RANK_BLOCKS * sizeof(up_variance_block);
}

size_t up_rank_memory(int threads) {
    return blocks_size() + (size_t)threads * sizeof(rank_worker);
}

static void sort_factors(const up_variance_index *index, up_rank_result *result) {
    for (int f = 0; f < result->factors; f++) {
        up_rank_factor one = result->factor[f];
        one.index = index[f];
        int place = f;
        while (place > 0 && result->factor[place - 1].index.total < one.index.total) {
            result->factor[place] = result->factor[place - 1];
            place--;
        }
        result->factor[place] = one;
    }
}

up_status up_rank_run(const up_rank_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_rank_result *result) {
    const int threads = workers ? workers->threads : 1;
    int belongs[UP_CASE_FACTORS_MAX];
    up_variance_index index[UP_RANK_FACTORS_MAX];
    memset(result, 0, sizeof *result);
    if (request->entries < 0 || request->entries > UP_RANK_ENTRIES_MAX || request->rows < UP_RANK_BLOCKS) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_rank_memory(threads)) {
        return UP_MEMORY_TOO_SMALL;
    }
    choose_factors(request, result, belongs);
    rank_job job = {request, belongs, result->factors, threads, (unsigned char *)memory + blocks_size(), memory};
    up_share_work(workers, threads, run_pieces, &job);
    result->closings = request->rows * (uint64_t)up_variance_points(result->factors);
    const up_status status = up_variance_estimate(job.block, UP_RANK_BLOCKS, &result->about, index);
    if (status == UP_OK) {
        sort_factors(index, result);
    }
    return status;
}

/* ---- what to measure next ---------------------------------------------------------------------------------------------- */

enum { HITS_ENOUGH = 30 };

static double gap_of(const up_tally_quarter quarter[2], int by_hits) {
    if (quarter[0].closings == 0 || quarter[1].closings == 0) {
        return 0;
    }
    return by_hits ? (double)quarter[1].hits / (double)quarter[1].closings -
                         (double)quarter[0].hits / (double)quarter[0].closings
                   : quarter[1].mean - quarter[0].mean;
}

double up_measure_z(const up_tally *tally, int single, int by_hits) {
    const up_tally_quarter quarter[2] = {up_tally_quarter_of(tally, single, 0), up_tally_quarter_of(tally, single, 1)};
    const uint64_t hits = tally->maker->plan.rod ? tally->refused : tally->false_reversals;
    const double share = (double)hits / fmax((double)tally->with_result, 1);
    const double one = by_hits ? sqrt(share * (1 - share)) : up_tally_deviation(tally);
    const double gap = fabs(gap_of(quarter, by_hits));
    if (!(one > 0) || !(gap > 0)) {
        return 0;
    }
    return gap / (one * sqrt(1 / (double)quarter[0].closings + 1 / (double)quarter[1].closings));
}

double up_measure_z_by_chance(int comparisons) {
    return up_normal_inverse(1 - 0.025 / (comparisons > 1 ? comparisons : 1));
}

int up_measure_narrows(const up_tally_quarter now[2], const up_tally_quarter then[2], int by_hits) {
    return fabs(gap_of(then, by_hits)) < 2.0 / 3 * fabs(gap_of(now, by_hits));
}

/* Keeps the `room` measures of largest z, in order. */
static int keep_measure(up_measure *measures, int count, int room, const up_measure *one) {
    int place = count < room ? count : room;
    while (place > 0 && measures[place - 1].z < one->z) {
        if (place < room) {
            measures[place] = measures[place - 1];
        }
        place--;
    }
    if (place < room) {
        measures[place] = *one;
    }
    return count < room ? count + 1 : room;
}

int up_measure_choose(const up_case_maker *maker, const up_tally *tally, double part, up_measure *measures, int room,
                      int *by_hits) {
    const uint64_t hits = maker->plan.rod ? tally->refused : tally->false_reversals;
    const double chance = up_measure_z_by_chance(maker->entries);
    int count = 0;
    *by_hits = hits >= HITS_ENOUGH && tally->with_result >= hits + HITS_ENOUGH;
    for (int i = 0; i < maker->entries; i++) {
        const double spread = maker->known->spread[maker->entry[i].number];
        const up_measure one = {.number = maker->entry[i].number,
                                .single = i,
                                .spread_now = spread,
                                .spread_then = part * spread,
                                .first = *by_hits ? up_tally_hit_first_order(tally, i) : up_tally_first_order(tally, i),
                                .z = up_measure_z(tally, i, *by_hits)};
        if (one.z > chance) {
            count = keep_measure(measures, count, room, &one);
        }
    }
    return count;
}

void up_measure_known(const up_known *known, const up_measure *measure, up_known *then) {
    *then = *known;
    then->spread[measure->number] = measure->spread_then;
}

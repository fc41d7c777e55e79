#include "analysis/spread.h"

#include <math.h>
#include <string.h>

#include "analysis/middle.h"
#include "core/base/counter_random.h"
#include "core/batch/batch.h"
#include "core/door/check.h"

#define NORMAL_95 1.96 /* standard deviations in the half width of a 95 % interval */
#define CUT_OFF 1.5    /* spreads                                                  */
#define ENCODER_STREAM ((uint64_t)1 << 63)

enum { NUMBER_TRIES = 64 };

/* ---- drawing ---------------------------------------------------------------------------------------------------- */

static const char *const units[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, ...) unit,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

/* Counts that are not sure, a sector's teeth as a full circle, still move in whole steps. */
static double whole_if_count(int number, double value) {
    return strcmp(units[number], "count") == 0 ? floor(value + 0.5) : value;
}

/* Entries measured on the assembled door only contradict the model, they are no part of it. */
static int varies(const up_known *known, int number) {
    return number < UP_NUMBER_measured_raise_time && known->spread[number] > 0 &&
           !up_is_absent(known->values.number[number]) &&
           (up_number_families((up_number)number) & (1 << known->values.family)) != 0;
}

/* One number; the stream tells apart the entry, the try of the whole door and the try of this number. */
static double draw_number(const up_known *known, uint64_t seed, uint64_t index, int number, int door_try) {
    const double value = known->values.number[number];
    const double spread = known->spread[number];
    double low, high;
    up_number_bounds((up_number)number, &low, &high);
    low = fmax(low, value - CUT_OFF * spread);
    high = fmin(high, value + CUT_OFF * spread);
    for (uint64_t attempt = 0; attempt < NUMBER_TRIES; attempt++) {
        const uint64_t stream = (uint64_t)number | (uint64_t)door_try << 16 | attempt << 32;
        const double drawn = whole_if_count(number, value + spread / NORMAL_95 * up_random_normal(seed, stream, index));
        if (drawn >= low && drawn <= high) {
            return drawn;
        }
    }
    return value; /* reached only when the sheet's own value lies outside the bounds, and the check refuses that */
}

up_status up_known_draw(const up_known *known, uint64_t seed, uint64_t index, up_values *out) {
    *out = known->values;
    if (index == 0) {
        return up_door_is_usable(out) ? UP_OK : UP_BAD_VALUE;
    }
    for (int attempt = 0; attempt < UP_DRAW_TRIES; attempt++) {
        for (int i = 0; i < UP_NUMBER_COUNT; i++) {
            if (varies(known, i)) {
                out->number[i] = draw_number(known, seed, index, i, attempt);
            }
        }
        if (up_door_is_usable(out)) {
            return UP_OK;
        }
    }
    *out = known->values;
    return UP_BAD_VALUE;
}

/* ---- headlines -------------------------------------------------------------------------------------------------- */

static const struct {
    const char *name, *unit, *text;
} headline_rows[UP_HEADLINE_COUNT] = {
#define UP_HEADLINE_ROW(id, unit, text, value) {#id, unit, text},
    UP_HEADLINE_LIST(UP_HEADLINE_ROW)
#undef UP_HEADLINE_ROW
};

const char *up_headline_name(up_headline headline) {
    return (unsigned)headline < UP_HEADLINE_COUNT ? headline_rows[headline].name : NULL;
}

const char *up_headline_unit(up_headline headline) {
    return (unsigned)headline < UP_HEADLINE_COUNT ? headline_rows[headline].unit : NULL;
}

const char *up_headline_text(up_headline headline) {
    return (unsigned)headline < UP_HEADLINE_COUNT ? headline_rows[headline].text : NULL;
}

void up_headlines(const up_values *door, const up_outcome *outcome, double values[UP_HEADLINE_COUNT]) {
    const up_values *const v = door;
    const up_outcome *const o = outcome;
#define UP_HEADLINE_VALUE(id, unit, text, value) values[UP_HEADLINE_##id] = (value);
    UP_HEADLINE_LIST(UP_HEADLINE_VALUE)
#undef UP_HEADLINE_VALUE
}

/* ---- one closing ------------------------------------------------------------------------------------------------ */

typedef struct closing_row {
    double headline[UP_HEADLINE_COUNT];
    up_status status;
    up_end end;
    int reversals;
    unsigned char verdict[UP_VERDICTS_MAX], closing; /* up_verdict_result */
} closing_row;

/* The run's options for another door of the same sheet: the start is kept from the nearer stop. */
static void fit_options(const up_spread_request *request, const up_values *door, up_run_options *options) {
    const double sheet_travel = request->known->values.glass_travel;
    *options = *request->options;
    if (options->start_travel > 0.5 * sheet_travel) {
        options->start_travel = door->glass_travel - (sheet_travel - options->start_travel);
    }
}

static up_status run_door(const up_values *values, const up_run_options *options, up_outcome *outcome) {
    up_door door;
    const up_status status = up_door_prepare(values, options->temperature, &door);
    return status == UP_OK ? up_run(&door, options, NULL, outcome, NULL) : status;
}

static void judge_run(const up_spread_request *request, const up_values *door, const up_run_options *options,
                      const up_outcome *outcome, up_judgement *judgement) {
    up_facts facts = *request->facts;
    up_facts_from_run(door, options, outcome, &facts);
    up_judge(request->rule, &facts, judgement);
}

static void fill_row(const up_spread_request *request, const up_values *door, const up_run_options *options,
                     const up_outcome *outcome, closing_row *row) {
    up_headlines(door, outcome, row->headline);
    row->end = outcome->end;
    row->reversals = outcome->reversals;
    if (request->facts && request->rule) {
        up_judgement judgement;
        judge_run(request, door, options, outcome, &judgement);
        for (int i = 0; i < judgement.count; i++) {
            row->verdict[i] = (unsigned char)judgement.verdict[i].result;
        }
        row->closing = (unsigned char)judgement.closing;
    }
}

typedef struct spread_job {
    const up_spread_request *request;
    closing_row *rows; /* drawn door i + 1 in row i */
} spread_job;

/* One closing under way: a batch holds several. */
typedef struct room {
    up_values values;
    up_door door;
    up_run_options options;
    up_outcome outcome;
    closing_row *row;
} room;

/* Draws first..end - 1 on their way through a batch. */
typedef struct drawing {
    const spread_job *job;
    int next, end;
    room room[UP_BATCH_WIDTH_MAX];
    unsigned char memory[UP_BATCH_MEMORY];
} drawing;

static up_status draw_door(const up_spread_request *request, uint64_t index, room *r) {
    const up_status status = up_known_draw(request->known, request->seed, index, &r->values);
    if (status != UP_OK) {
        return status;
    }
    fit_options(request, &r->values, &r->options);
    r->options.seed = (uint32_t)up_random_u64(request->seed, ENCODER_STREAM, index);
    return up_door_prepare(&r->values, r->options.temperature, &r->door);
}

/* The next draw that is a door; one that is none keeps its status. */
static int next_drawn(void *context, int number, up_batch_item *item) {
    drawing *const d = context;
    room *const r = &d->room[number];
    while (d->next < d->end) {
        const int i = d->next++;
        r->row = &d->job->rows[i];
        memset(r->row, 0, sizeof *r->row);
        r->row->status = draw_door(d->job->request, (uint64_t)i + 1, r);
        if (r->row->status == UP_OK) {
            *item = (up_batch_item){.door = &r->door, .options = &r->options, .outcome = &r->outcome};
            return 1;
        }
    }
    return 0;
}

static void keep_drawn(void *context, int number, const up_batch_item *item) {
    const drawing *const d = context;
    const room *const r = &d->room[number];
    r->row->status = item->status;
    if (item->status == UP_OK) {
        fill_row(d->job->request, &r->values, &r->options, &r->outcome, r->row);
    }
}

static void run_drawn(void *context, int first, int end) {
    drawing d;
    d.job = context;
    d.next = first;
    d.end = end;
    const up_batch_source source = {&d, next_drawn, keep_drawn};
    (void)up_batch_run_from(&source, 0, d.memory, sizeof d.memory); /* the width is its own, the memory enough */
}

/* ---- figures ---------------------------------------------------------------------------------------------------- */

static void make_figure(const closing_row *rows, int draws, int headline, double *scratch, up_spread_figure *figure) {
    int count = 0;
    double sum = 0, square = 0;
    for (int i = 0; i < draws; i++) {
        const double value = rows[i].headline[headline];
        if (rows[i].status == UP_OK && !up_is_absent(value)) {
            scratch[count++] = value;
            sum += value;
        }
    }
    *figure = (up_spread_figure){figure->nominal, UP_ABSENT, UP_ABSENT, UP_ABSENT, UP_ABSENT, count};
    if (count == 0) {
        return;
    }
    figure->mean = sum / count;
    for (int i = 0; i < count; i++) {
        square += (scratch[i] - figure->mean) * (scratch[i] - figure->mean);
    }
    figure->deviation = count > 1 ? sqrt(square / (count - 1)) : UP_ABSENT;
    up_middle_95(scratch, count, &figure->low, &figure->high);
}

static void count_ends(const closing_row *rows, int draws, up_spread_result *result) {
    int ends[UP_END_COUNT] = {0};
    int reversed = 0;
    result->first_failure = UP_OK;
    for (int i = 0; i < draws; i++) {
        if (rows[i].status != UP_OK) {
            if (result->failed++ == 0) {
                result->first_failure = rows[i].status;
                result->first_failed_index = (uint64_t)i + 1;
            }
            continue;
        }
        result->draws++;
        ends[rows[i].end]++;
        reversed += rows[i].reversals > 0;
    }
    for (int e = 0; e < UP_END_COUNT; e++) {
        result->end[e] = up_share_of(ends[e], result->draws);
    }
    result->reversed = up_share_of(reversed, result->draws);
}

/* verdict -1: the judgement of the closing as a whole. */
static up_share count_passed(const closing_row *rows, int draws, int verdict) {
    int passed = 0, failed = 0;
    for (int i = 0; i < draws; i++) {
        if (rows[i].status == UP_OK) {
            const int result = verdict < 0 ? rows[i].closing : rows[i].verdict[verdict];
            passed += result == UP_VERDICT_PASSED;
            failed += result == UP_VERDICT_FAILED;
        }
    }
    return up_share_of(passed, passed + failed);
}

size_t up_spread_memory(int draws) {
    return draws < 2 ? 0 : (size_t)draws * (sizeof(closing_row) + sizeof(double));
}

/* The sheet's own closing. */
static up_status run_nominal(const up_spread_request *request, up_spread_result *result) {
    const up_values *const sheet = &request->known->values;
    up_door door;
    const up_status status = up_door_prepare(sheet, request->options->temperature, &door);
    if (status != UP_OK) {
        return status;
    }
    up_run_options options = *request->options;
    if (request->sheet_tolerance > 0) {
        options.tolerance = request->sheet_tolerance;
    }
    result->nominal_status = up_run(&door, &options, NULL, &result->nominal, NULL);
    if (result->nominal_status == UP_BAD_OPTION) {
        return UP_BAD_OPTION;
    }
    double headline[UP_HEADLINE_COUNT];
    up_headlines(sheet, &result->nominal, headline);
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        result->figure[h].nominal = result->nominal_status == UP_OK ? headline[h] : UP_ABSENT;
    }
    if (request->facts && request->rule && result->nominal_status == UP_OK) {
        judge_run(request, sheet, &options, &result->nominal, &result->nominal_judgement);
    }
    return UP_OK;
}

up_status up_spread_run(const up_spread_request *request, up_workers *workers, void *memory, size_t memory_size,
                        up_spread_result *result) {
    memset(result, 0, sizeof *result);
    if (request->draws < 2) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_spread_memory(request->draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    const up_status status = run_nominal(request, result);
    if (status != UP_OK) {
        return status;
    }
    closing_row *const rows = memory;
    double *const scratch = (double *)(void *)(rows + request->draws);
    spread_job job = {request, rows};
    up_share_work(workers, request->draws, run_drawn, &job);
    count_ends(rows, request->draws, result);
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        make_figure(rows, request->draws, h, scratch, &result->figure[h]);
    }
    const int verdicts = request->facts && request->rule ? request->rule->clause_count : 0;
    for (int i = 0; i < UP_VERDICTS_MAX; i++) {
        result->passed[i] = i < verdicts ? count_passed(rows, request->draws, i) : up_share_of(0, 0);
    }
    result->passed_all = verdicts ? count_passed(rows, request->draws, -1) : up_share_of(0, 0);
    return UP_OK;
}

/* ---- what matters ----------------------------------------------------------------------------------------------- */

typedef struct matter_job {
    const up_spread_request *request;
    const double *nominal; /* headlines */
    up_end nominal_end;
    up_matter *matters;
} matter_job;

/* One entry moved to one end of its interval; headline is filled with NaN when there is no such closing. */
static void run_moved(const matter_job *job, int number, double value, double headline[UP_HEADLINE_COUNT],
                      int *changes) {
    up_values door = job->request->known->values;
    up_run_options options;
    up_outcome outcome;
    double low, high;
    up_number_bounds((up_number)number, &low, &high);
    door.number[number] = fmin(fmax(whole_if_count(number, value), low), high);
    fit_options(job->request, &door, &options);
    if (up_door_is_usable(&door) && run_door(&door, &options, &outcome) == UP_OK) {
        up_headlines(&door, &outcome, headline);
        *changes |= outcome.end != job->nominal_end;
        return;
    }
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        headline[h] = UP_ABSENT;
    }
}

static void run_entries(void *context, int first, int end) {
    const matter_job *const job = context;
    for (int i = first; i < end; i++) {
        up_matter *const matter = &job->matters[i];
        const double value = job->request->known->values.number[matter->number];
        const double spread = job->request->known->spread[matter->number];
        double down[UP_HEADLINE_COUNT], up[UP_HEADLINE_COUNT];
        run_moved(job, (int)matter->number, value - spread, down, &matter->changes_end);
        run_moved(job, (int)matter->number, value + spread, up, &matter->changes_end);
        for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
            matter->effect[h] = up_is_absent(down[h]) ? up[h] - job->nominal[h]
                                : up_is_absent(up[h]) ? job->nominal[h] - down[h]
                                                      : 0.5 * (up[h] - down[h]);
        }
    }
}

up_status up_matter_run(const up_spread_request *request, up_workers *workers, up_matter *matters, int *count) {
    double nominal[UP_HEADLINE_COUNT];
    up_outcome outcome;
    *count = 0;
    const up_status status = run_door(&request->known->values, request->options, &outcome);
    if (status != UP_OK) {
        return status;
    }
    up_headlines(&request->known->values, &outcome, nominal);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        if (varies(request->known, i)) {
            matters[(*count)++] = (up_matter){.number = (up_number)i};
        }
    }
    matter_job job = {request, nominal, outcome.end, matters};
    up_share_work(workers, *count, run_entries, &job);
    return UP_OK;
}

static double square_of(const up_matter *matter, up_headline headline) {
    const double effect = matter->effect[headline];
    return up_is_absent(effect) ? 0.0 : effect * effect;
}

void up_matter_rank(const up_matter *matters, int count, up_headline headline, double *share, int *order) {
    double sum = 0;
    for (int i = 0; i < count; i++) {
        sum += square_of(&matters[i], headline);
    }
    for (int i = 0; i < count; i++) {
        share[i] = sum > 0 ? square_of(&matters[i], headline) / sum : 0.0;
        int place = i; /* insertion: at most some eighty rows, and ties keep list order */
        while (place > 0 && share[order[place - 1]] < share[i]) {
            order[place] = order[place - 1];
            place--;
        }
        order[place] = i;
    }
}

double up_matter_explained(const up_matter *matters, int count, up_headline headline, double deviation) {
    double sum = 0;
    for (int i = 0; i < count; i++) {
        sum += square_of(&matters[i], headline);
    }
    return deviation > 0 ? sum / (NORMAL_95 * NORMAL_95 * deviation * deviation) : UP_ABSENT;
}

#include "analysis/rare.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/student.h"
#include "core/base/counter_random.h"

static const double aim_acceptance = 0.44; /* Papaioannou et al. */
static const double first_reach = 0.6;     /* share of a fresh vector in a move, before anything is known */

void up_rare_request_default(up_rare_request *request) {
    *request = (up_rare_request){
        .dimension = 1, .population = 1000, .populations = 10, .level_share = 0.1, .levels = 12, .limit = INFINITY};
}

/* ---- memory ------------------------------------------------------------------------------------------------------ */

typedef struct ranked {
    double severity;
    int slot;
} ranked;

/* The population in hand and the room for the next one; all rows are `dimension` long. */
typedef struct herd {
    const up_rare_request *request;
    up_rare_result *result;
    double *worst;                     /* the row of the largest severity met   */
    double *point, *next;              /* population x dimension                */
    double *severity, *next_severity;  /* population                         */
    ranked *order;                     /* population                            */
    unsigned char *above;              /* population: above the next level      */
    int number;                        /* of this population                    */
    int level;                         /* levels set so far                     */
    double reach;                      /* s of the moves                        */
    double formula;                    /* sum of squared variations             */
    int moved[UP_RARE_LEVELS_MAX + 1]; /* populations that moved above a level */
    int stopped;
} herd;

static int makes_sense(const up_rare_request *r) {
    return r->dimension >= 1 && r->population >= 50 && r->population <= 1000000 && r->populations >= 1 &&
           r->populations <= UP_RARE_POPULATIONS_MAX && r->level_share >= 0.05 && r->level_share <= 0.5 &&
           r->levels >= 1 && r->levels <= UP_RARE_LEVELS_MAX && !isnan(r->limit) && r->evaluate;
}

size_t up_rare_memory(const up_rare_request *request) {
    if (!makes_sense(request)) {
        return 0;
    }
    const size_t row = sizeof(double) * (size_t)request->dimension, n = (size_t)request->population;
    return row + n * (2 * row + 2 * sizeof(double) + sizeof(ranked) + 1);
}

static void share_out(void *memory, herd *h) {
    const size_t row = (size_t)h->request->dimension, n = (size_t)h->request->population;
    h->worst = memory;
    h->point = h->worst + row;
    h->next = h->point + n * row;
    h->severity = h->next + n * row;
    h->next_severity = h->severity + n;
    h->order = (ranked *)(void *)(h->next_severity + n);
    h->above = (unsigned char *)(h->order + n);
}

const double *up_rare_worst(const void *memory) {
    return memory;
}

/* ---- drawing and evaluating --------------------------------------------------------------------------------------- */

/* Rows first_slot.. of a population are drawn afresh, or moved from the row `back` slots before. */
typedef struct drawing {
    const herd *h;
    double *row;
    int first_slot, back; /* back 0: afresh */
} drawing;

static void draw_rows(void *context, int first, int end) {
    const drawing *const d = context;
    const up_rare_request *const r = d->h->request;
    const uint64_t dimension = (uint64_t)r->dimension;
    const double fresh = d->back ? d->h->reach : 1, kept = d->back ? sqrt(1 - fresh * fresh) : 0;
    for (int i = first; i < end; i++) {
        const int slot = d->first_slot + i;
        double *const row = d->row + (size_t)slot * dimension;
        const double *const from = d->back ? row - (size_t)d->back * dimension : row;
        const uint64_t vector = (uint64_t)d->h->level * (uint64_t)r->population + (uint64_t)slot;
        for (uint64_t k = 0; k < dimension; k++) {
            const double normal = up_random_normal(r->seed, r->stream + (uint64_t)d->h->number, vector * dimension + k);
            row[k] = d->back ? kept * from[k] + fresh * normal : normal;
        }
    }
}

/* Draws `count` rows from first_slot on and asks how severe they are. */
static void draw_and_evaluate(herd *h, double *row, double *severity, int first_slot, int count, int back) {
    const up_rare_request *const r = h->request;
    const size_t dimension = (size_t)r->dimension;
    drawing d = {h, row, first_slot, back};
    up_share_work(r->workers, count, draw_rows, &d);
    double *const first_row = row + (size_t)first_slot * dimension;
    r->evaluate(r->context, r->dimension, count, first_row, severity + first_slot);
    h->result->evaluations += (uint64_t)count;
    for (int i = 0; i < count; i++) {
        double *const s = &severity[first_slot + i];
        if (isnan(*s)) {
            *s = -INFINITY;
            h->result->not_numbers++;
        }
        if (*s > h->result->worst_severity) {
            h->result->worst_severity = *s;
            memcpy(h->worst, first_row + (size_t)i * dimension, dimension * sizeof(double));
        }
    }
    h->stopped |= r->stop && r->stop(r->context);
}

/* ---- levels ------------------------------------------------------------------------------------------------------- */

static int by_severity(const void *a, const void *b) {
    const ranked *const x = a, *const y = b;
    if (x->severity != y->severity) {
        return x->severity < y->severity ? 1 : -1;
    }
    return x->slot - y->slot;
}

/* How many of the ranked are at least that severe. */
static int count_above(const herd *h, double severity) {
    int low = 0, high = h->request->population;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        if (h->order[middle].severity >= severity) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* The next level: the severity of the last of the kept share. Where very many are equally severe, it is the least above
 * them. Returns how many reach it; 0 when there is none above. */
static int next_level(const herd *h, double *level) {
    const int n = h->request->population;
    const int wanted = (int)fmax(floor(h->request->level_share * n + 0.5), 1);
    *level = h->order[wanted - 1].severity;
    if (*level >= h->request->limit) {
        *level = h->request->limit;
    }
    int above = count_above(h, *level);
    if (above > 0.75 * n || *level == -INFINITY) {
        above = wanted;
        while (above > 0 && !(h->order[above - 1].severity > *level)) {
            above--;
        }
        *level = above > 0 ? h->order[above - 1].severity : *level;
    }
    return above;
}

/* Squared variation of a level's share: (1 - p) / (p n) (1 + g), g from the correlation along the chains. Slots are in
 * rows of `chains`, one step a row; the first population (chains = n) has independent points. */
static double level_variation(const herd *h, int chains, double share) {
    const int n = h->request->population;
    const double spread = share * (1 - share);
    double excess = 0;
    for (int back = chains; back < n; back += chains) {
        int both = 0;
        for (int slot = back; slot < n; slot++) {
            both += h->above[slot] & h->above[slot - back];
        }
        const double covariance = (double)both / (n - back) - share * share;
        excess += 2 * (1 - (double)back / n) * covariance / spread;
    }
    return spread > 0 ? (1 - share) / (share * n) * fmax(1 + excess, 0.1) : 0;
}

/* Refills the population from those marked above. Returns the share of accepted moves. */
static double refill(herd *h, double level, int seeds) {
    const int n = h->request->population;
    const size_t dimension = (size_t)h->request->dimension, row = dimension * sizeof(double);
    int slot = 0;
    for (int i = 0; i < n; i++) {
        if (h->above[i]) {
            memcpy(h->next + (size_t)slot * dimension, h->point + (size_t)i * dimension, row);
            h->next_severity[slot++] = h->severity[i];
        }
    }
    uint64_t accepted = 0;
    for (int step = 1; slot < n && !h->stopped; step++) {
        const int count = n - slot < seeds ? n - slot : seeds;
        draw_and_evaluate(h, h->next, h->next_severity, slot, count, seeds);
        int taken = 0;
        for (int i = slot; i < slot + count; i++) {
            if (h->next_severity[i] >= level) {
                taken++;
            } else {
                const size_t from = (size_t)(i - seeds);
                memcpy(h->next + (size_t)i * dimension, h->next + from * dimension, row);
                h->next_severity[i] = h->next_severity[from];
            }
        }
        accepted += (uint64_t)taken;
        slot += count;
        const double change = ((double)taken / count - aim_acceptance) / sqrt(step);
        h->reach = fmin(fmax(h->reach * exp(change), 0.01), 1);
    }
    double *const point = h->point, *const severity = h->severity;
    h->point = h->next;
    h->severity = h->next_severity;
    h->next = point;
    h->next_severity = severity;
    return (double)accepted / (n - seeds);
}

static void note_level(herd *h, double severity, double share) {
    up_rare_level *const level = &h->result->level[h->level];
    level->severity += severity;
    level->share += share;
    level->populations++;
    if (h->level + 1 > h->result->levels) {
        h->result->levels = h->level + 1;
    }
}

/* One population to its end: its estimate. *still: what the deepest level leaves possible. */
static double run_population(herd *h, double *still) {
    const up_rare_request *const r = h->request;
    const int n = r->population;
    double probability = 1;
    int chains = n;
    draw_and_evaluate(h, h->point, h->severity, 0, n, 0);
    while (!h->stopped) {
        for (int i = 0; i < n; i++) {
            h->order[i] = (ranked){h->severity[i], i};
        }
        qsort(h->order, (size_t)n, sizeof *h->order, by_severity);
        double level;
        const int seeds = next_level(h, &level);
        const int stuck = seeds == 0;
        if (stuck || (level < r->limit && h->level + 1 >= r->levels)) {
            h->result->stuck += stuck;
            break;
        }
        for (int i = 0; i < n; i++) {
            h->above[i] = h->severity[i] >= level;
        }
        const double share = (double)seeds / n;
        probability *= share;
        *still = probability;
        h->formula += level_variation(h, chains, share);
        note_level(h, level, share);
        if (level >= r->limit) {
            h->result->reached++;
            return probability;
        }
        const int below = h->level++; /* the moves draw their normals under the new level's number */
        h->moved[below]++;
        h->result->level[below].acceptance += refill(h, level, seeds);
        chains = seeds;
    }
    return 0;
}

/* ---- the whole ---------------------------------------------------------------------------------------------------- */

static void close_levels(const herd *h) {
    for (int i = 0; i < h->result->levels; i++) {
        up_rare_level *const level = &h->result->level[i];
        level->severity /= level->populations;
        level->share /= level->populations;
        level->acceptance = h->moved[i] ? level->acceptance / h->moved[i] : NAN;
    }
}

/* Mean, variation and interval. The interval is that of the logarithm: estimates of a product are skewed to the right. */
static void close_estimate(const up_rare_request *r, double formula, double still, up_rare_result *result) {
    const int n = r->populations;
    double sum = 0, square = 0;
    for (int i = 0; i < n; i++) {
        sum += result->each[i];
    }
    result->probability = sum / n;
    if (result->reached == 0) {
        result->variation = result->formula_variation = NAN;
        result->high = still / n;
        return;
    }
    for (int i = 0; i < n; i++) {
        const double gap = result->each[i] / result->probability - 1;
        square += gap * gap;
    }
    result->formula_variation = sqrt(formula / n / n);
    const double scatter = n > 1 ? sqrt(square / (n - 1) / n) : 0;
    result->variation = n >= 4 ? scatter : result->formula_variation;
    const double width = n >= 4 ? up_student_95(n - 1) : 1.96;
    const double ratio = exp(width * sqrt(log1p(result->variation * result->variation)));
    result->low = result->probability / ratio;
    result->high = fmin(result->probability * ratio, 1);
}

up_status up_rare_run(const up_rare_request *request, void *memory, size_t memory_size, up_rare_result *result) {
    memset(result, 0, sizeof *result);
    if (!makes_sense(request)) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_rare_memory(request)) {
        return UP_MEMORY_TOO_SMALL;
    }
    herd h = {.request = request, .result = result};
    share_out(memory, &h);
    memset(h.worst, 0, sizeof(double) * (size_t)request->dimension);
    result->worst_severity = -INFINITY;
    double still = 0, formula = 0;
    for (int i = 0; i < request->populations; i++) {
        double possible = 1;
        h.number = i;
        h.level = 0;
        h.reach = first_reach;
        h.formula = 0;
        result->each[i] = run_population(&h, &possible);
        if (h.stopped) {
            return UP_STOPPED;
        }
        still += possible;
        formula += h.formula;
    }
    close_levels(&h);
    close_estimate(request, formula, still, result);
    return UP_OK;
}

#include "analysis/rare.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/normals.h"
#include "analysis/rare_close.h"
#include "core/base/counter_random.h"

static const double aim_acceptance = 0.44; /* Papaioannou et al. */
static const double first_reach = 0.6;     /* share of a fresh vector in a move, before anything is known */

void up_rare_request_default(up_rare_request *request) {
    *request = (up_rare_request){
        .dimension = 1, .population = 1000, .populations = 10, .level_share = 0.1, .levels = 12, .limit = INFINITY};
}

/* ---- memory ----------------------------------------------------------------------------------------------------- */

typedef struct ranked {
    double severity;
    int slot;
} ranked;

/* Levels below the limit and how far moves above each reach: set by the pilot, the same for all that count. */
typedef struct ladder {
    int levels;
    double severity[UP_RARE_LEVELS_MAX], reach[UP_RARE_LEVELS_MAX];
} ladder;

/* The population in hand and the room for the next one; all rows are `dimension` long. */
typedef struct herd {
    const up_rare_request *request;
    up_rare_result *result;
    double *worst;                    /* the row of the largest severity met */
    double *point, *next;             /* n x dimension                       */
    double *severity, *next_severity; /* n                                   */
    ranked *order;                    /* n                                   */
    int *founder, *next_founder;      /* n: point of the first population that each descends from */
    int *offspring;                   /* n: how many at the limit descend from it */
    unsigned char *above;             /* n: above the next level             */
    int n, chains, steps;             /* points in a population, n = chains x steps */
    int number;                       /* of this population                  */
    int level;                        /* levels passed so far                */
    double reach;                     /* s of the moves                      */
    int adapts;                       /* whether reach follows acceptance    */
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
    return row + n * (2 * row + 2 * sizeof(double) + sizeof(ranked) + 3 * sizeof(int) + 1);
}

/* Chains all have the same number of steps: the share kept is one of that many. */
static void share_out(void *memory, herd *h) {
    const size_t row = (size_t)h->request->dimension;
    h->steps = (int)(1 / h->request->level_share + 0.5);
    h->chains = h->request->population / h->steps;
    h->n = h->chains * h->steps;
    const size_t n = (size_t)h->n;
    h->worst = memory;
    h->point = h->worst + row;
    h->next = h->point + n * row;
    h->severity = h->next + n * row;
    h->next_severity = h->severity + n;
    h->order = (ranked *)(void *)(h->next_severity + n);
    h->founder = (int *)(void *)(h->order + n);
    h->next_founder = h->founder + n;
    h->offspring = h->next_founder + n;
    h->above = (unsigned char *)(h->offspring + n);
}

const double *up_rare_worst(const void *memory) {
    return memory;
}

/* ---- drawing and evaluating ------------------------------------------------------------------------------------- */

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
        const uint64_t vector = (uint64_t)d->h->level * (uint64_t)d->h->n + (uint64_t)slot;
        up_normals_fill(r->seed, r->stream + (uint64_t)d->h->number, vector * dimension, r->dimension, row);
        for (uint64_t k = 0; d->back && k < dimension; k++) {
            row[k] = kept * from[k] + fresh * row[k];
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

/* ---- levels ----------------------------------------------------------------------------------------------------- */

static int by_severity(const void *a, const void *b) {
    const ranked *const x = a, *const y = b;
    if (x->severity != y->severity) {
        return x->severity < y->severity ? 1 : -1;
    }
    return x->slot - y->slot;
}

/* How many of the ranked are at least that severe. */
static int count_above(const herd *h, double severity) {
    int low = 0, high = h->n;
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
 * them. The limit when that is reached; minus infinity when nothing is any more severe. */
static double next_level(herd *h) {
    const int n = h->n, wanted = h->chains;
    for (int i = 0; i < n; i++) {
        h->order[i] = (ranked){h->severity[i], i};
    }
    qsort(h->order, (size_t)n, sizeof *h->order, by_severity);
    const double level = h->order[wanted - 1].severity;
    if (level >= h->request->limit) {
        return h->request->limit;
    }
    if (count_above(h, level) <= 0.75 * n && level > -INFINITY) {
        return level;
    }
    int above = wanted - 1;
    while (above > 0 && !(h->order[above - 1].severity > level)) {
        above--;
    }
    return above > 0 ? fmin(h->order[above - 1].severity, h->request->limit) : -INFINITY;
}

/* Marks who is at least that severe; how many. */
static int mark_above(herd *h, double level) {
    int count = 0;
    for (int i = 0; i < h->n; i++) {
        h->above[i] = h->severity[i] >= level;
        count += h->above[i];
    }
    return count;
}

/* Squared variation of a level's share: (1 - p) / (p n) (1 + g), g from the correlation along the chains. Slots are in
 * rows of `chains`, one step a row; the first population (chains = n) has independent points. */
static double level_variation(const herd *h, int chains, double share) {
    const int n = h->n;
    const double spread = share * (1 - share);
    double excess = 0;
    if (!(spread > 0)) {
        return 0;
    }
    for (int back = chains; back < n; back += chains) {
        int both = 0;
        for (int slot = back; slot < n; slot++) {
            both += h->above[slot] & h->above[slot - back];
        }
        const double covariance = (double)both / (n - back) - share * share;
        excess += 2 * (1 - (double)back / n) * covariance / spread;
    }
    return (1 - share) / (share * n) * fmax(1 + excess, 0.1);
}

/* The first slots of the next population, one for each chain, are taken from those marked above, all with the same
 * expectation: every (count / chains)-th from a drawn place on, once or several times or not at all. */
static void begin_chains(herd *h) {
    const size_t dimension = (size_t)h->request->dimension;
    int count = 0;
    for (int i = 0; i < h->n; i++) {
        if (h->above[i]) {
            h->order[count++].slot = i;
        }
    }
    /* Normals are numbered from 0 on and never come as far as this. */
    const double offset =
        up_random_unit(h->request->seed, h->request->stream + (uint64_t)h->number, UINT64_MAX - (uint64_t)h->level);
    for (int c = 0; c < h->chains; c++) {
        const int place = (int)((c + offset) * count / h->chains);
        const size_t from = (size_t)h->order[place < count ? place : count - 1].slot;
        memcpy(h->next + (size_t)c * dimension, h->point + from * dimension, dimension * sizeof(double));
        h->next_severity[c] = h->severity[from];
        h->next_founder[c] = h->founder[from];
    }
    for (int slot = h->chains; slot < h->n; slot++) {
        h->next_founder[slot] = h->next_founder[slot - h->chains];
    }
}

static void swap_rooms(herd *h) {
    double *const point = h->point, *const severity = h->severity;
    int *const founder = h->founder;
    h->point = h->next;
    h->severity = h->next_severity;
    h->next = point;
    h->next_severity = severity;
    h->founder = h->next_founder;
    h->next_founder = founder;
}

/* Refills the population from those marked above a level, at least one. Returns the share of accepted moves. */
static double refill(herd *h, double level) {
    const size_t dimension = (size_t)h->request->dimension;
    const int chains = h->chains;
    uint64_t accepted = 0;
    h->level++; /* the moves draw their normals under the new level's number */
    begin_chains(h);
    for (int step = 1; step < h->steps && !h->stopped; step++) {
        const int slot = step * chains;
        draw_and_evaluate(h, h->next, h->next_severity, slot, chains, chains);
        int taken = 0;
        for (int i = slot; i < slot + chains; i++) {
            if (h->next_severity[i] >= level) {
                taken++;
            } else {
                const size_t from = (size_t)(i - chains);
                memcpy(h->next + (size_t)i * dimension, h->next + from * dimension, dimension * sizeof(double));
                h->next_severity[i] = h->next_severity[from];
            }
        }
        accepted += (uint64_t)taken;
        if (h->adapts) {
            const double change = ((double)taken / chains - aim_acceptance) / sqrt(step);
            h->reach = fmin(fmax(h->reach * exp(change), 0.01), 1);
        }
    }
    swap_rooms(h);
    return (double)accepted / (h->n - chains);
}

/* ---- populations ------------------------------------------------------------------------------------------------ */

static void begin(herd *h, int number) {
    h->number = number;
    h->level = 0;
    for (int i = 0; i < h->n; i++) {
        h->founder[i] = i;
    }
    draw_and_evaluate(h, h->point, h->severity, 0, h->n, 0);
    h->result->first += (uint64_t)h->n;
    for (int i = 0; i < h->n; i++) {
        h->result->first_hits += h->severity[i] >= h->request->limit;
    }
}

/* Sets the levels. Its own shares are not used: levels chosen from a population sit too high or too low for it, and the
 * product of its shares is too large by some tenths of its own variation. */
static void climb_first(herd *h, ladder *l) {
    l->levels = 0;
    h->reach = first_reach;
    h->adapts = 1;
    begin(h, h->request->populations);
    while (!h->stopped) {
        const double level = next_level(h);
        h->result->stuck = level == -INFINITY;
        if (h->result->stuck || level >= h->request->limit || l->levels + 1 >= h->request->levels) {
            return;
        }
        (void)mark_above(h, level);
        (void)refill(h, level);
        l->severity[l->levels] = level;
        l->reach[l->levels++] = h->reach;
    }
}

/* Share of the population that is at least that severe, booked as level number h->level. */
static double take_share(herd *h, double severity, int chains, double *variation) {
    const double share = (double)mark_above(h, severity) / h->n;
    up_rare_level *const level = &h->result->level[h->level];
    level->severity = severity;
    level->share += share;
    level->populations++;
    *variation += level_variation(h, chains, share);
    return share;
}

/* Sum of the squared shares that the founders have among those marked above. */
static double founders_squares(herd *h) {
    double sum = 0, square = 0;
    memset(h->offspring, 0, (size_t)h->n * sizeof *h->offspring);
    for (int i = 0; i < h->n; i++) {
        h->offspring[h->founder[i]] += h->above[i];
    }
    for (int i = 0; i < h->n; i++) {
        sum += h->offspring[i];
        square += (double)h->offspring[i] * h->offspring[i];
    }
    return sum > 0 ? square / (sum * sum) : 0;
}

/* A population on given levels: its estimate. */
static double climb(herd *h, const ladder *l, int number, up_rare_sums *all) {
    int chains = h->n; /* the points of the first population are chains of one */
    double probability = 1;
    h->adapts = 0;
    begin(h, number);
    for (int i = 0; i < l->levels && !h->stopped; i++) {
        const double share = take_share(h, l->severity[i], chains, &all->variation);
        probability *= share;
        if (share == 0) {
            return 0;
        }
        chains = h->chains;
        h->reach = l->reach[i];
        h->result->level[i].acceptance += refill(h, l->severity[i]);
    }
    all->still += probability;
    probability *= take_share(h, h->request->limit, chains, &all->variation);
    all->squares += probability * probability * founders_squares(h);
    return probability;
}

/* ---- the whole -------------------------------------------------------------------------------------------------- */

up_status up_rare_run(const up_rare_request *request, void *memory, size_t memory_size, up_rare_result *result) {
    memset(result, 0, sizeof *result);
    if (!makes_sense(request)) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_rare_memory(request)) {
        return UP_MEMORY_TOO_SMALL;
    }
    herd h = {.request = request, .result = result};
    ladder l;
    share_out(memory, &h);
    memset(h.worst, 0, sizeof(double) * (size_t)request->dimension);
    result->worst_severity = -INFINITY;
    climb_first(&h, &l);
    up_rare_sums all = {0};
    for (int i = 0; i < request->populations && !h.stopped; i++) {
        result->each[i] = climb(&h, &l, i, &all);
    }
    if (h.stopped) {
        return UP_STOPPED;
    }
    up_rare_close(request, l.levels, &all, result);
    return UP_OK;
}

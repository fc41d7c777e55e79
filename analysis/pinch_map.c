#include "analysis/pinch_map.h"

#include <math.h>
#include <string.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* Streams of the counter-based random numbers. */
#define SHIFT_STREAM 0x70696e6368ULL
#define CLIMB_STREAM 0x636c696d62ULL
#define NEIGHBOUR_STREAM 0x6265736964ULL

/* Half widths of the boxes of the rounds, shares of each range; later rounds keep the last. */
static const double box[] = {0.15, 0.06, 0.025, 0.01};
enum { BOXES = sizeof box / sizeof box[0] };
/* How far neighbours lie, shares of each range. */
static const double beside_by[UP_PINCH_AXES] = {[UP_PINCH_MEASURE] = 0.02,
                                                [UP_PINCH_PLACE] = 0.05,
                                                [UP_PINCH_SUPPLY] = 0.02,
                                                [UP_PINCH_TEMPERATURE] = 0.02,
                                                [UP_PINCH_CLEARANCE] = 0.03};
/* Climbs start at places at least this far apart on one axis. */
static const double apart = 0.12;
/* A glass at rest stands at least this far below the rod, m. */
static const double clearance_least = 0.0002;

/* A corner has the lower or upper end of every axis but the place, which is also looked at in the middle, and the
 * measure, which steps through the range. */
enum { CORNER_MEASURES = 6, CORNER_PLACES = 3, CORNER_BITS = 3, CORNER_CLEARANCES = 3 };
enum { CORNERS = CORNER_MEASURES * CORNER_PLACES << CORNER_BITS };

static const struct {
    const char *name, *unit;
} axes[UP_PINCH_AXES] = {
#define UP_PINCH_AXIS_ROW(id, name, unit, text) {name, unit},
    UP_PINCH_AXIS_LIST(UP_PINCH_AXIS_ROW)
#undef UP_PINCH_AXIS_ROW
};

const char *up_pinch_axis_name(up_pinch_axis axis) {
    return (unsigned)axis < UP_PINCH_AXES ? axes[axis].name : NULL;
}

const char *up_pinch_axis_unit(up_pinch_axis axis) {
    return (unsigned)axis < UP_PINCH_AXES ? axes[axis].unit : NULL;
}

void up_pinch_plan_default(const up_pinch_study *study, up_pinch_plan *plan) {
    const up_rule *rule = study->rule;
    const up_values *door = &study->known->values;
    double tolerance = 0;
    if (rule->stiffness_tolerance >= 0) {
        const up_rule_number *number = NULL;
        tolerance = rule->numbers[rule->stiffness_tolerance].value / rule->rod_stiffness(UP_ABSENT, &number);
    }
    *plan = (up_pinch_plan){
        .study = study,
        .range = {[UP_PINCH_MEASURE] = {rule->numbers[rule->range_low].value, rule->numbers[rule->range_high].value},
                  [UP_PINCH_PLACE] = {0, 1},
                  [UP_PINCH_SUPPLY] = {9, 16},
                  [UP_PINCH_TEMPERATURE] = {UP_ZERO_CELSIUS - 30, UP_ZERO_CELSIUS + 80},
                  [UP_PINCH_WEAR] = {0, 1},
                  [UP_PINCH_STIFFNESS] = {1 - tolerance, 1 + tolerance},
                  [UP_PINCH_CLEARANCE] = {clearance_least, fmax(0.03, door->detect_mask + 2 * door->detect_learning)}},
        .samples = {1152, 512},
        .climbs = 12,
        .rounds = 4,
        .tries = 20,
        .seed = study->seed};
}

static double between(up_pinch_range range, double share) {
    return share >= 1 ? range.high : range.low + share * (range.high - range.low);
}

void up_pinch_plan_point(const up_pinch_plan *plan, up_pinch_start start, const double *u, up_pinch_point *point) {
    const up_pinch_range *range = plan->range;
    const up_rule_number *number = NULL;
    const up_pinch_range measure = range[UP_PINCH_MEASURE];
    const double m = u[UP_PINCH_MEASURE];
    point->measure = m >= 1 ? measure.high : measure.low * up_pow(measure.high / measure.low, m);
    point->place = between(range[UP_PINCH_PLACE], u[UP_PINCH_PLACE]);
    point->supply = between(range[UP_PINCH_SUPPLY], u[UP_PINCH_SUPPLY]);
    point->temperature = between(range[UP_PINCH_TEMPERATURE], u[UP_PINCH_TEMPERATURE]);
    point->wear = between(range[UP_PINCH_WEAR], u[UP_PINCH_WEAR]);
    point->clearance = UP_ABSENT;
    if (start == UP_PINCH_FROM_REST) { /* close to the rod more often than far from it */
        point->clearance = between(range[UP_PINCH_CLEARANCE], u[UP_PINCH_CLEARANCE] * u[UP_PINCH_CLEARANCE]);
    }
    /* A height asks for the rod that fills it; the rules that measure heights give one stiffness for every diameter. */
    point->stiffness = plan->study->rule->rod_stiffness(point->measure, &number) *
                       between(range[UP_PINCH_STIFFNESS], u[UP_PINCH_STIFFNESS]);
}

/* ---- where to look ---- */

void up_pinch_neighbour(const up_pinch_plan *plan, const double *u, int neighbour, double *beside) {
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        const uint64_t index = (uint64_t)(neighbour * UP_PINCH_AXES + axis);
        const double draw = up_random_unit(plan->seed, NEIGHBOUR_STREAM, index);
        beside[axis] = neighbour > 0 ? fmin(fmax(u[axis] + beside_by[axis] * (2 * draw - 1), 0.0), 1.0) : u[axis];
    }
}

/* J. H. Halton, Numer. Math. 2 (1960) 84 (from memory): digits of the index, mirrored at the point. */
static double halton(uint64_t index, unsigned base) {
    double value = 0;
    double digit = 1;
    for (; index > 0; index /= base) {
        digit /= base;
        value += digit * (double)(index % base);
    }
    return value;
}

static void even_place(const up_pinch_plan *plan, up_pinch_start start, int index, double *u) {
    static const unsigned base[UP_PINCH_AXES] = {2, 11, 5, 3, 7, 13, 17};
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        const double shift = up_random_unit(plan->seed, SHIFT_STREAM, (uint64_t)(axis + UP_PINCH_AXES * (int)start));
        const double value = halton((uint64_t)index + 1, base[axis]) + shift;
        u[axis] = value - floor(value);
    }
}

static void corner_place(up_pinch_start start, int index, double *u) {
    const int bits = index % (1 << CORNER_BITS);
    const int rest = index >> CORNER_BITS;
    u[UP_PINCH_SUPPLY] = bits & 1;
    u[UP_PINCH_TEMPERATURE] = bits >> 1 & 1;
    u[UP_PINCH_WEAR] = bits >> 2 & 1;
    const int place = rest % CORNER_PLACES;
    const int measure = rest / CORNER_PLACES;
    u[UP_PINCH_PLACE] = place / (CORNER_PLACES - 1.0);
    u[UP_PINCH_MEASURE] = measure / (CORNER_MEASURES - 1.0);
    u[UP_PINCH_STIFFNESS] = 1;
    u[UP_PINCH_CLEARANCE] = start == UP_PINCH_RUNNING ? 0 : index % CORNER_CLEARANCES / (CORNER_CLEARANCES - 1.0);
}

static int climb_cells(const up_pinch_plan *plan) {
    return plan->climbs * plan->tries * plan->rounds;
}

static int cells_of(const up_pinch_plan *plan, up_pinch_start start) {
    return CORNERS + plan->samples[start] + climb_cells(plan) + plan->settles * (UP_PINCH_NEIGHBOURS - 1);
}

/* ---- running ---- */

/* Points and results stand apart from the cells while they are run. */
typedef struct search {
    const up_pinch_plan *plan;
    up_workers *workers;
    up_pinch_start start;
    up_pinch_cell *cell; /* of this start */
    int known;           /* cells that have results */
    up_pinch_point *points;
    up_pinch_result *results;
} search;

static void run_next(search *s, int count) {
    for (int i = 0; i < count; i++) {
        up_pinch_plan_point(s->plan, s->start, s->cell[s->known + i].u, &s->points[i]);
    }
    const up_pinch_work work = {.study = s->plan->study, .points = s->points, .count = count, .results = s->results};
    up_pinch_run(&work, s->workers);
    for (int i = 0; i < count; i++) {
        s->cell[s->known + i].result = s->results[i];
    }
    s->known += count;
}

static int worst_of(const up_pinch_cell *cell, int count) {
    int worst = -1;
    for (int i = 0; i < count; i++) {
        if (cell[i].result.touched && (worst < 0 || cell[i].result.force > cell[worst].result.force)) {
            worst = i;
        }
    }
    return worst;
}

static int is_near(const double *a, const double *b) {
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        if (fabs(a[axis] - b[axis]) > apart) {
            return 0;
        }
    }
    return 1;
}

/* The worst places that are not neighbours; returns how many there are. */
static int choose_tops(const search *s, int *top) {
    int tops = 0;
    while (tops < s->plan->climbs) {
        int worst = -1;
        for (int i = 0; i < s->known; i++) {
            const up_pinch_cell *cell = &s->cell[i];
            int taken = !cell->result.touched || (worst >= 0 && cell->result.force <= s->cell[worst].result.force);
            for (int k = 0; k < tops && !taken; k++) {
                taken = is_near(cell->u, s->cell[top[k]].u);
            }
            worst = taken ? worst : i;
        }
        if (worst < 0) {
            break;
        }
        top[tops++] = worst;
    }
    return tops;
}

/* Places drawn around the best one each climb knows, cut at the ends of the ranges, so that the ends are tried. */
static void place_tries(search *s, const int *top, int tops, int round) {
    const up_pinch_plan *plan = s->plan;
    const double half = box[round < BOXES ? round : BOXES - 1];
    for (int i = 0; i < tops * plan->tries; i++) {
        const double *from = s->cell[top[i / plan->tries]].u;
        double *u = s->cell[s->known + i].u;
        for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
            const uint64_t index =
                ((uint64_t)(s->known + i) * UP_PINCH_STARTS + s->start) * UP_PINCH_AXES + (unsigned)axis;
            const double draw = up_random_unit(plan->seed, CLIMB_STREAM, index);
            /* one draw in four leaves an axis alone, so that climbs also go along single axes */
            const double step = draw < 0.25 ? 0 : ((draw - 0.25) / 0.75 * 2 - 1) * half;
            u[axis] = fmin(fmax(from[axis] + step, 0.0), 1.0);
        }
    }
}

static void climb(search *s) {
    int top[UP_PINCH_CLIMBS_MAX];
    const int tries = s->plan->tries;
    const int tops = choose_tops(s, top);
    for (int round = 0; round < s->plan->rounds && tops > 0; round++) {
        const int before = s->known;
        place_tries(s, top, tops, round);
        run_next(s, tops * tries);
        for (int k = 0; k < tops; k++) {
            const int found = worst_of(&s->cell[before + k * tries], tries);
            const int at = before + k * tries + found;
            if (found >= 0 && s->cell[at].result.force > s->cell[top[k]].result.force) {
                top[k] = at;
            }
        }
    }
}

/* The worst gives way to a neighbour that is worse, until none is. */
static void settle(search *s) {
    for (int round = 0; round < s->plan->settles; round++) {
        const int worst = worst_of(s->cell, s->known);
        if (worst < 0) {
            return;
        }
        for (int i = 1; i < UP_PINCH_NEIGHBOURS; i++) {
            up_pinch_neighbour(s->plan, s->cell[worst].u, i, s->cell[s->known + i - 1].u);
        }
        run_next(s, UP_PINCH_NEIGHBOURS - 1);
        if (worst_of(s->cell, s->known) == worst) {
            return;
        }
    }
}

static void count_cells(const up_pinch_cell *cell, int cells, up_pinch_count *count) {
    *count = (up_pinch_count){0};
    for (int i = 0; i < cells; i++) {
        const up_pinch_result *r = &cell[i].result;
        count->closings += r->status == UP_OK;
        count->unreached += r->status == UP_BAD_OPTION;
        count->failed += r->status != UP_OK && r->status != UP_BAD_OPTION;
        count->touched += r->status == UP_OK && r->touched;
        count->missed += r->status == UP_OK && !r->touched;
        count->unseen += r->status == UP_OK && r->touched && r->reversals == 0;
    }
}

static void search_start(search *s) {
    const up_pinch_plan *plan = s->plan;
    const int even = CORNERS + plan->samples[s->start];
    for (int i = 0; i < even; i++) {
        if (i < CORNERS) {
            corner_place(s->start, i, s->cell[i].u);
        } else {
            even_place(plan, s->start, i - CORNERS, s->cell[i].u);
        }
    }
    run_next(s, even);
    climb(s);
    settle(s);
}

/* Points and results of the largest batch. */
static size_t batch_room(const up_pinch_plan *plan) {
    int most = climb_cells(plan);
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        most = cells_of(plan, (up_pinch_start)start) > most ? cells_of(plan, (up_pinch_start)start) : most;
    }
    return (size_t)most;
}

static int plan_makes_sense(const up_pinch_plan *plan) {
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        if (!(plan->range[axis].low <= plan->range[axis].high)) {
            return 0;
        }
    }
    return plan->range[UP_PINCH_MEASURE].low > 0 && plan->samples[0] >= 1 && plan->samples[1] >= 1 &&
           plan->climbs >= 0 && plan->climbs <= UP_PINCH_CLIMBS_MAX && plan->rounds >= 0 && plan->tries >= 0 &&
           plan->settles >= 0;
}

size_t up_pinch_map_memory(const up_pinch_plan *plan) {
    size_t cells = 0;
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        cells += (size_t)cells_of(plan, (up_pinch_start)start);
    }
    return cells * sizeof(up_pinch_cell) + batch_room(plan) * (sizeof(up_pinch_result) + sizeof(up_pinch_point));
}

up_status up_pinch_map_run(const up_pinch_plan *plan, up_workers *workers, void *memory, size_t memory_size,
                           up_pinch_map *map) {
    if (!plan_makes_sense(plan)) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_pinch_map_memory(plan)) {
        return UP_MEMORY_TOO_SMALL;
    }
    memset(map, 0, sizeof *map);
    map->plan = plan;
    map->cell = memory;
    const int all = cells_of(plan, UP_PINCH_RUNNING) + cells_of(plan, UP_PINCH_FROM_REST);
    search s = {.plan = plan, .workers = workers};
    s.results = (up_pinch_result *)(void *)(map->cell + all);
    s.points = (up_pinch_point *)(void *)(s.results + batch_room(plan));
    int first = 0;
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        s.start = (up_pinch_start)start;
        s.cell = map->cell + first;
        s.known = 0;
        search_start(&s);
        const int worst = worst_of(s.cell, s.known);
        map->first[start] = first;
        map->cells[start] = s.known;
        map->worst[start] = worst < 0 ? -1 : first + worst;
        count_cells(s.cell, s.known, &map->count[start]);
        first += s.known;
    }
    return UP_OK;
}

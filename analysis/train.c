#include "analysis/train.h"

#include <math.h>
#include <string.h>

#include "analysis/middle.h"
#include "analysis/spread.h"
#include "analysis/train_stages.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* ---- texts --------------------------------------------------------------------------------------------------- */

typedef struct text_row {
    const char *name, *second, *text;
} text_row;

static const text_row stage_rows[UP_STAGE_COUNT] = {
#define UP_STAGE_ROW(id, name, text) {name, "", text},
    UP_STAGE_LIST(UP_STAGE_ROW)
#undef UP_STAGE_ROW
};

static const text_row figure_rows[UP_TRAIN_FIGURE_COUNT] = {
#define UP_FIGURE_ROW(id, unit, text) {#id, unit, text},
    UP_TRAIN_FIGURE_LIST(UP_FIGURE_ROW)
#undef UP_FIGURE_ROW
};

const char *up_stage_name(up_stage stage) {
    return stage_rows[stage].name;
}

const char *up_stage_text(up_stage stage) {
    return stage_rows[stage].text;
}

const char *up_train_figure_name(up_train_figure figure) {
    return figure_rows[figure].name;
}

const char *up_train_figure_unit(up_train_figure figure) {
    return figure_rows[figure].second;
}

const char *up_train_figure_text(up_train_figure figure) {
    return figure_rows[figure].text;
}

/* ---- draws --------------------------------------------------------------------------------------------------- */

typedef struct drawing {
    const up_known *known;
    double temperature;
    uint64_t seed;
    double *numbers;      /* (draws x UP_NUMBER_COUNT)       */
    double *figures;      /* (draws x UP_TRAIN_FIGURE_COUNT) */
    up_pair_sides *sides; /* (draws)                         */
    double *column;       /* (draws) scratch                 */
    double *made;         /* (draws) 1: gave a door, 0: not  */
} drawing;

enum { DOUBLES_PER_DRAW = UP_NUMBER_COUNT + UP_TRAIN_FIGURE_COUNT + (int)(sizeof(up_pair_sides) / sizeof(double)) + 2 };

size_t up_train_memory(int draws) {
    return draws > 0 ? (size_t)draws * DOUBLES_PER_DRAW * sizeof(double) : 0;
}

static void lay_out(drawing *d, void *memory, int draws) {
    const size_t n = (size_t)draws;
    d->numbers = memory;
    d->figures = d->numbers + n * UP_NUMBER_COUNT;
    d->sides = (up_pair_sides *)(d->figures + n * UP_TRAIN_FIGURE_COUNT);
    d->column = (double *)(d->sides + n);
    d->made = d->column + n;
}

/* up_known_draw leaves alone what the model never reads; contradictions need it drawn too. Streams of numbers below
 * UP_NUMBER_COUNT in the first 16 bits are taken by up_known_draw, so the top bit but one tells these apart. */
static void draw_measured(const drawing *d, uint64_t index, up_values *values) {
    for (int k = UP_NUMBER_measured_raise_time; k < UP_NUMBER_COUNT; k++) {
        if (d->known->spread[k] > 0) {
            const uint64_t stream = (uint64_t)1 << 62 | (uint64_t)k;
            values->number[k] += d->known->spread[k] / 1.96 * up_random_normal(d->seed, stream, index);
        }
    }
}

static void draw_some(void *context, int first, int end) {
    drawing *d = context;
    up_door door;
    up_values values;
    for (int i = first; i < end; i++) {
        double *figures = d->figures + (size_t)i * UP_TRAIN_FIGURE_COUNT;
        d->made[i] = up_known_draw(d->known, d->seed, (uint64_t)i + 1, &values) == UP_OK &&
                     up_door_prepare(&values, d->temperature, &door) == UP_OK;
        if (d->made[i] > 0) {
            draw_measured(d, (uint64_t)i + 1, &values);
            door.values = values;
            memcpy(d->numbers + (size_t)i * UP_NUMBER_COUNT, values.number, sizeof values.number);
            up_train_figures(&door, figures);
            up_pair_sides_of(&door, figures, &d->sides[i]);
        }
    }
}

/* Moves the draws that gave a door to the front, in their order; returns how many. */
static int close_ranks(drawing *d, int draws) {
    int kept = 0;
    for (int i = 0; i < draws; i++) {
        if (d->made[i] > 0) {
            memmove(d->numbers + (size_t)kept * UP_NUMBER_COUNT, d->numbers + (size_t)i * UP_NUMBER_COUNT,
                    UP_NUMBER_COUNT * sizeof(double));
            memmove(d->figures + (size_t)kept * UP_TRAIN_FIGURE_COUNT, d->figures + (size_t)i * UP_TRAIN_FIGURE_COUNT,
                    UP_TRAIN_FIGURE_COUNT * sizeof(double));
            d->sides[kept] = d->sides[i];
            kept++;
        }
    }
    return kept;
}

/* ---- intervals ----------------------------------------------------------------------------------------------- */

static void answer_of(const drawing *d, int kept, int figure, double value, up_train_answer *answer) {
    int count = 0;
    for (int i = 0; i < kept; i++) {
        d->column[i] = d->figures[(size_t)i * UP_TRAIN_FIGURE_COUNT + (size_t)figure];
    }
    answer->value = value;
    answer->mostly_share = 0;
    if (!up_suspects_of(d->column, d->numbers, kept, d->known, 1, &answer->mostly, &answer->mostly_share)) {
        answer->mostly_share = 0;
    }
    for (int i = 0; i < kept; i++) {
        if (!isnan(d->column[i])) {
            d->column[count++] = d->column[i];
        }
    }
    answer->count = count;
    /* from fewer than half of the doors nothing is told */
    up_middle_95(d->column, 2 * count >= kept ? count : 0, &answer->low, &answer->high);
}

/* ---- the sheet itself ---------------------------------------------------------------------------------------- */

static void places_of(const up_door *door, up_train *train) {
    const double travel[UP_TRAIN_PLACES] = {0.0, 0.5 * door->travel, door->header_start};
    for (int i = 0; i < UP_TRAIN_PLACES; i++) {
        up_train_place *at = &train->at[i];
        up_place_at(door, travel[i], &at->place);
        up_steady_at(door, &train->circuit, &at->place, UP_RAISING, 0, &at->raising);
        up_steady_at(door, &train->circuit, &at->place, UP_LOWERING, 0, &at->lowering);
        up_stages_of(door, &train->circuit, &at->place, UP_RAISING, &at->raising, at->raise);
        up_stages_of(door, &train->circuit, &at->place, UP_LOWERING, &at->lowering, at->lower);
        up_stall_at(door, &train->circuit, &at->place, &train->stall[i]);
    }
}

static void parts_of(const up_door *door, up_train *train) {
    const up_values *v = &door->values;
    up_gear_pair pair;
    train->worm_lead_angle = up_atan(door->worm_tangent);
    train->worm_locking_friction = door->worm_cosine * door->worm_tangent;
    train->worm_static_friction = up_worm_friction_of(door, 0.0);
    train->worm_shaking_friction = train->worm_static_friction * v->worm_vibration;
    train->worm_ratio = door->worm_ratio;
    train->limit_open_angle = door->limit_open_angle;
    train->mesh_ratio = (1 << v->family) & UP_ARMS ? v->sector_teeth / v->pinion_teeth : NAN;
    train->undercut_teeth = train->contact_ratio_plain = NAN;
    if (up_train_gear_pair(door, &pair)) {
        train->undercut_teeth = up_gear_undercut_teeth(pair.pressure_angle);
        train->contact_ratio_plain = up_gear_contact_ratio(&pair);
    }
}

static void wheel_of(const up_door *door, double stress_stalled, up_train *train) {
    const up_values *v = &door->values;
    const up_gear_pair pair = {v->wheel_teeth, 0, v->worm_module, v->worm_pressure_angle, v->worm_module, 0};
    train->wheel_contact_ratio = up_gear_contact_ratio_capped(&pair);
    train->wheel_stress_shared = stress_stalled / up_max(train->wheel_contact_ratio, 1.0);
}

static double share_at_least_one(const drawing *d, int kept, int figure) {
    int hits = 0;
    for (int i = 0; i < kept; i++) {
        hits += d->figures[(size_t)i * UP_TRAIN_FIGURE_COUNT + (size_t)figure] >= 1.0;
    }
    return kept > 0 ? (double)hits / kept : NAN;
}

static up_status nominal_of(const up_known *known, double temperature, up_train *train, up_pair_sides *sides,
                            double *figures) {
    up_door door;
    const up_status status = up_door_prepare(&known->values, temperature, &door);
    if (status != UP_OK) {
        return status;
    }
    up_circuit_of(&door, &train->circuit);
    places_of(&door, train);
    up_train_points(&door, &train->circuit, train->point);
    parts_of(&door, train);
    up_train_figures(&door, figures);
    wheel_of(&door, figures[UP_TRAIN_FIGURE_wheel_stress_stall], train);
    up_pair_sides_of(&door, figures, sides);
    return UP_OK;
}

up_status up_train_run(const up_train_request *request, up_workers *workers, void *memory, size_t memory_size,
                       up_train *train) {
    double figures[UP_TRAIN_FIGURE_COUNT];
    up_pair_sides sides;
    up_known known = *request->known;
    memset(train, 0, sizeof *train);
    if (request->draws < 20) {
        return UP_BAD_OPTION;
    }
    if (memory_size < up_train_memory(request->draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    if (!up_is_absent(request->open_voltage)) {
        known.values.supply_voltage = request->open_voltage;
        known.spread[UP_NUMBER_supply_voltage] = 0;
    }
    const up_status status = nominal_of(&known, request->temperature, train, &sides, figures);
    if (status != UP_OK) {
        return status;
    }
    drawing d = {&known, request->temperature, request->seed, NULL, NULL, NULL, NULL, NULL};
    lay_out(&d, memory, request->draws);
    up_share_work(workers, request->draws, draw_some, &d);
    const int kept = close_ranks(&d, request->draws);
    for (int i = 0; i < UP_TRAIN_FIGURE_COUNT; i++) {
        answer_of(&d, kept, i, figures[i], &train->answer[i]);
    }
    train->holds_at_rest = share_at_least_one(&d, kept, UP_TRAIN_FIGURE_hold_margin);
    train->holds_shaking = share_at_least_one(&d, kept, UP_TRAIN_FIGURE_hold_margin_shaking);
    up_contradictions_judge(&sides, d.sides, d.numbers, kept, &known, d.column, train->contradiction);
    train->temperature = request->temperature;
    train->draws = kept;
    return UP_OK;
}

#include "analysis/refit/card.h"

#include <math.h>

#include "analysis/judge.h"
#include "core/base/up_math.h"
#include "core/door/door.h"

enum { DRAWS_USUAL = 200, DRAWS_LEAST = 20 };

/* Tolerance of the integrator for the drawn closings, as `upstop move` takes it. */
static const double draw_tolerance = 1e-4;
static const double gauge_run_up = 0.1; /* m */
static const double gauge_openings[UP_CARD_GAUGES] = {0.025, 0.100, 0.200};

/* What every piece of the work needs. */
typedef struct desk {
    const up_card_request *request;
    up_workers *workers;
    void *memory;
    size_t memory_size;
    up_known known[UP_CARD_SUPPLIES];
    up_card *card;
} desk;

void up_card_request_default(const up_known *known, up_card_request *request) {
    *request = (up_card_request){known, UP_ROOM_TEMPERATURE, UP_ABSENT, 1, DRAWS_USUAL};
}

static size_t larger(size_t a, size_t b) {
    return a > b ? a : b;
}

size_t up_card_memory(int draws) {
    if (draws < DRAWS_LEAST) {
        return 0;
    }
    return larger(larger(up_spread_memory(draws), up_train_memory(draws)),
                  larger(up_meter_memory(draws), up_stroke_memory(draws)));
}

/* ---- supplies ---- */

static void set_supplies(desk *d) {
    const up_card_request *request = d->request;
    const double asked = request->generator_voltage;
    d->known[UP_CARD_ENGINE_OFF] = *request->known;
    d->known[UP_CARD_ENGINE_ON] = *request->known;
    up_known *on = &d->known[UP_CARD_ENGINE_ON];
    on->values.supply_voltage = up_is_absent(asked) ? UP_CARD_GENERATOR_VOLTAGE : asked;
    on->spread[UP_NUMBER_supply_voltage] = UP_CARD_GENERATOR_SPREAD;
    for (int s = 0; s < UP_CARD_SUPPLIES; s++) {
        d->card->open_voltage[s] = d->known[s].values.supply_voltage;
        d->card->open_spread[s] = d->known[s].spread[UP_NUMBER_supply_voltage];
    }
}

static up_status read_meters(desk *d) {
    up_status status = UP_OK;
    for (int s = 0; s < UP_CARD_SUPPLIES && status == UP_OK; s++) {
        const up_meter_request request = {&d->known[s], d->request->temperature, d->request->seed, d->request->draws};
        status = up_meter_run(&request, d->memory, d->memory_size, d->card->reading[s]);
    }
    return status;
}

/* ---- closings ---- */

static up_status spread(desk *d, int supply, const up_run_options *options, const up_rule *rule, const up_facts *facts,
                        up_spread_result *result) {
    up_run_options drawn = *options;
    drawn.temperature = d->request->temperature;
    drawn.tolerance = draw_tolerance;
    const up_spread_request request = {.known = &d->known[supply],
                                       .options = &drawn,
                                       .facts = facts,
                                       .rule = rule,
                                       .seed = d->request->seed,
                                       .draws = d->request->draws};
    return up_spread_run(&request, d->workers, d->memory, d->memory_size, result);
}

static up_status run_stroke(desk *d, int supply, int raising, up_stroke *stroke) {
    const up_stroke_request request = {&d->known[supply], raising, d->request->temperature, d->request->seed,
                                       d->request->draws};
    return up_stroke_run(&request, d->workers, d->memory, d->memory_size, stroke);
}

static up_status run_strokes(desk *d) {
    up_status status = UP_OK;
    for (int s = 0; s < UP_CARD_SUPPLIES && status == UP_OK; s++) {
        status = run_stroke(d, s, 1, &d->card->raise[s]);
        if (status == UP_OK) {
            status = run_stroke(d, s, 0, &d->card->lower[s]);
        }
    }
    return status;
}

/* The limit of the force that the rule's verdict holds the peak against, N; NaN: none. */
static double force_limit(const up_judgement *judgement) {
    for (int i = 0; i < judgement->count; i++) {
        const up_verdict *verdict = &judgement->verdict[i];
        if (verdict->unit[0] == 'N' && verdict->unit[1] == '\0' && !isnan(verdict->limit)) {
            return verdict->limit;
        }
    }
    return UP_ABSENT;
}

static up_status run_gauge(desk *d, double opening, up_card_gauge *gauge) {
    const up_rule *rule = up_rule_named("UN");
    const up_rule_number *number = NULL;
    up_facts facts;
    up_run_options options;
    up_spread_result result;
    up_facts_default(&facts);
    facts.rod_diameter = opening;
    facts.place = UP_FROM_SWITCH;
    facts.way = UP_WAY_ONE_TOUCH;
    facts.reversing = UP_ANSWER_YES;
    up_run_options_default(&options);
    options.rod = 1;
    options.rod_opening = opening;
    options.rod_stiffness = rule->rod_stiffness(opening, &number);
    d->card->gauge_stiffness = options.rod_stiffness;
    d->card->gauge_mark = number->mark;
    const up_status status = spread(d, UP_CARD_ENGINE_ON, &options, rule, &facts, &result);
    if (status == UP_OK) {
        gauge->opening = opening;
        gauge->force = result.figure[UP_HEADLINE_peak_rod_force];
        gauge->backed = result.figure[UP_HEADLINE_reversed_distance];
        gauge->reversed = result.reversed;
        gauge->within = result.passed_all;
        d->card->force_limit = force_limit(&result.nominal_judgement);
    }
    return status;
}

static up_status run_gauges(desk *d) {
    const double travel = d->request->known->values.glass_travel;
    up_status status = UP_OK;
    for (int i = 0; i < UP_CARD_GAUGES && status == UP_OK; i++) {
        /* it must be running evenly when it meets the gauge */
        status = run_gauge(d, fmin(gauge_openings[i], travel - gauge_run_up), &d->card->gauge[i]);
    }
    return status;
}

static double lowered(double final_opening) {
    return final_opening - UP_CARD_HOLD_OPENING;
}

static up_status run_hold(desk *d) {
    const up_known *known = d->request->known;
    const double softest = known->values.regulator_stiffness - known->spread[UP_NUMBER_regulator_stiffness];
    d->card->give = UP_CARD_HOLD_PULL / fmax(softest, known->values.regulator_stiffness / 4);
    up_run_options options;
    up_spread_result result;
    up_run_options_default(&options);
    /* An opening is kept from door to door when the up-stop is the nearer one. */
    options.start_travel = d->request->known->values.glass_travel - UP_CARD_HOLD_OPENING;
    options.switch_step[0].position = UP_SWITCH_FREE;
    options.leads_open = 1;
    options.push_force = -UP_CARD_HOLD_PULL;
    if (options.start_travel < UP_CARD_HOLD_OPENING) {
        d->card->sink = (up_spread_figure){UP_ABSENT, UP_ABSENT, UP_ABSENT, UP_ABSENT, UP_ABSENT, 0};
        return UP_OK; /* a stroke so short that the test has no room */
    }
    const up_status status = spread(d, UP_CARD_ENGINE_OFF, &options, NULL, NULL, &result);
    if (status == UP_OK) {
        const up_spread_figure *end = &result.figure[UP_HEADLINE_final_opening];
        d->card->sink = (up_spread_figure){lowered(end->nominal), lowered(end->low), lowered(end->high),
                                           lowered(end->mean),    end->deviation,    end->count};
    }
    return status;
}

/* ---- after the battery was off ---- */

static up_status run_lost(const up_door *door, double start_travel, up_outcome *outcome) {
    up_run_options options;
    up_run_options_default(&options);
    options.temperature = door->temperature;
    options.start_travel = start_travel;
    options.position_lost = 1;
    options.switch_step[0].position = UP_SWITCH_RAISE_HELD;
    return up_run(door, &options, NULL, outcome, NULL);
}

static up_status run_restart(desk *d, double limit_opening) {
    up_card_restart *restart = &d->card->restart;
    up_door door;
    up_outcome open;
    up_outcome closed;
    up_status status = up_door_prepare(&d->request->known->values, d->request->temperature, &door);
    if (status == UP_OK) {
        status = run_lost(&door, 0, &open);
    }
    if (status == UP_OK) {
        status = run_lost(&door, door.travel - fmax(limit_opening, 0) / 2, &closed);
    }
    if (status == UP_OK) {
        up_circuit circuit;
        up_circuit_of(&door, &circuit);
        d->card->motor_resistance = circuit.motor_resistance;
        *restart = (up_card_restart){limit_opening,
                                     open.end,
                                     open.time,
                                     closed.end,
                                     closed.reversed_distance,
                                     door.values.detect_profile == UP_PROFILE_LEARNED};
    }
    return status;
}

/* ---- all together ---- */

static up_status run_train(desk *d, up_train *train) {
    const up_train_request request = {.known = &d->known[UP_CARD_ENGINE_ON],
                                      .temperature = d->request->temperature,
                                      .open_voltage = UP_ABSENT,
                                      .seed = d->request->seed,
                                      .draws = d->request->draws};
    up_card *card = d->card;
    const up_status status = up_train_run(&request, d->workers, d->memory, d->memory_size, train);
    if (status == UP_OK) {
        card->pulses = train->answer[UP_TRAIN_FIGURE_pulses_per_stroke];
        card->hold_push = train->answer[UP_TRAIN_FIGURE_hold_push];
        card->hold_push_shaking = train->answer[UP_TRAIN_FIGURE_hold_push_shaking];
        card->output_turns = train->answer[UP_TRAIN_FIGURE_output_turns];
        card->armature_speed = train->worm_ratio * train->answer[UP_TRAIN_FIGURE_free_speed].value;
        card->top_armature_speed = train->worm_ratio * train->answer[UP_TRAIN_FIGURE_free_speed].high;
    }
    return status;
}

up_status up_card_run(const up_card_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_card *card) {
    desk d = {.request = request, .workers = workers, .memory = memory, .memory_size = memory_size, .card = card};
    up_train train;
    const up_values *values = &request->known->values;
    if (request->draws < DRAWS_LEAST) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_card_memory(request->draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    *card = (up_card){.temperature = request->temperature, .draws = request->draws};
    set_supplies(&d);
    card->wire = up_wire_loop_of(values->wire_length, values->wire_area);
    card->contact_resistance = values->contact_resistance;
    up_status status = run_train(&d, &train);
    if (status == UP_OK) {
        status = read_meters(&d);
    }
    if (status == UP_OK) {
        status = run_strokes(&d);
    }
    if (status == UP_OK) {
        status = run_gauges(&d);
    }
    if (status == UP_OK) {
        status = run_hold(&d);
    }
    if (status == UP_OK) {
        status = run_restart(&d, train.answer[UP_TRAIN_FIGURE_limit_opening].value);
    }
    return status;
}

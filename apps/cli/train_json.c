#include "apps/cli/train_json.h"

#include <math.h>

#include "io/entry_texts.h"
#include "io/json_run.h"

/* An infinite answer means that nothing limits it; JSON has no such number. */
static json_t *limited(double value) {
    return isinf(value) ? json_string("no limit") : up_json_number(value);
}

static json_t *answer_json(const up_train_answer *answer, up_train_figure figure) {
    json_t *json = json_object();
    up_json_set(json, "value", limited(answer->value));
    up_json_set(json, "low", limited(answer->low));
    up_json_set(json, "high", limited(answer->high));
    up_json_set(json, "unit", json_string(up_train_figure_unit(figure)));
    up_json_set(json, "text", json_string(up_train_figure_text(figure)));
    up_json_set(json, "draws", json_integer(answer->count));
    if (answer->mostly_share > 0) {
        up_json_set(json, "mostly_from", json_string(up_entry_text_of_number(answer->mostly)->key));
        up_json_set(json, "mostly_share", up_json_number(answer->mostly_share));
    }
    return json;
}

static json_t *answers_json(const up_train *train) {
    json_t *json = json_object();
    for (int i = 0; i < UP_TRAIN_FIGURE_COUNT; i++) {
        up_json_set(json, up_train_figure_name((up_train_figure)i), answer_json(&train->answer[i], (up_train_figure)i));
    }
    return json;
}

static json_t *stage_json(const up_stage_state *stages, up_stage stage) {
    static const char *const speed_unit[] = {"V", "rad/s", "m/s"};
    static const char *const effort_unit[] = {"A", "N.m", "N"};
    const up_stage_state *s = &stages[stage];
    const int turns_straight =
        stage > UP_STAGE_MOTOR && s->kind == UP_STAGE_STRAIGHT && stages[stage - 1].kind == UP_STAGE_TURNING;
    json_t *json = json_object();
    up_json_set(json, "stage", json_string(up_stage_name(stage)));
    up_json_set(json, "output", json_string(up_stage_text(stage)));
    up_json_set(json, "ratio", up_json_quantity(s->ratio, turns_straight ? "rad/m" : "1"));
    up_json_set(json, "speed", up_json_quantity(s->speed, speed_unit[s->kind]));
    up_json_set(json, "effort", up_json_quantity(s->effort, effort_unit[s->kind]));
    up_json_set(json, "power_in", up_json_quantity(s->power_in, "W"));
    up_json_set(json, "power_out", up_json_quantity(s->power_out, "W"));
    up_json_set(json, "efficiency", up_json_number(s->efficiency));
    up_json_set(json, "efficiency_forward", up_json_number(s->forward));
    up_json_set(json, "efficiency_backward", up_json_number(s->backward));
    return json;
}

static json_t *running_json(const up_steady *steady, const up_stage_state stages[UP_STAGE_COUNT]) {
    json_t *json = json_object();
    json_t *list = json_array();
    for (int i = 0; i < UP_STAGE_COUNT; i++) {
        json_array_append_new(list, stage_json(stages, (up_stage)i));
    }
    up_json_set(json, "runs", json_boolean(steady->runs));
    up_json_set(json, "starts_from_rest", json_boolean(steady->starts));
    up_json_set(json, "worm_friction", up_json_number(steady->worm_friction));
    up_json_set(json, "worm_sliding_speed", up_json_quantity(steady->sliding_speed, "m/s"));
    up_json_set(json, "glass_friction", up_json_quantity(steady->friction, "N"));
    up_json_set(json, "stages", list);
    return json;
}

static json_t *places_json(const up_train *train) {
    static const char *const name[UP_TRAIN_PLACES] = {"bottom", "middle", "top"};
    json_t *json = json_object();
    for (int i = 0; i < UP_TRAIN_PLACES; i++) {
        const up_train_place *at = &train->at[i];
        json_t *place = json_object();
        up_json_set(place, "travel", up_json_quantity(at->place.travel, "m"));
        up_json_set(place, "rail_tilt", up_json_quantity(at->place.rail_tilt, "rad"));
        up_json_set(place, "raising", running_json(&at->raising, at->raise));
        up_json_set(place, "lowering", running_json(&at->lowering, at->lower));
        up_json_set(json, name[i], place);
    }
    return json;
}

/* Columns: an array of numbers each, with its unit, all of the same length. */
#define COLUMNS(X)             \
    X(travel, "m")             \
    X(per_motor_turn, "m")     \
    X(per_output_turn, "m")    \
    X(pulses_per_metre, "1/m") \
    X(needed_lift, "N")        \
    X(stall_lift, "N")         \
    X(stall_squeeze, "N")      \
    X(raise_speed, "m/s")      \
    X(lower_speed, "m/s")      \
    X(raise_current, "A")      \
    X(lower_current, "A")      \
    X(tilt_share, "1")

static json_t *travel_json(const up_train *train) {
    json_t *json = json_object();
#define COLUMN(id, unit_text)                                                  \
    {                                                                          \
        json_t *column = json_object(), *values = json_array();                \
        for (int i = 0; i < UP_TRAIN_POINTS; i++) {                            \
            json_array_append_new(values, up_json_number(train->point[i].id)); \
        }                                                                      \
        up_json_set(column, "unit", json_string(unit_text));                   \
        up_json_set(column, "values", values);                                 \
        up_json_set(json, #id, column);                                        \
    }
    COLUMNS(COLUMN)
#undef COLUMN
    return json;
}

static json_t *parts_json(const up_train *train) {
    json_t *json = json_object();
    up_json_set(json, "worm_ratio", up_json_number(train->worm_ratio));
    up_json_set(json, "worm_lead_angle", up_json_quantity(train->worm_lead_angle, "rad"));
    up_json_set(json, "worm_locking_friction", up_json_number(train->worm_locking_friction));
    up_json_set(json, "worm_friction_at_rest", up_json_number(train->worm_static_friction));
    up_json_set(json, "worm_friction_shaking", up_json_number(train->worm_shaking_friction));
    up_json_set(json, "holds_at_rest", up_json_number(train->holds_at_rest));
    up_json_set(json, "holds_shaking", up_json_number(train->holds_shaking));
    up_json_set(json, "mesh_ratio", up_json_number(train->mesh_ratio));
    up_json_set(json, "undercut_teeth", up_json_number(train->undercut_teeth));
    up_json_set(json, "contact_ratio_not_undercut", up_json_number(train->contact_ratio_plain));
    up_json_set(json, "wheel_contact_ratio", up_json_number(train->wheel_contact_ratio));
    up_json_set(json, "wheel_stress_stall_shared", up_json_quantity(train->wheel_stress_shared, "Pa"));
    up_json_set(json, "limit_open_angle", up_json_quantity(train->limit_open_angle, "rad"));
    return json;
}

static json_t *suspects_json(const up_contradiction *c) {
    json_t *json = json_array();
    for (int i = 0; i < c->suspects; i++) {
        json_t *one = json_object();
        up_json_set(one, "entry", json_string(up_entry_text_of_number(c->suspect[i])->key));
        up_json_set(one, "share", up_json_number(c->suspect_share[i]));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *contradictions_json(const up_train *train) {
    json_t *json = json_array();
    for (int i = 0; i < UP_PAIR_COUNT; i++) {
        const up_contradiction *c = &train->contradiction[i];
        if (!c->applies) {
            continue;
        }
        json_t *pair = json_object();
        up_json_set(pair, "pair", json_string(up_pair_name((up_pair)i)));
        up_json_set(pair, "verdict", json_string(up_accord_word(c->accord)));
        up_json_set(pair, "score", up_json_number(c->score));
        up_json_set(pair, "one_sided", json_boolean(up_pair_is_one_sided((up_pair)i)));
        up_json_set(pair, "unit", json_string(up_pair_unit((up_pair)i)));
        up_json_set(pair, "one", up_json_number(c->one));
        up_json_set(pair, "one_text", json_string(up_pair_one((up_pair)i)));
        up_json_set(pair, "one_deviation", up_json_number(c->one_deviation));
        up_json_set(pair, "other", up_json_number(c->other));
        up_json_set(pair, "other_slack", up_json_number(c->slack));
        up_json_set(pair, "other_text", json_string(up_pair_other((up_pair)i)));
        up_json_set(pair, "other_deviation", up_json_number(c->other_deviation));
        up_json_set(pair, "deviation", up_json_number(c->deviation));
        up_json_set(pair, "look_first_at", suspects_json(c));
        json_array_append_new(json, pair);
    }
    return json;
}

int up_train_print_json(const up_sheet *sheet, const up_train_request *request, const up_train *train, FILE *out) {
    json_t *json = json_object();
    json_t *asked = json_object();
    up_json_set(asked, "temperature", up_json_quantity(train->temperature, "K"));
    up_json_set(asked, "supply_voltage", up_json_quantity(train->circuit.open_voltage, "V"));
    up_json_set(asked, "seed", json_integer((json_int_t)request->seed));
    up_json_set(asked, "draws", json_integer(request->draws));
    up_json_set(json, "request", asked);
    up_json_set(json, "draws", json_integer(train->draws));
    up_json_set(json, "answers", answers_json(train));
    up_json_set(json, "parts", parts_json(train));
    up_json_set(json, "places", places_json(train));
    up_json_set(json, "along_travel", travel_json(train));
    up_json_set(json, "contradictions", contradictions_json(train));
    return up_json_print(json, "train", sheet->path, out);
}

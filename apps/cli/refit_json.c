/* The refit card as JSON: docs/json.md. */
#include <math.h>

#include "apps/cli/refit_answer.h"
#include "apps/cli/refit_screws.h"
#include "apps/cli/refit_words.h"
#include "io/json_run.h"
#include "io/trace.h"

/* "no limit" where nothing limits, as in `upstop train`. */
static json_t *number(double value) {
    return isinf(value) ? json_string("no limit") : up_json_number(value);
}

static json_t *range(double value, double low, double high, const char *unit, int count) {
    json_t *json = json_object();
    up_json_set(json, "value", number(value));
    up_json_set(json, "low", number(low));
    up_json_set(json, "high", number(high));
    up_json_set(json, "unit", json_string(unit));
    up_json_set(json, "doors", json_integer(count));
    return json;
}

static json_t *reading(const up_reading *r, const char *unit) {
    return range(r->value, r->low, r->high, unit, r->count);
}

static json_t *figure(const up_spread_figure *f, const char *unit) {
    return range(f->nominal, f->low, f->high, unit, f->count);
}

static json_t *answer_json(const up_train_answer *a, const char *unit) {
    return range(a->value, a->low, a->high, unit, a->count);
}

static json_t *share(const up_share *s) {
    json_t *json = json_object();
    up_json_set(json, "hits", json_integer(s->hits));
    up_json_set(json, "of", json_integer(s->of));
    up_json_set(json, "share", up_json_number(s->share));
    up_json_set(json, "low", up_json_number(s->low));
    up_json_set(json, "high", up_json_number(s->high));
    return json;
}

static json_t *texts(const char *const *words, int count) {
    json_t *json = json_array();
    for (int i = 0; i < count; i++) {
        json_array_append_new(json, json_string(words[i]));
    }
    return json;
}

static json_t *screws(const up_refit_answer *answer) {
    json_t *json = json_array();
    for (int i = 0; i < answer->refit->screws; i++) {
        const up_refit_screw *screw = &answer->refit->screw[i];
        const up_tightening *t = &answer->tightening[i];
        char thread[24];
        json_t *one = json_object();
        up_json_set(one, "holds", json_string(screw->name));
        up_json_set(one, "thread", json_string(up_refit_thread_words(&screw->screw, thread, sizeof thread)));
        up_json_set(one, "class", json_string(up_screw_class_word(screw->screw.screw_class)));
        up_json_set(one, "lubrication", json_string(up_lubrication_word(screw->screw.lubrication)));
        up_json_set(one, "into", json_string(up_thread_in_word(screw->screw.into)));
        up_json_set(one, "from", json_string(screw->given ? "given" : "practice"));
        up_json_set(one, "stress_area", up_json_quantity(t->stress_area, "m2"));
        up_json_set(one, "proof_load", up_json_quantity(t->proof_load, "N"));
        up_json_set(one, "torque_by_nut_factor", up_json_quantity(t->by_nut_factor, "N.m"));
        up_json_set(one, "torque_by_friction", up_json_quantity(t->by_friction, "N.m"));
        up_json_set(one, "torque", up_json_quantity(t->set, "N.m"));
        up_json_set(one, "torque_at_most", up_json_quantity(t->highest, "N.m"));
        up_json_set(one, "capped", json_boolean(t->capped));
        up_json_set(one, "preload", range(t->preload, t->preload_low, t->preload_high, "N", 0));
        up_json_set(one, "across_flats", up_json_quantity(t->across_flats, "m"));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *greases(const up_refit_answer *answer) {
    const up_refit_grease *rows[UP_REFIT_WORDS];
    const int count = up_refit_greases(&answer->sheet->known.values, rows);
    json_t *json = json_array();
    for (int i = 0; i < count; i++) {
        json_t *one = json_object();
        up_json_set(one, "place", json_string(rows[i]->place));
        up_json_set(one, "material", json_string(rows[i]->material));
        up_json_set(one, "with", json_string(rows[i]->with));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *supply(const up_card *card, int s) {
    static const char *const states[UP_METER_STATES] = {"raising", "lowering", "at_stop"};
    json_t *json = json_object();
    const double volt = card->open_voltage[s];
    up_json_set(json, "battery_at_rest",
                range(volt, volt - card->open_spread[s], volt + card->open_spread[s], "V", card->draws));
    for (int state = 0; state < UP_METER_STATES; state++) {
        json_t *one = json_object();
        for (int m = 0; m < UP_METER_COUNT; m++) {
            up_json_set(one, up_meter_name((up_meter)m),
                        reading(&card->reading[s][state][m], up_meter_unit((up_meter)m)));
        }
        up_json_set(json, states[state], one);
    }
    up_json_set(json, "closing_time", reading(&card->raise[s].time, "s"));
    up_json_set(json, "closing_current", reading(&card->raise[s].current, "A"));
    up_json_set(json, "closed", share(&card->raise[s].done));
    up_json_set(json, "opening_time", reading(&card->lower[s].time, "s"));
    up_json_set(json, "opening_current", reading(&card->lower[s].current, "A"));
    up_json_set(json, "opened", share(&card->lower[s].done));
    return json;
}

static json_t *gauges(const up_card *card) {
    json_t *json = json_array();
    for (int i = 0; i < UP_CARD_GAUGES; i++) {
        const up_card_gauge *gauge = &card->gauge[i];
        json_t *one = json_object();
        up_json_set(one, "opening", up_json_quantity(gauge->opening, "m"));
        up_json_set(one, "force", figure(&gauge->force, "N"));
        up_json_set(one, "backed_off", figure(&gauge->backed, "m"));
        up_json_set(one, "reversed", share(&gauge->reversed));
        up_json_set(one, "passed", share(&gauge->within));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *restart(const up_card_restart *restart) {
    char word[32];
    json_t *json = json_object();
    up_json_set(json, "limit_opening", up_json_quantity(restart->limit_opening, "m"));
    up_json_set(json, "raised_from_open",
                json_string(up_trace_word(up_end_name(restart->from_open), word, sizeof word)));
    up_json_set(json, "time", up_json_quantity(restart->from_open_time, "s"));
    up_json_set(json, "raised_from_above_the_contact",
                json_string(up_trace_word(up_end_name(restart->from_closed), word, sizeof word)));
    up_json_set(json, "backed_off", up_json_quantity(restart->from_closed_backed, "m"));
    up_json_set(json, "profile_kept", json_boolean(restart->profile_kept));
    return json;
}

static json_t *armature(const up_refit_answer *answer) {
    const up_refit *refit = answer->refit;
    json_t *json = json_object();
    up_json_set(json, "speed", up_json_quantity(answer->card.top_armature_speed, "rad/s"));
    up_json_set(json, "eccentricity", up_json_quantity(answer->eccentricity, "m"));
    up_json_set(json, "mass", up_json_quantity(refit->armature_mass, "kg"));
    up_json_set(json, "unbalance_permissible", up_json_quantity(answer->unbalance, "kg.m"));
    up_json_set(json, "unbalance_measured", up_json_quantity(refit->unbalance, "kg.m"));
    up_json_set(json, "too_much", isnan(refit->unbalance) ? json_null() : json_boolean(answer->unbalanced));
    up_json_set(json, "brush_least", up_json_quantity(answer->brush.least, "m"));
    up_json_set(json, "brush_least_from",
                isnan(answer->brush.least) ? json_null()
                : answer->brush.makers     ? json_string("maker")
                                           : json_string("practice"));
    up_json_set(json, "brush_measured", up_json_quantity(refit->brush.now, "m"));
    up_json_set(json, "brush_worn", up_json_number(answer->brush.worn));
    up_json_set(json, "brush_too_short",
                isnan(refit->brush.now) || isnan(answer->brush.least) ? json_null()
                                                                      : json_boolean(answer->brush.short_of));
    return json;
}

static void set_acceptance(json_t *json, const up_card *card) {
    up_json_set(json, "engine_off", supply(card, UP_CARD_ENGINE_OFF));
    up_json_set(json, "engine_on", supply(card, UP_CARD_ENGINE_ON));
    up_json_set(json, "motor_resistance", up_json_quantity(card->motor_resistance, "ohm"));
    up_json_set(json, "wire_loop", up_json_quantity(card->wire.solid, "ohm"));
    up_json_set(json, "wire_loop_greatest", up_json_quantity(card->wire.greatest, "ohm"));
    up_json_set(json, "contact_resistance", up_json_quantity(card->contact_resistance, "ohm"));
    up_json_set(json, "pulses_per_stroke", answer_json(&card->pulses, "count"));
    json_t *hold = json_object();
    up_json_set(hold, "pull", up_json_quantity(UP_CARD_HOLD_PULL, "N"));
    up_json_set(hold, "opening", up_json_quantity(UP_CARD_HOLD_OPENING, "m"));
    up_json_set(hold, "sinks", figure(&card->sink, "m"));
    up_json_set(hold, "gives", up_json_quantity(card->give, "m"));
    up_json_set(hold, "withstands", answer_json(&card->hold_push, "N"));
    up_json_set(hold, "withstands_shaking", answer_json(&card->hold_push_shaking, "N"));
    up_json_set(json, "holding", hold);
    json_t *pinch = json_object();
    up_json_set(pinch, "limit", up_json_quantity(card->force_limit, "N"));
    up_json_set(pinch, "gauge_stiffness", up_json_quantity(card->gauge_stiffness, "N/m"));
    up_json_set(pinch, "gauge_stiffness_mark", json_string(card->gauge_mark));
    up_json_set(pinch, "gauges", gauges(card));
    up_json_set(json, "pinch", pinch);
}

int up_refit_print_json(const up_refit_answer *answer, FILE *file) {
    const up_values *door = &answer->sheet->known.values;
    const up_card *card = &answer->card;
    const char *words[UP_REFIT_WORDS];
    json_t *json = json_object();
    up_json_set(json, "title", json_string(answer->sheet->title));
    up_json_set(json, "temperature", up_json_quantity(card->temperature, "K"));
    up_json_set(json, "doors", json_integer(card->draws));
    up_json_set(json, "seed", json_integer((json_int_t)answer->refit->request.seed));
    int count = up_refit_cautions(door, words);
    up_json_set(json, "cautions", texts(words, count));
    count = up_refit_order(door, words);
    up_json_set(json, "order", texts(words, count));
    up_json_set(json, "screws", screws(answer));
    up_json_set(json, "grease", greases(answer));
    set_acceptance(json, card);
    up_json_set(json, "restart", restart(&card->restart));
    up_json_set(json, "armature", armature(answer));
    up_json_set(json, "statement", json_string(up_refit_statement()));
    return up_json_print(json, "refit", answer->sheet->path, file);
}

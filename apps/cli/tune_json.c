#include "apps/cli/tune_text.h"
#include "io/entry_texts.h"
#include "io/json_run.h"

static json_t *share_json(const up_share *share) {
    json_t *json = json_object();
    up_json_set(json, "hits", json_integer(share->hits));
    up_json_set(json, "of", json_integer(share->of));
    up_json_set(json, "share", up_json_number(share->share));
    up_json_set(json, "low", up_json_number(share->low));
    up_json_set(json, "high", up_json_number(share->high));
    return json;
}

static json_t *tuning_json(const up_tuning *tuning) {
    json_t *json = json_object();
    char word[32];
    up_json_set(json, "detector.principle",
                json_string(up_choice_word(UP_CHOICE_detect_principle, tuning->principle, word, sizeof word)));
    up_json_set(json, "detector.profile",
                json_string(up_choice_word(UP_CHOICE_detect_profile, tuning->profile, word, sizeof word)));
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (up_tuned_is_used(tuning, (up_tuned)i)) {
            const up_entry_text *const text = up_entry_text_of_number(up_tuned_number((up_tuned)i));
            json_t *const one = json_object();
            up_json_set(one, "value", up_json_number(up_number_shown(up_tuned_number((up_tuned)i), tuning->value[i])));
            up_json_set(one, "unit", json_string(text->unit));
            up_json_set(json, text->key, one);
        }
    }
    return json;
}

static json_t *place_json(const up_pinch_result *result) {
    const up_pinch_point *const point = &result->point;
    json_t *json = json_object();
    up_json_set(json, "measure", up_json_quantity(point->measure, "m"));
    up_json_set(json, "place", up_json_number(point->place));
    up_json_set(json, "stiffness", up_json_quantity(point->stiffness, "N/m"));
    up_json_set(json, "supply_voltage", up_json_quantity(point->supply, "V"));
    up_json_set(json, "temperature", up_json_quantity(point->temperature, "K"));
    up_json_set(json, "wear", up_json_number(point->wear));
    up_json_set(json, "clearance", up_json_quantity(point->clearance, "m"));
    return json;
}

static json_t *point_json(const up_tune_answer *answer, const up_tune_point *point) {
    json_t *json = json_object();
    json_t *force = json_object();
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        up_json_set(force, answer->wish->request.rule[rule]->name, up_json_quantity(point->worst.force[rule], "N"));
    }
    up_json_set(json, "entries", tuning_json(&point->tuning));
    up_json_set(json, "largest_force", force);
    up_json_set(json, "not_turned_back", json_integer(point->worst.unturned));
    up_json_set(json, "false_reversals", json_integer(point->hits));
    up_json_set(json, "closings", json_integer(point->of));
    return json;
}

static json_t *choice_json(const up_tune_answer *answer, const up_tune_choice *one, int tuned) {
    static const char *const reasons[] = {"within_limit", "as_today_within_limit", "no_more_force", "as_it_is",
                                          "more_force"};
    json_t *json = json_object();
    json_t *force = json_object();
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        const up_pinch_spread *const spread = &one->force[rule];
        json_t *const each = up_json_quantity(one->worst[rule].force, "N");
        up_json_set(each, "low", spread->count > 1 ? up_json_number(spread->low) : json_null());
        up_json_set(each, "high", spread->count > 1 ? up_json_number(spread->high) : json_null());
        up_json_set(each, "closings", json_integer(spread->count));
        up_json_set(each, "touched", json_integer(one->touched[rule]));
        up_json_set(each, "not_turned_back", json_integer(one->unturned[rule]));
        up_json_set(each, "at", one->worst[rule].force > 0 ? place_json(&one->worst[rule]) : json_null());
        up_json_set(force, answer->wish->request.rule[rule]->name, each);
    }
    up_json_set(json, "kind", json_string(up_tune_kind_words(one->point.kind)));
    up_json_set(json, "entries", tuning_json(&one->point.tuning));
    up_json_set(json, "largest_force", force);
    up_json_set(json, "false_reversals", share_json(&one->reversed));
    up_json_set(json, "false_reversals_as_flashed", share_json(&one->flashed));
    up_json_set(json, "touched", json_integer(up_tune_touched(one)));
    up_json_set(json, "not_turned_back", json_integer(up_tune_unturned(one)));
    up_json_set(json, "keeps_limit", json_boolean(one->keeps));
    if (tuned) {
        up_json_set(json, "chosen_as", json_string(reasons[one->reason]));
    }
    return json;
}

static json_t *warnings_json(const up_tune_answer *answer) {
    json_t *json = json_array();
    for (int i = 0; i < answer->warnings; i++) {
        json_array_append_new(json, json_string(answer->line[answer->first_warning + i]));
    }
    return json;
}

/* By rule: whether the difference to today's force lies within what the search leaves open. */
static json_t *noise_json(const up_tune_answer *answer) {
    json_t *json = json_object();
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        up_json_set(json, answer->wish->request.rule[rule]->name,
                    json_boolean(up_tune_same_force(answer->chosen, &answer->result.today, rule)));
    }
    return json;
}

static json_t *rules_json(const up_tune_answer *answer) {
    json_t *json = json_array();
    for (int i = 0; i < answer->wish->request.rules; i++) {
        json_t *const one = json_object();
        up_json_set(one, "rule", json_string(answer->wish->request.rule[i]->name));
        up_json_set(one, "citation", json_string(answer->wish->request.rule[i]->citation));
        up_json_set(one, "limit", up_json_quantity(answer->result.limit[i], "N"));
        json_array_append_new(json, one);
    }
    return json;
}

int up_tune_print_json(const up_tune_answer *answer, FILE *out) {
    const up_tune_result *const result = &answer->result;
    json_t *json = json_object();
    json_t *kinds = json_array();
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if (!result->best[kind].is_there) {
            continue;
        }
        json_t *const one = json_object();
        json_t *const front = json_array();
        for (int i = 0; i < result->front[kind].count; i++) {
            json_array_append_new(front, point_json(answer, &result->front[kind].point[i]));
        }
        up_json_set(one, "kind", json_string(up_tune_kind_words(kind)));
        up_json_set(one, "front", front);
        up_json_set(one, "best", choice_json(answer, &result->best[kind], 1));
        json_array_append_new(kinds, one);
    }
    up_json_set(json, "title", json_string(answer->sheet->title));
    up_json_set(json, "rules", rules_json(answer));
    up_json_set(json, "settings", json_integer(result->settings));
    up_json_set(json, "rods", json_integer(result->rods));
    up_json_set(json, "days", json_integer(result->days));
    up_json_set(json, "simulated_closings", json_integer((json_int_t)result->closings));
    up_json_set(json, "today", choice_json(answer, &result->today, 0));
    up_json_set(json, "kinds", kinds);
    up_json_set(json, "recommended", choice_json(answer, answer->chosen, 1));
    up_json_set(json, "changes_setting", json_boolean(result->recommended >= 0));
    up_json_set(json, "force_within_noise", noise_json(answer));
    up_json_set(json, "rate_within_noise", json_boolean(up_tune_same_rate(answer->chosen, &result->today)));
    up_json_set(json, "warnings", warnings_json(answer));
    up_json_set(json, "statement", json_string(up_judge_statement()));
    return up_json_print(json, "tune", answer->sheet->path, out);
}

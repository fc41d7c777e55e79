#include "apps/cli/vary_json.h"

#include <math.h>

#include "io/entry_texts.h"
#include "io/json_run.h"
#include "io/trace.h"

static json_t *share_json(const up_share *share) {
    json_t *json = json_object();
    up_json_set(json, "hits", json_integer(share->hits));
    up_json_set(json, "of", json_integer(share->of));
    up_json_set(json, "share", up_json_number(share->share));
    up_json_set(json, "low", up_json_number(share->low));
    up_json_set(json, "high", up_json_number(share->high));
    return json;
}

static json_t *count_json(uint64_t hits, uint64_t of) {
    const up_share share = up_share_of((int)hits, (int)of);
    return share_json(&share);
}

/* ---- what was asked ---- */

static json_t *plan_json(const up_plan *plan) {
    up_plan_figure figures[UP_PLAN_COUNT];
    json_t *json = json_object();
    up_plan_figures(plan, figures);
    for (int i = 0; i < UP_PLAN_COUNT; i++) {
        json_t *one = up_json_quantity(figures[i].value, figures[i].unit);
        up_json_set(one, "text", json_string(figures[i].text));
        up_json_set(json, figures[i].name, one);
    }
    if (plan->rule) {
        up_json_set(json, "rule", json_string(plan->rule->name));
        up_json_set(json, "citation", json_string(plan->rule->citation));
    }
    return json;
}

/* ---- what was counted ---- */

static json_t *counts_json(const up_tally *tally) {
    json_t *json = json_object();
    json_t *ends = json_object();
    char word[32];
    for (int e = 0; e < UP_END_COUNT; e++) {
        up_json_set(ends, up_trace_word(up_end_name((up_end)e), word, sizeof word),
                    count_json(tally->end[e], tally->closings));
    }
    up_json_set(json, "finished", json_integer((json_int_t)tally->closings));
    up_json_set(json, "failed", json_integer((json_int_t)tally->failed));
    up_json_set(json, "pulled_to_sheet", json_integer((json_int_t)tally->halved));
    up_json_set(json, "ends", ends);
    json_t *turned = json_object();
    for (int t = 0; t < UP_TURNED_COUNT; t++) {
        up_json_set(turned, up_turned_word((up_turned)t), count_json(tally->turned[t], tally->closings));
    }
    up_json_set(turned, "near", up_json_quantity(UP_TURNED_NEAR, "m"));
    up_json_set(json, "reversed", count_json(tally->reversed, tally->closings));
    up_json_set(json, "false_reversals", count_json(tally->false_reversals, tally->closings));
    up_json_set(json, "false_reversals_by_place", turned);
    if (tally->maker->plan.rod) {
        up_json_set(json, "touched", json_integer((json_int_t)tally->touched));
        up_json_set(json, "coasted_and_failed", json_integer((json_int_t)tally->coasted));
        up_json_set(json, "passed", count_json(tally->passed, tally->passed + tally->refused));
    }
    return json;
}

static json_t *distribution_json(const up_quantile *q, const char *unit, const char *text) {
    static const struct {
        const char *key;
        double share;
    } rows[] = {{"q0001", 0.001}, {"q001", 0.01},   {"q0025", 0.025}, {"q025", 0.25},  {"median", 0.5},
                {"q075", 0.75},   {"q0975", 0.975}, {"q099", 0.99},   {"q0999", 0.999}};
    json_t *json = json_object();
    up_json_set(json, "unit", json_string(unit));
    up_json_set(json, "text", json_string(text));
    up_json_set(json, "closings", json_integer((json_int_t)q->count));
    up_json_set(json, "mean", up_json_number(up_quantile_mean(q)));
    up_json_set(json, "deviation", up_json_number(sqrt(up_quantile_variance(q))));
    up_json_set(json, "smallest", up_json_number(q->count > 0 ? q->smallest : UP_ABSENT));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        up_json_set(json, rows[i].key, up_json_number(up_quantile_at(q, rows[i].share)));
    }
    up_json_set(json, "largest", up_json_number(q->count > 0 ? q->largest : UP_ABSENT));
    return json;
}

static json_t *distributions_json(const up_tally *tally) {
    json_t *json = json_object();
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        up_json_set(
            json, up_headline_name((up_headline)h),
            distribution_json(&tally->headline[h], up_headline_unit((up_headline)h), up_headline_text((up_headline)h)));
    }
    up_json_set(json, "severity",
                distribution_json(&tally->severity, "1",
                                  "largest lasting excess over the detector's threshold; from 1 on it turned round"));
    return json;
}

/* Counts by slices of equal probability of what the day brings. */
static json_t *slices_json(const up_vary_answer *answer, int single, double low, double high, const char *unit) {
    json_t *json = json_array();
    for (int b = 0; b < UP_TALLY_BINS; b++) {
        const up_tally_slice *const slice = &answer->tally->slice[single][b];
        json_t *one = json_object();
        up_json_set(one, "from", up_json_quantity(low + (high - low) * b / UP_TALLY_BINS, unit));
        up_json_set(one, "to", up_json_quantity(low + (high - low) * (b + 1) / UP_TALLY_BINS, unit));
        up_json_set(one, "hits", count_json(slice->hits, slice->closings));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *by_day_json(const up_vary_answer *answer) {
    const up_plan *const plan = &answer->vary->plan;
    const int first = answer->maker.entries;
    json_t *json = json_object();
    up_json_set(json, "temperature",
                slices_json(answer, first + UP_CASE_TEMPERATURE, plan->temperature_low, plan->temperature_high, "K"));
    up_json_set(json, "supply", slices_json(answer, first + UP_CASE_SUPPLY, plan->supply_low, plan->supply_high, "V"));
    up_json_set(json, "wear", slices_json(answer, first + UP_CASE_WEAR, plan->wear_low, plan->wear_high, "1"));
    return json;
}

/* ---- what it hangs on ---- */

static json_t *index_json(double value, double low, double high) {
    json_t *json = json_object();
    up_json_set(json, "value", up_json_number(value));
    up_json_set(json, "low", up_json_number(low));
    up_json_set(json, "high", up_json_number(high));
    return json;
}

static json_t *rank_json(const up_rank_result *rank) {
    static const char *const kinds[] = {"entry", "other entries", "day"};
    json_t *json = json_object();
    json_t *factors = json_array();
    for (int f = 0; f < rank->factors; f++) {
        const up_rank_factor *const factor = &rank->factor[f];
        const up_variance_index *const index = &factor->index;
        json_t *one = json_object();
        up_json_set(one, "kind", json_string(kinds[factor->kind]));
        up_json_set(one, "name",
                    factor->kind == UP_RANK_ENTRY   ? json_string(up_entry_text_of_number(factor->number)->key)
                    : factor->kind == UP_RANK_GROUP ? json_string(up_group_name(factor->group))
                                                    : json_null());
        up_json_set(one, "first", index_json(index->first, index->first_low, index->first_high));
        up_json_set(one, "total", index_json(index->total, index->total_low, index->total_high));
        json_array_append_new(factors, one);
    }
    up_json_set(json, "closings", json_integer((json_int_t)rank->closings));
    up_json_set(json, "factors", factors);
    return json;
}

static json_t *result_json(const up_vary_answer *answer, const up_vary_result *result) {
    const char *const unit = answer->vary->plan.rod ? "N" : "1";
    json_t *json = json_object();
    up_json_set(json, "low", up_json_quantity(result->low, unit));
    up_json_set(json, "high", up_json_quantity(result->high, unit));
    up_json_set(json, answer->vary->plan.rod ? "passed" : "false_reversals", share_json(&result->share));
    return json;
}

static json_t *quarter_json(const up_tally_quarter *quarter) {
    json_t *json = json_object();
    up_json_set(json, "hits", count_json(quarter->hits, quarter->closings));
    up_json_set(json, "mean", up_json_number(quarter->mean));
    return json;
}

static json_t *measures_json(const up_vary_answer *answer) {
    json_t *no_tool = json_array();
    for (int i = 0; i < answer->no_tools; i++) {
        json_array_append_new(no_tool, json_string(up_entry_text_of_number(answer->no_tool[i])->key));
    }
    json_t *json = json_object();
    json_t *rows = json_array();
    for (int i = 0; i < answer->measures; i++) {
        const up_measure *const m = &answer->measure[i].measure;
        const up_entry_text *const text = up_entry_text_of_number(m->number);
        json_t *one = json_object();
        up_json_set(one, "entry", json_string(text->key));
        up_json_set(one, "unit", json_string(text->unit));
        up_json_set(one, "tolerance_now", up_json_number(up_number_shown_difference(m->number, m->spread_now)));
        up_json_set(one, "tolerance_then", up_json_number(up_number_shown_difference(m->number, m->spread_then)));
        up_json_set(one, "first_order", up_json_number(m->first));
        up_json_set(one, "now_low", quarter_json(&answer->measure[i].now_quarter[0]));
        up_json_set(one, "now_high", quarter_json(&answer->measure[i].now_quarter[1]));
        up_json_set(one, "then_low", quarter_json(&answer->measure[i].then_quarter[0]));
        up_json_set(one, "then_high", quarter_json(&answer->measure[i].then_quarter[1]));
        up_json_set(one, "then", result_json(answer, &answer->measure[i].then));
        up_json_set(one, "how", json_string(text->how));
        up_json_set(one, "z", up_json_number(answer->measure[i].measure.z));
        json_array_append_new(rows, one);
    }
    up_json_set(json, "closings", json_integer((json_int_t)answer->tried_closings));
    up_json_set(json, "chosen_by", json_string(answer->by_hits ? "hits" : "result"));
    up_json_set(json, "now", result_json(answer, &answer->now));
    up_json_set(json, "compared", json_integer(answer->maker.entries));
    up_json_set(json, "beyond_chance", json_integer(answer->beyond));
    up_json_set(json, "without_tool", no_tool);
    up_json_set(json, "entries", rows);
    return json;
}

static json_t *rare_json(const up_rare_result *rare, const up_tally *tally) {
    json_t *json = json_object();
    json_t *levels = json_array();
    for (int i = 0; i < rare->levels; i++) {
        json_t *one = json_object();
        up_json_set(one, "severity", up_json_number(rare->level[i].severity));
        up_json_set(one, "share", up_json_number(rare->level[i].share));
        up_json_set(one, "acceptance", up_json_number(rare->level[i].acceptance));
        json_array_append_new(levels, one);
    }
    up_json_set(json, "share", up_json_number(rare->probability));
    up_json_set(json, "low", up_json_number(rare->low));
    up_json_set(json, "high", up_json_number(rare->high));
    up_json_set(json, "variation", up_json_number(rare->variation));
    up_json_set(json, "founders", up_json_number(rare->founders));
    up_json_set(json, "counted", count_json(rare->first_hits + tally->false_reversals, rare->first + tally->closings));
    up_json_set(json, "closings", json_integer((json_int_t)rare->evaluations));
    up_json_set(json, "levels", levels);
    return json;
}

int up_vary_print_json(const up_vary_answer *answer, FILE *out) {
    const up_vary *const vary = answer->vary;
    json_t *json = json_object();
    up_json_set(json, "closings", json_integer((json_int_t)vary->closings));
    up_json_set(json, "seed", json_integer((json_int_t)vary->seed));
    up_json_set(json, "plan", plan_json(&vary->plan));
    up_json_set(json, "controller", json_string("made ready for each drawn door; as flashed: see upstop tune"));
    up_json_set(json, "counts", counts_json(answer->tally));
    up_json_set(json, "by_day", by_day_json(answer));
    up_json_set(json, "distributions", distributions_json(answer->tally));
    if (answer->ranked) {
        up_json_set(json, "hangs_on", rank_json(&answer->rank));
        up_json_set(json, "measure_next", measures_json(answer));
    }
    if (answer->has_rare) {
        up_json_set(json, "rare", rare_json(&answer->rare, answer->tally));
    }
    up_json_set(json, "statement", json_string(up_judge_statement()));
    return up_json_print(json, "vary", answer->sheet->path, out);
}

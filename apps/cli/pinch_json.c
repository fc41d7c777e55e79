#include "apps/cli/pinch_json.h"

#include <math.h>

#include "io/json_run.h"
#include "io/trace.h"

static const char *start_name(up_pinch_start start) {
    return start == UP_PINCH_RUNNING ? "running" : "from_rest";
}

static json_t *share_json(const up_share *share) {
    json_t *json = json_object();
    up_json_set(json, "hits", json_integer(share->hits));
    up_json_set(json, "of", json_integer(share->of));
    up_json_set(json, "share", up_json_number(share->share));
    up_json_set(json, "low", up_json_number(share->low));
    up_json_set(json, "high", up_json_number(share->high));
    return json;
}

static json_t *spread_json(const up_pinch_spread *spread, const char *unit) {
    json_t *json = up_json_quantity(spread->nominal, unit);
    up_json_set(json, "low", up_json_number(spread->low));
    up_json_set(json, "high", up_json_number(spread->high));
    up_json_set(json, "closings", json_integer(spread->count));
    return json;
}

static json_t *place_json(const up_pinch_result *result) {
    const up_pinch_point *point = &result->point;
    json_t *json = json_object();
    up_json_set(json, "measure", up_json_quantity(point->measure, "m"));
    up_json_set(json, "diameter", up_json_quantity(result->lie.diameter, "m"));
    up_json_set(json, "height", up_json_quantity(result->lie.height, "m"));
    up_json_set(json, "slope", up_json_quantity(result->lie.slope, "rad"));
    up_json_set(json, "oblique_gap", up_json_quantity(result->lie.oblique, "m"));
    up_json_set(json, "place", up_json_number(point->place));
    up_json_set(json, "stiffness", up_json_quantity(point->stiffness, "N/m"));
    up_json_set(json, "supply_voltage", up_json_quantity(point->supply, "V"));
    up_json_set(json, "temperature", up_json_quantity(point->temperature, "K"));
    up_json_set(json, "wear", up_json_number(point->wear));
    up_json_set(json, "clearance", up_json_quantity(point->clearance, "m"));
    up_json_set(json, "started_below", up_json_quantity(result->start_opening - result->lie.height, "m"));
    return json;
}

static json_t *short_json(const up_pinch_rule *rule, const up_pinch_clause *clause) {
    const up_verdict *verdict = &clause->short_verdict;
    json_t *json = json_object();
    up_json_set(json, "paragraph", json_string(verdict->paragraph));
    up_json_set(json, "figure", up_json_number(verdict->figure));
    up_json_set(json, "limit", up_json_number(verdict->limit));
    up_json_set(json, "margin", up_json_number(verdict->margin));
    up_json_set(json, "unit", json_string(verdict->unit));
    up_json_set(json, "at", place_json(&rule->map.cell[clause->short_cell].result));
    return json;
}

static json_t *clause_json(const up_pinch_rule *rule, const up_pinch_clause *clause) {
    const up_verdict *verdict = &clause->verdict;
    json_t *json = json_object();
    up_json_set(json, "paragraph", json_string(verdict->paragraph));
    up_json_set(json, "title", json_string(verdict->title));
    up_json_set(json, "result", json_string(up_verdict_word(verdict->result)));
    up_json_set(json, "required", json_boolean(verdict->required));
    up_json_set(json, "figure", up_json_number(verdict->figure));
    up_json_set(json, "low", up_json_number(clause->figure.low));
    up_json_set(json, "high", up_json_number(clause->figure.high));
    up_json_set(json, "limit", up_json_number(verdict->limit));
    up_json_set(json, "margin", up_json_number(verdict->margin));
    up_json_set(json, "unit", json_string(verdict->unit));
    up_json_set(json, "source", json_string(verdict->source == UP_SOURCE_READ ? "read" : "memory"));
    up_json_set(json, "mark", json_string(verdict->mark));
    up_json_set(json, "reason", json_string(verdict->reason));
    up_json_set(json, "closings_failed", json_integer(clause->failed));
    up_json_set(json, "closings_passed", json_integer(clause->passed));
    if (clause->unturned + clause->too_short > 0) {
        up_json_set(json, "never_turned_back", json_integer(clause->unturned));
        up_json_set(json, "not_far_enough", json_integer(clause->too_short));
        up_json_set(json, "worst_not_far_enough", clause->short_cell < 0 ? json_null() : short_json(rule, clause));
    }
    up_json_set(json, "passed", share_json(&clause->draws_passed));
    up_json_set(json, "at", place_json(&rule->map.cell[clause->cell].result));
    return json;
}

static json_t *count_json(const up_pinch_count *count) {
    json_t *json = json_object();
    up_json_set(json, "closings", json_integer(count->closings));
    up_json_set(json, "touched", json_integer(count->touched));
    up_json_set(json, "missed", json_integer(count->missed));
    up_json_set(json, "never_turned", json_integer(count->unseen));
    up_json_set(json, "not_open_so_far", json_integer(count->unreached));
    up_json_set(json, "failed", json_integer(count->failed));
    return json;
}

static json_t *moments_json(const up_pinch_story *story) {
    json_t *json = json_object();
    for (int i = 0; i < UP_PINCH_MOMENTS; i++) {
        const up_pinch_instant *at = &story->at[i];
        if (isfinite(at->after)) {
            json_t *one = json_object();
            up_json_set(one, "after_s", up_json_number(at->after));
            up_json_set(one, "depth_m", up_json_number(at->depth));
            up_json_set(one, "force_N", up_json_number(at->force));
            up_json_set(one, "speed_m_per_s", up_json_number(at->speed));
            up_json_set(json, up_pinch_moment_name((up_pinch_moment)i), one);
        }
    }
    return json;
}

static json_t *story_json(const up_pinch_story *story) {
    json_t *json = json_object();
    json_t *flow = json_object();
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        up_json_set(flow, up_ledger_name((up_ledger_account)i), up_json_quantity(story->flow[i], "J"));
    }
    up_json_set(json, "force", up_json_quantity(story->result.force, "N"));
    up_json_set(json, "force_from_fully_open",
                up_json_quantity(story->whole.status == UP_OK && story->whole.touched ? story->whole.force : NAN, "N"));
    up_json_set(json, "contact_time", up_json_quantity(story->contact_time, "s"));
    up_json_set(json, "decided_by",
                json_string(story->stall                                  ? "stall"
                            : isfinite(story->at[UP_PINCH_AT_SEEN].after) ? "detector"
                                                                          : "nothing"));
    up_json_set(json, "moments", moments_json(story));
    up_json_set(json, "motion_energy", up_json_quantity(story->motion, "J"));
    up_json_set(json, "glass_motion_energy", up_json_quantity(story->glass_motion, "J"));
    up_json_set(json, "energy_contact_to_standstill", flow);
    up_json_set(json, "least_force", up_json_quantity(story->least_force, "N"));
    up_json_set(json, "rod_only_time_to_limit", up_json_quantity(story->rod_only, "s"));
    return json;
}

static json_t *worst_json(const up_pinch_rule *rule, up_pinch_start start) {
    const int cell = rule->map.worst[start];
    if (cell < 0) {
        return json_null();
    }
    json_t *json = json_object();
    up_json_set(json, "force", spread_json(&rule->verdict.force[start], "N"));
    up_json_set(json, "largest_of_drawn_doors", up_json_quantity(rule->verdict.force_most[start], "N"));
    up_json_set(json, "drawn_doors_that_touch", share_json(&rule->verdict.draws_touched[start]));
    up_json_set(json, "at", place_json(&rule->map.cell[cell].result));
    if (rule->told[start] == UP_OK) {
        up_json_set(json, "story", story_json(&rule->story[start]));
    }
    return json;
}

static json_t *helps_json(const up_pinch_rule *rule) {
    json_t *json = json_array();
    for (int i = 0; i < rule->helps; i++) {
        const up_pinch_help *help = &rule->help[i];
        json_t *one = json_object();
        up_json_set(one, "change", json_string(help->change->name));
        up_json_set(one, "text", json_string(help->change->text));
        up_json_set(one, "force_before", up_json_quantity(help->before, "N"));
        up_json_set(one, "force_after", up_json_quantity(help->after, "N"));
        up_json_set(one, "touched", json_integer(help->touched));
        up_json_set(one, "missed", json_integer(help->missed));
        up_json_set(one, "missed_before", json_integer(help->missed_before));
        up_json_set(one, "evades", json_boolean(up_pinch_help_evades(help)));
        up_json_set(one, "never_turned", json_integer(help->unseen));
        up_json_set(one, "makes_a_difference", json_boolean(help->differs));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *larger_json(const up_pinch_rule *rule) {
    json_t *json = json_array();
    for (int i = 0; i < rule->more; i++) {
        json_t *one = json_object();
        up_json_set(one, "what", json_string(up_pinch_more_name(rule->larger[i].kind)));
        up_json_set(one, "force", up_json_quantity(rule->larger[i].force, "N"));
        up_json_set(one, "stiffness_factor", up_json_number(rule->larger[i].factor));
        json_array_append_new(json, one);
    }
    return json;
}

static json_t *edges_json(const double *edge, int bands) {
    json_t *json = json_array();
    for (int i = 0; i <= bands; i++) {
        json_array_append_new(json, up_json_number(edge[i]));
    }
    return json;
}

static json_t *table_json(const up_pinch_table *table) {
    json_t *json = json_object();
    json_t *force = json_array();
    for (int row = 0; row < table->rows; row++) {
        json_t *line = json_array();
        for (int column = 0; column < table->columns; column++) {
            json_array_append_new(line, up_json_number(table->force[row][column]));
        }
        json_array_append_new(force, line);
    }
    up_json_set(json, "across", json_string(up_pinch_axis_name(table->across)));
    up_json_set(json, "across_unit", json_string(up_pinch_axis_unit(table->across)));
    up_json_set(json, "measure_edges_m", edges_json(table->row_edge, table->rows));
    up_json_set(json, "across_edges", edges_json(table->column_edge, table->columns));
    up_json_set(json, "force_N", force);
    return json;
}

/* The map over the opening and each of the other axes in turn. */
static json_t *tables_json(const up_pinch_rule *rule) {
    static const up_pinch_axis axes[] = {UP_PINCH_TEMPERATURE, UP_PINCH_SUPPLY, UP_PINCH_PLACE, UP_PINCH_WEAR};
    json_t *json = json_array();
    up_pinch_table table;
    for (size_t i = 0; i < sizeof axes / sizeof axes[0]; i++) {
        const int columns = up_pinch_table_columns(&rule->map, axes[i], UP_PINCH_COLUMNS_MOST);
        up_pinch_table_make(&rule->map, axes[i], 0, columns, UP_PINCH_STARTS, &table);
        json_array_append_new(json, table_json(&table));
    }
    return json;
}

static json_t *rule_json(const up_pinch_rule *rule) {
    const up_rule *text = rule->study.rule;
    json_t *json = json_object();
    json_t *clauses = json_array();
    for (int i = 0; i < rule->verdict.count; i++) {
        if (rule->verdict.clause[i].cell >= 0) {
            json_array_append_new(clauses, clause_json(rule, &rule->verdict.clause[i]));
        }
    }
    up_json_set(json, "rule", json_string(text->name));
    up_json_set(json, "citation", json_string(text->citation));
    up_json_set(json, "edition", json_string(text->edition));
    up_json_set(json, "measures", json_string(text->range_is_diameter ? "diameter" : "height"));
    up_json_set(json, "overall", json_string(up_verdict_word(rule->verdict.overall)));
    up_json_set(json, "closing", json_string(up_verdict_word(rule->verdict.closing)));
    up_json_set(json, "facts_missing", json_integer(rule->verdict.unknown));
    up_json_set(json, "force_limit", up_json_quantity(rule->limit, "N"));
    up_json_set(json, "verdicts", clauses);
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        const char *const keys[] = {"worst_running", "worst_from_rest"};
        up_json_set(json, keys[start], worst_json(rule, (up_pinch_start)start));
    }
    json_t *counts = json_object();
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        up_json_set(counts, start_name((up_pinch_start)start), count_json(&rule->map.count[start]));
    }
    up_json_set(json, "closings", counts);
    up_json_set(json, "free_from", up_json_quantity(up_pinch_free_from(&rule->map, UP_PINCH_STARTS, rule->limit), "m"));
    up_json_set(json, "tables", tables_json(rule));
    json_t *stiffer = json_array();
    for (int i = 0; i < UP_PINCH_STIFFER && rule->has_stiffer; i++) {
        json_t *one = json_object();
        up_json_set(one, "factor", up_json_number(up_pinch_stiffer_factor[i]));
        up_json_set(one, "force", up_json_quantity(rule->stiffer[i], "N"));
        json_array_append_new(stiffer, one);
    }
    up_json_set(json, "stiffer", stiffer);
    up_json_set(json, "unprotected_force", up_json_quantity(rule->unprotected, "N"));
    up_json_set(json, "larger_still", larger_json(rule));
    up_json_set(json, "helps", helps_json(rule));
    return json;
}

static json_t *request_json(const up_pinch_answer *answer) {
    json_t *json = json_object();
    for (int axis = 0; axis < UP_PINCH_AXES; axis++) {
        const up_pinch_range *range = &answer->rule[0].plan.range[axis];
        json_t *one = json_object();
        if (axis != UP_PINCH_MEASURE && axis != UP_PINCH_STIFFNESS) { /* these are the rules' own */
            up_json_set(one, "low", up_json_number(range->low));
            up_json_set(one, "high", up_json_number(range->high));
            up_json_set(one, "unit", json_string(up_pinch_axis_unit((up_pinch_axis)axis)));
            up_json_set(json, up_pinch_axis_name((up_pinch_axis)axis), one);
        } else {
            json_decref(one);
        }
    }
    up_json_set(json, "seed", json_integer((json_int_t)answer->request->seed));
    up_json_set(json, "draws", json_integer(answer->request->draws));
    return json;
}

int up_pinch_print_json(const up_pinch_answer *answer, FILE *out) {
    json_t *json = json_object();
    json_t *rules = json_array();
    double force = 0;
    for (int i = 0; i < answer->rules; i++) {
        const int cell = up_pinch_worst_cell(&answer->rule[i]);
        force = fmax(force, cell < 0 ? 0 : answer->rule[i].map.cell[cell].result.force);
        json_array_append_new(rules, rule_json(&answer->rule[i]));
    }
    up_json_set(json, "request", request_json(answer));
    up_json_set(json, "rules", rules);
    up_json_set(json, "advice", up_json_advice(force));
    if (answer->has_faults) {
        up_json_set(json, "faults", up_pinch_faults_json(&answer->faults));
    }
    up_json_set(json, "statement", json_string(up_judge_statement()));
    return up_json_print(json, "pinch", answer->sheet->path, out);
}

/* The table of faults as JSON. */
#include "apps/cli/pinch_faults.h"
#include "io/json_run.h"

static const char *amount_unit(up_fault fault) {
    return fault == UP_FAULT_CURRENT_OFFSET ? "A" : fault == UP_FAULT_SUPPLY_DIP ? "V" : "s";
}

static void set_result(json_t *json, const up_fault_result *result, double closed_travel) {
    const up_outcome *o = &result->outcome;
    up_json_set(json, "status", json_string(result->status == UP_OK ? "done" : up_status_text(result->status)));
    char end[32];
    up_json_set(json, "end", json_string(up_trace_word(up_end_name(o->end), end, sizeof end)));
    up_json_set(json, "end_text", json_string(up_end_text(o->end)));
    up_json_set(json, "peak_rod_force", up_json_quantity(o->peak_rod_force, "N"));
    up_json_set(json, "final_rod_force", up_json_quantity(result->final_force, "N"));
    up_json_set(json, "final_opening", up_json_quantity(closed_travel - o->final_travel, "m"));
    up_json_set(json, "reversals", json_integer(o->reversals));
    up_json_set(json, "driven", json_boolean(result->driven));
    up_json_set(json, "verdict", json_string(up_fault_verdict_word(result->verdict)));
}

static json_t *row_json(const up_fault_case *row, const up_fault_result *result, double closed_travel) {
    json_t *json = json_object();
    up_json_set(json, "fault", json_string(up_fault_name(row->fault)));
    up_json_set(json, "text", json_string(up_fault_text(row->fault)));
    up_json_set(json, "moment", json_string(up_fault_moment_name(row->moment)));
    up_json_set(json, "rod_opening", up_json_quantity(row->rod_opening, "m"));
    up_json_set(json, "rod_stiffness", up_json_quantity(row->rod_stiffness, "N/m"));
    up_json_set(json, "travel", up_json_quantity(row->travel, "m"));
    up_json_set(json, "time", up_json_quantity(row->time, "s"));
    up_json_set(json, "edge", row->edge > 0 ? json_integer((json_int_t)row->edge) : json_null());
    up_json_set(json, "amount", up_json_quantity(row->amount, amount_unit(row->fault)));
    up_json_set(json, "length", up_json_quantity(row->length, "s"));
    set_result(json, result, closed_travel);
    return json;
}

/* The counts, and where in `cases` the largest force stands. */
static void set_sum(json_t *json, const up_fault_sum *sum) {
    up_json_set(json, "closings", json_integer(sum->closings));
    up_json_set(json, "gave_up", json_integer(sum->gave_up));
    for (int v = UP_FAULT_HARMLESS; v <= UP_FAULT_KEEPS_PRESSING; v++) {
        static const char *const key[] = {"come_free", "close_over", "held_without_supply", "keep_pressing"};
        up_json_set(json, key[v], json_integer(sum->verdict[v]));
    }
    up_json_set(json, "reach_limit", json_integer(sum->over_limit));
    up_json_set(json, "worst", sum->worst >= 0 ? json_integer(sum->worst) : json_null());
    up_json_set(json, "worst_sound", sum->worst_sound >= 0 ? json_integer(sum->worst_sound) : json_null());
}

static json_t *rules_json(const up_pinch_faults *faults) {
    json_t *list = json_array();
    for (int i = 0; i < faults->request.rules; i++) {
        json_t *json = json_object();
        up_json_set(json, "rule", json_string(faults->request.rule[i]->name));
        set_sum(json, &faults->rule[i]);
        json_array_append_new(list, json);
    }
    return list;
}

static json_t *rods_json(const up_fault_request *request) {
    json_t *list = json_array();
    for (int i = 0; i < request->rods; i++) {
        json_t *json = json_object();
        json_t *names = json_array();
        for (int rule = 0; rule < request->rules; rule++) {
            if (request->rod[i].rules >> rule & 1U) {
                json_array_append_new(names, json_string(request->rule[rule]->name));
            }
        }
        up_json_set(json, "opening", up_json_quantity(request->rod[i].opening, "m"));
        up_json_set(json, "stiffness", up_json_quantity(request->rod[i].stiffness, "N/m"));
        up_json_set(json, "rules", names);
        json_array_append_new(list, json);
    }
    return list;
}

json_t *up_pinch_faults_json(const up_pinch_faults *faults) {
    json_t *json = json_object();
    json_t *list = json_array();
    for (int i = 0; i < faults->count; i++) {
        json_array_append_new(list, row_json(&faults->cases[i], &faults->results[i], faults->request.door->travel));
    }
    set_sum(json, &faults->all);
    up_json_set(json, "rods", rods_json(&faults->request));
    up_json_set(json, "rules", rules_json(faults));
    up_json_set(json, "cases", list);
    return json;
}

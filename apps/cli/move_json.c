#include "apps/cli/move_json.h"

#include <math.h>

#include "io/json_run.h"
#include "io/trace_events.h"

static json_t *request_json(const up_move_answer *answer) {
    const up_run_options *run = &answer->run;
    const up_move *move = answer->move;
    json_t *json = json_object();
    up_json_set(json, "direction", json_string(move->raising ? "raise" : "lower"));
    up_json_set(json, "switch",
                json_string(run->leads_open     ? "none, leads open"
                            : run->leads_direct ? "none, battery on the leads"
                            : move->one_touch   ? "one-touch"
                                                : "held"));
    up_json_set(json, "start_opening", up_json_quantity(answer->door.travel - run->start_travel, "m"));
    up_json_set(json, "release_time", up_json_quantity(run->switch_steps > 1 ? run->switch_step[1].time : NAN, "s"));
    up_json_set(json, "temperature", up_json_quantity(run->temperature, "K"));
    up_json_set(json, "supply_voltage",
                up_json_quantity(up_is_absent(run->open_voltage) ? answer->door.open_voltage : run->open_voltage, "V"));
    json_t *steps = json_array();
    for (int i = 0; i < run->supply_steps; i++) {
        json_t *step = json_object();
        up_json_set(step, "time", up_json_quantity(run->supply_step[i].time, "s"));
        up_json_set(step, "supply_voltage", up_json_quantity(run->supply_step[i].open_voltage, "V"));
        json_array_append_new(steps, step);
    }
    up_json_set(json, "supply_steps", steps);
    up_json_set(json, "push_force", up_json_quantity(run->push_force, "N"));
    up_json_set(json, "position_lost", json_boolean(run->position_lost));
    up_json_set(json, "seed", json_integer(run->seed));
    up_json_set(json, "tolerance", up_json_number(run->tolerance));
    if (run->rod) {
        json_t *rod = json_object();
        up_json_set(rod, "diameter", up_json_quantity(move->rod_diameter, "m"));
        up_json_set(rod, "opening", up_json_quantity(run->rod_opening, "m"));
        up_json_set(rod, "stiffness", up_json_quantity(run->rod_stiffness, "N/m"));
        up_json_set(rod, "stiffness_given", json_boolean(move->rod_stiffness_given));
        up_json_set(json, "rod", rod);
    }
    return json;
}

static json_t *rules_json(const up_move_answer *answer) {
    json_t *rules = json_array();
    for (int i = 0; i < answer->rules; i++) {
        const up_move_rule *rule = &answer->rule[i];
        json_t *json = up_json_judgement(&rule->spread);
        up_json_set(json, "rod_stiffness", up_json_quantity(rule->stiffness, "N/m"));
        up_json_set(json, "rod_stiffness_paragraph", json_string(rule->number->paragraph));
        up_json_set(json, "rod_stiffness_mark", json_string(rule->number->mark));
        up_json_set(json, "answers", up_json_figures(&rule->spread));
        json_array_append_new(rules, json);
    }
    return rules;
}

static json_t *loads_json(const up_way_loads *loads) {
    json_t *json = json_object();
    up_json_set(json, "time", up_json_quantity(loads->time, "s"));
    up_json_set(json, "opening", up_json_quantity(loads->opening, "m"));
    up_json_set(json, "friction", up_json_quantity(loads->friction, "N"));
    up_json_set(json, "header", up_json_quantity(loads->header, "N"));
    up_json_set(json, "battery_voltage", up_json_quantity(loads->battery, "V"));
    up_json_set(json, "detector_excess", up_json_quantity(loads->excess, "N"));
    up_json_set(json, "detector_threshold", up_json_quantity(loads->threshold, "N"));
    return json;
}

static json_t *cause_json(const up_cause *cause) {
    static const char *const risen[] = {"friction", "header", "supply", "nothing"};
    json_t *json = json_object();
    json_t *changes = json_object();
    up_json_set(json, "risen", json_string(risen[cause->risen]));
    up_json_set(json, "before", loads_json(&cause->before));
    up_json_set(json, "at", loads_json(&cause->at));
    for (int i = 0; i < UP_CHANGE_COUNT; i++) {
        const up_changed_run *changed = &cause->changed[i];
        if (changed->tried) {
            json_t *one = json_object();
            up_json_set(one, "closes", json_boolean(changed->closes));
            up_json_set(one, "peak_detector_excess", up_json_quantity(changed->peak_excess, "N"));
            up_json_set(one, "peak_excess_opening", up_json_quantity(changed->peak_opening, "m"));
            up_json_set(changes, up_change_name((up_change)i), one);
        }
    }
    up_json_set(json, "changed", changes);
    return json;
}

int up_move_print_json(const up_move_answer *answer, FILE *out) {
    json_t *json = json_object();
    char name[32];
    up_json_set(json, "request", request_json(answer));
    up_json_set(json, "end", json_string(up_trace_word(up_end_name(answer->outcome.end), name, sizeof name)));
    up_json_set(json, "end_text", json_string(up_end_text(answer->outcome.end)));
    up_json_set(json, "answers", up_json_figures(&answer->spread));
    up_json_set(json, "closings", up_json_closings(&answer->spread));
    up_json_set(json, "reversals", json_integer(answer->outcome.reversals));
    up_json_set(json, "protector_trips", json_integer(answer->outcome.protector_trips));
    up_json_set(json, "encoder_edges", json_integer((json_int_t)answer->outcome.edges));
    up_json_set(json, "events", up_json_events(&answer->trace, answer->door.travel));
    up_json_set(json, "energy", up_json_energy(&answer->outcome));
    if (answer->rules > 0) {
        up_json_set(json, "rules", rules_json(answer));
        up_json_set(json, "advice", up_json_advice(answer->outcome.peak_rod_force));
    }
    if (answer->has_cause) {
        up_json_set(json, "cause", cause_json(&answer->cause));
    }
    up_json_set(json, "work", up_json_work(&answer->work));
    up_json_set(json, "statement", json_string(up_judge_statement()));
    return up_json_print(json, "move", answer->sheet->path, out);
}

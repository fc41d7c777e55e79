#include "io/json_run.h"

#include <math.h>
#include <string.h>

#include "analysis/injury.h"

/* Digits printed: more than any answer is good for, fewer than the noise of the last place. */
enum { JSON_DIGITS = 9 };
static const char broken[] = "broken";

json_t *up_json_number(double number) {
    return isfinite(number) ? json_real(number) : json_null();
}

void up_json_set(json_t *object, const char *key, json_t *value) {
    if (!value || json_object_set_new(object, key, value) != 0) {
        json_object_set_new(object, broken, json_true());
    }
}

json_t *up_json_quantity(double value, const char *unit) {
    json_t *json = json_object();
    up_json_set(json, "value", up_json_number(value));
    up_json_set(json, "unit", json_string(unit));
    return json;
}

json_t *up_json_figures(const up_spread_result *spread) {
    json_t *json = json_object();
    for (int i = 0; i < UP_HEADLINE_COUNT; i++) {
        const up_spread_figure *figure = &spread->figure[i];
        json_t *one = up_json_quantity(figure->nominal, up_headline_unit((up_headline)i));
        up_json_set(one, "low", up_json_number(figure->low));
        up_json_set(one, "high", up_json_number(figure->high));
        up_json_set(one, "mean", up_json_number(figure->mean));
        up_json_set(one, "deviation", up_json_number(figure->deviation));
        up_json_set(one, "closings", json_integer(figure->count));
        up_json_set(one, "text", json_string(up_headline_text((up_headline)i)));
        up_json_set(json, up_headline_name((up_headline)i), one);
    }
    return json;
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

json_t *up_json_closings(const up_spread_result *spread) {
    json_t *json = json_object();
    json_t *ends = json_object();
    char name[32];
    for (int i = 0; i < UP_END_COUNT; i++) {
        up_json_set(ends, up_trace_word(up_end_name((up_end)i), name, sizeof name), share_json(&spread->end[i]));
    }
    up_json_set(json, "drawn", json_integer(spread->draws));
    up_json_set(json, "failed", json_integer(spread->failed));
    up_json_set(json, "ends", ends);
    up_json_set(json, "reversed", share_json(&spread->reversed));
    return json;
}

static json_t *verdict_json(const up_verdict *verdict, const up_share *passed) {
    json_t *json = json_object();
    up_json_set(json, "paragraph", json_string(verdict->paragraph));
    up_json_set(json, "title", json_string(verdict->title));
    up_json_set(json, "result", json_string(up_verdict_word(verdict->result)));
    up_json_set(json, "required", json_boolean(verdict->required));
    up_json_set(json, "figure", up_json_number(verdict->figure));
    up_json_set(json, "limit", up_json_number(verdict->limit));
    up_json_set(json, "margin", up_json_number(verdict->margin));
    up_json_set(json, "unit", json_string(verdict->unit));
    up_json_set(json, "source", json_string(verdict->source == UP_SOURCE_READ ? "read" : "memory"));
    up_json_set(json, "mark", json_string(verdict->mark));
    up_json_set(json, "reason", json_string(verdict->reason));
    up_json_set(json, "passed", share_json(passed));
    return json;
}

json_t *up_json_judgement(const up_spread_result *spread) {
    const up_judgement *judgement = &spread->nominal_judgement;
    json_t *json = json_object();
    json_t *verdicts = json_array();
    up_json_set(json, "rule", json_string(judgement->rule->name));
    up_json_set(json, "citation", json_string(judgement->rule->citation));
    up_json_set(json, "edition", json_string(judgement->rule->edition));
    up_json_set(json, "overall", json_string(up_verdict_word(judgement->overall)));
    up_json_set(json, "facts_missing", json_integer(judgement->unknown));
    for (int i = 0; i < judgement->count; i++) {
        json_array_append_new(verdicts, verdict_json(&judgement->verdict[i], &spread->passed[i]));
    }
    up_json_set(json, "verdicts", verdicts);
    up_json_set(json, "passed", share_json(&spread->passed_all));
    return json;
}

json_t *up_json_advice(double peak_force) {
    json_t *json = json_array();
    for (int i = 0; i < up_injury_reached(peak_force); i++) {
        const up_injury *injury = up_injury_at(i);
        json_t *one = json_object();
        up_json_set(one, "force", up_json_quantity(injury->force, "N"));
        up_json_set(one, "deviation", up_json_quantity(injury->deviation, "N"));
        up_json_set(one, "effect", json_string(injury->effect));
        up_json_set(one, "people", json_string(injury->people));
        up_json_set(one, "source", json_string(injury->source));
        up_json_set(one, "mark", json_string(injury->mark));
        json_array_append_new(json, one);
    }
    return json;
}

json_t *up_json_events(const up_trace *trace, double closed_travel) {
    json_t *json = json_array();
    char name[32];
    for (size_t i = 0; i < trace->events; i++) {
        const up_event *event = &trace->event[i];
        json_t *one = json_object();
        up_json_set(one, "event", json_string(up_trace_word(up_event_name(event->kind), name, sizeof name)));
        up_json_set(one, "time_s", up_json_number(event->time));
        up_json_set(one, "opening_m", up_json_number(closed_travel - event->travel));
        up_json_set(one, "speed_m_per_s", up_json_number(event->speed));
        up_json_set(one, "rod_force_N", up_json_number(event->force));
        up_json_set(one, "current_A", up_json_number(event->current));
        json_array_append_new(json, one);
    }
    return json;
}

json_t *up_json_energy(const up_outcome *outcome) {
    json_t *json = json_object();
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        json_t *one = up_json_quantity(outcome->ledger[i], "J");
        up_json_set(one, "text", json_string(up_ledger_text((up_ledger_account)i)));
        up_json_set(json, up_ledger_name((up_ledger_account)i), one);
    }
    json_t *gap = up_json_quantity(outcome->ledger_gap, "J");
    up_json_set(gap, "text", json_string("what the books do not explain"));
    up_json_set(json, "gap", gap);
    return json;
}

json_t *up_json_work(const up_run_counts *work) {
    json_t *json = json_object();
    up_json_set(json, "steps", json_integer((json_int_t)work->steps));
    up_json_set(json, "rejected_steps", json_integer((json_int_t)work->rejected_steps));
    up_json_set(json, "locating_steps", json_integer((json_int_t)work->locating_steps));
    up_json_set(json, "derivative_calls", json_integer((json_int_t)work->derivative_calls));
    up_json_set(json, "jacobian_calls", json_integer((json_int_t)work->jacobian_calls));
    up_json_set(json, "mode_changes", json_integer((json_int_t)work->mode_changes));
    up_json_set(json, "ticks", json_integer((json_int_t)work->ticks));
    up_json_set(json, "edges", json_integer((json_int_t)work->edges));
    return json;
}

/* Did any piece get lost on the way? */
static int is_broken(json_t *json) {
    if (json_is_object(json) && json_object_get(json, broken)) {
        return 1;
    }
    const char *key = NULL;
    json_t *value = NULL;
    size_t index = 0;
    json_object_foreach(json, key, value) {
        if (is_broken(value)) {
            return 1;
        }
    }
    json_array_foreach(json, index, value) {
        if (is_broken(value)) {
            return 1;
        }
    }
    return 0;
}

int up_json_print(json_t *json, const char *command, const char *sheet, FILE *out) {
    json_t *frame = json_object();
    up_json_set(frame, "upstop", json_string(command));
    json_t *name = json_string(sheet); /* a file name need not be UTF-8; JSON must be */
    up_json_set(frame, "sheet", name ? name : json_null());
    if (!json || json_object_update(frame, json) != 0) {
        up_json_set(frame, broken, json_true());
    }
    json_decref(json);
    int failed = is_broken(frame);
    if (!failed) {
        failed =
            json_dumpf(frame, out, JSON_INDENT(2) | JSON_REAL_PRECISION(JSON_DIGITS)) != 0 || fputc('\n', out) == EOF;
    }
    json_decref(frame);
    return failed ? -1 : 0;
}

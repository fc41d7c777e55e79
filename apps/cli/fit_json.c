#include <jansson.h>
#include <math.h>

#include "apps/cli/fit_run.h"
#include "io/entry_texts.h"
#include "io/json_run.h"

static const char *key_of(up_fit_quantity quantity) {
    return up_entry_text_of_number(up_fit_number(quantity))->key;
}

static json_t *course_json(const up_fit_run *run, int i) {
    const up_fit_course *const course = &run->result.course[i];
    json_t *one = json_object(), *segments = json_array();
    up_json_set(one, "file", json_string(run->file[i]));
    up_json_set(one, "setting", json_string(up_fit_setting_word(run->setting[i])));
    up_json_set(one, "motion", json_string(up_fit_motion_word(course->motion)));
    up_json_set(one, "sample_interval_s", up_json_number(course->sample_interval));
    up_json_set(one, "length_s", up_json_number(course->length));
    up_json_set(one, "zero_A", up_json_number(course->zero));
    up_json_set(one, "edges", up_json_number(course->edges));
    up_json_set(one, "place_known", json_boolean(course->place_known));
    up_json_set(one, "pulses_per_stroke", up_json_number(0.5 * course->stroke_edges));
    up_json_set(one, "pulses_per_turn_by_kinematics", up_json_number(course->pulses_a_turn));
    up_json_set(one, "pulses_per_turn_by_voltage", up_json_number(course->pulses_by_constant));
    for (int k = 0; k < course->segments; k++) {
        const up_segment *const s = &course->segment[k];
        json_t *segment = json_object();
        up_json_set(segment, "happening", json_string(up_happening_word(s->happening)));
        up_json_set(segment, "start_s", up_json_number(s->start));
        up_json_set(segment, "end_s", up_json_number(s->end));
        up_json_set(segment, "direction", json_integer(s->direction));
        json_array_append_new(segments, segment);
    }
    up_json_set(one, "segments", segments);
    return one;
}

static json_t *values_json(const up_fit_run *run) {
    json_t *values = json_object();
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_fit_value *const value = &run->result.value[q];
        const up_number number = up_fit_number((up_fit_quantity)q);
        json_t *one = json_object();
        up_json_set(one, "verdict", json_string(up_fit_verdict_word(value->verdict)));
        up_json_set(one, "unit", json_string(up_entry_text_of_number(number)->unit));
        up_json_set(one, "sheet", up_json_number(up_number_shown(number, value->prior)));
        up_json_set(one, "sheet_tolerance", up_json_number(up_number_shown_difference(number, value->prior_spread)));
        up_json_set(one, "value", up_json_number(up_number_shown(number, value->value)));
        up_json_set(one, "tolerance", up_json_number(up_number_shown_difference(number, value->spread)));
        up_json_set(one, "shift", up_json_number(value->shift));
        up_json_set(values, key_of((up_fit_quantity)q), one);
    }
    return values;
}

static json_t *pairs_json(const up_fit_run *run) {
    json_t *list = json_array();
    for (int i = 0; i < run->result.pairs; i++) {
        const up_fit_pair *const pair = &run->result.pair[i];
        json_t *one = json_object();
        up_json_set(one, "one", json_string(key_of(pair->one)));
        up_json_set(one, "other", json_string(key_of(pair->other)));
        up_json_set(one, "correlation", up_json_number(pair->correlation));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *residuals_json(const up_fit_run *run) {
    json_t *list = json_array();
    for (int g = 0; g < run->result.groups; g++) {
        const up_fit_residuals *const group = &run->result.group[g];
        json_t *one = json_object();
        up_json_set(one, "recording", json_integer(group->recording + 1));
        up_json_set(one, "what", json_string(up_fit_group_text(group->kind)));
        up_json_set(one, "unit", json_string(up_fit_group_unit(group->kind)));
        up_json_set(one, "rows", json_integer(group->rows));
        up_json_set(one, "independent_rows", up_json_number(group->effective));
        up_json_set(one, "rms", up_json_number(group->rms));
        up_json_set(one, "steps_rms", up_json_number(group->instrument));
        up_json_set(one, "from_s", up_json_number(group->first));
        up_json_set(one, "to_s", up_json_number(group->last));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *places_json(const up_fit_run *run) {
    json_t *list = json_array();
    for (int i = 0; i < run->result.places; i++) {
        const up_fit_place *const p = &run->result.place[i];
        json_t *one = json_object();
        up_json_set(one, "direction", json_integer(p->direction));
        up_json_set(one, "from_m", up_json_number(p->from));
        up_json_set(one, "to_m", up_json_number(p->to));
        up_json_set(one, "rows", json_integer(p->rows));
        up_json_set(one, "drag_N", up_json_number(p->drag));
        up_json_set(one, "tolerance_N", up_json_number(p->spread));
        up_json_set(one, "sheet_N", up_json_number(p->sheet));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *advice_json(const up_fit_run *run) {
    json_t *list = json_array();
    for (int i = 0; i < UP_FIT_ADVICE_COUNT; i++) {
        if (run->result.advice >> i & 1) {
            json_t *one = json_object();
            up_json_set(one, "advice", json_string(up_fit_advice_name((up_fit_advice)i)));
            up_json_set(one, "text", json_string(up_fit_advice_text((up_fit_advice)i)));
            json_array_append_new(list, one);
        }
    }
    return list;
}

int up_fit_print_json(const up_fit_run *run, const up_sheet *sheet, FILE *out) {
    json_t *json = json_object(), *courses = json_array();
    for (int i = 0; i < run->count; i++) {
        json_array_append_new(courses, course_json(run, i));
    }
    up_json_set(json, "temperature", up_json_quantity(run->kelvin, "K"));
    up_json_set(json, "recordings", courses);
    up_json_set(json, "values", values_json(run));
    up_json_set(json, "together", pairs_json(run));
    up_json_set(json, "residuals", residuals_json(run));
    up_json_set(json, "drag", places_json(run));
    up_json_set(json, "advice", advice_json(run));
    up_json_set(json, "degrees_of_freedom", json_integer(run->result.degrees));
    up_json_set(json, "new_sheet", run->new_sheet ? json_string(run->new_sheet) : json_null());
    return up_json_print(json, "fit", sheet->path, out);
}

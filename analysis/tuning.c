#include "analysis/tuning.h"

#include <math.h>

#include "core/base/up_math.h"
#include "core/sim/run.h"

static const struct {
    double low, high;
    up_number number;
    int step, per;
    int used_by;
} rows[UP_TUNED_COUNT] = {
#define UP_TUNED_ROW(number, low, high, step, per, used_by) {low, high, UP_NUMBER_##number, step, per, used_by},
    UP_TUNED_LIST(UP_TUNED_ROW)
#undef UP_TUNED_ROW
};

int up_tuning_is_same(const up_tuning *a, const up_tuning *b) {
    int same = a->principle == b->principle && a->profile == b->profile;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        same = same && a->value[i] == b->value[i];
    }
    return same;
}

up_number up_tuned_number(up_tuned what) {
    return rows[what].number;
}

int up_tuned_is_used(const up_tuning *tuning, up_tuned what) {
    return rows[what].used_by == UP_TUNED_ALWAYS ||
           (rows[what].used_by == UP_TUNED_OBSERVER && tuning->principle == UP_BY_OBSERVER) ||
           (rows[what].used_by == UP_TUNED_LEARNED && tuning->profile == UP_PROFILE_LEARNED);
}

void up_tuned_range(up_tuned what, double *low, double *high) {
    *low = rows[what].low;
    *high = rows[what].high;
}

double up_tuned_rounded(up_tuned what, double value) {
    const double steps =
        floor(up_clamp(value, rows[what].low, rows[what].high) * rows[what].per / rows[what].step + 0.5);
    return steps * rows[what].step / rows[what].per;
}

void up_tuning_of(const up_values *door, up_tuning *tuning) {
    tuning->principle = door->detect_principle;
    tuning->profile = door->detect_profile;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        tuning->value[i] = door->number[rows[i].number];
    }
}

void up_tuning_into(const up_tuning *tuning, up_values *door) {
    door->detect_principle = tuning->principle;
    door->detect_profile = tuning->profile;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (up_tuned_is_used(tuning, (up_tuned)i)) {
            door->number[rows[i].number] = tuning->value[i];
        }
    }
}

up_status up_tuning_control(const up_values *sheet, const up_tuning *tuning, up_control_settings *control) {
    up_values values = *sheet;
    up_door door;
    up_tuning_into(tuning, &values);
    const up_status status = up_door_prepare(&values, UP_ROOM_TEMPERATURE, &door);
    if (status == UP_OK) {
        *control = door.control;
    }
    return status;
}

void up_set(const up_control_settings *tuned, up_control_settings *control) {
    const up_detector_settings *const from = &tuned->detector;
    up_detector_settings *const to = &control->detector;
    to->confirm_edges = from->confirm_edges;
    to->mask_edges = from->mask_edges;
    to->learning_edges = from->learning_edges;
    to->threshold = from->threshold;
    to->learns = from->learns;
    to->bound = from->bound;
    to->lag = from->lag;
    to->principle = from->principle;
    to->speed_gain = from->speed_gain;
    to->load_gain = from->load_gain;
    to->step_max_us = from->step_max_us;
    control->end_zone_edges = tuned->end_zone_edges;
    control->top_band_edges = tuned->top_band_edges;
}

void up_flash(const up_control_settings *flashed, up_control_settings *control) {
    const int32_t taught_load = control->detector.taught_load;
    control->detector = flashed->detector;
    control->detector.taught_load = taught_load;
    control->end_zone_edges = flashed->end_zone_edges;
    control->top_band_edges = flashed->top_band_edges;
}

void up_keep_bound(const up_detector_settings *flashed, up_detector_memory *memory) {
    for (int k = 0; k < UP_DETECTOR_KNOTS; k++) {
        const int32_t low = flashed->profile[k] - flashed->bound;
        const int32_t high = flashed->profile[k] + flashed->bound;
        const int32_t learned = memory->profile[k];
        const int32_t kept = learned < low ? low : learned > high ? high : learned;
        memory->profile[k] = (int16_t)(kept < INT16_MIN ? INT16_MIN : kept > INT16_MAX ? INT16_MAX : kept);
    }
}

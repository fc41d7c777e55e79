/* What could not be told, and which recording would tell it. */
#include <math.h>

#include "analysis/fit/fit_parts.h"

const char *up_fit_advice_name(up_fit_advice advice) {
    static const char *const name[] = {
#define UP_FIT_NAME(id, text) #id,
        UP_FIT_ADVICE_LIST(UP_FIT_NAME)
#undef UP_FIT_NAME
    };
    return (unsigned)advice < UP_FIT_ADVICE_COUNT ? name[advice] : "";
}

const char *up_fit_advice_text(up_fit_advice advice) {
    static const char *const text[] = {
#define UP_FIT_TEXT(id, text) text,
        UP_FIT_ADVICE_LIST(UP_FIT_TEXT)
#undef UP_FIT_TEXT
    };
    return (unsigned)advice < UP_FIT_ADVICE_COUNT ? text[advice] : "";
}

static int has_group(const up_fit_work *work, up_fit_group_kind kind) {
    for (int g = 0; g < work->groups; g++) {
        if (work->group[g].kind == kind) {
            return 1;
        }
    }
    return 0;
}

static int told(const up_fit_result *result, up_fit_quantity quantity) {
    return result->value[quantity].verdict == UP_FIT_TOLD;
}

static int together(const up_fit_result *result, up_fit_quantity one, up_fit_quantity other) {
    for (int i = 0; i < result->pairs; i++) {
        if (result->pair[i].one == one && result->pair[i].other == other) {
            return 1;
        }
    }
    return 0;
}

static int has_both_ways(const up_fit_work *work) {
    int seen = 0;
    for (int g = 0; g < work->groups; g++) {
        for (int k = 0; work->group[g].kind == UP_FIT_GROUP_GLASS_TORQUE && k < work->group[g].rows; k++) {
            seen |= work->group[g].window[k].direction > 0 ? 1 : 2;
        }
    }
    return seen == 3 || seen == 0;
}

static unsigned of_recordings(const up_fit_work *work, const up_fit_result *result) {
    unsigned advice = 0;
    for (int r = 0; r < work->request->recordings; r++) {
        const up_course *const course = &work->course[r];
        const up_fit_setting setting = work->request->recording[r].setting;
        const int leads = course->aligned.leads.track != NULL, battery = course->aligned.battery.track != NULL;
        advice |= !leads && !battery ? 1u << UP_FIT_ADVICE_NO_VOLTAGE : 0;
        advice |= !leads && battery ? 1u << UP_FIT_ADVICE_VOLTAGE_AT_SUPPLY : 0;
        advice |= course->motion == UP_MOTION_UNKNOWN && setting != UP_FIT_LOCKED ? 1u << UP_FIT_ADVICE_NO_MOTION : 0;
        advice |= work->speed[r].unsure ? 1u << UP_FIT_ADVICE_RIPPLE_UNSURE : 0;
        advice |= setting == UP_FIT_WITH_GLASS && course->motion != UP_MOTION_UNKNOWN && !result->course[r].place_known
                      ? 1u << UP_FIT_ADVICE_TO_THE_STOP
                      : 0;
        advice |= (double)course->jumps > 0.02 * (double)course->aligned.count ? 1u << UP_FIT_ADVICE_CHOPPED : 0;
        const double by_constant = result->course[r].pulses_by_constant / work->door.values.encoder_pulses;
        const double doubt =
            3 * work->deviation[UP_FIT_torque_constant] / work->request->known->values.torque_constant + 0.05;
        advice |= fabs(log(by_constant)) > log(1 + doubt) ? 1u << UP_FIT_ADVICE_WRONG_COUNT : 0;
    }
    return advice;
}

void up_fit_advise(const up_fit_work *work, up_fit_result *result) {
    unsigned advice = work->advice | of_recordings(work, result);
    const int locked = has_group(work, UP_FIT_GROUP_LOCKED);
    const int free_run = has_group(work, UP_FIT_GROUP_RUN_UP) || has_group(work, UP_FIT_GROUP_FREE_TORQUE);
    if (!told(result, UP_FIT_winding_resistance) || !told(result, UP_FIT_brush_drop)) {
        advice |= 1u << UP_FIT_ADVICE_LOCKED_PULSE;
    }
    if (together(result, UP_FIT_winding_resistance, UP_FIT_brush_drop)) {
        advice |= 1u << UP_FIT_ADVICE_TWO_VOLTAGES;
    }
    if (!told(result, UP_FIT_inductance) && !locked && !(advice >> UP_FIT_ADVICE_FILTERED_CURRENT & 1)) {
        advice |= 1u << UP_FIT_ADVICE_SLOW_SAMPLES | 1u << UP_FIT_ADVICE_LOCKED_PULSE;
    }
    if (locked) {
        advice &= ~(1u << UP_FIT_ADVICE_SLOW_SAMPLES | 1u << UP_FIT_ADVICE_FILTERED_CURRENT);
    }
    if (!told(result, UP_FIT_armature_inertia) || !told(result, UP_FIT_motor_friction)) {
        const int coasted = has_group(work, UP_FIT_GROUP_COAST);
        advice |= !free_run ? 1u << UP_FIT_ADVICE_FREE_RUN : !coasted ? 1u << UP_FIT_ADVICE_COAST_TOO : 0;
    }
    advice |= has_both_ways(work) ? 0 : 1u << UP_FIT_ADVICE_BOTH_WAYS;
    result->advice = advice;
}

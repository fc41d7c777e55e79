/* Where no pulses, speed or position were recorded: the speed from the ripple on the current. */
#include <math.h>
#include <stdlib.h>

#include "analysis/fit/fit_parts.h"
#include "analysis/fit/ripple.h"

static int has_motion(const up_recorded *recorded) {
    for (int i = 0; i < recorded->tracks; i++) {
        const up_track *const t = &recorded->track[i];
        const int speed = t->signal == UP_SIGNAL_SPEED && !t->on_glass;
        if (t->count > 0 && (speed || t->signal == UP_SIGNAL_POSITION || t->signal == UP_SIGNAL_PULSES)) {
            return 1;
        }
    }
    return 0;
}

static void request_of(const up_fit_request *request, const up_aligned *aligned, up_ripple_request *r) {
    const up_known *const known = request->known;
    const up_values *const v = &known->values;
    up_ripple_request_default(r);
    r->track = aligned->current.track;
    r->voltage = aligned->leads.track;
    r->resistance = v->winding_resistance + (v->protection == UP_PROTECTION_NONE ? 0 : v->protector_resistance);
    r->brush_drop = v->brush_drop;
    r->constant = v->torque_constant;
    /* Typical counts that nobody has looked at are left to be found. */
    r->segments = known->mark[UP_NUMBER_segments] == UP_MARK_ASSUMED ? 0 : (int)v->segments;
    r->poles = known->mark[UP_NUMBER_poles] == UP_MARK_ASSUMED ? 0 : (int)v->poles;
}

static int keep_speeds(const up_ripple_result *found, up_fit_speed_track *out) {
    out->time = malloc(2 * found->count * sizeof *out->time);
    if (!out->time) {
        return -1;
    }
    double *const value = out->time + found->count;
    for (size_t k = 0; k < found->count; k++) {
        const up_ripple_speed *const s = &found->speed[k];
        out->time[k] = s->time;
        value[k] = s->half < 0.03 * s->speed ? s->speed : NAN; /* at the ends of a run it is wide */
    }
    out->track = (up_track){.signal = UP_SIGNAL_SPEED,
                            .count = found->count,
                            .interval = NAN,
                            .time = out->time,
                            .value = value,
                            .low_clip = NAN,
                            .high_clip = NAN,
                            .step = NAN};
    out->there = 1;
    return 0;
}

int up_fit_find_speed(const up_fit_request *request, int recording, up_fit_speed_track *out) {
    const up_fit_recording *const r = &request->recording[recording];
    up_aligned aligned;
    up_ripple_request ripple;
    up_ripple_result found;
    int status = 0;
    if (r->setting == UP_FIT_LOCKED || has_motion(r->recorded) || up_aligned_open(&aligned, r->recorded) != 0 ||
        aligned.leads.track == NULL) {
        return 0;
    }
    request_of(request, &aligned, &ripple);
    const size_t size = up_ripple_memory(&ripple);
    void *const memory = size ? malloc(size) : NULL;
    if (!memory) {
        return size ? -1 : 0;
    }
    if (up_ripple_find(&ripple, memory, size, &found) == UP_OK) {
        if (found.verdict == UP_RIPPLE_TOLD && found.count > 4) {
            status = keep_speeds(&found, out);
        }
        out->unsure = found.verdict == UP_RIPPLE_AMBIGUOUS;
    }
    free(memory);
    return status;
}

/* Which rows the recordings give: windows of a kind together, and what stands in them. */
#include <math.h>
#include <stdlib.h>

#include "analysis/fit/fit_parts.h"

#define BIT(id) (1u << UP_FIT_##id)

/* m from header seal or down-stop, where windows and their neighbours are free of them */
static const double HEADER_CLEAR = 0.018;

unsigned up_fit_reads(up_fit_group_kind kind, const up_fit_work *work, int recording) {
    const unsigned winding = BIT(winding_resistance) | BIT(brush_drop) | BIT(winding_capacity);
    const unsigned drive = BIT(torque_constant) | BIT(motor_friction) | BIT(motor_viscous) | BIT(worm_friction) |
                           BIT(output_drag) | BIT(armature_inertia);
    const unsigned harness = BIT(contact_resistance) | BIT(bridge_resistance);
    const unsigned glass = BIT(mesh_loss) | BIT(glass_mass) | BIT(run_channel_drag) | BIT(belt_drag) |
                           BIT(seal_viscous) | BIT(channel_friction);
    const up_aligned *const a = &work->course[recording].aligned;
    const int leads = a->leads.track != NULL;
    switch (kind) {
    case UP_FIT_GROUP_RUN_VOLTS:
        return winding | BIT(torque_constant) | BIT(inductance) | (leads ? 0 : harness);
    case UP_FIT_GROUP_STALL_VOLTS:
        return winding | BIT(inductance) | (leads ? 0 : harness);
    case UP_FIT_GROUP_SUPPLY:
        return BIT(supply_voltage) | BIT(supply_resistance) | (a->battery.track ? 0 : harness);
    case UP_FIT_GROUP_HARNESS:
        return harness;
    case UP_FIT_GROUP_LOCKED:
        return winding | BIT(inductance);
    case UP_FIT_GROUP_RUN_UP:
        return winding | BIT(inductance) | drive;
    case UP_FIT_GROUP_COAST:
        return drive;
    case UP_FIT_GROUP_FREE_TORQUE:
    case UP_FIT_GROUP_GLASS_TORQUE:
        return drive | (kind == UP_FIT_GROUP_GLASS_TORQUE ? glass : 0) | (leads ? winding | BIT(inductance) : 0) |
               (!leads && a->battery.track ? winding | BIT(inductance) | harness : 0);
    case UP_FIT_GROUP_COUNT:
    default:
        return 0;
    }
}

static void add_windows(up_fit_work *work, up_fit_group_kind kind, int recording, int from, int to, double deviation) {
    if (to - from >= 3 && work->groups < UP_FIT_GROUPS_MAX) {
        work->group[work->groups++] = (up_fit_group){.kind = kind,
                                                     .recording = recording,
                                                     .first = work->rows,
                                                     .rows = to - from,
                                                     .deviation = deviation,
                                                     .widening = 1,
                                                     .window = work->window[recording] + from};
        work->rows += to - from;
    }
}

/* 0: turns at a known place clear of header seal and down-stop, 1: turns elsewhere, 2: several turns together, 3: stalled. */
enum { CLASSES = 4 };

static int class_of(const up_fit_work *work, const up_window *w) {
    if (w->stalled || !w->fine) {
        return w->stalled ? 3 : 2;
    }
    return w->place.travel > HEADER_CLEAR && w->place.travel < work->door.header_start - HEADER_CLEAR ? 0 : 1;
}

static int sort_windows(up_fit_work *work, int recording, int part[CLASSES + 1]) {
    const int count = work->windows[recording];
    up_window *const sorted = malloc(UP_FIT_WINDOWS_MAX * sizeof *sorted);
    if (!sorted) {
        return -1;
    }
    int filled = 0;
    for (int kind = 0; kind < CLASSES; kind++) {
        part[kind] = filled;
        for (int k = 0; k < count; k++) {
            if (class_of(work, &work->window[recording][k]) == kind) {
                sorted[filled++] = work->window[recording][k];
            }
        }
    }
    part[CLASSES] = filled;
    free(work->window[recording]);
    work->window[recording] = sorted;
    return 0;
}

/* A supply that holds its current lets the voltage wander while the current stands still, or keeps it far below what the
 * sheet's battery would leave. */
static int limits_current(const up_door *door, const up_window *w, int count) {
    double most = 0, low = INFINITY, high = 0;
    int at_most = 0;
    for (int k = 0; k < count; k++) {
        most = fmax(most, fabs(w[k].current) / (w[k].end - w[k].start));
    }
    for (int k = 0; k < count; k++) {
        const double time = w[k].end - w[k].start;
        if (fabs(w[k].current) / time > 0.98 * most) {
            const double volts = fabs(w[k].leads) / time;
            low = fmin(low, volts);
            high = fmax(high, volts);
            at_most++;
        }
    }
    const double left = door->open_voltage - (door->source_resistance + door->bridge_resistance) * most;
    return at_most >= 5 && (high > 1.2 * low || high < 0.75 * left);
}

int up_fit_add_groups(up_fit_work *work, int recording) {
    const up_fit_recording *const r = &work->request->recording[recording];
    const up_course *const course = &work->course[recording];
    const int leads = course->aligned.leads.track != NULL, battery = course->aligned.battery.track != NULL;
    int part[CLASSES + 1];
    if (sort_windows(work, recording, part) != 0) {
        return -1;
    }
    if (leads || battery) {
        add_windows(work, UP_FIT_GROUP_RUN_VOLTS, recording, part[2], part[3], 2);
        add_windows(work, UP_FIT_GROUP_STALL_VOLTS, recording, part[3], part[4], 0.05);
    }
    if (r->setting != UP_FIT_LOCKED) {
        add_windows(work, r->setting == UP_FIT_FREE ? UP_FIT_GROUP_FREE_TORQUE : UP_FIT_GROUP_GLASS_TORQUE, recording,
                    0, r->setting == UP_FIT_FREE ? part[2] : part[1], 0.05);
    }
    const int limited = leads && limits_current(&work->door, work->window[recording] + part[2], part[4] - part[2]);
    work->advice |= limited ? 1u << UP_FIT_ADVICE_CURRENT_LIMIT : 0;
    if (!r->bench_supply && (leads || battery) && !limited) {
        add_windows(work, UP_FIT_GROUP_SUPPLY, recording, part[2], part[4], 0.05);
    }
    if (!r->bench_supply && leads && battery) {
        add_windows(work, UP_FIT_GROUP_HARNESS, recording, part[2], part[4], 0.05);
    }
    return 0;
}

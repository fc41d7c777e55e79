/* The balance of voltages, window by window and along the rise of the current:
 *
 *     u = R(T) i + U_br i / sqrt(i^2 + I_br^2) + L di/dt + K(T) w        (docs/model.md, section 6.1)
 *
 * integrated over a window: nothing is differentiated, L stands with the difference of the current between its ends. */
#include <math.h>

#include "analysis/fit/fit_parts.h"
#include "core/base/up_math.h"

static double magnet(const up_door *d, double box_rise) {
    return 1 + d->magnet_coefficient * (d->temperature + box_rise - UP_ROOM_TEMPERATURE);
}

/* The rise in the anchors is the sheet's; with other numbers it is another one, in proportion to heat over capacity. */
static double rise_scale(const up_fit_work *work, const double *p) {
    const up_door *const d = &work->door;
    return p[UP_FIT_winding_resistance] / d->winding_resistance /
           (p[UP_FIT_winding_capacity] * d->per_winding_capacity);
}

/* Volts in the mean that resistance, brushes and inductance take. */
static double taken(const up_fit_work *work, const up_window *w, const double *p) {
    const up_door *const d = &work->door;
    const double cold = 1 + d->winding_coefficient * (d->temperature - UP_ROOM_TEMPERATURE);
    const double warmed = d->winding_coefficient * rise_scale(work, p) * w->warmed;
    const double ohmic =
        p[UP_FIT_winding_resistance] * (cold * w->current + warmed) + d->protector_resistance * w->current;
    return (ohmic + p[UP_FIT_brush_drop] * w->brush + p[UP_FIT_inductance] * w->amps_gain) / (w->end - w->start);
}

/* Ohm between the supply's inside and the leads, and between the battery's posts and the leads. */
static double harness(const up_fit_work *work, const double *p) {
    const up_values *const v = &work->door.values;
    const double wire = work->door.source_resistance - v->supply_resistance - v->contact_resistance;
    return p[UP_FIT_contact_resistance] + p[UP_FIT_bridge_resistance] + wire;
}

/* Volts in the mean between the leads, signed. */
static double leads_of(const up_fit_work *work, const up_window *w, const double *p) {
    const double time = w->end - w->start;
    if (work->course[w->recording].aligned.leads.track) {
        return w->leads / time;
    }
    return w->direction * (w->battery - harness(work, p) * w->direction * w->current) / time;
}

double up_fit_speed(const up_fit_work *work, const double *p, const up_window *w) {
    const up_aligned *const a = &work->course[w->recording].aligned;
    if (!a->leads.track && !a->battery.track) {
        return w->speed;
    }
    return (leads_of(work, w, p) - taken(work, w, p)) / (p[UP_FIT_torque_constant] * magnet(&work->door, w->box_rise));
}

/* A run is compared in speeds, not in volts: the time of an edge is known to a sample only, that is where the noise is, and
 * noise in what a coefficient stands with would pull the coefficient down. */
static double run_row(const up_fit_work *work, const up_window *w, const double *p) {
    return w->turned / (w->end - w->start) - up_fit_speed(work, p, w);
}

static double supply_row(const up_fit_work *work, const up_fit_group *group, const up_window *w, const double *p) {
    const up_aligned *const a = &work->course[group->recording].aligned;
    const double time = w->end - w->start;
    const double current = w->direction * w->current / time;
    if (a->battery.track) {
        return w->battery / time - (p[UP_FIT_supply_voltage] - p[UP_FIT_supply_resistance] * current);
    }
    const double loss = (p[UP_FIT_supply_resistance] + harness(work, p)) * current;
    return w->direction * w->leads / time - (p[UP_FIT_supply_voltage] - loss);
}

/* With both voltages: what is lost between the posts and the leads. */
static double harness_row(const up_fit_work *work, const up_window *w, const double *p) {
    const double time = w->end - w->start;
    return (w->battery - w->direction * w->leads) / time - harness(work, p) * w->direction * w->current / time;
}

/* ---- the rise of the current, locked --------------------------------------------------------------------------------------- */

typedef struct coil {
    double resistance, drop, per_inductance;
} coil;

static double coil_rate(const coil *c, double volts, double current) {
    const double brush = current / sqrt(current * current + UP_BRUSH_CURRENT * UP_BRUSH_CURRENT);
    return (volts - c->resistance * current - c->drop * brush) * c->per_inductance;
}

/* Runge and Kutta's fourth order between two samples, the voltage along a straight line. */
static double coil_step(const coil *c, double from, double to, double time, double current) {
    const int steps = (int)fmin(1 + time * c->resistance * c->per_inductance / 0.3, 200);
    const double h = time / steps;
    for (int k = 0; k < steps; k++) {
        const double u0 = from + (to - from) * k / steps, u1 = from + (to - from) * (k + 1) / steps;
        const double um = 0.5 * (u0 + u1);
        const double a = coil_rate(c, u0, current);
        const double b = coil_rate(c, um, current + 0.5 * h * a);
        const double e = coil_rate(c, um, current + 0.5 * h * b);
        const double f = coil_rate(c, u1, current + h * e);
        current += h / 6 * (a + 2 * b + 2 * e + f);
    }
    return current;
}

static void locked_rows(const up_fit_work *work, const up_transient *t, const double *p, double *residual) {
    const up_door *const d = &work->door;
    const double rise = t->rise * rise_scale(work, p);
    const double copper = 1 + d->winding_coefficient * (d->temperature + rise - UP_ROOM_TEMPERATURE);
    const coil c = {p[UP_FIT_winding_resistance] * copper + d->protector_resistance, p[UP_FIT_brush_drop],
                    1 / p[UP_FIT_inductance]};
    double current = p[UP_FIT_COUNT + t->extra[0]];
    residual[0] = t->current[0] - current;
    for (size_t k = 1; k < t->count; k++) {
        current = coil_step(&c, t->leads[k - 1], t->leads[k], t->time[k] - t->time[k - 1], current);
        residual[k] = t->current[k] - current;
    }
}

void up_fit_electric_rows(const up_fit_work *work, const up_fit_group *group, const double *p, double *residual) {
    if (group->kind == UP_FIT_GROUP_LOCKED) {
        locked_rows(work, group->transient, p, residual);
        return;
    }
    for (int k = 0; k < group->rows; k++) {
        const up_window *const w = &group->window[k];
        residual[k] = group->kind == UP_FIT_GROUP_SUPPLY      ? supply_row(work, group, w, p)
                      : group->kind == UP_FIT_GROUP_HARNESS   ? harness_row(work, w, p)
                      : group->kind == UP_FIT_GROUP_RUN_VOLTS ? run_row(work, w, p)
                                                              : leads_of(work, w, p) - taken(work, w, p);
    }
}

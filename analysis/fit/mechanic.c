/* The balance of torques: of the drive alone while it runs up, turns and coasts, and of the door turn by turn.
 *
 *     J dw/dt = K(T) i - M_f sign(w) - B w - M_load                      (docs/model.md, sections 6.3 to 6.7)
 *
 * A run-up is followed sample by sample from the voltage that was recorded: the current is what is compared, so the speed
 * need not be recorded. A coast with open leads shows the speed as voltage. */
#include <math.h>

#include "analysis/fit/fit_parts.h"
#include "core/base/up_math.h"

/* ---- the drive alone ---------------------------------------------------------------------------------------------------- */

typedef struct drive {
    const up_door *door; /* with the numbers in question */
    double resistance, drop, per_inductance, constant, per_inertia;
    int direction;
} drive;

typedef struct turning {
    double current, speed;
} turning;

/* Coulomb friction of the motor and the output's drag through the worm, N m. */
static double coulomb(const up_door *d, double speed) {
    const double friction = up_worm_friction_of(d, fabs(speed));
    return d->motor_friction + d->output_drag * d->per_worm_ratio * (1 + up_worm_loss_share(d, friction, 0));
}

static turning rates(const drive *m, double volts, turning y) {
    const double brush = y.current / sqrt(y.current * y.current + UP_BRUSH_CURRENT * UP_BRUSH_CURRENT);
    const double torque = m->constant * y.current;
    const double friction = coulomb(m->door, y.speed);
    turning rate;
    rate.current = (volts - m->resistance * y.current - m->drop * brush - m->constant * y.speed) * m->per_inductance;
    if (y.speed * m->direction <= 0 && torque * m->direction <= friction) {
        rate.speed = 0; /* not yet torn loose */
    } else {
        rate.speed = (torque - m->direction * friction - m->door->motor_viscous * y.speed) * m->per_inertia;
    }
    return rate;
}

static turning along(turning y, turning rate, double h) {
    return (turning){y.current + h * rate.current, y.speed + h * rate.speed};
}

static turning drive_step(const drive *m, double from, double to, double time, turning y) {
    const int steps = (int)fmin(1 + time * m->resistance * m->per_inductance / 0.3, 200);
    const double h = time / steps;
    for (int k = 0; k < steps; k++) {
        const double u0 = from + (to - from) * k / steps, u1 = from + (to - from) * (k + 1) / steps;
        const double um = 0.5 * (u0 + u1);
        const turning a = rates(m, u0, y);
        const turning b = rates(m, um, along(y, a, 0.5 * h));
        const turning c = rates(m, um, along(y, b, 0.5 * h));
        const turning e = rates(m, u1, along(y, c, h));
        y.current += h / 6 * (a.current + 2 * b.current + 2 * c.current + e.current);
        y.speed += h / 6 * (a.speed + 2 * b.speed + 2 * c.speed + e.speed);
    }
    return y;
}

static drive drive_of(const up_fit_work *work, const up_transient *t, const up_door *d, const double *p) {
    const double scale = p[UP_FIT_winding_resistance] / work->door.winding_resistance /
                         (p[UP_FIT_winding_capacity] * work->door.per_winding_capacity);
    const double copper = 1 + d->winding_coefficient * (d->temperature + scale * t->rise - UP_ROOM_TEMPERATURE);
    const double magnet = 1 + d->magnet_coefficient * (d->temperature + t->box_rise - UP_ROOM_TEMPERATURE);
    return (drive){d,
                   d->winding_resistance * copper + d->protector_resistance,
                   d->brush_drop,
                   1 / p[UP_FIT_inductance],
                   d->torque_constant * magnet,
                   d->per_armature_inertia,
                   t->direction < 0 ? -1 : 1};
}

static void run_up_rows(const drive *m, const up_transient *t, const double *p, double *residual) {
    turning y = {p[UP_FIT_COUNT + t->extra[0]], p[UP_FIT_COUNT + t->extra[1]]};
    residual[0] = t->current[0] - y.current;
    for (size_t k = 1; k < t->count; k++) {
        y = drive_step(m, t->leads[k - 1], t->leads[k], t->time[k] - t->time[k - 1], y);
        residual[k] = t->current[k] - y.current;
    }
}

static double coast_rate(const drive *m, double speed) {
    return -(m->direction * coulomb(m->door, speed) + m->door->motor_viscous * speed) * m->per_inertia;
}

static void coast_rows(const drive *m, const up_transient *t, const double *p, double *residual) {
    double speed = p[UP_FIT_COUNT + t->extra[0]];
    residual[0] = t->leads[0] - m->constant * speed;
    for (size_t k = 1; k < t->count; k++) {
        const double time = t->time[k] - t->time[k - 1];
        const double a = coast_rate(m, speed), b = coast_rate(m, speed + 0.5 * time * a);
        const double c = coast_rate(m, speed + 0.5 * time * b), e = coast_rate(m, speed + time * c);
        speed += time / 6 * (a + 2 * b + 2 * c + e);
        residual[k] = t->leads[k] - m->constant * speed;
    }
}

/* ---- turn by turn --------------------------------------------------------------------------------------------------------- */

/* Mean current left over in a window, A: what flows less what friction, load and speeding up need. In amperes and not in
 * newton metres, because that is where the noise is: a smaller torque constant must not make a residual smaller. */
static double current_row(const up_door *d, const up_window *w, double constant, double signed_speed, int with_glass) {
    const double time = w->end - w->start;
    const double magnet = 1 + d->magnet_coefficient * (d->temperature + w->box_rise - UP_ROOM_TEMPERATURE);
    const double speed = fabs(signed_speed);
    const up_place_on_travel *const place = with_glass ? &w->place : NULL;
    const double needed = up_running_torque(d, place, w->direction, speed);
    /* The glass's own share stands in its weight. */
    const double rate = fabs(w->speed_gain) > 0.05 * speed ? w->speed_gain / time : w->speed_rate;
    const double carried = with_glass ? d->output_inertia * d->per_worm_ratio * d->per_worm_ratio : 0;
    const double gain = (d->armature_inertia + carried) * rate;
    return w->current / time - (w->direction * needed + gain) / (constant * magnet);
}

/* Through three places, a parabola. */
static double between(double low, double middle, double high, double share) {
    return middle + 0.5 * share * (high - low + share * (high - 2 * middle + low));
}

void up_fit_place_of(const up_fit_work *work, const double *p, const up_window *w, up_place_on_travel *place) {
    const int extra = work->offset[w->recording];
    const double share = extra >= 0 ? p[UP_FIT_COUNT + extra] / UP_FIT_ASIDE : 0;
    const up_place_on_travel *const low = &w->aside[0], *const high = &w->aside[1], *const middle = &w->place;
    *place = *middle;
    if (share != 0) {
        place->travel = between(low->travel, middle->travel, high->travel, share);
        place->output_angle = between(low->output_angle, middle->output_angle, high->output_angle, share);
        place->ratio = between(low->ratio, middle->ratio, high->ratio, share);
        place->weight = between(low->weight, middle->weight, high->weight, share);
        place->tilt_share = between(low->tilt_share, middle->tilt_share, high->tilt_share, share);
        place->balance = between(low->balance, middle->balance, high->balance, share);
        place->header = work->door.header_stiffness * fmax(place->travel - work->door.header_start, 0);
    }
}

/* How fast the glass gains speed upwards, m/s2: with the armature's speed, and because the ratio changes on the way. */
static double glass_rate(const up_window *w, const up_door *d) {
    const double output = w->speed * d->per_worm_ratio;
    const double bend = (w->aside[1].ratio - w->aside[0].ratio) / (w->aside[1].travel - w->aside[0].travel);
    return w->place.ratio * (output * output * bend + w->speed_rate * d->per_worm_ratio);
}

/* The same with other numbers for glass and seals. */
static up_window with_numbers(const up_fit_work *work, const double *p, const up_door *d, const up_window *w) {
    const up_door *const old = &work->door;
    up_window now = *w;
    up_fit_place_of(work, p, w, &now.place);
    now.place.weight = now.place.weight * d->mass / old->mass + d->mass * glass_rate(w, d);
    now.place.drag = up_glass_drag(d, now.place.travel, NULL);
    now.place.tilt_share *= old->tilt_share > 0 ? d->tilt_share / old->tilt_share : 1;
    return now;
}

void up_fit_put(const up_fit_work *work, const double *p, up_door *door) {
    const up_door *const old = &work->door;
    up_values *const v = &door->values;
    door->winding_resistance = p[UP_FIT_winding_resistance];
    door->brush_drop = p[UP_FIT_brush_drop];
    door->torque_constant = p[UP_FIT_torque_constant];
    door->armature_inertia = old->armature_inertia + p[UP_FIT_armature_inertia] - old->values.armature_inertia;
    door->per_armature_inertia = 1 / door->armature_inertia;
    door->motor_friction = p[UP_FIT_motor_friction];
    door->motor_viscous = p[UP_FIT_motor_viscous];
    door->worm_running = p[UP_FIT_worm_friction];
    door->worm_extra = old->values.worm_static_friction - p[UP_FIT_worm_friction];
    v->mesh_loss = p[UP_FIT_mesh_loss];
    door->output_loss = door->regulator->loss(v);
    door->output_loss_helped = door->output_loss / (1 + door->output_loss);
    door->output_drag = p[UP_FIT_output_drag];
    door->mass = p[UP_FIT_glass_mass];
    door->drag_start = (p[UP_FIT_run_channel_drag] * v->channel_engaged + p[UP_FIT_belt_drag]) * old->drag_factor;
    door->drag_slope = 2 * p[UP_FIT_run_channel_drag] * old->drag_factor;
    door->viscous = p[UP_FIT_seal_viscous];
    door->tilt_share = 2 * p[UP_FIT_channel_friction] / v->glass_guide;
}

double up_fit_current_left(const up_fit_work *work, const double *p, const up_door *door, const up_window *window,
                           double more) {
    up_window now = with_numbers(work, p, door, window);
    now.place.drag += more;
    return current_row(door, &now, door->torque_constant, up_fit_speed(work, p, window), 1);
}

static void torque_rows(const up_fit_work *work, const up_fit_group *group, const double *p, const up_door *d,
                        double *residual) {
    const int with_glass = group->kind == UP_FIT_GROUP_GLASS_TORQUE;
    for (int k = 0; k < group->rows; k++) {
        const up_window *const w = &group->window[k];
        if (with_glass) {
            residual[k] = up_fit_current_left(work, p, d, w, 0);
        } else {
            residual[k] = current_row(d, w, d->torque_constant, up_fit_speed(work, p, w), 0);
        }
    }
}

void up_fit_mechanic_rows(const up_fit_work *work, const up_fit_group *group, const double *p, double *residual) {
    up_door *const door = work->scratch;
    up_fit_put(work, p, door);
    if (group->kind == UP_FIT_GROUP_RUN_UP || group->kind == UP_FIT_GROUP_COAST) {
        const drive m = drive_of(work, group->transient, door, p);
        (group->kind == UP_FIT_GROUP_COAST ? coast_rows : run_up_rows)(&m, group->transient, p, residual);
        return;
    }
    torque_rows(work, group, p, door, residual);
}

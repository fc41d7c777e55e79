/* Where the glass is: counted from a stop at which it stalled. */
#include <math.h>

#include "analysis/fit/fit_parts.h"
#include "core/base/up_math.h"

static const double SETTLE = 0.03;       /* s left out in front of an end */
static const double STALL_SETTLE = 0.15; /* s until everything is wound up and the armature no longer creeps */

typedef struct give {
    double windup; /* rad at the output, wheel ahead of pinion */
    double lift;   /* N on the regulator */
} give;

/* How far damper and regulator give at a current and speed, by the sheet. Signs: raising positive. */
static give give_at(const up_door *d, int direction, double current, double speed, double ratio, double balance) {
    const double torque = d->torque_constant * current - direction * d->motor_friction - d->motor_viscous * speed;
    const double friction = up_worm_friction_of(d, fabs(speed));
    const int drives = torque * direction > 0;
    const double passed = drives ? up_worm_passes_driving(d, friction) : 1 / (1 - up_worm_loss_share(d, friction, 1));
    const double wheel = torque * d->worm_ratio * (passed > 0 && passed < 5 ? passed : 1);
    give g;
    if (wheel > 0) {
        const double soft = d->damper_half_play + wheel / d->damper_up;
        const double beyond = wheel - d->damper_up * (d->damper_limit - d->damper_half_play);
        g.windup = soft <= d->damper_limit ? soft : d->damper_limit + beyond / (d->damper_up + d->damper_up_limit);
    } else {
        g.windup = -d->damper_half_play + wheel / d->damper_down;
    }
    const double load = wheel + balance - direction * d->output_drag;
    g.lift = load / (1 + (load * direction > 0 ? d->output_loss : -d->output_loss_helped)) / ratio;
    return g;
}

/* A stall at a stop says where the glass is. */
void up_fit_refer_to_stop(const up_fit_work *work, const up_course *course, const up_segment *stall,
                          up_fit_reference *r) {
    const up_door *const d = &work->door;
    const up_anchors *const clock = &course->clock;
    up_place_on_travel place;
    double amps = 0, angle = 0;
    int count = 0;
    for (size_t k = 0; k < clock->count; k++) {
        if (clock->at[k].time > stall->start + fmin(STALL_SETTLE, 0.5 * (stall->end - stall->start)) &&
            clock->at[k].time < stall->end) {
            amps += clock->at[k].amps;
            angle = clock->at[k].angle;
            count++;
        }
    }
    if (count == 0) {
        return;
    }
    const double travel = stall->direction > 0 ? d->travel : 0;
    up_place_at(d, travel, &place);
    const give g = give_at(d, stall->direction, amps / count, 0, place.ratio, place.balance);
    const double stop = stall->direction > 0 ? d->up_stiffness : d->down_stiffness;
    const double end = travel + g.lift / d->stiffness + (g.lift - place.weight) / stop;
    *r = (up_fit_reference){1, angle, up_regulator_angle(d->regulator, &d->values, end) + g.windup};
}

void up_fit_refer(const up_fit_work *work, int recording, up_fit_reference *r) {
    const up_course *const course = &work->course[recording];
    *r = (up_fit_reference){0, 0, 0};
    if (work->request->recording[recording].setting != UP_FIT_WITH_GLASS) {
        return;
    }
    if (course->motion == UP_MOTION_POSITION && !isnan(course->start_angle)) {
        *r = (up_fit_reference){1, 0, course->start_angle * work->door.per_worm_ratio};
        return;
    }
    for (int i = 1; i < course->segments && course->motion != UP_MOTION_UNKNOWN; i++) {
        const up_segment *const s = &course->segment[i];
        const up_happening before = course->segment[i - 1].happening;
        const int ran = before == UP_HAPPENING_STEADY || before == UP_HAPPENING_RUN_UP;
        if (s->happening == UP_HAPPENING_STALL && s->end - s->start > 3 * SETTLE && ran && s->direction != 0) {
            up_fit_refer_to_stop(work, course, s, r);
        }
    }
}

/* The glass hangs behind the regulator by what that gives: weight and seals follow the glass, ratio and lever the regulator. */
static void place_at_output(const up_door *d, double output, double lift, up_place_on_travel *place) {
    up_lift_point point;
    up_lift(d, output, &point);
    up_place_at(d, point.travel - lift / d->stiffness, place);
    place->output_angle = output;
    place->ratio = point.ratio;
    place->tilt_share = up_glass_tilt_share(d, hypot(point.lever, UP_SLIDE_HALF_WIDTH));
    place->balance = d->balance_start + d->balance_slope * output;
}

/* Glass travel in the middle of a window. */
void up_fit_place_window(const up_fit_work *work, const up_fit_reference *r, double angle, up_window *w) {
    const up_door *const d = &work->door;
    up_lift_point point;
    w->place.travel = NAN;
    if (!r->known) {
        return;
    }
    double output = r->output + (angle - r->angle) * d->per_worm_ratio;
    up_lift(d, output, &point);
    const double balance = d->balance_start + d->balance_slope * output;
    const double time = w->end - w->start;
    const up_course *const course = &work->course[w->recording];
    const int by_glass = course->motion == UP_MOTION_POSITION && course->aligned.position_on_glass;
    const give g =
        by_glass ? (give){0, 0} : give_at(d, w->direction, w->current / time, w->speed, point.ratio, balance);
    output -= g.windup;
    up_lift(d, output, &point);
    const double travel = point.travel - g.lift / d->stiffness;
    if (travel >= 0 && travel <= d->travel) {
        place_at_output(d, output, g.lift, &w->place);
        /* What a stall leaves open is an angle of the output. */
        const double aside = UP_FIT_ASIDE * d->top_angle / d->travel;
        place_at_output(d, output - aside, g.lift, &w->aside[0]);
        place_at_output(d, output + aside, g.lift, &w->aside[1]);
    }
}

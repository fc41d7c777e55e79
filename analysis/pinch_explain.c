#include <math.h>
#include <string.h>

#include "analysis/pinch_explain.h"

static const double fine_tolerance = 1e-8;
/* Samples between which the excess is looked at, s; edges come every few milliseconds. */
static const double look_interval = 2e-4;

const char *up_pinch_moment_name(up_pinch_moment moment) {
    static const char *const name[UP_PINCH_MOMENTS] = {
#define UP_PINCH_MOMENT_NAME(id, name, text) name,
        UP_PINCH_MOMENT_LIST(UP_PINCH_MOMENT_NAME)
#undef UP_PINCH_MOMENT_NAME
    };
    return (unsigned)moment < UP_PINCH_MOMENTS ? name[moment] : NULL;
}

const char *up_pinch_moment_text(up_pinch_moment moment) {
    static const char *const text[UP_PINCH_MOMENTS] = {
#define UP_PINCH_MOMENT_TEXT(id, name, text) text,
        UP_PINCH_MOMENT_LIST(UP_PINCH_MOMENT_TEXT)
#undef UP_PINCH_MOMENT_TEXT
    };
    return (unsigned)moment < UP_PINCH_MOMENTS ? text[moment] : NULL;
}

/* ---- listening to the run ---- */

typedef struct listener {
    up_pinch_story *story;
    double cosine;
    double touch_time, touch_travel;
    double friction; /* N, at the last sample before contact */
    double touch_speed;
} listener;

static void note(listener *l, up_pinch_moment moment, double time, double travel, double force, double speed) {
    up_pinch_instant *at = &l->story->at[moment];
    if (up_is_absent(at->after)) {
        *at = (up_pinch_instant){time - l->touch_time, travel - l->touch_travel, force / l->cosine, speed};
    }
}

static int happened(const listener *l, up_pinch_moment moment) {
    return !up_is_absent(l->story->at[moment].after);
}

static void hear_event(void *context, const up_event *event) {
    listener *l = context;
    if (event->kind == UP_EVENT_ROD_TOUCHED && up_is_absent(l->touch_time)) {
        l->touch_time = event->time;
        l->touch_travel = event->travel;
        l->touch_speed = event->speed;
        note(l, UP_PINCH_AT_CONTACT, event->time, event->travel, event->force, event->speed);
    }
    if (up_is_absent(l->touch_time)) {
        return;
    }
    up_pinch_moment moment = UP_PINCH_MOMENTS;
    switch (event->kind) {
    case UP_EVENT_STALL_SEEN:
        l->story->stall |= !happened(l, UP_PINCH_AT_SEEN);
        moment = UP_PINCH_AT_SEEN;
        break;
    case UP_EVENT_PINCH_SEEN:
        moment = UP_PINCH_AT_SEEN;
        break;
    case UP_EVENT_BRIDGE_BRAKE:
    case UP_EVENT_BRIDGE_OPEN:
        moment = UP_PINCH_AT_BRIDGE_OFF;
        break;
    case UP_EVENT_BRIDGE_LOWER:
        moment = UP_PINCH_AT_LOWERING;
        break;
    case UP_EVENT_ROD_LEFT: /* a glass that only bounces comes back */
        moment = happened(l, UP_PINCH_AT_LOWERING) ? UP_PINCH_AT_LEFT : moment;
        break;
    case UP_EVENT_TOP_FOUND:
        moment = UP_PINCH_AT_TOP_TAKEN;
        break;
    case UP_EVENT_CONTROLLER_RESTS:
        moment = UP_PINCH_AT_REST;
        break;
    default:
        return;
    }
    if (moment < UP_PINCH_MOMENTS) {
        note(l, moment, event->time, event->travel, event->force, event->speed);
    }
}

static void hear_sample(void *context, const up_sample *sample) {
    listener *l = context;
    if (up_is_absent(l->touch_time)) {
        l->friction = fabs(sample->friction_force);
    } else if (sample->detector_excess > sample->detector_threshold && !happened(l, UP_PINCH_AT_SEEN)) {
        note(l, UP_PINCH_AT_EXCESS, sample->time, sample->travel, sample->rod_force, sample->speed);
    }
}

/* ---- energy ---- */

/* The books at a time of the run. */
static up_status books_at(const up_door *door, const up_run_options *options, double time, double *ledger) {
    up_run_options cut = *options;
    up_outcome outcome;
    cut.time_limit = fmax(time, 1e-3);
    cut.sample_interval = 0;
    const up_status status = up_run(door, &cut, NULL, &outcome, NULL);
    memcpy(ledger, outcome.ledger, sizeof outcome.ledger);
    return status;
}

static up_status follow_energy(const up_door *door, const up_run_options *options, const up_outcome *outcome,
                               up_pinch_story *story) {
    double touch[UP_LEDGER_COUNT];
    double peak[UP_LEDGER_COUNT];
    up_status status = books_at(door, options, outcome->rod_touch_time, touch);
    if (status == UP_OK) {
        status = books_at(door, options, outcome->peak_rod_time, peak);
    }
    for (int i = 0; i < UP_LEDGER_COUNT && status == UP_OK; i++) {
        story->flow[i] = peak[i] - touch[i];
    }
    story->motion = touch[UP_LEDGER_kinetic];
    return status;
}

/* ---- all of it ---- */

double up_pinch_rod_only(double stiffness, double cosine, double speed, double limit) {
    return limit / (stiffness * cosine * speed);
}

static void run_whole(const up_pinch_study *study, const up_pinch_point *point, up_pinch_story *story) {
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_pinch_lie lie;
    story->whole.status = UP_BAD_OPTION;
    if (up_pinch_start_of(point) == UP_PINCH_RUNNING &&
        up_pinch_make(study, &study->known->values, point, &door, &options, &lie) == UP_OK) {
        options.start_travel = 0;
        story->whole.point = *point;
        story->whole.status = up_run(&door, &options, NULL, &outcome, NULL);
        up_pinch_keep(&options, &lie, door.travel, &outcome, &story->whole);
    }
}

static void begin_story(up_pinch_story *story) {
    memset(story, 0, sizeof *story);
    for (int i = 0; i < UP_PINCH_MOMENTS; i++) {
        story->at[i] = (up_pinch_instant){UP_ABSENT, UP_ABSENT, UP_ABSENT, UP_ABSENT};
    }
}

up_status up_pinch_explain(const up_pinch_study *given, const up_pinch_point *point, double limit,
                           up_pinch_story *story) {
    up_pinch_study study = *given;
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_pinch_lie lie;
    study.tolerance = fine_tolerance;
    begin_story(story);
    up_status status = up_pinch_make(&study, &study.known->values, point, &door, &options, &lie);
    if (status != UP_OK) {
        return status;
    }
    listener l = {.story = story, .cosine = lie.cosine, .touch_time = UP_ABSENT};
    const up_sink sink = {.context = &l, .sample = hear_sample, .event = hear_event};
    options.sample_interval = look_interval;
    status = up_run(&door, &options, &sink, &outcome, NULL);
    if (status != UP_OK || up_is_absent(l.touch_time)) {
        return status == UP_OK ? UP_BAD_OPTION : status;
    }
    story->result.point = *point;
    up_pinch_keep(&options, &lie, door.travel, &outcome, &story->result);
    story->contact_time = l.touch_time;
    const double depth = story->result.force * lie.cosine * (1 / options.rod_stiffness + 1 / door.panel_stiffness);
    note(&l, UP_PINCH_AT_STANDSTILL, outcome.peak_rod_time, l.touch_travel + depth, outcome.peak_rod_force, 0);
    story->glass_motion = 0.5 * door.mass * l.touch_speed * l.touch_speed;
    story->least_force = up_pinch_least_force(&door, &lie, point->stiffness, l.touch_travel, l.touch_speed, l.friction);
    story->rod_only = up_pinch_rod_only(point->stiffness, lie.cosine, l.touch_speed, limit);
    status = follow_energy(&door, &options, &outcome, story);
    run_whole(&study, point, story);
    return status;
}

#include "analysis/reversal_cause.h"

#include <math.h>
#include <string.h>

/* Colder than this the seals are noticeably stiffer than at the temperature they were measured at. */
static const double nearly_room = 288.15;
static const double room = 293.15;
/* A change of load below this is none worth naming, N; of the supply, V. */
static const double small_force = 3;
static const double small_voltage = 0.3;

const char *up_change_name(up_change change) {
    static const char *const name[UP_CHANGE_COUNT] = {
#define UP_CHANGE_NAME(id, name, text) name,
        UP_CHANGE_LIST(UP_CHANGE_NAME)
#undef UP_CHANGE_NAME
    };
    return name[change];
}

const char *up_change_text(up_change change) {
    static const char *const text[UP_CHANGE_COUNT] = {
#define UP_CHANGE_TEXT(id, name, text) text,
        UP_CHANGE_LIST(UP_CHANGE_TEXT)
#undef UP_CHANGE_TEXT
    };
    return text[change];
}

static up_way_loads loads_of(const up_sample *sample, double closed_travel) {
    return (up_way_loads){.time = sample->time,
                          .opening = closed_travel - sample->travel,
                          .friction = fabs(sample->friction_force),
                          .header = sample->header_force,
                          .battery = sample->battery_voltage,
                          .excess = sample->detector_excess,
                          .threshold = sample->detector_threshold};
}

/* The change applied to values and options; 0 when it changes nothing. */
static int apply(up_change change, up_values *values, up_run_options *options) {
    double low = 0;
    double high = 0;
    switch (change) {
    case UP_CHANGE_THRESHOLD:
        up_number_bounds(UP_NUMBER_detect_force, &low, &high);
        values->detect_force = high;
        return 1;
    case UP_CHANGE_WARM:
        if (options->temperature >= nearly_room) {
            return 0;
        }
        options->temperature = room;
        return 1;
    case UP_CHANGE_POINTS:
        low = values->drag_count;
        values->drag_count = 0;
        return low > 0;
    case UP_CHANGE_HEADER:
        low = values->header_stiffness;
        values->header_stiffness = 0;
        return low > 0;
    case UP_CHANGE_SUPPLY:
        low = options->supply_steps;
        options->supply_steps = 0;
        return low > 0;
    default:
        return 0;
    }
}

/* Largest reckoned excess on the way up outside the end zone: against the stop everything is an excess. */
typedef struct watch {
    const up_sink *forward; /* may be NULL */
    double highest_travel;  /* m, where the end zone begins */
    up_changed_run *changed;
    double closed_travel;
    int turned;
} watch;

static void watch_sample(void *context, const up_sample *sample) {
    watch *watching = context;
    up_changed_run *changed = watching->changed;
    if (!watching->turned && sample->travel < watching->highest_travel && sample->speed > 0 &&
        sample->detector_excess > changed->peak_excess) {
        changed->peak_excess = sample->detector_excess;
        changed->peak_opening = watching->closed_travel - sample->travel;
    }
    if (watching->forward && watching->forward->sample) {
        watching->forward->sample(watching->forward->context, sample);
    }
}

static void watch_event(void *context, const up_event *event) {
    watch *watching = context;
    watching->turned |= event->kind == UP_EVENT_REVERSAL;
    if (watching->forward && watching->forward->event) {
        watching->forward->event(watching->forward->context, event);
    }
}

static int watch_stop(void *context) {
    const watch *watching = context;
    return watching->forward && watching->forward->stop && watching->forward->stop(watching->forward->context);
}

static up_status run_changed(const up_values *values, const up_run_options *options, up_change change,
                             const up_sink *forward, up_changed_run *changed) {
    up_values other = *values;
    up_run_options other_options = *options;
    up_door door;
    up_outcome outcome;
    memset(changed, 0, sizeof *changed);
    if (!apply(change, &other, &other_options)) {
        return UP_OK;
    }
    watch watching = {.forward = forward,
                      .highest_travel = values->glass_travel - values->zone_low,
                      .changed = changed,
                      .closed_travel = values->glass_travel};
    const up_sink sink = {&watching, watch_sample, watch_event, NULL, watch_stop};
    up_status status = up_door_prepare(&other, other_options.temperature, &door);
    if (status == UP_OK) {
        status = up_run(&door, &other_options, &sink, &outcome, NULL);
    }
    if (status != UP_OK) {
        return status == UP_STOPPED ? status : UP_OK;
    }
    changed->tried = 1;
    changed->closes = outcome.reversals == 0 && outcome.end == UP_END_CLOSED;
    return UP_OK;
}

static enum up_risen what_rose(const up_cause *cause) {
    double friction = cause->at.friction - cause->before.friction;
    double header = cause->at.header - cause->before.header;
    double change = fabs(cause->at.battery - cause->before.battery);
    if (friction >= header && friction > small_force) {
        return UP_RISEN_FRICTION;
    }
    if (header > small_force) {
        return UP_RISEN_HEADER;
    }
    return change > small_voltage ? UP_RISEN_SUPPLY : UP_RISEN_NOTHING;
}

static void find_loads(const up_values *values, const up_cause_record *record, up_cause *cause) {
    size_t at = 0;
    while (at + 1 < record->samples && record->sample[at + 1].time <= record->decision_time) {
        at++;
    }
    size_t before = at;
    while (before > 0 && record->sample[at].travel - record->sample[before].travel < values->detect_learning) {
        before--;
    }
    cause->at = loads_of(&record->sample[at], values->glass_travel);
    cause->before = loads_of(&record->sample[before], values->glass_travel);
    /* The detector starts afresh when it has decided: what it decided on is the largest excess just before. */
    for (size_t i = before; i < at; i++) {
        cause->at.excess = fmax(cause->at.excess, record->sample[i].detector_excess);
    }
}

up_status up_cause_find(const up_values *values, const up_run_options *options, const up_cause_record *record,
                        const up_sink *held_back, up_cause *cause) {
    memset(cause, 0, sizeof *cause);
    if (record->samples == 0) {
        return UP_BAD_OPTION;
    }
    find_loads(values, record, cause);
    cause->risen = what_rose(cause);
    for (int i = 0; i < UP_CHANGE_COUNT; i++) {
        const up_sink *sink = i == UP_CHANGE_THRESHOLD ? held_back : NULL;
        up_status status = run_changed(values, options, (up_change)i, sink, &cause->changed[i]);
        if (status != UP_OK) {
            return status;
        }
    }
    return UP_OK;
}

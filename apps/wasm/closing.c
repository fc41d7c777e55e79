#include "apps/wasm/closing.h"

#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "core/sim/run.h"

#ifdef __wasm__
#define EXPORT(name) __attribute__((export_name(#name))) name
#else
#define EXPORT(name) name
#endif

enum { SAMPLES_MAX = 8192, EVENTS_MAX = 1024 };

#define COLUMN(id, unit, text) +1
enum { COLUMNS = 0 UP_SAMPLE_LIST(COLUMN) };
#undef COLUMN

static struct closing {
    up_values values;
    up_run_options options;
    int own_switch; /* 1: the caller has given a switch step */
    up_door door;
    up_outcome outcome;
    double sample[SAMPLES_MAX][COLUMNS];
    int samples;
    up_event event[EVENTS_MAX];
    int events;
    uint64_t edges;
    uint64_t edge_digest;
} closing;

static int inside(int index, int count) {
    return index >= 0 && index < count;
}

/* ---- the door ------------------------------------------------------------------------------------------------------ */

int EXPORT(closing_typical)(int family) {
    if (!inside(family, UP_FAMILY_COUNT)) {
        return UP_BAD_VALUE;
    }
    up_values_fallback((up_family)family, &closing.values);
    up_run_options_default(&closing.options);
    closing.outcome = (up_outcome){0};
    closing.own_switch = 0;
    closing.samples = 0;
    closing.events = 0;
    closing.edges = 0;
    return UP_OK;
}

int EXPORT(closing_number_count)(void) {
    return UP_NUMBER_COUNT;
}

const char *EXPORT(closing_number_name)(int number) {
    static const char *const name[] = {
#define UP_NUMBER(id, ...) #id,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    return inside(number, UP_NUMBER_COUNT) ? name[number] : "";
}

double EXPORT(closing_number)(int number) {
    return inside(number, UP_NUMBER_COUNT) ? closing.values.number[number] : UP_ABSENT;
}

void EXPORT(closing_set_number)(int number, double value) {
    if (inside(number, UP_NUMBER_COUNT)) {
        closing.values.number[number] = value;
    }
}

int EXPORT(closing_choice_count)(void) {
    return UP_CHOICE_COUNT;
}

const char *EXPORT(closing_choice_name)(int choice) {
    static const char *const name[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...) #id,
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    return inside(choice, UP_CHOICE_COUNT) ? name[choice] : "";
}

void EXPORT(closing_set_choice)(int choice, int value) {
    if (inside(choice, UP_CHOICE_COUNT)) {
        closing.values.choice[choice] = value;
    }
}

int EXPORT(closing_add_drag_point)(double position, double force) {
    up_values *v = &closing.values;
    if (!inside(v->drag_count, UP_DRAG_POINTS_MAX)) {
        return UP_BAD_VALUE;
    }
    v->drag_position[v->drag_count] = position;
    v->drag_force[v->drag_count] = force;
    v->drag_count++;
    return UP_OK;
}

/* ---- the run ------------------------------------------------------------------------------------------------------- */

static double plain(double value) {
    return value;
}

static int whole(double value) {
    return value > -1e9 && value < 1e9 ? (int)value : -1;
}

static uint32_t seed_of(double value) {
    return value >= 0 && value <= 4294967295.0 ? (uint32_t)value : 0;
}

/* X(member, how a number becomes one) */
#define OPTION_LIST(X)          \
    X(start_travel, plain)      \
    X(temperature, plain)       \
    X(open_voltage, plain)      \
    X(leads_direct, whole)      \
    X(leads_open, whole)        \
    X(push_force, plain)        \
    X(position_lost, whole)     \
    X(rod, whole)               \
    X(rod_opening, plain)       \
    X(rod_stiffness, plain)     \
    X(ignition_off_time, plain) \
    X(seed, seed_of)            \
    X(tolerance, plain)         \
    X(time_limit, plain)        \
    X(sample_interval, plain)   \
    X(rest_time, plain)

enum option {
#define OPTION(member, made) OPTION_##member,
    OPTION_LIST(OPTION)
#undef OPTION
        OPTIONS
};

int EXPORT(closing_option_count)(void) {
    return OPTIONS;
}

const char *EXPORT(closing_option_name)(int option) {
    static const char *const name[] = {
#define OPTION(member, made) #member,
        OPTION_LIST(OPTION)
#undef OPTION
    };
    return inside(option, OPTIONS) ? name[option] : "";
}

void EXPORT(closing_set_option)(int option, double value) {
    up_run_options *o = &closing.options;
    switch (option) {
#define OPTION(member, made)     \
    case OPTION_##member:        \
        o->member = made(value); \
        break;
        OPTION_LIST(OPTION)
#undef OPTION
    default:
        break;
    }
}

int EXPORT(closing_add_switch)(double time, int position) {
    up_run_options *o = &closing.options;
    const int place = closing.own_switch ? o->switch_steps : 0;
    if (!inside(place, UP_SWITCH_STEPS_MAX)) {
        return UP_BAD_OPTION;
    }
    closing.own_switch = 1;
    o->switch_step[place] = (up_switch_step){time, (up_switch)position};
    o->switch_steps = place + 1;
    return UP_OK;
}

int EXPORT(closing_add_supply)(double time, double open_voltage) {
    up_run_options *o = &closing.options;
    if (!inside(o->supply_steps, UP_SUPPLY_STEPS_MAX)) {
        return UP_BAD_OPTION;
    }
    o->supply_step[o->supply_steps] = (up_supply_step){time, open_voltage};
    o->supply_steps++;
    return UP_OK;
}

static void keep_sample(void *context, const up_sample *s) {
    (void)context;
    if (closing.samples < SAMPLES_MAX) {
        double *to = closing.sample[closing.samples++];
#define COLUMN(id, unit, text) *to++ = s->id;
        UP_SAMPLE_LIST(COLUMN)
#undef COLUMN
    }
}

static void keep_event(void *context, const up_event *event) {
    (void)context;
    if (closing.events < EVENTS_MAX) {
        closing.event[closing.events++] = *event;
    }
}

static void keep_edge(void *context, double time, int level) {
    (void)context;
    (void)level;
    uint64_t bits;
    memcpy(&bits, &time, sizeof bits);
    for (int i = 0; i < 8; i++) {
        closing.edge_digest = (closing.edge_digest ^ ((bits >> (8 * i)) & 0xff)) * UINT64_C(1099511628211);
    }
    closing.edges++;
}

int EXPORT(closing_run)(void) {
    const up_sink sink = {NULL, keep_sample, keep_event, keep_edge, NULL};
    closing.samples = 0;
    closing.events = 0;
    closing.edges = 0;
    closing.edge_digest = UINT64_C(14695981039346656037);
    const up_status status = up_door_prepare(&closing.values, closing.options.temperature, &closing.door);
    if (status != UP_OK) {
        return (int)status;
    }
    return (int)up_run(&closing.door, &closing.options, &sink, &closing.outcome, NULL);
}

/* ---- what came out ------------------------------------------------------------------------------------------------- */

/* Members of up_outcome. */
#define RESULT_LIST(X)          \
    X(end)                      \
    X(time)                     \
    X(moving_time)              \
    X(start_travel)             \
    X(final_travel)             \
    X(start_delay)              \
    X(peak_current)             \
    X(running_current)          \
    X(running_speed)            \
    X(peak_rod_force)           \
    X(peak_rod_time)            \
    X(rod_touch_time)           \
    X(detection_time)           \
    X(reversal_travel)          \
    X(reversed_distance)        \
    X(peak_stop_force)          \
    X(peak_winding_temperature) \
    X(peak_detector_excess)     \
    X(peak_excess_travel)       \
    X(edges)                    \
    X(reversals)                \
    X(protector_trips)          \
    X(ledger_gap)

enum result {
#define RESULT(member) RESULT_##member,
    RESULT_LIST(RESULT)
#undef RESULT
        RESULTS
};

const char *EXPORT(closing_status_text)(int status) {
    return up_status_text((up_status)status);
}

int EXPORT(closing_result_count)(void) {
    return RESULTS + UP_LEDGER_COUNT;
}

const char *EXPORT(closing_result_name)(int result) {
    static const char *const name[] = {
#define RESULT(member) #member,
        RESULT_LIST(RESULT)
#undef RESULT
    };
    if (inside(result, RESULTS)) {
        return name[result];
    }
    return inside(result - RESULTS, UP_LEDGER_COUNT) ? up_ledger_name((up_ledger_account)(result - RESULTS)) : "";
}

double EXPORT(closing_result)(int result) {
    const up_outcome *o = &closing.outcome;
    switch (result) {
#define RESULT(member)    \
    case RESULT_##member: \
        return (double)o->member;
        RESULT_LIST(RESULT)
#undef RESULT
    default:
        return inside(result - RESULTS, UP_LEDGER_COUNT) ? o->ledger[result - RESULTS] : UP_ABSENT;
    }
}

int EXPORT(closing_sample_room)(void) {
    return SAMPLES_MAX;
}

int EXPORT(closing_sample_count)(void) {
    return closing.samples;
}

int EXPORT(closing_column_count)(void) {
    return COLUMNS;
}

const char *EXPORT(closing_column_name)(int column) {
    static const char *const name[] = {
#define COLUMN(id, unit, text) #id,
        UP_SAMPLE_LIST(COLUMN)
#undef COLUMN
    };
    return inside(column, COLUMNS) ? name[column] : "";
}

const char *EXPORT(closing_column_unit)(int column) {
    static const char *const name[] = {
#define COLUMN(id, unit, text) unit,
        UP_SAMPLE_LIST(COLUMN)
#undef COLUMN
    };
    return inside(column, COLUMNS) ? name[column] : "";
}

double EXPORT(closing_sample)(int row, int column) {
    return inside(row, closing.samples) && inside(column, COLUMNS) ? closing.sample[row][column] : UP_ABSENT;
}

const double *EXPORT(closing_samples)(void) {
    return closing.sample[0];
}

int EXPORT(closing_event_room)(void) {
    return EVENTS_MAX;
}

int EXPORT(closing_event_count)(void) {
    return closing.events;
}

const char *EXPORT(closing_event_name)(int event) {
    return inside(event, closing.events) ? up_event_name(closing.event[event].kind) : "";
}

const char *EXPORT(closing_event_text)(int event) {
    return inside(event, closing.events) ? up_event_text(closing.event[event].kind) : "";
}

double EXPORT(closing_event_time)(int event) {
    return inside(event, closing.events) ? closing.event[event].time : UP_ABSENT;
}

double EXPORT(closing_event_travel)(int event) {
    return inside(event, closing.events) ? closing.event[event].travel : UP_ABSENT;
}

double EXPORT(closing_event_force)(int event) {
    return inside(event, closing.events) ? closing.event[event].force : UP_ABSENT;
}

double EXPORT(closing_edge_count)(void) {
    return (double)closing.edges;
}

unsigned long long EXPORT(closing_edge_digest)(void) {
    return closing.edge_digest;
}

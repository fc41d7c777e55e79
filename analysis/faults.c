#include "analysis/faults.h"

#include <stddef.h>

/* Pressing less than this is resting, N. */
static const double RESTING = 1.0;

#define UP_NAME(id, name, text) name,
#define UP_TEXT(id, name, text) text,

const char *up_fault_name(up_fault fault) {
    static const char *const names[] = {UP_FAULT_LIST(UP_NAME)};
    return (unsigned)fault < (unsigned)UP_FAULT_COUNT ? names[fault] : NULL;
}

const char *up_fault_text(up_fault fault) {
    static const char *const texts[] = {UP_FAULT_LIST(UP_TEXT)};
    return (unsigned)fault < (unsigned)UP_FAULT_COUNT ? texts[fault] : NULL;
}

const char *up_fault_moment_name(up_fault_moment moment) {
    static const char *const names[] = {UP_FAULT_MOMENT_LIST(UP_NAME)};
    return (unsigned)moment < (unsigned)UP_FAULT_MOMENT_COUNT ? names[moment] : NULL;
}

const char *up_fault_moment_text(up_fault_moment moment) {
    static const char *const texts[] = {UP_FAULT_MOMENT_LIST(UP_TEXT)};
    return (unsigned)moment < (unsigned)UP_FAULT_MOMENT_COUNT ? texts[moment] : NULL;
}

const char *up_fault_verdict_word(up_fault_verdict verdict) {
    static const char *const words[] = {"comes free", "closes over it", "held without supply", "keeps pressing"};
    return (unsigned)verdict < sizeof words / sizeof words[0] ? words[verdict] : "unknown";
}

/* ---- results ------------------------------------------------------------------------------------------------------ */

static void note_drive(void *context, const up_event *event) {
    int *driven = context;
    if (event->kind == UP_EVENT_BRIDGE_RAISE || event->kind == UP_EVENT_BRIDGE_LOWER) {
        *driven = 1;
    } else if (event->kind == UP_EVENT_BRIDGE_BRAKE || event->kind == UP_EVENT_BRIDGE_OPEN) {
        *driven = 0;
    }
}

static void run_one(const up_door *door, const up_fault_case *row, up_fault_result *result) {
    const up_run_options *o = &row->options;
    const up_sink sink = {.context = &result->driven, .event = note_drive};
    *result = (up_fault_result){0};
    result->status = up_run(door, o, &sink, &result->outcome, NULL);
    if (o->rod) {
        const double stiffness = 1.0 / (1.0 / o->rod_stiffness + 1.0 / door->panel_stiffness);
        const double depth = result->outcome.final_travel - (door->travel - o->rod_opening);
        result->final_force = depth > 0 ? stiffness * depth : 0.0;
    }
    const int dead = row->fault == UP_FAULT_BATTERY_LOST && !result->driven;
    const int over = result->outcome.final_travel > door->travel - UP_FAULT_LEAST_OPENING &&
                     result->final_force <= UP_FAULT_FORCE_LIMIT;
    result->verdict = result->final_force <= RESTING ? UP_FAULT_HARMLESS
                      : dead                         ? UP_FAULT_HELD
                      : over && !result->driven      ? UP_FAULT_CLOSED_OVER
                                                     : UP_FAULT_KEEPS_PRESSING;
}

typedef struct job {
    const up_door *door;
    const up_fault_case *cases;
    up_fault_result *results;
} job;

static void run_some(void *context, int first, int end) {
    const job *j = context;
    for (int i = first; i < end; i++) {
        run_one(j->door, &j->cases[i], &j->results[i]);
    }
}

void up_fault_run(const up_door *door, const up_fault_case *cases, int count, up_workers *workers,
                  up_fault_result *results) {
    job j = {door, cases, results};
    up_share_work(workers, count, run_some, &j);
}

/* ---- sums --------------------------------------------------------------------------------------------------------- */

static double peak_of(const up_fault_result *result) {
    return result->outcome.peak_rod_force;
}

static int sound_of(const up_fault_case *cases, const up_fault_result *results, int count, int rod) {
    for (int i = 0; i < count; i++) {
        if (cases[i].rod == rod && cases[i].fault == UP_FAULT_NONE && results[i].status == UP_OK) {
            return i;
        }
    }
    return -1;
}

void up_fault_add_up(const up_fault_request *request, const up_fault_case *cases, const up_fault_result *results,
                     int count, int rule, up_fault_sum *sum) {
    *sum = (up_fault_sum){.worst = -1, .worst_sound = -1};
    for (int i = 0; i < count; i++) {
        const up_fault_result *r = &results[i];
        const int rod = cases[i].rod;
        if (rule >= 0 && (rod < 0 || !(request->rod[rod].rules >> rule & 1U))) {
            continue;
        }
        sum->closings++;
        if (r->status != UP_OK) {
            sum->gave_up++;
            continue;
        }
        sum->verdict[r->verdict]++;
        sum->over_limit += peak_of(r) >= UP_FAULT_FORCE_LIMIT;
        if (cases[i].fault != UP_FAULT_NONE && peak_of(r) > 0 &&
            (sum->worst < 0 || peak_of(r) > peak_of(&results[sum->worst]))) {
            sum->worst = i;
        }
    }
    if (sum->worst >= 0) {
        sum->worst_sound = sound_of(cases, results, count, cases[sum->worst].rod);
    }
}

#include "tests/support/traces_digest.h"

#include <stddef.h>
#include <string.h>

#include "core/base/up_math.h"

/* ---- the hash ----------------------------------------------------------------------------------------------------- */

uint64_t up_digest_bytes(uint64_t digest, const void *bytes, uint32_t count) {
    const unsigned char *byte = bytes;
    for (uint32_t i = 0; i < count; i++) {
        digest = (digest ^ byte[i]) * UINT64_C(1099511628211);
    }
    return digest;
}

uint64_t up_digest_u64(uint64_t digest, uint64_t value) {
    for (int i = 0; i < 8; i++) {
        const unsigned char byte = (unsigned char)(value >> (8 * i));
        digest = up_digest_bytes(digest, &byte, 1);
    }
    return digest;
}

uint64_t up_digest_double(uint64_t digest, double value) {
    uint64_t bits = UINT64_C(0x7ff8000000000000);
    if (value == value) {
        memcpy(&bits, &value, sizeof bits);
    }
    return up_digest_u64(digest, bits);
}

uint64_t up_digest_outcome(uint64_t digest, const up_outcome *o) {
    const double numbers[] = {o->time,
                              o->moving_time,
                              o->start_travel,
                              o->final_travel,
                              o->start_delay,
                              o->peak_current,
                              o->running_current,
                              o->running_speed,
                              o->peak_rod_force,
                              o->peak_rod_time,
                              o->rod_touch_time,
                              o->detection_time,
                              o->reversal_travel,
                              o->reversed_distance,
                              o->peak_stop_force,
                              o->peak_winding_temperature,
                              o->peak_detector_excess,
                              o->peak_excess_travel,
                              o->ledger_gap};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        digest = up_digest_double(digest, numbers[i]);
    }
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        digest = up_digest_double(digest, o->ledger[i]);
    }
    digest = up_digest_u64(digest, (uint64_t)o->end);
    digest = up_digest_u64(digest, o->edges);
    digest = up_digest_u64(digest, (uint64_t)(int64_t)o->reversals);
    return up_digest_u64(digest, (uint64_t)(int64_t)o->protector_trips);
}

static uint64_t digest_counts(uint64_t digest, const up_run_counts *c) {
    const uint64_t counts[] = {c->steps,          c->rejected_steps, c->locating_steps, c->derivative_calls,
                               c->jacobian_calls, c->mode_changes,   c->ticks,          c->edges};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        digest = up_digest_u64(digest, counts[i]);
    }
    return digest;
}

/* ---- what a run tells ---------------------------------------------------------------------------------------------- */

static void take_sample(void *context, const up_sample *s) {
    uint64_t *digest = context;
#define UP_DIGEST_MEMBER(id, unit, text) *digest = up_digest_double(*digest, s->id);
    UP_SAMPLE_LIST(UP_DIGEST_MEMBER)
#undef UP_DIGEST_MEMBER
}

static void take_event(void *context, const up_event *e) {
    uint64_t *digest = context;
    *digest = up_digest_u64(*digest, (uint64_t)e->kind);
    *digest = up_digest_double(*digest, e->time);
    *digest = up_digest_double(*digest, e->travel);
    *digest = up_digest_double(*digest, e->speed);
    *digest = up_digest_double(*digest, e->force);
    *digest = up_digest_double(*digest, e->current);
}

static void take_edge(void *context, double time, int level) {
    uint64_t *digest = context;
    *digest = up_digest_double(*digest, time);
    *digest = up_digest_u64(*digest, (uint64_t)(int64_t)level);
}

/* ---- the closings ---------------------------------------------------------------------------------------------------- */

typedef struct kind {
    const char *name;
    void (*set)(up_values *values, up_run_options *options);
} kind;

static void plain(up_values *v, up_run_options *o) {
    (void)v;
    (void)o;
}

static void lowering(up_values *v, up_run_options *o) {
    o->start_travel = v->glass_travel;
    o->switch_step[0].position = UP_SWITCH_LOWER_TOUCH;
}

static void rod(up_values *v, up_run_options *o) {
    (void)v;
    o->rod = 1;
    o->rod_opening = 0.120;
    o->rod_stiffness = 10e3;
}

static void hard_rod(up_values *v, up_run_options *o) {
    o->rod = 1;
    o->rod_opening = 0.025;
    o->rod_stiffness = 65e3;
    o->start_travel = 0.4 * v->glass_travel;
}

/* The encoder is uneven and loses edges. */
static void lost_edges(up_values *v, up_run_options *o) {
    o->seed = 7;
    v->encoder_missed = 0.02;
    v->encoder_pitch_error = 0.04;
    v->detect_force = 150;
}

static void cold(up_values *v, up_run_options *o) {
    o->temperature = 248.15;
    v->channel_state = UP_CHANNEL_DIRTY;
    v->drag_count = 3;
    for (int i = 0; i < 3; i++) {
        v->drag_position[i] = (0.5 + 0.2 * i) * v->glass_travel;
        v->drag_force[i] = 8.0 * (i & 1);
    }
}

static void battery_lost(up_values *v, up_run_options *o) {
    o->position_lost = 1;
    o->start_travel = 0.5 * v->glass_travel;
    o->switch_steps = 3;
    o->switch_step[0] = (up_switch_step){0.0, UP_SWITCH_RAISE_HELD};
    o->switch_step[1] = (up_switch_step){6.0, UP_SWITCH_FREE};
    o->switch_step[2] = (up_switch_step){6.5, UP_SWITCH_LOWER_TOUCH};
    o->time_limit = 14.0;
}

static void supply_steps(up_values *v, up_run_options *o) {
    (void)v;
    o->open_voltage = 13.8;
    o->supply_steps = 3;
    o->supply_step[0] = (up_supply_step){0.9, 9.5};
    o->supply_step[1] = (up_supply_step){1.4, 14.4};
    o->supply_step[2] = (up_supply_step){2.0, 11.0};
}

/* The battery straight on the leads, through stall to the protector and back; bimetal in one half of the doors, ptc in
 * the other. */
static void leads(up_values *v, up_run_options *o) {
    v->protection = v->family < UP_FAMILY_CABLE ? UP_PROTECTION_PTC : UP_PROTECTION_BIMETAL;
    v->protector_trip = 353.15;
    v->protector_reset = 348.15;
    v->damper_one_way = 0;
    o->leads_direct = 1;
    o->switch_steps = 3;
    o->switch_step[0] = (up_switch_step){0.0, UP_SWITCH_RAISE_HELD};
    o->switch_step[1] = (up_switch_step){18.0, UP_SWITCH_FREE};
    o->switch_step[2] = (up_switch_step){18.2, UP_SWITCH_LOWER_HELD};
    o->time_limit = 22.0;
}

/* Leads open, a worm too steep to hold, a hand on the glass. */
static void pushed(up_values *v, up_run_options *o) {
    v->worm_static_friction = v->worm_friction = 0.02;
    v->motor_friction = 0.001;
    v->balance_bottom = v->balance_top = 0.2;
    o->leads_open = 1;
    o->start_travel = 0.8 * v->glass_travel;
    o->push_force = -200.0;
    o->time_limit = 3.0;
}

/* Two channels on the pinion, released and pressed again, retained power ends on the way. */
static void released(up_values *v, up_run_options *o) {
    v->encoder_shaft = UP_ENCODER_ON_PINION;
    v->encoder_channels = 1;
    v->encoder_pulses = 60;
    v->retained_power = 1.0;
    o->switch_steps = 4;
    o->switch_step[0] = (up_switch_step){0.1, UP_SWITCH_RAISE_HELD};
    o->switch_step[1] = (up_switch_step){0.8, UP_SWITCH_FREE};
    o->switch_step[2] = (up_switch_step){1.1, UP_SWITCH_LOWER_HELD};
    o->switch_step[3] = (up_switch_step){1.3, UP_SWITCH_RAISE_HELD};
    o->ignition_off_time = 1.2;
    o->time_limit = 4.0;
}

/* Pushed and pressed while it runs, from before its start to its end, onto a rod that tilts the glass. */
static void shaken(up_values *v, up_run_options *o) {
    enum { VALUES = 24 };
    static const double push[VALUES] = {14, -22, 5,  31,  -40, 12, 7, -9, 26,  -18, -33, 44,
                                        -6, 3,   19, -27, 38,  -2, 0, 55, -61, 8,   16,  -12};
    static const double press[VALUES] = {0,  9, 21, 2,  0, 0,  35, 14, 6, 0,  28, 3,
                                         17, 0, 1,  12, 0, 48, 5,  0,  0, 23, 8,  4};
    static const up_shaking shaking = {-0.05, 0.071, VALUES, push, press};
    rod(v, o);
    o->rod_opening = 0.5 * v->glass_travel;
    o->rod_tilt_share = 0.3;
    o->shaking = &shaking;
}

static const kind kinds[] = {{"raising", plain},
                             {"lowering", lowering},
                             {"rod", rod},
                             {"hard_rod", hard_rod},
                             {"lost_edges", lost_edges},
                             {"cold", cold},
                             {"battery_lost", battery_lost},
                             {"supply_steps", supply_steps},
                             {"leads", leads},
                             {"pushed", pushed},
                             {"released", released},
                             {"shaken", shaken}};

enum { KINDS = sizeof kinds / sizeof kinds[0] };

int up_digest_cases(void) {
    return UP_FAMILY_COUNT * KINDS;
}

const char *up_digest_case_name(int index) {
    static const char *const family[] = {"single_arm", "crossed_arms", "cable", "rack"};
    static char name[UP_FAMILY_COUNT * KINDS][40];
    char *to = name[index];
    const char *parts[] = {family[index / KINDS], "/", kinds[index % KINDS].name};
    size_t used = 0;
    for (size_t i = 0; i < 3; i++) {
        for (const char *from = parts[i]; *from; from++) {
            to[used++] = *from;
        }
    }
    to[used] = '\0';
    return to;
}

void up_digest_case(int index, up_values *values, up_run_options *options) {
    up_values_fallback((up_family)(index / KINDS), values);
    up_run_options_default(options);
    options->sample_interval = 0.004;
    options->time_limit = 12.0;
    kinds[index % KINDS].set(values, options);
}

uint64_t up_digest_of_case(int index) {
    up_values values;
    up_run_options options;
    up_door door;
    up_outcome outcome;
    up_run_counts counts;
    up_digest_case(index, &values, &options);
    uint64_t digest = UP_DIGEST_START;
    up_status status = up_door_prepare(&values, options.temperature, &door);
    if (status == UP_OK) {
        const up_sink sink = {&digest, take_sample, take_event, take_edge, NULL};
        status = up_run(&door, &options, &sink, &outcome, &counts);
        digest = up_digest_outcome(digest, &outcome);
        digest = digest_counts(digest, &counts);
    }
    return up_digest_u64(digest, (uint64_t)status);
}

uint64_t up_digest_fold(const uint64_t *digests, int count) {
    uint64_t digest = UP_DIGEST_START;
    for (int i = 0; i < count; i++) {
        digest = up_digest_u64(digest, digests[i]);
    }
    return digest;
}

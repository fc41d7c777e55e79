#include "analysis/bench/virtual_bench.h"

#include <math.h>

#include "analysis/bench/pulse_leads.h"
#include "analysis/bench/whine.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "core/door/door.h"

enum { STREAM_JOINT = 1200 };

#define JOINT_CORNER 30.0 /* Hz, of a joint that wobbles */

typedef enum up_drive_now { UP_DRIVEN_NOT, UP_DRIVEN_BRAKE, UP_DRIVEN_UP, UP_DRIVEN_DOWN } up_drive_now;

typedef struct up_recorder {
    const up_bench *bench;
    const up_door *door;
    up_channel_memory channel[UP_TRACKS_MAX];
    up_brush_state brushes;
    up_pulse_leads leads;
    up_whine whine;
    int heard;                /* 1: some channel records the sound */
    double joint, joint_kept; /* bad joint: standard normal now, share of it kept from sample to sample  */
    uint64_t samples;
    up_drive_now drive;
    /* a gear that lets go: what follows comes from a second run with the motor alone */
    double time_shift, angle_shift;
    double last_travel, last_speed, last_angle, last_time;
    double last_edge, edge_period; /* s, of the first run */
    int slipped, slipping;         /* slipped: the first run got there; slipping: the second one is recorded */
} up_recorder;

/* ---- what is true at one instant --------------------------------------------------------------------------------- */

typedef struct up_electric {
    double current, leads, battery, controller; /* A, V as they can be seen */
} up_electric;

static double joint_resistance(up_recorder *r) {
    if (!(r->bench->joint_flicker > 0)) {
        return 0;
    }
    const double fresh = up_random_normal(r->bench->seed, STREAM_JOINT, r->samples);
    r->joint = r->joint_kept * r->joint + up_sqrt(1 - r->joint_kept * r->joint_kept) * fresh;
    return r->bench->joint_flicker * up_abs(r->joint);
}

static double knocking(const up_recorder *r, const up_sample *s) {
    if (!r->slipping || !(r->bench->slip_knock > 0)) {
        return 1;
    }
    const double teeth = r->door->values.pinion_teeth * s->output_angle / (2 * UP_PI);
    return 1 + r->bench->slip_knock * (2 * (teeth - floor(teeth)) - 1);
}

/* Ripple and brushes act in the motor, so the resistances before it turn their current into voltage; a bad joint acts
 * before the motor, so the winding does, and likewise under a supply that limits its current. The speed has no time to follow either. */
static up_electric electric_of(up_recorder *r, const up_sample *s, double factor, double left) {
    const up_door *d = r->door;
    const int driven = r->drive == UP_DRIVEN_UP || r->drive == UP_DRIVEN_DOWN;
    const double sign = r->drive == UP_DRIVEN_UP ? 1 : -1;
    const double turning = s->current + left * (s->ripple_current - s->current);
    const double rippled = turning * factor * knocking(r, s);
    const double winding =
        d->winding_resistance * (1 + d->winding_coefficient * (s->winding_temperature - UP_ROOM_TEMPERATURE)) +
        d->protector_resistance;
    const double before =
        driven ? d->source_resistance + d->bridge_resistance : (r->drive == UP_DRIVEN_BRAKE ? d->bridge_resistance : 0);
    const double wobble = driven ? joint_resistance(r) : 0;
    const double limit = r->bench->current_limit > 0 ? r->bench->current_limit : INFINITY;
    const double seen = up_clamp(rippled * (before + winding) / (before + winding + wobble), -limit, limit);
    const double source = s->battery_voltage + (driven ? d->values.supply_resistance * sign * s->current : 0);
    const double drawn = driven ? sign * seen : 0;
    return (up_electric){.current = seen,
                         .leads = s->motor_voltage - before * (rippled - s->current) + winding * (seen - rippled),
                         .battery = source - d->values.supply_resistance * drawn,
                         .controller = source - (d->source_resistance + wobble) * drawn};
}

static double pulse_level(up_recorder *r, const up_channel *c, const up_sample *s) {
    const int high = c->probe == UP_PROBE_LIMIT ? up_limit_lead(&r->leads, s->time, s->limit_contact)
                                                : up_encoder_lead(&r->leads, s->time, s->encoder_level);
    return high ? c->level_high : c->level_low;
}

static double truth_of(up_recorder *r, const up_channel *c, const up_sample *s, const up_electric *e) {
    const int glass = c->probe == UP_PROBE_GLASS;
    switch (c->signal) {
    case UP_SIGNAL_VOLTAGE:
        return c->probe == UP_PROBE_BATTERY ? e->battery : (c->probe == UP_PROBE_CONTROLLER ? e->controller : e->leads);
    case UP_SIGNAL_CURRENT:
        return e->current;
    case UP_SIGNAL_SPEED:
        return glass ? s->speed : s->armature_speed;
    case UP_SIGNAL_POSITION:
        return glass ? s->travel : s->armature_angle;
    case UP_SIGNAL_PULSES:
        return pulse_level(r, c, s);
    case UP_SIGNAL_FORCE:
        return s->rod_force;
    case UP_SIGNAL_TEMPERATURE:
        return s->case_temperature;
    case UP_SIGNAL_SOUND:
        return r->whine.now;
    default:
        return NAN;
    }
}

/* ---- the sink ---------------------------------------------------------------------------------------------------- */

static void record_sample(up_recorder *r, const up_sample *s) {
    const double left = up_ripple_left(s->armature_speed);
    const double factor = up_brush_factor(&r->brushes, s->armature_angle, left);
    const up_electric e = electric_of(r, s, factor, left);
    if (r->heard) {
        up_whine_at(&r->whine, s->armature_angle, s->armature_speed, factor);
    }
    for (int i = 0; i < r->bench->channels; i++) {
        up_channel_feed(&r->channel[i], s->time, truth_of(r, &r->bench->channel[i], s, &e));
    }
    r->samples++;
}

static void on_sample(void *context, const up_sample *sample) {
    up_recorder *r = context;
    up_sample s = *sample;
    if (r->slipping) {
        s.time += r->time_shift;
        s.armature_angle += r->angle_shift;
        s.travel = r->last_travel;
        s.speed = 0;
        if (s.time <= r->last_time) {
            return;
        }
    } else if (r->slipped) {
        return;
    } else {
        r->last_travel = s.travel;
        r->last_speed = s.armature_speed;
        r->last_angle = s.armature_angle;
        r->last_time = s.time;
        r->slipped = s.travel >= r->bench->slip_travel && s.armature_speed > 0; /* false where it is absent */
    }
    record_sample(r, &s);
}

static void on_edge(void *context, double time, int level) {
    (void)level;
    up_recorder *r = context;
    const double when = r->slipping ? time + r->time_shift : time;
    if (r->slipping) { /* the second run's turn stands elsewhere: its first edge must not come as a double */
        if (when > up_max(r->last_time, r->last_edge + 0.7 * r->edge_period)) {
            up_pulse_leads_edge(&r->leads, when);
        }
    } else if (!r->slipped) {
        up_pulse_leads_edge(&r->leads, when);
        r->edge_period = when - r->last_edge;
        r->last_edge = when;
    }
}

static void on_event(void *context, const up_event *event) {
    up_recorder *r = context;
    switch (event->kind) {
    case UP_EVENT_BRIDGE_RAISE:
        r->drive = UP_DRIVEN_UP;
        break;
    case UP_EVENT_BRIDGE_LOWER:
        r->drive = UP_DRIVEN_DOWN;
        break;
    case UP_EVENT_BRIDGE_BRAKE:
        r->drive = UP_DRIVEN_BRAKE;
        break;
    case UP_EVENT_BRIDGE_OPEN:
    case UP_EVENT_BATTERY_LOST:
        r->drive = UP_DRIVEN_NOT;
        break;
    default:
        break;
    }
}

static int on_stop(void *context) {
    const up_recorder *r = context;
    return r->slipped && !r->slipping;
}

/* ---- the second run, once a gear has let go ---------------------------------------------------------------------- */

typedef struct up_catching_up {
    double speed, time, angle;
    int done;
} up_catching_up;

static void catch_up(void *context, const up_sample *s) {
    up_catching_up *c = context;
    if (!c->done) {
        c->time = s->time;
        c->angle = s->armature_angle;
        c->done = s->armature_speed >= c->speed;
    }
}

static int caught_up(void *context) {
    return ((const up_catching_up *)context)->done;
}

/* Leads held to the supply from the start; what the first run's hand, fault and surroundings were is done with. */
static void second_run(const up_run_options *first, double temperature, double interval, up_run_options *run) {
    up_run_options_default(run);
    run->temperature = temperature;
    run->open_voltage = first->open_voltage;
    run->seed = first->seed;
    run->tolerance = first->tolerance;
    run->leads_direct = 1;
    run->switch_step[0] = (up_switch_step){0, UP_SWITCH_RAISE_HELD};
    run->sample_interval = interval;
    run->time_limit = 2;
}

/* The hand's first letting go after the gear did, where that stops the motor. A switch pulled through for one-touch does not. */
static void let_go(const up_run_options *first, double after, double shift, up_run_options *run) {
    const int obeyed = first->leads_direct || first->position_lost;
    for (int i = 0; i < first->switch_steps && obeyed; i++) {
        if (first->switch_step[i].position == UP_SWITCH_FREE && first->switch_step[i].time > after) {
            run->switch_step[run->switch_steps++] =
                (up_switch_step){first->switch_step[i].time - shift, UP_SWITCH_FREE};
            return;
        }
    }
}

/* The motor alone, switched on at once, is as fast as the drive was when the gear let go after a moment; from there on it is
 * recorded. Its current then fits the speed, but for what the winding's inductance has not forgotten. *door is filled. */
static up_status run_on(up_recorder *r, const up_values *values, double interval, up_door *door) {
    const up_run_options *first = &r->bench->run;
    up_values alone;
    up_bench_mount(values, UP_MOUNTING_MOTOR_FREE, &alone);
    up_status status = up_door_prepare(&alone, first->temperature, door);
    if (status != UP_OK) {
        return status;
    }
    up_run_options run;
    second_run(first, first->temperature, interval, &run);
    up_catching_up ahead = {.speed = r->last_speed};
    const up_sink looking = {.context = &ahead, .sample = catch_up, .stop = caught_up};
    up_outcome outcome;
    status = up_run(door, &run, &looking, &outcome, NULL);
    if (status != UP_OK && status != UP_STOPPED) {
        return status;
    }
    r->time_shift = r->last_time - ahead.time;
    r->angle_shift = r->last_angle - ahead.angle;
    let_go(first, r->last_time, r->time_shift, &run);
    run.time_limit = first->time_limit - r->time_shift;
    run.rest_time = up_min(run.time_limit, 3600);
    r->slipping = 1;
    r->door = door;
    const up_sink sink = {.context = r, .sample = on_sample, .event = on_event, .edge = on_edge};
    return up_run(door, &run, &sink, &outcome, NULL);
}

/* ---- recording --------------------------------------------------------------------------------------------------- */

static int channel_makes_sense(const up_channel *c) {
    return (unsigned)c->signal < UP_SIGNAL_COUNT && c->rate >= 1 && c->rate <= 1e6 && c->skew >= 0 &&
           c->skew <= 1 / c->rate && c->bandwidth >= 0 && c->noise >= 0 && c->step >= 0 && c->hum_frequency >= 0 &&
           c->hum >= 0 && c->high >= c->low && c->lost_share >= 0 && c->lost_share <= 1;
}

static size_t readings_of(const up_bench *bench, int channel) {
    return (size_t)floor(bench->run.time_limit * bench->channel[channel].rate + 1e-6);
}

size_t up_bench_room(const up_bench *bench) {
    size_t sum = 0;
    if (!(bench->run.time_limit > 0 && bench->run.time_limit <= 3600) || bench->channels > UP_TRACKS_MAX) {
        return 0;
    }
    for (int i = 0; i < bench->channels; i++) {
        if (!channel_makes_sense(&bench->channel[i])) {
            return 0;
        }
        sum += readings_of(bench, i);
    }
    return sum;
}

/* A multiple of the fastest channel's rate, so that its readings need no interpolation. */
static double fine_interval(const up_bench *bench) {
    double fastest = 1;
    for (int i = 0; i < bench->channels; i++) {
        fastest = up_max(fastest, bench->channel[i].rate);
    }
    return 1 / (fastest * up_max(1, ceil(bench->fine_rate_least / fastest)));
}

static void begin(up_recorder *r, const up_values *values, double interval, double *room) {
    const up_bench *bench = r->bench;
    for (int i = 0; i < bench->channels; i++) {
        const size_t count = readings_of(bench, i);
        up_channel_begin(&r->channel[i], &bench->channel[i], interval, bench->seed, (uint64_t)i, room, count);
        room += count;
        r->heard |= bench->channel[i].signal == UP_SIGNAL_SOUND;
    }
    up_brushes_begin(&r->brushes, &bench->brushes, values, interval, bench->seed);
    up_pulse_leads_begin(&r->leads, bench, values);
    up_whine_begin(&r->whine, values, bench->seed);
    r->joint_kept = up_exp(-2 * UP_PI * JOINT_CORNER * interval);
    r->drive = bench->run.leads_direct || bench->run.leads_open ? UP_DRIVEN_NOT : UP_DRIVEN_BRAKE;
}

up_status up_bench_record(const up_values *values, const up_bench *bench, double *room, size_t size,
                          up_recorded *recorded, up_outcome *outcome) {
    const size_t needed =
        bench->current_limit > 0 && bench->mounting != UP_MOUNTING_ROTOR_LOCKED ? 0 : up_bench_room(bench);
    *recorded = (up_recorded){0};
    if (needed == 0 || needed > size) {
        return needed == 0 ? UP_BAD_OPTION : UP_MEMORY_TOO_SMALL;
    }
    up_values mounted;
    up_door door, door_alone;
    up_bench_mount(values, bench->mounting, &mounted);
    up_status status = up_door_prepare(&mounted, bench->run.temperature, &door);
    if (status != UP_OK) {
        return status;
    }
    if (bench->mounting == UP_MOUNTING_ROTOR_LOCKED) {
        door.motor_friction = 1e6; /* N m: a vice */
    }
    const double interval = fine_interval(bench);
    up_recorder r = {.bench = bench, .door = &door};
    begin(&r, &mounted, interval, room);
    up_run_options run = bench->run;
    run.sample_interval = interval;
    run.rest_time = run.time_limit; /* records standing still, too */
    up_outcome own;
    const up_sink sink = {.context = &r, .sample = on_sample, .event = on_event, .edge = on_edge, .stop = on_stop};
    status = up_run(&door, &run, &sink, outcome != NULL ? outcome : &own, NULL);
    if (r.slipped && (status == UP_OK || status == UP_STOPPED)) {
        status = run_on(&r, values, interval, &door_alone);
    }
    for (int i = 0; i < bench->channels && status == UP_OK; i++) {
        up_channel_end(&r.channel[i], bench->zero_time, &recorded->track[i]);
        recorded->tracks = i + 1;
    }
    return status;
}

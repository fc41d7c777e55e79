/* A virtual bench: runs the drive as a person on the bench would and records it as instruments would show it.
 *
 * The core moves the drive (core/sim/run.h); here are the mounting, the probes, and what the core leaves out of what is
 * seen: brushes and commutator, contact of a bad joint, pulses lost or doubled on the lead, a gear that lets go. What comes out is
 * the same structure that a file's recording becomes (analysis/fit/recorded.h). Simulated recordings are no measurements.
 *
 * SI units, kelvin; raising is positive. The same arguments give the same bits. Nothing is allocated; the caller owns the
 * room for the readings. */
#ifndef UPSTOP_ANALYSIS_BENCH_VIRTUAL_BENCH_H
#define UPSTOP_ANALYSIS_BENCH_VIRTUAL_BENCH_H

#include "analysis/bench/brushes.h"
#include "analysis/bench/instrument.h"
#include "core/sim/run.h"

/* What hangs on the motor. */
#define UP_MOUNTING_LIST(X)                                                                     \
    X(IN_DOOR, "in the door", "everything as the sheet says")                                   \
    X(GLASS_OFF, "glass off", "regulator without glass and seals; a lift rail of 0.1 kg stays") \
    X(MOTOR_FREE, "motor free", "motor with worm gear and damper alone; pinion drag stays")     \
    X(ROTOR_LOCKED, "rotor locked", "armature held")

typedef enum up_mounting {
#define UP_MOUNTING_ENUM(id, name, text) UP_MOUNTING_##id,
    UP_MOUNTING_LIST(UP_MOUNTING_ENUM)
#undef UP_MOUNTING_ENUM
        UP_MOUNTING_COUNT
} up_mounting;

const char *up_mounting_name(up_mounting mounting); /* "glass off"; static storage; NULL outside the list */
const char *up_mounting_text(up_mounting mounting);

/* What the encoder's lead does that the core's encoder does not. Edges that the core loses (encoder.missed_share,
 * run.faults.lost_edge) are missing here too: the lead changes its level with each edge that arrives. */
typedef struct up_pulse_line {
    double doubled_share; /* of edges that come twice more, as a contact that bounces, 0..1 */
    double bounce_time;   /* s, how long the bounce lasts                                  */
    double limit_chatter; /* share of 2 ms during which a closed limit contact reads open   */
} up_pulse_line;

typedef struct up_bench {
    up_mounting mounting;
    up_run_options run;     /* time_limit: how long it records, s; sample_interval and rest_time are not looked at  */
    double zero_time;       /* s of the run that the recording calls 0: what comes before is before the trigger      */
    double fine_rate_least; /* Hz; the true signals are reckoned at least that often                                  */
    double slip_travel;     /* m: the gear lets go when the glass gets there; UP_ABSENT: never. Raising only          */
    double slip_knock;      /* share of the current in the knocking of the teeth that are left                       */
    double joint_flicker;   /* ohm, r.m.s. change of a bad joint's resistance, below about 30 Hz                      */
    double current_limit; /* A, of a bench supply; 0: none. Only with the rotor locked: the core knows no such supply */
    up_brushes brushes;   /* brushes and commutator                                                                */
    up_pulse_line line;   /* encoder's and limit contact's leads                                                  */
    uint64_t seed;        /* of all that is chance here; run.seed is the core's                                    */
    int channels;         /* 0..UP_TRACKS_MAX                                                                      */
    up_channel channel[UP_TRACKS_MAX];
} up_bench;

/* The window closes by one-touch, the switch pulled for 0.4 s, in the door; records 6 s, 0.2 s of it before the trigger; sound
 * brushes; no channel. */
void up_bench_default(up_bench *bench);

/* By the controller: the switch pulled through for one-touch at zero_time, raise +1 or lower -1, from that travel, m. */
void up_bench_one_touch(up_bench *bench, int direction, double start_travel);

/* And the same hand again at a later time, s of the run; a window that still runs then stops. */
void up_bench_one_touch_then(up_bench *bench, int direction, double time);

/* The leads held to a battery of that voltage: raise +1 or lower -1 from zero_time for `time` s, then open. */
void up_bench_leads(up_bench *bench, int direction, double voltage, double time);

/* The same, and after a pause the other way round for `time` s again: a recording with both directions. */
void up_bench_leads_both(up_bench *bench, int direction, double voltage, double time, double pause);

/* An ideal channel: no noise, no bandwidth, no steps. NULL: no room. */
up_channel *up_bench_add(up_bench *bench, up_signal signal, up_probe probe, double rate);

/* Instruments as workshops have them: adds lead voltage, current, and the encoder's and limit contact's leads where the
 * instrument can show them, with offsets and gain errors drawn from the bench's seed. */
#define UP_INSTRUMENT_LIST(X)                                                  \
    X(SCOPE, "scope", "oscilloscope of 8 bits, clamp of 20 kHz, 10 kHz")       \
    X(CARD, "DAQ card", "card of 16 bits, shunt, four inputs in turns, 5 kHz") \
    X(LOGGER, "logger", "logger of 12 bits, clamp of 400 Hz, readings averaged, 500 a second, no pulses")

typedef enum up_instrument {
#define UP_INSTRUMENT_ENUM(id, name, text) UP_INSTRUMENT_##id,
    UP_INSTRUMENT_LIST(UP_INSTRUMENT_ENUM)
#undef UP_INSTRUMENT_ENUM
        UP_INSTRUMENT_COUNT
} up_instrument;

const char *up_instrument_name(up_instrument instrument);
const char *up_instrument_text(up_instrument instrument);
void up_bench_connect(up_bench *bench, up_instrument instrument);

/* Readings (doubles) that the bench's channels need together; 0: it makes no sense. */
size_t up_bench_room(const up_bench *bench);

/* The sheet's numbers with that mounting. IN_DOOR and ROTOR_LOCKED: as they are. */
void up_bench_mount(const up_values *values, up_mounting mounting, up_values *mounted);

/* Records. values: the door, faults and all. room: up_bench_room doubles, filled and pointed to by *recorded, track i being
 * channel i. outcome: the run's; with a gear that let go, that of the run up to there; may be NULL.
 * UP_OK; UP_MEMORY_TOO_SMALL; UP_BAD_OPTION (a channel or the run); or what up_door_prepare and up_run return. */
up_status up_bench_record(const up_values *values, const up_bench *bench, double *room, size_t size,
                          up_recorded *recorded, up_outcome *outcome);

#endif

/* Speed and count from the lead of an encoder: levels and threshold from the data, edges between samples, lost and
 * doubled pulses, the unevenness of a turn learned. docs/ripple.md explains the method. */
#ifndef UPSTOP_ANALYSIS_FIT_PULSES_H
#define UPSTOP_ANALYSIS_FIT_PULSES_H

#include <stddef.h>

#include "analysis/fit/recorded.h"
#include "core/base/status.h"

enum { UP_PULSES_PER_TURN = 256, UP_PULSES_STROKES = 64 };

typedef struct up_pulses_request {
    const up_track *track;   /* level of one lead: V or 0..1                                            */
    int per_turn;            /* pulses a turn of the shaft that carries them, 1 to UP_PULSES_PER_TURN    */
    double rest;             /* s without a pulse that end a stroke                                     */
    const up_track *voltage; /* at the motor, V, or NULL: where it fades or changes sign between two pulses a stroke
                              * ends, because a motor that turns round leaves a gap that looks like lost pulses      */
} up_pulses_request;

/* No track, one pulse a turn, a rest of 0.25 s. */
void up_pulses_request_default(up_pulses_request *request);

/* A pulse: from one rising edge to the next. The last one of a stroke has no period. */
typedef struct up_pulse {
    double time;   /* s, rising edge                                                                 */
    double period; /* s to the next rising edge; NaN: last of its stroke                             */
    double duty;   /* 0..1 of the period high; NaN with lost or doubled pulses in it, or no period   */
    double speed;  /* rad/s of that shaft, mean over the period, the turn's unevenness taken out       */
    double half;   /* rad/s: 95 % interval is speed -+ half                                          */
    int lost;      /* pulses missing inside the period                                               */
    int doubled;   /* edges inside the period that were none                                         */
    int place;     /* 0..per_turn-1: place in the turn; counting starts anew in each stroke          */
} up_pulse;

typedef struct up_pulses_stroke {
    size_t first, end;    /* pulses first..end-1                          */
    double start, finish; /* s                                            */
    size_t seen;          /* rising edges as they came                    */
    size_t lost, doubled; /* found missing, found too many                */
    size_t count;         /* seen - doubled + lost: what should have come */
} up_pulses_stroke;

typedef enum up_pulses_verdict {
    UP_PULSES_TOLD,
    UP_PULSES_NO_LEVELS, /* the lead does not stand at two levels: nothing moved, or it is no encoder's lead          */
    UP_PULSES_TOO_SLOW,  /* half the pulses last fewer than four samples: edges may have been missed by the sampling  */
    UP_PULSES_FEW,       /* fewer than three pulses in any stroke                                                     */
    UP_PULSES_VERDICTS
} up_pulses_verdict;

/* One sentence, static. */
const char *up_pulses_verdict_text(up_pulses_verdict verdict);

typedef struct up_pulses_result {
    up_pulses_verdict verdict;
    size_t count;
    up_pulse *pulse;               /* (count) in the memory handed in                            */
    int strokes, strokes_left_out; /* the latter: more than fit below                            */
    up_pulses_stroke stroke[UP_PULSES_STROKES];
    double low, high;                 /* levels, in the track's unit                                */
    double rises_at, falls_at;        /* threshold with hysteresis                                  */
    int per_turn;                     /* as asked                                                   */
    int shares_learned;               /* 1: the shares are of at least eight whole turns            */
    double share[UP_PULSES_PER_TURN]; /* length of each place's period over the mean one            */
    double duty[UP_PULSES_PER_TURN];  /* median of each place; NaN when none                        */
    double scatter;                   /* relative standard deviation of periods round a smooth course */
} up_pulses_result;

/* Bytes that up_pulses_find takes; reads the track through. 0 when the request makes no sense. */
size_t up_pulses_memory(const up_pulses_request *request);

/* UP_OK whatever the verdict; UP_BAD_OPTION for a request that makes no sense; UP_MEMORY_TOO_SMALL. */
up_status up_pulses_find(const up_pulses_request *request, void *memory, size_t size, up_pulses_result *result);

#endif

/* The pieces of ripple.h, between its files. Nothing here is for others. */
#ifndef UPSTOP_ANALYSIS_FIT_RIPPLE_PARTS_H
#define UPSTOP_ANALYSIS_FIT_RIPPLE_PARTS_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/fit/ripple.h"
#include "analysis/fit/room.h"
#include "analysis/fit/spectrum.h"

enum { UP_RIPPLE_PEAKS = 12, UP_RIPPLE_LINES_MAX = 64 };

/* The recording as it is worked on. Frame f stands around sample f * hop. */
typedef struct up_ripple_signal {
    size_t count, frames;
    double start, interval; /* s, after thinning             */
    double raw_interval;    /* s, before                     */
    int length, hop;        /* samples: frame, step          */
    float *value;           /* (count)                       */
    uint8_t *missing;       /* (count) 1: filled or clipped  */
    double *angle;          /* (count) turns of whatever the frames are bent to */
    float *guide;           /* (frames) rev/s; NaN: none     */
    float *load;            /* (frames) mean magnitude of the current, sound: of its spread */
    uint8_t *poor;          /* (frames) 1: too much missing  */
    uint8_t *rest;          /* (frames) 1: hardly any current, so no ripple; never for sound */
    int guided;             /* 1: guide[] holds numbers      */
    double free_speed;      /* rev/s that the highest voltage would give without load; 0 without guide */
} up_ripple_signal;

/* Score of lines over logarithmic frequency, and the path through it. */
typedef struct up_ripple_map {
    int states;                     /* of frequency                                               */
    double lowest, top;             /* Hz                                                         */
    int32_t *edge;                  /* (states + 1) bins of the spectrum where a state begins             */
    uint8_t *score;                 /* (frames x states) 20 ln(1 + power over floor), flat above 150     */
    int8_t *from;                   /* (frames x states) step the path came by, or UP_FROM_REST   */
    float *best, *next;             /* (states)                                                   */
    int32_t *rest_from;             /* (frames) state that a rest followed on; -1: a rest         */
    float *peak_place, *peak_power; /* (frames x UP_RIPPLE_PEAKS) Hz, over floor; 0: none */
    double *log_power;              /* (bins) sum over `sampled` frames with current of ln power, absolute */
    size_t running, sampled;
} up_ripple_map;

/* A line through the frames. */
typedef struct up_ripple_path {
    float *frequency; /* (frames) Hz; NaN where there is none */
    double gain;      /* what it scored in all                */
    size_t frames;    /* with a line                          */
} up_ripple_path;

/* Lines that keep a fixed ratio to a path, in orders of that path. */
typedef struct up_ripple_orders {
    int count;
    double order[UP_RIPPLE_LINES_MAX]; /* rising                              */
    double power[UP_RIPPLE_LINES_MAX]; /* over floor, mean of the stretches   */
    double step;                       /* one bin, in orders                  */
    double lowest, highest;            /* orders that could be seen           */
    int stretches;
} up_ripple_orders;

/* ripple_signal.c */
int up_ripple_frame_length(const up_ripple_request *request, double interval);
void up_ripple_signal_plan(const up_ripple_request *request, up_ripple_signal *signal);
void up_ripple_signal_take(up_ripple_signal *signal, up_room *room);
void up_ripple_signal_fill(const up_ripple_request *request, up_ripple_signal *signal);
/* angle[] from a frequency at each frame, Hz (NaN: taken over from its neighbours); the least that counts is a share of
 * the largest. */
void up_ripple_bend(up_ripple_signal *signal, const float *frequency, double least_share);
/* A path's frequencies made smooth for bending. to: (frames). */
void up_ripple_smooth(const up_ripple_signal *signal, const float *frequency, float *to);
/* ripple_fixed.c: lines that stay where they are while the motor rests and while it runs; takes them out of the samples.
 * Returns how many; frequency: Hz, at most UP_RIPPLE_ARTEFACTS. */
int up_ripple_fixed(up_ripple_signal *signal, const up_ripple_map *map, float *scratch, double *frequency);
/* Samples of a frame around sample `middle`, evenly spaced in angle, `per_sample` of angle each. 0 when more than a
 * fifth of it lies outside the recording. */
int up_ripple_cut(const up_ripple_signal *signal, double middle_angle, double per_sample, int length, float *out);
double up_ripple_angle_at(const up_ripple_signal *signal, double sample);

/* ripple_path.c */
enum { UP_RIPPLE_PER_OCTAVE = 139 }; /* states: 0.5 % each */
int up_ripple_states(double lowest, double top);
double up_ripple_state_frequency(const up_ripple_map *map, double state);
void up_ripple_map_fill(const up_ripple_signal *signal, up_spectrum *spectrum, float *sample, float *power,
                        up_ripple_map *map);
void up_ripple_path_find(const up_ripple_signal *signal, up_ripple_map *map, up_ripple_path *path);
void up_ripple_path_erase(const up_ripple_signal *signal, up_ripple_map *map, const up_ripple_path *path);

/* ripple_orders.c */
void up_ripple_orders_find(up_ripple_signal *signal, const up_ripple_path *path, up_spectrum *spectrum, float *sample,
                           float *power, float *sum, double top, up_ripple_orders *orders);

/* ripple_reading.c: fills readings, per_turn_told and segment choices; returns how much likelier (logarithm) the best
 * reading is than lines that have nothing to do with the motor. guide_log: ln(line / guide), NaN without. */
double up_ripple_read(const up_ripple_request *q, const up_ripple_orders *orders, double line, double guide_log,
                      up_ripple_result *r);

/* ripple_moves.c: does a path move with the motor? */
typedef enum up_ripple_motion {
    UP_RIPPLE_WITH_MOTOR, /* it moves, and as the guide does when there is one */
    UP_RIPPLE_STEADY,     /* nothing moved that it could have moved with      */
    UP_RIPPLE_STAYS,      /* the motor's speed moves and the line does not              */
    UP_RIPPLE_AGAINST     /* it falls when the speed rises, or rises far more: folded over half the sampling rate */
} up_ripple_motion;
/* guide_log: median of ln(line / guide), NaN without. confirmed: 1 when the guide moved enough to be sure that the line
 * was not folded. scratch: (frames) floats. */
up_ripple_motion up_ripple_moves(const up_ripple_signal *signal, const up_ripple_path *path, float *scratch,
                                 double *guide_log, int *confirmed);
double up_ripple_quantile(float *value, size_t count, double share); /* sorts; NaN when count is 0 */

/* ripple_fine.c: speeds of the frames from the lines of the best reading. */
void up_ripple_fine(up_ripple_signal *signal, const up_ripple_path *path, const up_ripple_orders *orders,
                    up_spectrum *spectrum, float *sample, float *power, float *smooth, up_ripple_result *result);

/* Everything at work on one recording. */
typedef struct up_ripple_desk {
    const up_ripple_request *request;
    up_ripple_result *result;
    up_ripple_signal signal;
    up_ripple_map map;
    up_ripple_path path, kept; /* the one looked at, the best so far */
    up_ripple_orders orders;
    up_spectrum *frame, *stretch; /* frames, stretches over angle */
    float *sample, *power, *sum, *scratch;
} up_ripple_desk;

/* What the search came to. */
typedef struct up_ripple_search {
    int stayed, against; /* lines that were refused                      */
    int have;            /* 1: `kept` holds a path                       */
    int steady;          /* of the kept one                              */
    int confirmed;       /* of the kept one: the guide moved with it */
    double evidence;
    up_ripple_orders orders;
    up_ripple_result readings;
} up_ripple_search;

/* ripple_search.c */
enum { UP_RIPPLE_FRAMES_LEAST = 4 }; /* of a path */
void up_ripple_search_for(up_ripple_desk *desk, up_ripple_search *found);

/* ripple_limits.c */
double up_ripple_smallest_seen(up_ripple_desk *desk);
void up_ripple_say_rate(up_ripple_desk *desk);
/* Does the ripple of the guide's fast speeds lie above what this sampling shows? */
int up_ripple_too_slow(up_ripple_desk *desk);
up_ripple_verdict up_ripple_why_not(up_ripple_desk *desk, const up_ripple_search *found);
int up_ripple_may_be_folded(up_ripple_desk *desk, const up_ripple_search *found);

#endif

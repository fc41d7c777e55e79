/* Speed of a brushed motor over time without a sensor: from the ripple that commutation puts on its current, or from
 * the sound of it.
 *
 * A recording is cut into short frames; a path of lines is sought through their spectra; what the found line is of a
 * turn of the armature (ripple, a sub-line of it, a shaft order) is judged from all lines that move with it and from a
 * coarse guide, the speed (u - R i - U_br) / K that voltage and current allow. docs/ripple.md explains the method and
 * says what was measured of it.
 *
 * The ripple does not tell the direction: speeds are magnitudes. */
#ifndef UPSTOP_ANALYSIS_FIT_RIPPLE_H
#define UPSTOP_ANALYSIS_FIT_RIPPLE_H

#include <stddef.h>

#include "analysis/fit/recorded.h"
#include "core/base/status.h"

typedef struct up_ripple_request {
    const up_track *track; /* current or sound; evenly spaced, or with times of which the mean step is taken */

    int segments; /* commutator bars; 0: to be found                 */
    int poles;    /* magnets in the case: 2, 4, ...; 0: 2 or 4 are tried */

    /* The coarse guide; voltage NULL or constant NaN: none. */
    const up_track *voltage; /* at the motor, V                                             */
    const up_track *current; /* A; NULL: the track itself, when that is a current           */
    double resistance;       /* ohm, winding and what lies between the voltage's two points */
    double brush_drop;       /* V, both brushes                                             */
    double constant;         /* V s                                                         */
    double guide_tolerance;  /* the guide's speed is right within this share, 95 %          */

    double slowest, fastest; /* rad/s, armature: nothing else is looked for                         */
    double frame;            /* s, length of a frame; 0: the power of two of samples nearest 0.1 s  */
} up_ripple_request;

/* No track, nothing known of the motor, guide tolerance 0.2, 20 to 800 rad/s (common practice: door motors stay below). */
void up_ripple_request_default(up_ripple_request *request);

typedef enum up_ripple_verdict {
    UP_RIPPLE_TOLD,      /* speed follows                                                                        */
    UP_RIPPLE_AMBIGUOUS, /* a line moves with the motor, but what it is of a turn is open: see readings           */
    UP_RIPPLE_NONE,      /* no line stands above the noise: see smallest_seen                                     */
    UP_RIPPLE_FILTERED,  /* none, though a third of a per cent of the current would have been seen: filtered      */
    UP_RIPPLE_TOO_SLOW,  /* the sampling is too slow for the ripple of these speeds: `rate_wanted` would do      */
    UP_RIPPLE_ARTEFACT,  /* the only lines there are do not move when the speed does                             */
    UP_RIPPLE_AT_REST,   /* none; by the guide the motor stood (below 0.15 of what the voltage would give)        */
    UP_RIPPLE_TOO_SHORT, /* fewer than four frames                                                               */
    UP_RIPPLE_VERDICTS
} up_ripple_verdict;

/* One sentence in plain words, without numbers; static. */
const char *up_ripple_verdict_text(up_ripple_verdict verdict);

/* Speed in the middle of a frame. */
typedef struct up_ripple_speed {
    double time;       /* s, on the recording's clock                                           */
    double speed;      /* rad/s of the armature, at this time; NaN: it cannot be told           */
    double half;       /* rad/s: 95 % interval is speed -+ half; the reading taken as right     */
    double over_noise; /* power of the lines used over the noise in one bin; NaN where not told */
} up_ripple_speed;

/* One way to read the line. */
typedef struct up_ripple_reading {
    int line;          /* order of the tracked line: so many periods a turn                                  */
    int per_turn;      /* commutations a turn N                                                              */
    int segments;      /* the likeliest number of bars with this N ...                                       */
    int poles;         /* ... and poles                                                                      */
    double factor;     /* speed with this reading over the speed given                                       */
    double likelihood; /* 0..1, of all readings looked at, with the priors of docs/ripple.md                 */
} up_ripple_reading;

enum { UP_RIPPLE_READINGS = 8, UP_RIPPLE_ARTEFACTS = 8, UP_RIPPLE_SEGMENTS = 8 };

typedef struct up_ripple_result {
    up_ripple_verdict verdict;
    size_t count;           /* of frames; 0 when too short */
    up_ripple_speed *speed; /* (count) in the memory handed in; all NaN unless told or ambiguous (best reading)   */
    double share_told;      /* of the frames                                                                     */

    int readings; /* best first; more than one is given when others keep a likelihood above 0.01                  */
    up_ripple_reading reading[UP_RIPPLE_READINGS];
    double speed_likelihood; /* 0..1 that the line is of the order taken, whatever N                              */
    int per_turn_told;   /* 1: N of the best reading has a likelihood of 0.95 (speed can be told without it)        */
    int segment_choices; /* numbers of bars that this N allows with the poles allowed, likeliest first          */
    int segment_choice[UP_RIPPLE_SEGMENTS];

    int steady;    /* 1: neither line nor guide moved; a constant artefact of the sampling would look the same  */
    int artefacts; /* lines that stay where they are while the motor's speed moves                             */
    double artefact[UP_RIPPLE_ARTEFACTS]; /* Hz                                                                   */

    double rate;          /* Hz, sampling as found                                                                 */
    double rate_wanted;   /* Hz: 2.5 times the ripple of the fastest speed; NaN when N or that speed is not known   */
    double smallest_seen; /* amplitude of a ripple that would just have been followed, over the mean current; NaN
                           * for sound and when nothing ran                                                       */
    double guide_ratio;   /* median of speed over guide; NaN without guide: tells how far R, U_br, K are off        */
} up_ripple_result;

/* Bytes that up_ripple_find takes at most; 0 for a request without track. About 2 bytes for each byte of the track. */
size_t up_ripple_memory(const up_ripple_request *request);

/* UP_OK whatever the verdict; UP_BAD_OPTION for a request that makes no sense (no track, unknown signal, bounds that
 * are none, sampling not above 0); UP_MEMORY_TOO_SMALL. Result and memory are the caller's. */
up_status up_ripple_find(const up_ripple_request *request, void *memory, size_t size, up_ripple_result *result);

#endif

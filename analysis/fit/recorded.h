#ifndef UPSTOP_ANALYSIS_FIT_RECORDED_H
#define UPSTOP_ANALYSIS_FIT_RECORDED_H

/* One recording as the analysis sees it: pure arrays in SI units, no file behind them. Whoever fills the structure owns
 * every array; the analysis reads them and keeps no pointer after it returns. */

#include <stddef.h>

enum { UP_TRACKS_MAX = 16 };

/* What was measured. Voltage is that between the two heavy leads, current that in them; both are positive when the
 * drive closes the glass. */
typedef enum up_signal {
    UP_SIGNAL_VOLTAGE,     /* V */
    UP_SIGNAL_CURRENT,     /* A */
    UP_SIGNAL_SPEED,       /* rad/s of the armature, or m/s of the glass */
    UP_SIGNAL_POSITION,    /* rad of the armature, or m of the glass */
    UP_SIGNAL_PULSES,      /* level of an encoder lead: 0 .. 1, or V */
    UP_SIGNAL_FORCE,       /* N */
    UP_SIGNAL_TEMPERATURE, /* K */
    UP_SIGNAL_SOUND,       /* pressure in any unit */
    UP_SIGNAL_COUNT
} up_signal;

/* One signal on its own time base. */
typedef struct up_track {
    up_signal signal;
    size_t count;               /* samples */
    double start, interval;     /* s, when evenly spaced; interval NaN: time[] holds */
    const double *time;         /* s, `count` of them, rising; NULL when evenly spaced */
    const double *value;        /* `count` of them in the unit above; NaN: missing */
    int on_glass;               /* speed and position: 1 the glass (m/s, m), 0 the armature (rad/s, rad) */
    double low_clip, high_clip; /* values at and beyond which the instrument clipped; NaN: none seen */
    double step;                /* smallest step that the instrument can show; NaN: not known */
} up_track;

typedef struct up_recorded {
    int tracks;
    up_track track[UP_TRACKS_MAX];
} up_recorded;

#endif

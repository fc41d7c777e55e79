#ifndef UPSTOP_ANALYSIS_FIT_FIT_PARTS_H
#define UPSTOP_ANALYSIS_FIT_FIT_PARTS_H

/* What the files of the fit share; nobody else needs it. */

#include "analysis/fit/fit.h"
#include "analysis/fit/least_squares.h"
#include "analysis/train_steady.h"

/* A stretch between two anchors. Integrals from its start to its end. */
typedef struct up_window {
    double start, end;     /* s */
    double turned;         /* rad of the armature */
    double leads, battery; /* V s */
    double current, brush, warmed;
    double amps_gain, speed_gain; /* A, rad/s from start to end; speed_gain NaN: not known */
    double box_rise;              /* K, in the middle */
    double speed;                 /* rad/s, mean */
    double speed_rate;            /* rad/s2, over many turns around it; 0 where that is not to be had */
    int direction, stalled;
    int fine; /* a turn or little more: for torques, which the time of an edge hardly moves */
    int recording;
    up_place_on_travel place;    /* at its middle; travel NaN: not known */
    up_place_on_travel aside[2]; /* UP_FIT_ASIDE lower and higher */
} up_window;

/* How far off the place may be that a stall tells: the run into the stop winds everything up more than the current holds,
 * and the worm keeps it. m; the offset itself is found along with the rest. */
#define UP_FIT_ASIDE 0.012

/* Samples of a fast change. */
typedef struct up_transient {
    double *time, *leads, *current; /* s, V, A (count) */
    size_t count;
    double rise, box_rise; /* K at its start */
    int direction;
    double extra_start[2], extra_deviation[2]; /* what has to be found besides: current and speed at the first sample */
    int extra[2];                              /* their places among the parameters; -1: none */
} up_transient;

/* Places of the parameters: quantities first, extras behind. */
enum { UP_FIT_WINDOWS_MAX = 700, UP_FIT_SAMPLES_MAX = 6000, UP_FIT_EXTRAS_MAX = UP_SQUARES_MOST - UP_FIT_COUNT };

typedef struct up_fit_group {
    up_fit_group_kind kind;
    int recording, first, rows;
    double deviation; /* of one row, in the group's unit */
    double
        widening; /* standard deviations of means are wider by the root of this: neighbours have something in common */
    const up_window *window;
    up_transient *transient;
} up_fit_group;

/* A speed found in the current's ripple: magnitudes, NaN where it is not told. */
typedef struct up_fit_speed_track {
    up_track track;
    double *time; /* owned: times and behind them values */
    int there, unsure;
} up_fit_speed_track;

typedef struct up_fit_work {
    const up_fit_request *request;
    const up_fit_speed_track *speed; /* of each recording */
    up_door door;                    /* the sheet's, at the temperature */
    up_door *scratch;                /* a copy to put other numbers into */
    up_course course[UP_FIT_RECORDINGS_MAX];
    up_window *window[UP_FIT_RECORDINGS_MAX]; /* of each recording */
    int windows[UP_FIT_RECORDINGS_MAX];
    up_transient transient[12];
    int transients;
    int extras;
    int offset[UP_FIT_RECORDINGS_MAX]; /* extra that is the offset of the places, m; -1: none */
    double extra_start[UP_SQUARES_MOST], extra_deviation[UP_SQUARES_MOST];
    up_fit_group group[UP_FIT_GROUPS_MAX];
    int groups, rows;
    unsigned used; /* bits of quantities that stand in some row */
    /* what is solved for: */
    int parameters;
    int quantity[UP_SQUARES_MOST]; /* of parameter j; UP_FIT_COUNT + k: extra k */
    double
        base[UP_FIT_COUNT + UP_SQUARES_MOST]; /* all quantities and extras, those not solved for at the sheet's value */
    double deviation[UP_FIT_COUNT + UP_SQUARES_MOST]; /* known before; 0: fixed; NaN: nothing known */
    /* the last place asked for: */
    double *residual, *slope, *moved; /* (rows), (rows)(parameters), (rows) in units of the group's deviation */
    double at[UP_SQUARES_MOST];
    int fresh, fresh_slope;
    unsigned advice;
} up_fit_work;

/* Quantities that stand in the rows of a kind, bits. */
unsigned up_fit_reads(up_fit_group_kind kind, const up_fit_work *work, int recording);

/* Door with these numbers put in: electrical and mechanical members that rows read. p: UP_FIT_COUNT quantities. */
void up_fit_put(const up_fit_work *work, const double *p, up_door *door);

/* Residuals of one group at p (quantities, extras), unscaled: what was recorded less what the numbers say. */
void up_fit_electric_rows(const up_fit_work *work, const up_fit_group *group, const double *p, double *residual);
void up_fit_mechanic_rows(const up_fit_work *work, const up_fit_group *group, const double *p, double *residual);

/* Mean current left over in a window with the glass when `more` N are added to the drag, A; door: from up_fit_put with the
 * same p. */
double up_fit_current_left(const up_fit_work *work, const double *p, const up_door *door, const up_window *window,
                           double more);

/* Mean speed in a window that the voltage leaves, rad/s; without a voltage the one that was counted. */
double up_fit_speed(const up_fit_work *work, const double *p, const up_window *window);

/* The place of a window with the offset put in. */
void up_fit_place_of(const up_fit_work *work, const double *p, const up_window *window, up_place_on_travel *place);

/* fit_ripple.c: fills *out (zeroed by the caller) where a recording has no motion of its own. Returns 0, or -1 without memory. */
int up_fit_find_speed(const up_fit_request *request, int recording, up_fit_speed_track *out);

/* places.c: where the glass is. A stall at a stop, or a position track, is what the angle of a recording refers to. */
typedef struct up_fit_reference {
    int known;
    double angle;  /* rad of the armature in the recording */
    double output; /* rad of the output plus wind-up there */
} up_fit_reference;

void up_fit_refer(const up_fit_work *work, int recording, up_fit_reference *reference);
void up_fit_refer_to_stop(const up_fit_work *work, const up_course *course, const up_segment *stall,
                          up_fit_reference *reference);
/* Place of a window in whose middle the armature stands at that angle; travel NaN: not known. */
void up_fit_place_window(const up_fit_work *work, const up_fit_reference *reference, double angle, up_window *window);

/* windows.c: cuts a course into windows, with places where they are known. Returns 0, or -1 without memory. */
int up_fit_cut(up_fit_work *work, int recording, up_fit_course *seen);
/* transients.c: takes the fast changes out of a recording. */
int up_fit_take_transients(up_fit_work *work, int recording);
/* fit_groups.c: the rows that a recording gives, its windows sorted by kind. Returns 0, or -1 without memory. */
int up_fit_add_groups(up_fit_work *work, int recording);
/* fit_solve.c: what is solved for; the numbers of a place, UP_FIT_COUNT quantities and the extras; the solution. */
void up_fit_choose_parameters(up_fit_work *work);
void up_fit_spread_out(const up_fit_work *work, const double *parameter, double *p);
up_squares_end up_fit_solve(up_fit_work *work, int rounds, up_squares_result *solved);
/* fit_result.c */
void up_fit_tell_residuals(const up_fit_work *work);
void up_fit_fill_result(const up_fit_work *work, const up_squares_result *solved, up_fit_result *result);
/* profile.c: drag by place with the fitted numbers. */
void up_fit_profile(const up_fit_work *work, const double *p, const up_squares_result *solved, up_fit_result *result);
/* advice.c */
void up_fit_advise(const up_fit_work *work, up_fit_result *result);

#endif

/* What happens in one closing onto a rod: when contact, excess, decision, standstill; where the motion energy went. */
#ifndef UPSTOP_ANALYSIS_PINCH_EXPLAIN_H
#define UPSTOP_ANALYSIS_PINCH_EXPLAIN_H

#include "analysis/pinch_map.h"

/* X(id, name, text): moments, in their usual order. */
#define UP_PINCH_MOMENT_LIST(X)                                                        \
    X(CONTACT, "contact", "glass meets the rod")                                       \
    X(EXCESS, "excess", "reckoned excess passes the threshold")                        \
    X(SEEN, "seen", "controller decides that something is in the way")                 \
    X(BRIDGE_OFF, "bridge_off", "bridge stops driving")                                \
    X(STANDSTILL, "standstill", "glass stands: largest force")                         \
    X(LOWERING, "lowering", "bridge drives down")                                      \
    X(LEFT, "rod_left", "glass leaves the rod")                                        \
    X(TOP_TAKEN, "taken_for_top", "controller takes this place for the top and rests") \
    X(REST, "rest", "glass at rest, controller done")

typedef enum up_pinch_moment {
#define UP_PINCH_MOMENT_ENUM(id, name, text) UP_PINCH_AT_##id,
    UP_PINCH_MOMENT_LIST(UP_PINCH_MOMENT_ENUM)
#undef UP_PINCH_MOMENT_ENUM
        UP_PINCH_MOMENTS
} up_pinch_moment;

const char *up_pinch_moment_name(up_pinch_moment moment); /* static storage */
const char *up_pinch_moment_text(up_pinch_moment moment);

typedef struct up_pinch_instant {
    double after; /* s since contact; NaN: did not happen       */
    double depth; /* m the glass went on along the travel since contact */
    double force; /* N on the rod, between the edges            */
    double speed; /* m/s along the travel                       */
} up_pinch_instant;

typedef struct up_pinch_story {
    up_pinch_result result; /* the closing once more, at a tolerance of 1e-8            */
    up_pinch_result whole;  /* the same from the bottom; status UP_BAD_OPTION: from rest, no such closing */
    int stall;              /* 1: decided by a stall, not by the detector               */
    double contact_time;    /* s since the switch                                       */
    up_pinch_instant at[UP_PINCH_MOMENTS];
    double motion, glass_motion;  /* J at contact: everything that moves; of it the glass */
    double flow[UP_LEDGER_COUNT]; /* J between contact and standstill, by account         */
    double least_force;           /* N, up_pinch_least_force                              */
    double rod_only;              /* s to the limit on the rod alone at the contact speed, F = k v t; see limit */
} up_pinch_story;

/* Time from contact until a rod alone would squeeze with `limit` N at a constant speed along the travel: F = k v cos t, s. */
double up_pinch_rod_only(double stiffness, double cosine, double speed, double limit);

/* Runs four closings; given->tolerance does not count, it is 1e-8. limit: N, for rod_only. Returns what up_run says; UP_BAD_OPTION when the rod is not touched. */
up_status up_pinch_explain(const up_pinch_study *given, const up_pinch_point *point, double limit,
                           up_pinch_story *story);

/* ---- what would help ---- */

typedef struct up_pinch_help {
    const up_pinch_change *change;
    double before, after; /* N, largest among the same places in the neighbourhood                            */
    int touched, missed;  /* closings after the change; missed: turned or stopped before the rod               */
    int missed_before;    /* of the same places before the change                                              */
    int unseen;           /* touched, and never turned back                                                    */
    int differs;          /* 0: the change makes no difference for this door                                   */
} up_pinch_help;

/* 1: most closings turn or stop before the rod after the change, more than before it: that relieves nothing. */
int up_pinch_help_evades(const up_pinch_help *help);

enum { UP_PINCH_HELPS_MAX = 20 };

/* Tries every change on the worst cell of a start and places beside it (the same for all), largest relief first, those that
 * evade last.
 * help: UP_PINCH_HELPS_MAX long. Returns how many, 0 when that start has no worst cell. */
int up_pinch_try_helps(const up_pinch_map *map, int cell, up_workers *workers, up_pinch_help *help);

/* The largest force (N) on the same places with rods this much stiffer; 0 when that start has no worst cell. */
double up_pinch_stiffer_force(const up_pinch_map *map, int cell, double factor, up_workers *workers);

/* The same with the detector switched off, as a controller does that gives up protecting when tried again and again. */
double up_pinch_unprotected_force(const up_pinch_map *map, int cell, up_workers *workers);

int up_pinch_change_count(void);
const up_pinch_change *up_pinch_change_at(int index); /* static storage */

#endif

/* Faults of a window drive as changes of the door's numbers and of what the bench shows, with a severity: 0 sound, 1 as bad as
 * workshops meet it while the thing still runs somehow.
 *
 * How much changes is assumed, row by row (docs/bench.md lists it); only directions are common practice. Two faults may be put
 * in one after the other. analysis/faults.h is another matter: single failures and what they do to the squeezing force. */
#ifndef UPSTOP_ANALYSIS_BENCH_DOOR_FAULT_H
#define UPSTOP_ANALYSIS_BENCH_DOOR_FAULT_H

#include "analysis/bench/virtual_bench.h"

/* X(id, name, text, what changes, why, source, families, signal it shows in first) */
#define UP_DOOR_FAULT_LIST(X)                                                                                         \
    X(NONE, "none", "sound", "nothing", "", "", UP_ALL, UP_SIGNAL_CURRENT)                                            \
    X(WORN_BRUSHES, "worn_brushes", "worn brushes",                                                                   \
      "brush drop and winding resistance up, contact noise and drop-outs on the current",                             \
      "short brushes press weakly on a burnt commutator", "common practice, no source; amounts assumed", UP_ALL,      \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(DEAD_SEGMENT, "dead_segment", "dead commutator segment",                                                        \
      "current dips once per turn under each brush, winding resistance up by what that takes from its mean",          \
      "a bar whose coil has come off carries nothing while a brush runs on it",                                       \
      "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_CURRENT)                                       \
    X(DRY_CHANNEL, "dry_channel", "dry run channel",                                                                  \
      "drag of the run channels, friction of the glass in them and extra at rest up, everywhere",                     \
      "flock rubbed off, no lubricant", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_CURRENT)     \
    X(TIGHT_CHANNEL, "tight_channel", "tight run channel at one place", "extra drag about one place of the travel",   \
      "a dented or badly glued channel", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_CURRENT)    \
    X(FROZEN_SEAL, "frozen_seal", "frozen seal",                                                                      \
      "much extra drag in the first millimetres from where the glass stood, and more extra at rest",                  \
      "ice glues glass and seals until they break loose", "common practice, no source; amounts assumed", UP_ALL,      \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(SWOLLEN_SEAL, "swollen_seal", "swollen seals",                                                                  \
      "belt drag, viscous drag and header seal's depth and stiffness up",                                             \
      "rubber swells in oil and wax and presses harder", "common practice, no source; amounts assumed", UP_ALL,       \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(MISALIGNED_TRACK, "misaligned_track", "misaligned track",                                                       \
      "lifting force further off the middle, drag that grows towards the top",                                        \
      "guide and channel draw together and wedge the glass", "common practice, no source; amounts assumed", UP_ALL,   \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(BROKEN_SPRING, "broken_spring", "broken counterbalance spring", "help of the spring down to none",              \
      "only where one is fitted", "geometry", UP_ALL, UP_SIGNAL_CURRENT)                                              \
    X(SLIPPING_GEAR, "slipping_gear", "slipping or stripped gear",                                                    \
      "from a place of the travel on the motor runs alone and knocks; the worse, the lower the place",                \
      "teeth of wheel, pinion, sector or rack are gone there", "common practice, no source; amounts assumed", UP_ALL, \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(FRAYED_CABLE, "frayed_cable", "frayed cable",                                                                   \
      "friction in the sleeves up, cable softer, extra drag where the frayed place enters a guide",                   \
      "broken strands catch and carry nothing", "common practice, no source; amounts assumed", UP_CABLE,              \
      UP_SIGNAL_CURRENT)                                                                                              \
    X(HARD_DAMPER, "hard_damper", "hardened damper", "damper up to eight times as stiff and damping less",            \
      "old rubber", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_CURRENT)                         \
    X(BROKEN_DAMPER, "broken_damper", "broken damper", "free play up to nearly the dogs, stiffness down",             \
      "rubber torn out, the dogs strike", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_CURRENT)   \
    X(LOW_BATTERY, "low_battery", "low battery", "open voltage down by up to 2.6 V, internal resistance up",          \
      "discharged and old", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_VOLTAGE)                 \
    X(BAD_JOINT, "bad_joint", "bad joint in the harness", "contact resistance up by up to 0.35 ohm, and it wobbles",  \
      "corroded plug, broken strands at the hinge", "common practice, no source; amounts assumed", UP_ALL,            \
      UP_SIGNAL_VOLTAGE)                                                                                              \
    X(LOST_PULSES, "lost_pulses", "lost encoder pulses", "up to 6 % of the edges do not arrive, by chance",           \
      "weak magnet, dirty ring", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_PULSES)             \
    X(DOUBLED_PULSES, "doubled_pulses", "doubled encoder pulses", "up to 10 % of the edges bounce",                   \
      "worn contact ring, interference", "common practice, no source; amounts assumed", UP_ALL, UP_SIGNAL_PULSES)     \
    X(DIRTY_LIMIT, "dirty_limit", "dirty limit contact",                                                              \
      "the closed contact reads open by chance; from half severity on always",                                        \
      "grease and dust between ring and finger", "common practice, no source; amounts assumed", UP_ALL,               \
      UP_SIGNAL_PULSES)                                                                                               \
    X(POSITION_LOST, "position_lost", "position lost", "the controller does not know where the glass is",             \
      "the battery was off", "common practice, no source", UP_ALL, UP_SIGNAL_CURRENT)                                 \
    X(TIGHT_THRESHOLDS, "tight_thresholds", "thresholds too tight",                                                   \
      "detector's threshold down to a fifth and fewer readings to decide",                                            \
      "set for a new door, or to please a tester", "common practice, no source; amounts assumed", UP_ALL,             \
      UP_SIGNAL_CURRENT)

typedef enum up_door_fault {
#define UP_DOOR_FAULT_ENUM(id, name, text, change, why, source, families, signal) UP_DOOR_FAULT_##id,
    UP_DOOR_FAULT_LIST(UP_DOOR_FAULT_ENUM)
#undef UP_DOOR_FAULT_ENUM
        UP_DOOR_FAULT_COUNT
} up_door_fault;

typedef struct up_door_fault_row {
    const char *name, *text, *change, *why, *source; /* static storage */
    int families;                                    /* UP_FOR_... bits */
    up_signal signal;                                /* in which a recording shows it first */
    int by_place;                                    /* 1: the place counts                                      */
    int needs_controller;                            /* 1: with leads direct nothing of it shows                  */
} up_door_fault_row;

const up_door_fault_row *up_door_fault_at(up_door_fault fault); /* NULL outside the list */

/* 1: the door can have it: its family, and a spring where the spring is the fault. */
int up_door_fault_fits(up_door_fault fault, const up_values *values);

/* Changes *values and *bench. severity: 0..1, clamped, NaN counts as 0; 0 changes nothing. place: share of the travel, 0..1,
 * for faults that have one. Values are kept within the entries' bounds; position lost has no degrees. Put faults in after
 * run.start_travel is set. */
void up_door_fault_put(up_door_fault fault, double severity, double place, up_values *values, up_bench *bench);

#endif

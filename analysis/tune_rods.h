/* The squeezing force under many settings of the detector, on the same closings onto test rods.
 *
 * Each closing is run once with the detector held back and overheard. A setting is then judged by telling its controller
 * what was overheard: it decides at some tick, and the largest force follows from that tick alone, since nothing else of
 * the setting reaches the glass. The force of a tick is simulated once, and only where it may be the largest of a setting:
 * whoever decides earlier does not squeeze noticeably more than who decides later. */
#ifndef UPSTOP_ANALYSIS_TUNE_RODS_H
#define UPSTOP_ANALYSIS_TUNE_RODS_H

#include <stddef.h>

#include "analysis/overhear.h"
#include "analysis/pinch_map.h"
#include "analysis/tuning.h"

enum { UP_ROD_RULES_MAX = 4, UP_ROD_KEYS = 256, UP_ROD_AT_ONCE = 64 };

typedef struct up_rod_case {
    up_pinch_point point;
    int rule;                /* of the bank's                    */
    int usable;              /* 0: the window does not open so far, or the run gave up */
    up_control_settings own; /* as its door prepares them */
    up_overheard heard;
    double held_force; /* N, nothing decided but the stall    */
    int keys;          /* ticks whose force is known          */
    int key[UP_ROD_KEYS];
    double force[UP_ROD_KEYS]; /* N */
} up_rod_case;

typedef struct up_rod_bank {
    const up_known *known; /* the sheet with the longest run-up of all settings */
    up_pinch_study study[UP_ROD_RULES_MAX];
    int must_turn[UP_ROD_RULES_MAX]; /* 1: the rule asks for a reversal even where the force stays small */
    int rules;
    int count, room;
    up_rod_case *cases;      /* (room) */
    up_overheard_word *word; /* (room * UP_OVERHEARD_MOST)   */
    uint64_t simulated;      /* closings so far */
} up_rod_bank;

/* The door whose run-up is long enough for every setting. */
void up_rod_bank_known(const up_known *sheet, up_known *out);

/* Adds closings at these places of a rule and overhears them. Returns how many were taken: no more than there is room. */
int up_rod_bank_add(up_rod_bank *bank, int rule, const up_pinch_point *points, int count, up_workers *workers);

typedef struct up_rod_worst {
    double force[UP_ROD_RULES_MAX]; /* N, largest of each rule; 0: no rod was touched */
    int at[UP_ROD_RULES_MAX];       /* case of the bank; -1: none                     */
    int unturned;                   /* rods that were touched and never turned back from, where the rule asks for it */
} up_rod_worst;

/* A closing to be simulated: the setting that decides first at that tick, of which case, and where the force goes. */
typedef struct up_rod_job {
    int setting, at, slot;
} up_rod_job;

/* Largest forces under each of `count` settings. keys, jobs: scratch, UP_ROD_AT_ONCE * bank->count of each. */
void up_rod_bank_judge(up_rod_bank *bank, const up_control_settings *control, int count, int *keys, up_rod_job *jobs,
                       up_workers *workers, up_rod_worst *worst);

#endif

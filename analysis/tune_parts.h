/* Inside of the tuning: what its files share. */
#ifndef UPSTOP_ANALYSIS_TUNE_PARTS_H
#define UPSTOP_ANALYSIS_TUNE_PARTS_H

#include "analysis/tune.h"

enum {
    UP_TUNE_TODAY = 0, /* place of the sheet's own setting                      */
    UP_TUNE_NO_KIND = -1,
    UP_TUNE_SCREEN_DAYS = 128, /* days that every setting is tried on                 */
    UP_TUNE_PASSES = 2,        /* thresholds at which it is looked for what lasts       */
    UP_TUNE_BATCH = 32,        /* shapes at once                                        */
    UP_TUNE_CHUNK = 256        /* fresh days at once                                    */
};

typedef struct up_tune_bench {
    const up_tune_request *request;
    up_workers *workers;
    up_tune_result *result;
    up_known rod_known;
    up_case_maker maker;
    up_rod_bank rods;
    up_day_bank days;
    up_control_settings teacher[2]; /* by principle: for what a day's door has learned */
    up_tune_point *point;           /* (UP_TUNE_POINTS); the first is the sheet's own, of no kind */
    int points;
    double limit; /* N, the smallest of the rules */
    double
        clearance; /* m, farthest start from rest that choices are judged at, the same for all: a map's depends on the
                       * setting's mask and learning length */
    /* scratch */
    int *keys;
    up_rod_job *jobs;
    double *lasting; /* (UP_TUNE_BATCH, UP_TUNE_SCREEN_DAYS) */
    void *map_memory;
    size_t map_size;
    up_pinch_result *draws; /* (request->draws) */
    double *force;          /* (request->draws) */
} up_tune_bench;

/* A place of a map. */
typedef struct up_tune_place {
    double u[UP_PINCH_AXES];
    up_pinch_start start;
    int is_there;
} up_tune_place;

void up_tune_tell(const up_tune_bench *bench, const char *what);

/* tune_shapes.c: new settings. */
/* Judges shapes (settings without their threshold) at several thresholds each: new points. count: at most
 * UP_TUNE_BATCH. */
up_status up_tune_try(up_tune_bench *bench, int kind, const up_tuning *shapes, int count);
/* The index-th of the even shapes of a kind; one beside a given one, `reach` 0..1. */
void up_tune_even_shape(const up_tune_bench *bench, int kind, int index, up_tuning *shape);
void up_tune_shape_beside(const up_tune_bench *bench, const up_tuning *from, double reach, uint64_t draw,
                          up_tuning *shape);

/* tune_search.c */
up_status up_tune_search(up_tune_bench *bench);
/* Counts of points on all rods and days there are. */
void up_tune_judge_rods(up_tune_bench *bench, const int *index, int count);
void up_tune_judge_days(up_tune_bench *bench, const int *index, int count);

/* tune_front.c */
/* By force, but where a rod is never turned back from it stands behind all others. */
double up_tune_rank_force(const up_tune_point *point);
/* Points of a kind that none of the kind beats in both force and rate, by rising force; at most `room`. */
int up_tune_front_of(const up_tune_bench *bench, int kind, int *index, int room);
/* The point that is chosen among them, -1: there is none; and why. */
int up_tune_choose(const up_tune_bench *bench, const int *index, int count, up_tune_reason *reason);

/* tune_confirm.c */
/* A search for the worst rods under a setting. choice NULL: a quick one, and the worst it finds go into the bank; otherwise
 * a thorough one, which fills worst, touched and unturned; and place, of each rule. */
up_status up_tune_hunt(up_tune_bench *bench, const up_tune_point *point, up_tune_choice *choice, up_tune_place *place);
up_status up_tune_confirm(up_tune_bench *bench);

/* tune_fair.c: the plan of a choice's last search: the same place is the same point for every choice. study: stays the
 * caller's as long as the plan is used. */
void up_tune_plan(const up_tune_bench *bench, const up_pinch_study *study, up_pinch_plan *plan);
/* Sets bench->clearance. */
void up_tune_same_clearance(up_tune_bench *bench, up_tune_choice **choice, int count);
/* Every choice is judged at the worst place of each and beside it. The studies' door is not used. */
/* place: (count, UP_ROD_RULES_MAX), where the search of each choice found its worst. Fills worst and the counts. */
void up_tune_judge_places(up_tune_bench *bench, up_tune_choice **choice, const up_tune_place *place, int count);
/* Takes a result into the worst and the counts of a choice. */
void up_tune_take(up_tune_choice *choice, int rule, int must_turn, int same, const up_pinch_result *result);

/* tune_recommend.c: classes and recommendation, from what was confirmed. Reads limit, below, today, best. */
void up_tune_recommend(const up_tune_request *request, up_tune_result *result);

#endif

/* Tuning the pinch detector: the worst squeezing force against the rate of false reversals.
 *
 * Both are judged on fixed banks of closings (tune_rods.h, tune_days.h). For each principle and profile, settings are
 * drawn evenly over their ranges; of each, the excess that lasts in ordinary closings says which thresholds are worth
 * trying. What is on or near the front is varied and tried again, and after each round the worst rod is searched anew for
 * the best setting of each kind, so that no setting is good only on the rods it was tuned with. In the end the chosen
 * settings are judged once more, on days and by a search that had no part in choosing them.
 *
 * Everything follows from the seed; the number of threads changes no bit. SI units. */
#ifndef UPSTOP_ANALYSIS_TUNE_H
#define UPSTOP_ANALYSIS_TUNE_H

#include <stddef.h>

#include "analysis/pinch_verdict.h"
#include "analysis/tune_days.h"
#include "analysis/tune_rods.h"

enum {
    UP_TUNE_KINDS = 4,      /* principle and profile: kind = 2 * principle + profile */
    UP_TUNE_POINTS = 4096,  /* settings judged at the most                          */
    UP_TUNE_FRONT_MAX = 64, /* points kept of each front                            */
    UP_TUNE_CHOICES = UP_TUNE_KINDS + 1
};

typedef struct up_tune_request {
    const up_known *known;
    const up_rule *rule[UP_ROD_RULES_MAX];
    int rules;
    const up_facts *facts; /* who closes and how */
    up_plan plan;          /* ordinary use; no rod                                                        */
    int kinds;             /* bits 1 << kind that may be recommended                                         */
    double margin;         /* N below the force limit that a setting has to keep                               */
    double rate;           /* of false reversals that is acceptable             */
    uint64_t seed;
    double tolerance;   /* of the integrator                                             */
    int days;           /* closings of ordinary use that settings are tried on, at least 64 */
    int confirm_days;   /* fresh ones for the chosen settings, at least 64                    */
    int shapes, rounds; /* settings without threshold drawn of each kind at first; rounds of refinement */
    int draws;          /* drawn doors behind the interval of the force, at least 20                       */
    void (*progress)(void *context, const char *what); /* NULL: nobody is told; from the caller's thread */
    void *context;
} up_tune_request;

/* The whole range of the rules, a year of ordinary use, all kinds; the caller sets known, rules and facts. */
void up_tune_request_default(up_tune_request *request);

typedef struct up_tune_point {
    up_tuning tuning;
    up_control_settings control; /* what is flashed                                           */
    int kind;
    up_rod_worst worst;
    double force;  /* N, largest over the rules                                 */
    int hits, of;  /* false reversals among the ordinary days tried              */
    int rods_seen; /* rods of the bank that `worst` looked at                      */
    int exact;     /* 1: hits were counted with this threshold, 0: from what lasts */
} up_tune_point;

/* Where no setting keeps the limit, one is sought that squeezes no more than this many times the limit; further beyond only
 * where none of those will do and today's squeezes more still. Assumption of this tool. */
#define UP_TUNE_BEYOND_MOST 1.5

/* Forces of two searches that differ by less than this share are not told apart: over six seeds the worst that a search of
 * this effort finds lay 10 % (US, UN) apart, largest over smallest (docs/pinch-map.md). */
#define UP_TUNE_FORCE_NOISE 0.10

/* How a choice came about, from good to bad. Safety first: where nothing keeps the limit, more force than the sheet's own
 * setting has is never recommended, whatever it would spare in reversals. */
typedef enum up_tune_reason {
    UP_TUNE_WITHIN, /* keeps the limit and has an acceptable rate: of those the fewest false reversals */
    UP_TUNE_KEEPS,  /* keeps the limit as today's does; no acceptable rate, but a smaller one than today's */
    UP_TUNE_LESS,   /* goes beyond the limit, but under no rule squeezes more than today's setting or lets more rods
                        * lie; and reverses less often than today, or at an acceptable rate with less force: of those with an
                        * acceptable rate the least force, else the fewest false reversals */
    UP_TUNE_LEAVE,  /* today's, which does not do what was asked; nothing is better in both */
    UP_TUNE_TRADE   /* not better than today's in both: shown, never recommended */
} up_tune_reason;

/* A setting judged once more, by what had no part in choosing it. */
typedef struct up_tune_choice {
    int is_there;
    up_tune_point point;
    up_tune_reason reason;
    up_share reversed; /* on fresh days, each drawn door's controller made ready for it, as in upstop vary */
    up_share flashed;  /* on the same days with the header's constants whatever door was drawn */
    /* By a search of its own, and at the worst places that the same search found for each of the other choices. */
    up_pinch_result worst[UP_ROD_RULES_MAX];
    up_pinch_spread force[UP_ROD_RULES_MAX]; /* N, at that place, over doors drawn from the tolerances       */
    double largest;                          /* N, over the rules; NaN: no rod was touched                    */
    int touched[UP_ROD_RULES_MAX];           /* rods that were touched, and of these those never turned back from, */
    int unturned[UP_ROD_RULES_MAX];          /* where the rule asks for it                                        */
    int unturned_same[UP_ROD_RULES_MAX];     /* only at places that all choices were judged at: to be compared    */
    int shared;                              /* closings at the worst places of all choices and beside them */
    int keeps; /* 1: every limit is kept, and every rod is turned back from; the margin is not asked for here */
} up_tune_choice;

typedef struct up_tune_front {
    int count;
    up_tune_point point[UP_TUNE_FRONT_MAX]; /* by rising force, falling hits */
} up_tune_front;

typedef struct up_tune_result {
    double limit[UP_ROD_RULES_MAX]; /* N; NaN: the rule has none */
    int below[UP_ROD_RULES_MAX];    /* 1: the limit itself is too much already */
    up_tune_front front[UP_TUNE_KINDS];
    up_tune_choice today;
    up_tune_choice best[UP_TUNE_KINDS]; /* of each kind                                         */
    int recommended;                    /* kind; -1: today's setting stays                      */
    int settings;                       /* judged                                               */
    uint64_t closings;                  /* simulated                                            */
    int days, rods;                     /* in the banks                                          */
} up_tune_result;

size_t up_tune_memory(const up_tune_request *request);

/* memory: the caller's, aligned for double, not kept; result about 200 kB.
 * UP_OK; UP_BAD_OPTION; UP_MEMORY_TOO_SMALL; what up_door_prepare says of the sheet. */
up_status up_tune_run(const up_tune_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_tune_result *result);

/* The force limit of a rule, N; NaN: none. below (may be NULL): 1 when the limit itself is too much already. */
double up_tune_limit(const up_rule *rule, int *below);

/* Whether the largest force under a rule goes beyond its limit. */
static inline int up_tune_is_beyond(const up_tune_result *result, int rule, double force) {
    return result->below[rule] ? force >= result->limit[rule] : force > result->limit[rule];
}

/* Whether the largest forces of two choices are too near to each other for the search to tell them apart. */
int up_tune_same_force(const up_tune_choice *a, const up_tune_choice *b, int rule);

/* Whether the 95 % intervals of the two rates of false reversals overlap. */
int up_tune_same_rate(const up_tune_choice *a, const up_tune_choice *b);

/* Over the rules. */
int up_tune_unturned(const up_tune_choice *choice);
int up_tune_touched(const up_tune_choice *choice);

/* What is recommended: a kind's best, or today's setting. */
static inline const up_tune_choice *up_tune_recommended(const up_tune_result *result) {
    return result->recommended >= 0 ? &result->best[result->recommended] : &result->today;
}

/* Whether a rule asks for a reversal even where the force stays far below its limit. */
int up_tune_must_turn(const up_rule *rule);

/* "pace", "observer"; "none", "learned": as the sheet says it. */
static inline int up_tune_principle(int kind) {
    return kind / 2;
}
static inline int up_tune_profile(int kind) {
    return kind % 2;
}

#endif

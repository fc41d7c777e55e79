/* A closing with something broken: what each fault does to the squeezing force, how the closing ends, and whether the glass
 * still presses then. With nothing in the way and with a test rod at several openings.
 *
 * A calculation from a model, no proof that a real controller fails safe. SI units. */
#ifndef UPSTOP_ANALYSIS_FAULTS_H
#define UPSTOP_ANALYSIS_FAULTS_H

#include "analysis/judge.h"
#include "analysis/workers.h"
#include "core/sim/run.h"

#define UP_FAULT_LIST(X)                                                                           \
    X(NONE, "none", "nothing broken")                                                              \
    X(EDGE_LOST, "edge_lost", "one encoder edge lost")                                             \
    X(EDGE_DOUBLED, "edge_doubled", "one encoder edge twice")                                      \
    X(ENCODER_DEAD, "encoder_dead", "no encoder edge any more")                                    \
    X(LIMIT_OPEN, "limit_stuck_open", "limit contact stuck open")                                  \
    X(LIMIT_CLOSED, "limit_stuck_closed", "limit contact stuck closed")                            \
    X(CURRENT_OFFSET, "current_offset", "current measured wrong")                                  \
    X(SUPPLY_DIP, "supply_dip", "supply dips")                                                     \
    X(TICK_JITTER, "tick_jitter", "controller's ticks late")                                       \
    X(BATTERY_LOST, "battery_lost", "battery lost, not back")                                      \
    X(BATTERY_BACK, "battery_back", "battery lost and back, then held up")                         \
    X(POSITION_LOST, "position_lost", "position lost at the start, held up")                       \
    X(POSITION_LIMIT_OPEN, "position_lost_limit_stuck_open", "that, and limit contact stuck open") \
    X(POSITION_LIMIT_CLOSED, "position_lost_limit_stuck_closed", "that, and limit contact stuck closed")

typedef enum up_fault {
#define UP_FAULT_ENUM(id, name, text) UP_FAULT_##id,
    UP_FAULT_LIST(UP_FAULT_ENUM)
#undef UP_FAULT_ENUM
        UP_FAULT_COUNT
} up_fault;

const char *up_fault_name(up_fault fault); /* "edge_lost"; static storage; NULL outside the list */
const char *up_fault_text(up_fault fault); /* "one encoder edge lost" */

/* When it strikes. Contact: the rod is met, or without a rod the header seal, or the up-stop where there is none. */
#define UP_FAULT_MOMENT_LIST(X)                        \
    X(ALWAYS, "always", "all the time")                \
    X(START, "start", "from the start")                \
    X(MIDWAY, "midway", "halfway to contact")          \
    X(BEFORE, "before_contact", "just before contact") \
    X(CONTACT, "contact", "at contact")                \
    X(DURING, "during_contact", "during contact")      \
    X(AT_TRAVEL, "at_travel", "at a place of the travel")

typedef enum up_fault_moment {
#define UP_FAULT_MOMENT_ENUM(id, name, text) UP_FAULT_MOMENT_##id,
    UP_FAULT_MOMENT_LIST(UP_FAULT_MOMENT_ENUM)
#undef UP_FAULT_MOMENT_ENUM
        UP_FAULT_MOMENT_COUNT
} up_fault_moment;

const char *up_fault_moment_name(up_fault_moment moment);
const char *up_fault_moment_text(up_fault_moment moment);

/* One row of the table. */
typedef struct up_fault_case {
    up_fault fault;
    up_fault_moment moment;
    int rod;                /* of the request; -1: nothing in the way                                           */
    double rod_opening;     /* m; NaN: nothing in the way                                                       */
    double rod_stiffness;   /* N/m; NaN: nothing in the way                                                     */
    double travel;          /* m, of the glass where it strikes, in the sound closing; NaN: all the time         */
    double time;            /* s, when, in the sound closing; NaN: all the time                                  */
    uint64_t edge;          /* number of the edge; 0: not about one                                              */
    double amount;          /* A of offset, V of the dip, s of jitter; NaN: none                                 */
    double length;          /* s, how long a dip or the battery's absence lasts; NaN: none or for ever            */
    up_run_options options; /* complete                                                                         */
} up_fault_case;

typedef enum up_fault_verdict {
    UP_FAULT_HARMLESS,      /* the glass presses on nothing at the end                                          */
    UP_FAULT_CLOSED_OVER,   /* in the last 4 mm, where no rule asks for reversal, pressing 100 N at most: the rod was
                             too soft and too near the top to be felt                                       */
    UP_FAULT_HELD,          /* no drive and no supply left: the worm holds what force there was                 */
    UP_FAULT_KEEPS_PRESSING /* it stays pressed on the rod although the controller could have freed it           */
} up_fault_verdict;

const char *up_fault_verdict_word(
    up_fault_verdict verdict); /* "comes free", "closes over it", "held without supply", "keeps pressing" */

typedef struct up_fault_result {
    up_status status; /* of the run; the rest counts only with UP_OK                      */
    up_outcome outcome;
    double final_force; /* N on the rod at the end; 0 without a rod                         */
    int driven;         /* 1: the motor is still driven at the end                          */
    up_fault_verdict verdict;
} up_fault_result;

enum { UP_FAULT_RULES_MAX = 4, UP_FAULT_RODS_MAX = 6 * UP_FAULT_RULES_MAX };

typedef struct up_fault_rod {
    double opening;   /* m, at which the glass meets it                                                       */
    double stiffness; /* N/m                                                                                  */
    unsigned rules;   /* bit i: rule[i] of the request asks for this stiffness here; 0: nobody's              */
} up_fault_rod;

typedef struct up_fault_request {
    const up_door *door;
    /* A raising by one-touch: start, temperature, voltage, push, seed. Its rod, switch steps, supply steps and faults are
     * not used. */
    const up_run_options *options;
    int rules; /* 0..UP_FAULT_RULES_MAX */
    const up_rule *rule[UP_FAULT_RULES_MAX];
    int rods; /* 0..UP_FAULT_RODS_MAX; the table without a rod comes first, always */
    up_fault_rod rod[UP_FAULT_RODS_MAX];
} up_fault_request;

/* The rods of one rule, or (rule NULL) of all that are known, by up_fault_request_add. */
void up_fault_request_default(const up_door *door, const up_run_options *options, const up_rule *rule,
                              up_fault_request *request);

/* Adds a rule, which must stay, and its rods: met 5, 8, 12, 25, 100 and 200 mm open, as far as they stand above the glass
 * and the rule limits the force there, of the stiffness that the rule asks of a rod of that size. A rod that another rule
 * asks for too stands once. Returns UP_OK, or UP_BAD_OPTION without room for the rule. */
up_status up_fault_request_add(up_fault_request *request, const up_rule *rule);

/* Fills the table's rows. Runs one sound closing for nothing in the way and one for each rod, to know where edges, contact
 * and places fall. cases: room for `room` rows; NULL with room 0 only counts. *count: rows there are.
 * Returns UP_OK; UP_MEMORY_TOO_SMALL when room is short (cases are filled as far as they go; not with room 0);
 * UP_BAD_OPTION; or what a sound closing returns. */
up_status up_fault_cases(const up_fault_request *request, up_fault_case *cases, int room, int *count);

/* Runs the rows; result[i] belongs to cases[i]. Gives the same bits for any workers; NULL: the caller's thread. */
void up_fault_run(const up_door *door, const up_fault_case *cases, int count, up_workers *workers,
                  up_fault_result *results);

/* The limit that both rules set, N, and the opening down to which they set it, m (49 CFR 571.118 S5; UN R21 5.8.3.1.1). */
#define UP_FAULT_FORCE_LIMIT 100.0
#define UP_FAULT_LEAST_OPENING 0.004

/* What a table comes to. Runs that gave up are in `closings` and `gave_up` alone. */
typedef struct up_fault_sum {
    int closings;
    int gave_up;                              /* status is not UP_OK                                     */
    int verdict[UP_FAULT_KEEPS_PRESSING + 1]; /* how many have it                                        */
    int over_limit;                           /* how many squeeze with UP_FAULT_FORCE_LIMIT or more      */
    int worst;       /* the closing with something broken that squeezes hardest; -1: none met a rod        */
    int worst_sound; /* the closing with nothing broken on the rod of `worst`; -1: none                   */
} up_fault_sum;

/* rule: index in the request, only closings onto its rods; -1: all, with nothing in the way too. */
void up_fault_add_up(const up_fault_request *request, const up_fault_case *cases, const up_fault_result *results,
                     int count, int rule, up_fault_sum *sum);

#endif

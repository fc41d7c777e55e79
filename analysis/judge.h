/* Judges one closing against published rules: facts in, verdicts out.
 *
 * This is a calculation and no certification. Rule data carry a mark that says whether a figure was read in a public
 * page or is from memory; the official text decides. SI units. */
#ifndef UPSTOP_ANALYSIS_JUDGE_H
#define UPSTOP_ANALYSIS_JUDGE_H

#include "core/door/values.h"
#include "core/sim/run.h"

typedef enum up_answer { UP_ANSWER_UNKNOWN, UP_ANSWER_NO, UP_ANSWER_YES } up_answer;

typedef enum up_window {
    UP_WINDOW_UNKNOWN,
    UP_WINDOW_DRIVER,
    UP_WINDOW_FRONT_PASSENGER,
    UP_WINDOW_REAR,
    UP_WINDOW_PARTITION,
    UP_WINDOW_ROOF,
    UP_WINDOW_TILTING_ROOF
} up_window;

/* From where the closing is commanded. */
typedef enum up_command_place {
    UP_FROM_UNKNOWN,
    UP_FROM_SWITCH, /* inside the vehicle             */
    UP_FROM_EXTERIOR_LOCK,
    UP_FROM_REMOTE,
    UP_BY_MUSCLE /* no vehicle power               */
} up_command_place;

/* How: does the command have to be kept up? */
typedef enum up_command_way {
    UP_WAY_UNKNOWN,
    UP_WAY_HELD,      /* closes only while actuated          */
    UP_WAY_ONE_TOUCH, /* goes on by itself after one touch   */
    UP_WAY_AUTOMATIC  /* nobody touched anything             */
} up_command_way;

typedef enum up_key {
    UP_KEY_UNKNOWN,
    UP_KEY_ON,             /* on, start or accessory                                    */
    UP_KEY_OFF_DOORS_SHUT, /* turned off, and no front door was opened since            */
    UP_KEY_OFF             /* turned off, and a front door was opened since             */
} up_key;

typedef enum up_switch_action {
    UP_ACTION_UNKNOWN,
    UP_ACTION_PULL, /* closes when pulled away from the surface it sits on */
    UP_ACTION_PRESS /* rocker, toggle or button that closes when pressed   */
} up_switch_action;

/* What the judge has to know. Start from up_facts_default: everything unknown. */
typedef struct up_facts {
    /* of the closing; openings are measured from the glass edge to the place it closes on */
    double start_opening;    /* m, when the closing was started; NaN: unknown                              */
    double reversal_opening; /* m, smallest opening before it reversed; NaN: it did not reverse            */
    double final_opening;    /* m, where the glass came to rest; NaN: unknown                              */
    int obstructed;          /* 1: something stood in the way and was touched                              */
    double peak_force;       /* N, largest squeezing force; NaN: none or unknown                           */
    double rod_opening;      /* m, opening at which the rod is met; NaN: unknown, taken as inside the range */
    double rod_diameter;     /* m; NaN: unknown                                                            */
    double rod_stiffness;    /* N/m; NaN: unknown, taken as the rule asks                                  */
    up_answer tilted_fully;  /* a tilting roof panel went back to its full angle                           */
    /* of the command */
    up_window window;
    up_command_place place;
    up_command_way way;
    up_key key;
    double remote_reach;           /* m, farthest from the vehicle at which the remote device can close */
    up_answer remote_through_wall; /* the remote device can close through an opaque surface             */
    up_answer door_shut;           /* door shut while it closed: matters for frameless doors            */
    /* of the vehicle */
    up_answer reversing;           /* an automatic reversing device is fitted                            */
    up_answer attempt_unprotected; /* closes at full force, unprotected, when tried again after reversals */
    up_answer frameless;           /* door without a frame about the glass                               */
    up_switch_action switch_action;
    up_answer switch_overhead;    /* in the roof                                                        */
    up_answer ball_closes;        /* a ball pressed on the switch starts a closing                      */
    up_answer rear_lockout;       /* the driver has a switch that disables the rear ones                */
    up_answer protector_restarts; /* after an overload protector reset, closing goes on by itself       */
    double infrared_wavelength;   /* m, source of an infrared proximity system; NaN: none               */
    double rod_reflectance;       /* 0..1, infrared, of the rod used with it; NaN: none                 */
} up_facts;

void up_facts_default(up_facts *facts);

/* Fills the figures of the closing from a simulated one, attempt_unprotected from the door, and leaves the rest alone. */
void up_facts_from_run(const up_values *door, const up_run_options *options, const up_outcome *outcome,
                       up_facts *facts);

/* How a figure of a rule is known. */
typedef enum up_source { UP_SOURCE_READ, UP_SOURCE_MEMORY } up_source;

#define UP_FROM_MEMORY "from memory, check the official text"

/* A number, or a sentence without one, of a rule; each stands once in the rule's file, with paragraph and mark. */
typedef struct up_rule_number {
    const char *name;
    double value;     /* SI; NaN: a sentence without a number                        */
    const char *unit; /* SI unit; "" without a number                                */
    const char *paragraph;
    up_source source;
    const char *mark; /* "read in ..." and the page, or UP_FROM_MEMORY               */
} up_rule_number;

typedef enum up_verdict_result {
    UP_VERDICT_PASSED,
    UP_VERDICT_FAILED,
    UP_VERDICT_NOT_APPLICABLE,
    UP_VERDICT_UNKNOWN /* a fact is missing */
} up_verdict_result;

const char *up_verdict_word(up_verdict_result result); /* "passed", "failed", "not applicable", "cannot be judged" */

typedef struct up_verdict {
    const char *rule;      /* short name of the rule                                       */
    const char *paragraph; /* the one that decided, "S5.2(c)"                              */
    const char *title;     /* what was judged, in a few words                              */
    up_verdict_result result;
    int required;         /* 0: the rule does not ask this of the closing, judged as if it did   */
    int of_closing;       /* 1: about this closing; 0: about the equipment, the switch say       */
    double figure, limit; /* in `unit`; NaN: this verdict has no number                   */
    double margin;        /* in `unit`, positive on the good side; NaN: no number         */
    const char *unit;     /* SI; "" without number                                        */
    up_source source;     /* of the weakest figure used                                   */
    const char *mark;     /* "read in ..." or "from memory, check the official text"      */
    const char *reason;   /* one plain clause                                             */
} up_verdict;             /* all texts have static storage */

enum { UP_VERDICTS_MAX = 12 };

typedef struct up_clause up_clause;
typedef struct up_rule {
    const char *name;     /* "US"                                                        */
    const char *citation; /* official name of the text                                   */
    const char *edition;  /* which state of the text the data follow                     */
    const up_rule_number *numbers;
    int number_count;
    const up_clause *clauses;
    int clause_count; /* 1..UP_VERDICTS_MAX                                          */
    /* Stiffness a test rod of this diameter (m) must at least have, or has: N/m, with its number for mark and
     * paragraph. *number is never NULL. */
    double (*rod_stiffness)(double diameter, const up_rule_number **number);
    /* Openings over which the force limit holds, as rows of `numbers`, and what they measure. */
    int range_low, range_high;
    int range_is_diameter; /* 1: diameter of a rod square to the edges; 0: height of the opening along the travel */
    int stiffness_tolerance; /* row of `numbers`, plus and minus; -1: the stiffness is a floor, stiffer rods are allowed */
} up_rule;

struct up_clause {
    const char *paragraph, *title;
    int of_closing; /* see up_verdict */
    /* Comes preset: rule, title, paragraph, required 1, cannot be judged, no number, read. Changes what differs. */
    void (*judge)(const up_facts *facts, up_verdict *verdict);
};

/* The rules known here, in the order of rules.def; NULL outside 0..up_rule_count() - 1. */
int up_rule_count(void);
const up_rule *up_rule_at(int index);
/* By short name, "US" or "UN", case matters; NULL: none. */
const up_rule *up_rule_named(const char *name);

typedef struct up_judgement {
    const up_rule *rule;
    int count; /* = rule->clause_count                                                   */
    up_verdict verdict[UP_VERDICTS_MAX];
    /* Of all required verdicts: failed when one failed; else cannot be judged when one lacks a fact; else passed when
     * one passed; else not applicable. `closing` looks only at those about this closing. */
    up_verdict_result overall, closing;
    int unknown;           /* required verdicts that lack a fact                                     */
    const char *statement; /* what this is, and what it is not; to be shown with every result        */
} up_judgement;

/* Pure function: no state, any thread. rule and facts must not be NULL. */
void up_judge(const up_rule *rule, const up_facts *facts, up_judgement *judgement);

/* "This is a calculation from a model ..., not a certification ..." */
const char *up_judge_statement(void);

#endif

/* United States, 49 CFR 571.118 (FMVSS No. 118), power-operated window, partition and roof panel systems.
 *
 * Read in public pages: S1 to S4(g), and quotations of S5 and S6 in interpretations and rulemaking notices. Not read:
 * S5.x, S7 and S8 as printed; their figures are from memory and marked so.
 *
 * Points where this text and UN R21 5.8 differ, or the text is silent:
 * - Force: this rule fails at 100 N and more, the UN one only above 100 N.
 * - Rod: this rule gives a floor for its stiffness by diameter, so a rigid rod is allowed; the UN one gives one value.
 *   At 100 N the rods give way by at most 1.54 mm and 5 mm here, by 10 mm there: a door can pass there and fail here.
 * - "4 mm to 200 mm": an interpretation speaks of the obstruction's distance from the mating structure; S8.1(a), from
 *   memory, of the rod's diameter. For a rod square to the edge both are the same number. Both are asked for below.
 * - Back off: 125 mm here, 50 mm there; both take "back to where it started" and "a 200 mm rod passes".
 * - Duty: here only when the window can close outside S4; the proposal to ask it of every one-touch closing (74 FR
 *   45143, 2009) was withdrawn (76 FR 11415, 2011).
 * - Every attempt is bound by the limit, a second try at a higher force too (interpretation 10790): judge each closing.
 * - Temperature: no range stated for the limit (from memory).
 * - Time: no time for the reversal is set (from memory); "within 100 ms" in secondary notes is no law.
 * - Exactly 4 mm: a 4 mm rod can then just be put through, so S4(f) does not hold; UN 5.8.2.5 includes 4 mm. */
#include <stddef.h>

#include "analysis/rules/clause.h"

#define READ_S4 "read in a quotation of S4(a) to (g), laboratory result sheet of 2015, rt.http3.lol/293998459"
#define READ_10790 "read in nhtsa.gov/interpretations/10790"
#define READ_NPRM "read in a note on docket NHTSA-2004-19032, interregs.com/articles/spotlight/20"
#define READ_2004 "read in the 2004 rule's summary, cybercemetery.unt.edu (SaferSwitchesFinalRule)"
#define READ_2008 "read in the 2008 response, pawtectors.org/openregs/federal_register/E8-15310.json"

enum {
    KEY_ON,
    MUSCLE,
    EXTERIOR_LOCK,
    REMOTE_NEAR,
    DELAYED,
    SMALL_OPENING,
    REMOTE_FAR,
    MUST_REVERSE,
    EVERY_ATTEMPT,
    FORCE_LIMIT,
    FROM_FRAME_LOW,
    FROM_FRAME_HIGH,
    BACK_TO_START,
    FURTHER_OPEN,
    ROD_PASSES,
    WAVELENGTH_LOW,
    WAVELENGTH_HIGH,
    BALL_RADIUS,
    BALL_FORCE,
    BALL_OVERHEAD,
    BALL_REVERSING,
    PULL_TO_CLOSE,
    DIAMETER_LOW,
    DIAMETER_HIGH,
    THIN_ROD,
    THIN_STIFFNESS,
    THICK_STIFFNESS,
    REFLECTANCE,
    NUMBERS
};

#define WORDS UP_ABSENT, ""
#define READ UP_SOURCE_READ
#define MEMORY UP_SOURCE_MEMORY, UP_FROM_MEMORY

static const up_rule_number numbers[NUMBERS] = {
    [KEY_ON] = {"key in on, start or accessory", WORDS, "S4(a)", READ, READ_S4},
    [MUSCLE] = {"by muscle alone", WORDS, "S4(b)", READ, READ_S4},
    [EXTERIOR_LOCK] = {"continuous actuation of an exterior lock", WORDS, "S4(c)", READ, READ_S4},
    [REMOTE_NEAR] = {"reach of a continuously actuated remote device", 6, "m", "S4(d)", READ, READ_S4},
    [DELAYED] = {"after the key was turned off, until a front door opens", WORDS, "S4(e)", READ, READ_S4},
    [SMALL_OPENING] = {"start from an opening that a rod of this diameter cannot pass", 0.004, "m", "S4(f)", READ,
                       READ_S4},
    [REMOTE_FAR] = {"reach of one that does not work through an opaque surface", 11, "m", "S4(g)", READ, READ_S4},
    [MUST_REVERSE] = {"closing outside S4 must reverse by itself", WORDS, "S5", READ, READ_10790},
    [EVERY_ATTEMPT] = {"the limit binds every closing attempt, not only the first", WORDS, "S5", READ, READ_10790},
    /* 100 N is read; that 100 N itself fails ("of 100 N or more") is from memory, so the weaker mark stands. */
    [FORCE_LIMIT] = {"squeezing force must stay below", 100, "N", "S5.1", UP_SOURCE_MEMORY,
                     "100 N " READ_10790 "; that 100 N itself fails is " UP_FROM_MEMORY},
    [FROM_FRAME_LOW] = {"obstruction at least this far from the mating structure", 0.004, "m", "S5", READ, READ_10790},
    [FROM_FRAME_HIGH] = {"obstruction at most this far from the mating structure", 0.200, "m", "S5", READ, READ_10790},
    [BACK_TO_START] = {"as open as when closing was started", WORDS, "S5.2(a)", MEMORY},
    [FURTHER_OPEN] = {"more open than where it reversed", 0.125, "m", "S5.2(b)", MEMORY},
    [ROD_PASSES] = {"a rod of this diameter passes where the test rod was", 0.200, "m", "S5.2(c)", MEMORY},
    [WAVELENGTH_LOW] = {"infrared source, shortest wavelength", 850e-9, "m", "S5.3", MEMORY},
    [WAVELENGTH_HIGH] = {"infrared source, longest wavelength", 1050e-9, "m", "S5.3", MEMORY},
    [BALL_RADIUS] = {"radius of the ball pressed on the switch", 0.020, "m", "S6(a)", READ, READ_NPRM},
    [BALL_FORCE] = {"force on that ball", 135, "N", "S6(a)", READ, READ_NPRM},
    [BALL_OVERHEAD] = {"overhead switches that close only while held are exempt", WORDS, "S6(b)", MEMORY},
    [BALL_REVERSING] = {"systems that meet S5 are exempt", WORDS, "S6(b)", READ, READ_2004},
    [PULL_TO_CLOSE] = {"the switch closes only when pulled, auto-reversing or not", WORDS, "S6(c)", READ, READ_2008},
    [DIAMETER_LOW] = {"smallest rod", 0.004, "m", "S8.1(a)", MEMORY},
    [DIAMETER_HIGH] = {"largest rod", 0.200, "m", "S8.1(a)", MEMORY},
    [THIN_ROD] = {"largest diameter of a thin rod", 0.025, "m", "S8.1(b)", MEMORY},
    [THIN_STIFFNESS] = {"stiffness of a thin rod, at least", 65e3, "N/m", "S8.1(b)", MEMORY},
    [THICK_STIFFNESS] = {"stiffness of a thick rod, at least", 20e3, "N/m", "S8.1(b)", MEMORY},
    [REFLECTANCE] = {"infrared reflectance of the rod, at most", 0.010, "1", "S8.3", MEMORY},
};

static double rod_stiffness(double diameter, const up_rule_number **number) {
    /* An unknown diameter gets the stiffer rod: the harder case. */
    *number = &numbers[diameter > numbers[THIN_ROD].value + UP_SAME_LENGTH ? THICK_STIFFNESS : THIN_STIFFNESS];
    return (*number)->value;
}

static int remote_allowed(const up_facts *facts, const up_rule_number **row) {
    if (facts->remote_reach <= numbers[REMOTE_NEAR].value) {
        *row = &numbers[REMOTE_NEAR];
        return 1;
    }
    *row = &numbers[REMOTE_FAR];
    return facts->remote_through_wall == UP_ANSWER_NO && facts->remote_reach <= numbers[REMOTE_FAR].value;
}

/* The paragraph of S4 that allows this closing without reversal; NULL: none that is known to. */
static const up_rule_number *supervised(const up_facts *facts) {
    const int held = facts->way == UP_WAY_HELD;
    const up_rule_number *row = NULL;
    if (facts->start_opening < numbers[SMALL_OPENING].value - UP_SAME_LENGTH) {
        return &numbers[SMALL_OPENING];
    }
    if (facts->place == UP_BY_MUSCLE) {
        return &numbers[MUSCLE];
    }
    if (facts->key == UP_KEY_ON) {
        return &numbers[KEY_ON];
    }
    if (facts->key == UP_KEY_OFF_DOORS_SHUT) {
        return &numbers[DELAYED];
    }
    if (facts->place == UP_FROM_EXTERIOR_LOCK && held) {
        return &numbers[EXTERIOR_LOCK];
    }
    if (facts->place == UP_FROM_REMOTE && held && remote_allowed(facts, &row)) {
        return row;
    }
    return NULL;
}

/* 1: a fact is missing that could still bring the closing under S4. */
static int supervision_unknown(const up_facts *facts) {
    const int from_outside = facts->place == UP_FROM_EXTERIOR_LOCK || facts->place == UP_FROM_REMOTE;
    const int reach_unknown = up_is_absent(facts->remote_reach) || (facts->remote_reach <= numbers[REMOTE_FAR].value &&
                                                                    facts->remote_through_wall == UP_ANSWER_UNKNOWN);
    return facts->key == UP_KEY_UNKNOWN || facts->place == UP_FROM_UNKNOWN ||
           (from_outside && facts->way == UP_WAY_UNKNOWN) ||
           (facts->place == UP_FROM_REMOTE && facts->way == UP_WAY_HELD && reach_unknown);
}

static void judge_supervision(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = supervised(facts);
    if (row) {
        up_decide(verdict, UP_VERDICT_PASSED, row, row->name);
    } else if (up_has_reversing(facts) == UP_ANSWER_YES) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[MUST_REVERSE],
                  "not known to be supervised, so the reversing device has to meet S5");
    } else if (supervision_unknown(facts) || facts->reversing == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, &numbers[MUST_REVERSE],
                  "not known whether it closes supervised or has a reversing device");
    } else {
        up_decide(verdict, UP_VERDICT_FAILED, &numbers[MUST_REVERSE],
                  "closes unsupervised and has no reversing device");
        if (facts->place == UP_FROM_REMOTE && facts->way == UP_WAY_HELD) {
            verdict->paragraph = "S4(d), S4(g)";
        }
    }
}

/* S5 for this closing: 0 and decided when it is exempt; otherwise 1, and required only when S4 does not allow it. */
static int reversal_asked(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = supervised(facts);
    if (row == &numbers[SMALL_OPENING]) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "exempt: it started almost closed");
        return 0;
    }
    if (up_has_reversing(facts) == UP_ANSWER_NO && (row || !facts->obstructed)) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row ? row : &numbers[MUST_REVERSE], "no reversing device fitted");
        return 0;
    }
    verdict->required = row == NULL;
    return 1;
}

static void judge_rod(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *number = NULL;
    verdict->required = 0; /* a demand on the test, not on the vehicle */
    rod_stiffness(facts->rod_diameter, &number);
    if (!facts->obstructed) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, number, "no rod was touched");
        return;
    }
    if (up_is_absent(facts->rod_stiffness)) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, number, "the stiffness of the rod is not known");
        return;
    }
    up_compare(verdict, facts->rod_stiffness, number, UP_LIMIT_AT_LEAST);
    verdict->reason = verdict->result == UP_VERDICT_PASSED ? "the rod is stiff enough for this rule"
                                                           : "the rod is softer than this rule asks";
}

static void judge_force(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *stiffness = NULL;
    if (!reversal_asked(facts, verdict)) {
        return;
    }
    if (!facts->obstructed) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[FORCE_LIMIT], "nothing stood in the way");
    } else if (!up_within_or_unknown(facts->rod_diameter, &numbers[DIAMETER_LOW], &numbers[DIAMETER_HIGH])) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[DIAMETER_LOW], "rod outside 4 to 200 mm diameter");
    } else if (!up_within_or_unknown(facts->rod_opening, &numbers[FROM_FRAME_LOW], &numbers[FROM_FRAME_HIGH])) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[FROM_FRAME_LOW],
                  "obstruction outside 4 to 200 mm from the frame");
    } else if (up_is_absent(facts->peak_force)) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, &numbers[FORCE_LIMIT], "the squeezing force is not known");
    } else if (facts->rod_stiffness < rod_stiffness(facts->rod_diameter, &stiffness)) {
        up_compare(verdict, facts->peak_force, &numbers[FORCE_LIMIT], UP_LIMIT_BELOW);
        verdict->result = UP_VERDICT_UNKNOWN;
        up_cite(verdict, stiffness);
        verdict->reason = "the rod was softer than this rule asks, so the force says nothing here";
    } else {
        up_compare(verdict, facts->peak_force, &numbers[FORCE_LIMIT], UP_LIMIT_BELOW);
        verdict->reason = verdict->result == UP_VERDICT_PASSED ? "the squeezing force stayed below the limit"
                                                               : "the squeezing force reached the limit";
    }
}

static void judge_reversal(const up_facts *facts, up_verdict *verdict) {
    static const up_reversal_rows rows = {&numbers[BACK_TO_START], &numbers[FURTHER_OPEN], &numbers[ROD_PASSES], NULL};
    if (!reversal_asked(facts, verdict)) {
        return;
    }
    if (facts->obstructed &&
        !up_within_or_unknown(facts->rod_opening, &numbers[FROM_FRAME_LOW], &numbers[FROM_FRAME_HIGH])) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[FROM_FRAME_LOW],
                  "obstruction outside 4 to 200 mm from the frame");
        return;
    }
    up_judge_reversal(facts, &rows, verdict);
}

/* A controller that gives up its protection when tried again. */
static void judge_attempts(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[EVERY_ATTEMPT];
    verdict->required = supervised(facts) == NULL;
    if (up_has_reversing(facts) == UP_ANSWER_NO) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "no reversing device fitted");
    } else if (facts->attempt_unprotected == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known whether a repeated attempt closes unprotected");
    } else if (facts->attempt_unprotected == UP_ANSWER_YES) {
        up_decide(verdict, UP_VERDICT_FAILED, row, "a repeated attempt closes at full force, unprotected");
    } else {
        up_decide(verdict, UP_VERDICT_PASSED, row, "every attempt is protected");
    }
}

static void judge_infrared(const up_facts *facts, up_verdict *verdict) {
    if (up_is_absent(facts->infrared_wavelength)) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[WAVELENGTH_LOW], "no infrared proximity system");
        return;
    }
    if (facts->rod_reflectance > numbers[REFLECTANCE].value) {
        up_compare(verdict, facts->rod_reflectance, &numbers[REFLECTANCE], UP_LIMIT_AT_MOST);
        verdict->required = 0; /* the tester's rod */
        verdict->reason = "the test rod reflects more than this rule allows";
        return;
    }
    /* Two limits, so no up_compare; a picometre of slack for what comes in nanometres. */
    const int inside = facts->infrared_wavelength >= numbers[WAVELENGTH_LOW].value - 1e-12 &&
                       facts->infrared_wavelength <= numbers[WAVELENGTH_HIGH].value + 1e-12;
    up_decide(verdict, inside ? UP_VERDICT_PASSED : UP_VERDICT_FAILED, &numbers[WAVELENGTH_LOW],
              inside ? "the source lies in the range allowed" : "the source lies outside the range allowed");
}

static int meets_s5(const up_facts *facts) {
    up_verdict force = {.required = 1, .source = UP_SOURCE_READ, .margin = UP_ABSENT}, reversal = force;
    if (up_has_reversing(facts) != UP_ANSWER_YES) {
        return 0;
    }
    judge_force(facts, &force);
    judge_reversal(facts, &reversal);
    return force.result != UP_VERDICT_FAILED && reversal.result != UP_VERDICT_FAILED &&
           facts->attempt_unprotected != UP_ANSWER_YES;
}

static void judge_ball(const up_facts *facts, up_verdict *verdict) {
    if (meets_s5(facts)) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[BALL_REVERSING],
                  "exempt as long as the reversing device meets S5");
    } else if (facts->switch_overhead == UP_ANSWER_YES && facts->way == UP_WAY_HELD) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[BALL_OVERHEAD],
                  "exempt: overhead and closes only while held");
    } else if (facts->ball_closes == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, &numbers[BALL_FORCE],
                  "not known whether a ball of 20 mm radius pressed with 135 N starts a closing");
    } else {
        const int closes = facts->ball_closes == UP_ANSWER_YES;
        up_decide(verdict, closes ? UP_VERDICT_FAILED : UP_VERDICT_PASSED, &numbers[BALL_FORCE],
                  closes ? "a ball pressed on the switch starts a closing"
                         : "a ball pressed on the switch starts nothing");
    }
}

static void judge_pull(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[PULL_TO_CLOSE];
    if (facts->switch_action == UP_ACTION_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known whether the switch is pulled or pressed to close");
    } else if (facts->switch_action == UP_ACTION_PULL) {
        up_decide(verdict, UP_VERDICT_PASSED, row, "the switch has to be pulled to close");
    } else {
        up_decide(verdict, UP_VERDICT_FAILED, row,
                  "the switch closes when pressed; a reversing device does not excuse it");
    }
}

static const up_clause clauses[] = {
    {"S4", "closing allowed without reversal", 1, judge_supervision},
    {"S8.1(b)", "test rod", 1, judge_rod},
    {"S5.1", "squeezing force", 1, judge_force},
    {"S5.2", "opening after reversal", 1, judge_reversal},
    {"S5", "every attempt protected", 0, judge_attempts},
    {"S5.3", "infrared proximity system", 0, judge_infrared},
    {"S6(a)", "switch touched by accident", 0, judge_ball},
    {"S6(c)", "switch pulled to close", 0, judge_pull},
};

extern const up_rule up_rule_us_571_118;
const up_rule up_rule_us_571_118 = {
    .name = "US",
    .citation = "49 CFR 571.118 (FMVSS No. 118)",
    .edition = "as amended up to 73 FR 38331 (7 July 2008); amendments list partly from memory",
    .numbers = numbers,
    .number_count = NUMBERS,
    .clauses = clauses,
    .clause_count = sizeof clauses / sizeof clauses[0],
    .rod_stiffness = rod_stiffness,
    .range_low = DIAMETER_LOW,
    .range_high = DIAMETER_HIGH,
    .range_is_diameter = 1,
    .stiffness_tolerance = -1,
};

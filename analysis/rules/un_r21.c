/* UN Regulation No. 21, 01 series of amendments, paragraph 5.8: power-operated windows, roof panels and partitions.
 *
 * The text came from Directive 74/60/EEC as amended by 2000/4/EC and entered with Supplement 3 to the 01 series, in
 * force 31 January 2003. Read in public pages: parts of 5.8.2, 5.8.3.1 and 5.8.4; the rest is from memory.
 *
 * Points where this text and 49 CFR 571.118 differ, or the text is silent: see us_571_118.c for the list, and
 * - here the limit holds over the height of the opening above the glass edge, 200 mm to 4 mm; for slanted edges that is
 *   not the diameter of the rod, and the gap that a finger meets is oblique: 4 mm upright can be 18 mm;
 * - here reversal is asked for as soon as one-touch is offered on anything but the driver's window and the roof panel;
 * - a second attempt at a higher force: the text is silent (from memory); owner's manuals describe a third at full force;
 * - the remote distances agree with the US ones, 6 m, or 11 m when it does not work through an opaque surface;
 * - temperature: none stated in 5.8 (from memory); time of the reversal: none stated (from memory).
 * A proposal of February 2026 (front side windows to keep working in water) is no law and not judged. */
#include <stddef.h>

#include "analysis/rules/clause.h"

#define READ_SUMMARY "sense read in a public summary of 74/60/EEC; numbers and wording " UP_FROM_MEMORY
#define READ_TEXT "read in quotations of the text, mymemory.translated.net/en/Swedish/English/elstyrd"
#define READ_ROD "read in quotations of the text, wordscope.be and vertalen.nu"

enum {
    KEY_IN,
    MUSCLE,
    EXTERIOR_LOCK,
    DELAYED,
    SMALL_OPENING,
    FRAMELESS,
    REMOTE_NEAR,
    REMOTE_FAR,
    ONE_TOUCH,
    REVERSING_INSTEAD,
    FORCE_LIMIT,
    RANGE_LOW,
    RANGE_HIGH,
    ROD_PASSES,
    BACK_TO_START,
    FURTHER_OPEN,
    FULL_TILT,
    ROD_PLACE,
    ROD_STIFFNESS,
    ROD_TOLERANCE,
    HOLD_TO_CLOSE,
    REAR_LOCKOUT,
    NO_RESTART,
    ANOTHER_ATTEMPT,
    NUMBERS
};

#define WORDS UP_ABSENT, ""
#define READ UP_SOURCE_READ
#define MEMORY UP_SOURCE_MEMORY, UP_FROM_MEMORY
#define PARTLY UP_SOURCE_MEMORY, READ_SUMMARY

static const up_rule_number numbers[NUMBERS] = {
    [KEY_IN] = {"key inserted and in a position of use", WORDS, "5.8.2.1", PARTLY},
    [MUSCLE] = {"by muscle alone", WORDS, "5.8.2.2", MEMORY},
    [EXTERIOR_LOCK] = {"continuous actuation of an exterior lock", WORDS, "5.8.2.3", MEMORY},
    [DELAYED] = {"after ignition off, until a front door opens", WORDS, "5.8.2.4", MEMORY},
    [SMALL_OPENING] = {"start from an opening not over", 0.004, "m", "5.8.2.5", READ, READ_TEXT},
    [FRAMELESS] = {"frameless door shut, start from an opening not over", 0.012, "m", "5.8.2.6", MEMORY},
    [REMOTE_NEAR] = {"reach of a continuously actuated remote device", 6, "m", "5.8.2.7", PARTLY},
    [REMOTE_FAR] = {"reach of one that does not work through an opaque surface", 11, "m", "5.8.2.7", PARTLY},
    [ONE_TOUCH] =
        {"one-touch without reversal: driver's window and roof panel alone, key on or until a front door opens", WORDS,
         "5.8.2.8", MEMORY},
    [REVERSING_INSTEAD] = {"an auto-reversing device takes the place of these conditions", WORDS, "5.8.3.1", READ,
                           READ_TEXT},
    [FORCE_LIMIT] = {"squeezing force not over", 100, "N", "5.8.3.1.1", READ, READ_TEXT},
    [RANGE_LOW] = {"limit holds down to an opening of", 0.004, "m", "5.8.3.1.1", READ, READ_TEXT},
    [RANGE_HIGH] = {"limit holds from an opening of", 0.200, "m", "5.8.3.1.1", READ, READ_TEXT},
    [ROD_PASSES] = {"a rod of this diameter passes at the point of contact", 0.200, "m", "5.8.3.1.2 (a)", MEMORY},
    [BACK_TO_START] = {"at least the position before closing was started", WORDS, "5.8.3.1.2 (b)", MEMORY},
    [FURTHER_OPEN] = {"more open than when reversing started", 0.050, "m", "5.8.3.1.2 (c)", MEMORY},
    [FULL_TILT] = {"tilting panel at its full angle", WORDS, "5.8.3.1.2 (d)", MEMORY},
    [ROD_PLACE] = {"rod put through from inside, touching the structure that bounds the opening", WORDS, "5.8.3.1.3",
                   READ, READ_ROD},
    [ROD_STIFFNESS] = {"stiffness of the measuring instrument", 10e3, "N/m", "5.8.3.1.3", MEMORY},
    [ROD_TOLERANCE] = {"its tolerance, plus and minus", 0.5e3, "N/m", "5.8.3.1.3", MEMORY},
    [HOLD_TO_CLOSE] = {"closing needs continuous actuation, one-touch, frameless and auto-reversing cases excepted",
                       WORDS, "5.8.4.1", PARTLY},
    [REAR_LOCKOUT] = {"the driver can disable the rear switches, not needed with an auto-reversing device", WORDS,
                      "5.8.4.2", PARTLY},
    [NO_RESTART] = {"after an overload protector reset, closing does not go on without a fresh command", WORDS, "5.8.5",
                    MEMORY},
    [ANOTHER_ATTEMPT] = {"a repeated attempt without protection: the text is silent", WORDS, "5.8.3.1.1", MEMORY},
};

static double rod_stiffness(double diameter, const up_rule_number **number) {
    (void)diameter; /* one value for every diameter */
    *number = &numbers[ROD_STIFFNESS];
    return numbers[ROD_STIFFNESS].value;
}

static int one_touch_allowed(const up_facts *facts) {
    const int window =
        facts->window == UP_WINDOW_DRIVER || facts->window == UP_WINDOW_ROOF || facts->window == UP_WINDOW_TILTING_ROOF;
    return facts->way == UP_WAY_ONE_TOUCH && window && (facts->key == UP_KEY_ON || facts->key == UP_KEY_OFF_DOORS_SHUT);
}

static int frameless_allowed(const up_facts *facts) {
    return facts->frameless == UP_ANSWER_YES && facts->door_shut == UP_ANSWER_YES &&
           facts->start_opening <= numbers[FRAMELESS].value + UP_SAME_LENGTH;
}

/* The condition for a command that is kept up; NULL: none. */
static const up_rule_number *held_allowed(const up_facts *facts) {
    if (facts->way != UP_WAY_HELD) {
        return NULL;
    }
    if (facts->key == UP_KEY_ON) {
        return &numbers[KEY_IN];
    }
    if (facts->key == UP_KEY_OFF_DOORS_SHUT) {
        return &numbers[DELAYED];
    }
    if (facts->place == UP_FROM_EXTERIOR_LOCK) {
        return &numbers[EXTERIOR_LOCK];
    }
    if (facts->place == UP_FROM_REMOTE) {
        if (facts->remote_reach <= numbers[REMOTE_NEAR].value) {
            return &numbers[REMOTE_NEAR];
        }
        if (facts->remote_through_wall == UP_ANSWER_NO && facts->remote_reach <= numbers[REMOTE_FAR].value) {
            return &numbers[REMOTE_FAR];
        }
    }
    return NULL;
}

/* The condition of 5.8.2 under which this closing is allowed without reversal; NULL: none that is known to hold. */
static const up_rule_number *condition_met(const up_facts *facts) {
    if (facts->start_opening <= numbers[SMALL_OPENING].value + UP_SAME_LENGTH) {
        return &numbers[SMALL_OPENING];
    }
    if (facts->place == UP_BY_MUSCLE) {
        return &numbers[MUSCLE];
    }
    if (frameless_allowed(facts)) {
        return &numbers[FRAMELESS];
    }
    return one_touch_allowed(facts) ? &numbers[ONE_TOUCH] : held_allowed(facts);
}

/* 1: a fact is missing that could still bring the closing under 5.8.2. */
static int condition_unknown(const up_facts *facts) {
    if (facts->key == UP_KEY_UNKNOWN || facts->way == UP_WAY_UNKNOWN) {
        return 1;
    }
    if (facts->way == UP_WAY_ONE_TOUCH) {
        return facts->window == UP_WINDOW_UNKNOWN && facts->key != UP_KEY_OFF;
    }
    if (facts->way == UP_WAY_AUTOMATIC) {
        return 0;
    }
    return facts->place == UP_FROM_UNKNOWN ||
           (facts->place == UP_FROM_REMOTE &&
            (up_is_absent(facts->remote_reach) ||
             (facts->remote_reach <= numbers[REMOTE_FAR].value && facts->remote_through_wall == UP_ANSWER_UNKNOWN)));
}

static void judge_conditions(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = condition_met(facts);
    if (up_has_reversing(facts) == UP_ANSWER_YES) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[REVERSING_INSTEAD],
                  "the reversing device takes the place of these conditions");
    } else if (row) {
        up_decide(verdict, UP_VERDICT_PASSED, row, row->name);
    } else if (condition_unknown(facts) || facts->reversing == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, &numbers[REVERSING_INSTEAD],
                  "not known whether a condition holds or a reversing device is fitted");
    } else {
        const int remote = facts->place == UP_FROM_REMOTE && facts->way == UP_WAY_HELD;
        row = &numbers[facts->way == UP_WAY_ONE_TOUCH ? ONE_TOUCH : remote ? REMOTE_FAR : KEY_IN];
        up_decide(verdict, UP_VERDICT_FAILED, row, "none of the conditions holds and there is no reversing device");
    }
}

/* 0 and decided when force and reversal are not asked for; otherwise 1. */
static int reversal_asked(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = condition_met(facts);
    if (row == &numbers[SMALL_OPENING]) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "exempt: it started almost closed");
        return 0;
    }
    if (up_has_reversing(facts) == UP_ANSWER_NO && (row || !facts->obstructed)) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row ? row : &numbers[REVERSING_INSTEAD],
                  "no reversing device fitted");
        return 0;
    }
    return 1;
}

static int rod_as_asked(double stiffness) {
    return up_is_absent(stiffness) || (stiffness >= numbers[ROD_STIFFNESS].value - numbers[ROD_TOLERANCE].value &&
                                       stiffness <= numbers[ROD_STIFFNESS].value + numbers[ROD_TOLERANCE].value);
}

static void judge_rod(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[ROD_STIFFNESS];
    verdict->required = 0; /* a demand on the test, not on the vehicle */
    if (!facts->obstructed) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "no rod was touched");
    } else if (up_is_absent(facts->rod_stiffness)) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "the stiffness of the rod is not known");
    } else {
        const double off = facts->rod_stiffness - row->value;
        verdict->figure = facts->rod_stiffness;
        verdict->limit = row->value;
        verdict->margin = numbers[ROD_TOLERANCE].value - (off < 0 ? -off : off);
        verdict->unit = row->unit;
        const int good = rod_as_asked(facts->rod_stiffness);
        up_decide(verdict, good ? UP_VERDICT_PASSED : UP_VERDICT_FAILED, row,
                  good ? "the rod has the stiffness this rule asks"
                       : "the rod has another stiffness than this rule asks");
    }
}

static void judge_force(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[FORCE_LIMIT];
    if (!reversal_asked(facts, verdict)) {
        return;
    }
    if (!facts->obstructed) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "nothing stood in the way");
    } else if (!up_within_or_unknown(facts->rod_opening, &numbers[RANGE_LOW], &numbers[RANGE_HIGH])) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[RANGE_HIGH],
                  "obstacle outside the opening of 200 to 4 mm");
    } else if (up_is_absent(facts->peak_force)) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "the squeezing force is not known");
    } else if (!rod_as_asked(facts->rod_stiffness)) {
        up_compare(verdict, facts->peak_force, row, UP_LIMIT_AT_MOST);
        verdict->result = UP_VERDICT_UNKNOWN;
        up_cite(verdict, &numbers[ROD_STIFFNESS]);
        verdict->reason = "the rod had another stiffness than this rule asks, so the force says nothing here";
    } else {
        up_compare(verdict, facts->peak_force, row, UP_LIMIT_AT_MOST);
        verdict->reason = verdict->result == UP_VERDICT_PASSED ? "the squeezing force did not pass the limit"
                                                               : "the squeezing force passed the limit";
    }
}

static void judge_reversal(const up_facts *facts, up_verdict *verdict) {
    static const up_reversal_rows rows = {&numbers[BACK_TO_START], &numbers[FURTHER_OPEN], &numbers[ROD_PASSES],
                                          &numbers[FULL_TILT]};
    if (!reversal_asked(facts, verdict)) {
        return;
    }
    if (facts->obstructed && !up_within_or_unknown(facts->rod_opening, &numbers[RANGE_LOW], &numbers[RANGE_HIGH])) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[RANGE_HIGH],
                  "obstacle outside the opening of 200 to 4 mm");
        return;
    }
    up_judge_reversal(facts, &rows, verdict);
}

static void judge_hold(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[HOLD_TO_CLOSE];
    if (up_has_reversing(facts) == UP_ANSWER_YES) {
        up_decide(verdict, UP_VERDICT_PASSED, row, "excepted: a reversing device is fitted");
    } else if (facts->way == UP_WAY_HELD) {
        up_decide(verdict, UP_VERDICT_PASSED, row, "it closes only while actuated");
    } else if (frameless_allowed(facts) || one_touch_allowed(facts)) {
        up_decide(verdict, UP_VERDICT_PASSED, row, "excepted: one-touch or frameless case");
    } else if (condition_unknown(facts) || facts->reversing == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known how closing is commanded");
    } else {
        up_decide(verdict, UP_VERDICT_FAILED, row, "it goes on closing when let go and is none of the excepted cases");
    }
}

static void judge_rear(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[REAR_LOCKOUT];
    if (up_has_reversing(facts) == UP_ANSWER_YES) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "not needed: a reversing device is fitted");
    } else if (facts->window == UP_WINDOW_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known which window it is");
    } else if (facts->window != UP_WINDOW_REAR) {
        up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, row, "not a rear window");
    } else if (facts->rear_lockout == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known whether the driver can disable the rear switches");
    } else {
        const int fitted = facts->rear_lockout == UP_ANSWER_YES;
        up_decide(verdict, fitted ? UP_VERDICT_PASSED : UP_VERDICT_FAILED, row,
                  fitted ? "the driver can disable the rear switches" : "the driver cannot disable the rear switches");
    }
}

static void judge_restart(const up_facts *facts, up_verdict *verdict) {
    const up_rule_number *row = &numbers[NO_RESTART];
    if (facts->protector_restarts == UP_ANSWER_UNKNOWN) {
        up_decide(verdict, UP_VERDICT_UNKNOWN, row, "not known what happens when the overload protector resets");
        return;
    }
    const int restarts = facts->protector_restarts == UP_ANSWER_YES;
    up_decide(verdict, restarts ? UP_VERDICT_FAILED : UP_VERDICT_PASSED, row,
              restarts ? "closing goes on by itself when the overload protector resets"
                       : "closing needs a fresh command after the overload protector reset");
}

/* Manuals describe a third attempt at full force; the text neither allows nor forbids it in so many words. */
static void judge_attempts(const up_facts *facts, up_verdict *verdict) {
    const int unprotected = facts->attempt_unprotected == UP_ANSWER_YES && up_has_reversing(facts) != UP_ANSWER_NO;
    verdict->required = 0;
    up_decide(verdict, UP_VERDICT_NOT_APPLICABLE, &numbers[ANOTHER_ATTEMPT],
              unprotected
                  ? "a repeated attempt closes at full force, unprotected; the text is silent on it, so it is no "
                    "failure here"
                  : "the text is silent on repeated attempts");
}

static const up_clause clauses[] = {
    {"5.8.2", "closing allowed without reversal", 1, judge_conditions},
    {"5.8.3.1.3", "test rod", 1, judge_rod},
    {"5.8.3.1.1", "squeezing force", 1, judge_force},
    {"5.8.3.1.2", "opening after reversal", 1, judge_reversal},
    {"5.8.3.1.1", "every attempt protected", 0, judge_attempts},
    {"5.8.4.1", "closing needs continuous actuation", 0, judge_hold},
    {"5.8.4.2", "rear switches can be disabled", 0, judge_rear},
    {"5.8.5", "no closing by itself after a protector reset", 0, judge_restart},
};

extern const up_rule up_rule_un_r21;
const up_rule up_rule_un_r21 = {
    .name = "UN",
    .citation = "UN Regulation No. 21, 01 series, paragraph 5.8",
    .edition = "Supplement 3 to the 01 series, in force 31 January 2003",
    .numbers = numbers,
    .number_count = NUMBERS,
    .clauses = clauses,
    .clause_count = sizeof clauses / sizeof clauses[0],
    .rod_stiffness = rod_stiffness,
    .range_low = RANGE_LOW,
    .range_high = RANGE_HIGH,
    .stiffness_tolerance = ROD_TOLERANCE,
};

#include "analysis/judge.h"

#include <string.h>

#define UP_RULE(name) extern const up_rule up_rule_##name;
#include "analysis/rules/rules.def"

static const up_rule *const rules[] = {
#define UP_RULE(name) &up_rule_##name,
#include "analysis/rules/rules.def"
};

enum { RULES = sizeof rules / sizeof rules[0] };

int up_rule_count(void) {
    return RULES;
}

const up_rule *up_rule_at(int index) {
    return index >= 0 && index < RULES ? rules[index] : NULL;
}

const up_rule *up_rule_named(const char *name) {
    for (int i = 0; i < RULES; i++) {
        if (strcmp(rules[i]->name, name) == 0) {
            return rules[i];
        }
    }
    return NULL;
}

void up_facts_default(up_facts *facts) {
    memset(facts, 0, sizeof *facts); /* every answer and kind: unknown */
    double *const unknown[] = {&facts->start_opening,  &facts->reversal_opening, &facts->final_opening,
                               &facts->peak_force,     &facts->rod_opening,      &facts->rod_diameter,
                               &facts->rod_stiffness,  &facts->remote_reach,     &facts->infrared_wavelength,
                               &facts->rod_reflectance};
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++) {
        *unknown[i] = UP_ABSENT;
    }
}

void up_facts_from_run(const up_values *door, const up_run_options *options, const up_outcome *outcome,
                       up_facts *facts) {
    facts->start_opening = door->glass_travel - outcome->start_travel;
    if (!up_is_absent(door->detect_off_after)) {
        facts->attempt_unprotected = door->detect_off_after > 0 ? UP_ANSWER_YES : UP_ANSWER_NO;
    }
    facts->reversal_opening = outcome->reversals > 0 ? door->glass_travel - outcome->reversal_travel : UP_ABSENT;
    facts->final_opening = door->glass_travel - outcome->final_travel;
    facts->obstructed = options->rod && !up_is_absent(outcome->rod_touch_time);
    facts->peak_force = facts->obstructed ? outcome->peak_rod_force : UP_ABSENT;
    facts->rod_opening = options->rod ? options->rod_opening : UP_ABSENT;
    facts->rod_stiffness = options->rod ? options->rod_stiffness : UP_ABSENT;
}

const char *up_verdict_word(up_verdict_result result) {
    static const char *const words[] = {"passed", "failed", "not applicable", "cannot be judged"};
    return (unsigned)result < sizeof words / sizeof words[0] ? words[result] : "unknown";
}

const char *up_judge_statement(void) {
    return "This is a calculation from a model of one door, not a certification and not a test of a vehicle. "
           "Figures marked as from memory were not checked against the official text; that text decides. "
           "Prove the real door with a rod or a force gauge, never with a hand.";
}

/* All required verdicts together, or only those about the closing. */
static up_verdict_result together(const up_judgement *judgement, int of_closing_only) {
    int count[UP_VERDICT_UNKNOWN + 1] = {0};
    for (int i = 0; i < judgement->count; i++) {
        const up_verdict *verdict = &judgement->verdict[i];
        if (verdict->required && (verdict->of_closing || !of_closing_only)) {
            count[verdict->result]++;
        }
    }
    if (count[UP_VERDICT_FAILED]) {
        return UP_VERDICT_FAILED;
    }
    if (count[UP_VERDICT_UNKNOWN]) {
        return UP_VERDICT_UNKNOWN;
    }
    return count[UP_VERDICT_PASSED] ? UP_VERDICT_PASSED : UP_VERDICT_NOT_APPLICABLE;
}

void up_judge(const up_rule *rule, const up_facts *facts, up_judgement *judgement) {
    memset(judgement, 0, sizeof *judgement);
    judgement->rule = rule;
    judgement->statement = up_judge_statement();
    judgement->count = rule->clause_count < UP_VERDICTS_MAX ? rule->clause_count : UP_VERDICTS_MAX;
    for (int i = 0; i < judgement->count; i++) {
        const up_clause *clause = &rule->clauses[i];
        up_verdict *verdict = &judgement->verdict[i];
        *verdict = (up_verdict){.rule = rule->name,
                                .paragraph = clause->paragraph,
                                .title = clause->title,
                                .result = UP_VERDICT_UNKNOWN,
                                .required = 1,
                                .of_closing = clause->of_closing,
                                .figure = UP_ABSENT,
                                .limit = UP_ABSENT,
                                .margin = UP_ABSENT,
                                .unit = "",
                                .source = UP_SOURCE_READ,
                                .mark = "",
                                .reason = ""};
        clause->judge(facts, verdict);
        judgement->unknown += verdict->required && verdict->result == UP_VERDICT_UNKNOWN;
    }
    judgement->overall = together(judgement, 0);
    judgement->closing = together(judgement, 1);
}

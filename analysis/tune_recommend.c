/* Which of the confirmed settings is recommended. */
#include <math.h>

#include "analysis/tune_parts.h"

int up_tune_unturned(const up_tune_choice *choice) {
    int all = 0;
    for (int rule = 0; rule < UP_ROD_RULES_MAX; rule++) {
        all += choice->unturned[rule];
    }
    return all;
}

int up_tune_touched(const up_tune_choice *choice) {
    int all = 0;
    for (int rule = 0; rule < UP_ROD_RULES_MAX; rule++) {
        all += choice->touched[rule];
    }
    return all;
}

int up_tune_same_force(const up_tune_choice *a, const up_tune_choice *b, int rule) {
    const double one = a->worst[rule].force;
    const double other = b->worst[rule].force;
    return fabs(one - other) < UP_TUNE_FORCE_NOISE * fmin(one, other);
}

int up_tune_same_rate(const up_tune_choice *a, const up_tune_choice *b) {
    return a->reversed.low <= b->reversed.high && b->reversed.low <= a->reversed.high;
}

/* A rate is acceptable unless the fresh days speak against it. */
static int is_quiet(const up_tune_request *request, const up_tune_choice *one) {
    return one->reversed.low <= request->rate;
}

/* Under no rule more force or more rods never turned back from than today, at the places where both were judged. */
static int is_no_worse(const up_tune_request *request, const up_tune_choice *one, const up_tune_choice *today) {
    for (int rule = 0; rule < request->rules; rule++) {
        if (one->unturned_same[rule] > today->unturned_same[rule] ||
            one->worst[rule].force > today->worst[rule].force) {
            return 0;
        }
    }
    return 1;
}

/* Safety first: a setting that squeezes more than today's under some rule, or lets more rods lie, is shown and never
 * recommended, unless it keeps the limit. What neither chance nor the noise of the search makes is a gain. */
static up_tune_reason class_of(const up_tune_request *request, const up_tune_result *result,
                               const up_tune_choice *one) {
    const up_tune_choice *const today = &result->today;
    const int softer = one->largest < (1 - UP_TUNE_FORCE_NOISE) * today->largest;
    const int fewer = one->reversed.share < today->reversed.share && (softer || !up_tune_same_rate(one, today));
    if (one->keeps && is_quiet(request, one)) {
        return UP_TUNE_WITHIN;
    }
    if (one->keeps && today->keeps && fewer) {
        return UP_TUNE_KEEPS;
    }
    const int gains = fewer || (is_quiet(request, one) && softer);
    return gains && is_no_worse(request, one, today) ? UP_TUNE_LESS : UP_TUNE_TRADE;
}

/* The better of two kinds, by what was confirmed. */
static int is_better(const up_tune_request *request, const up_tune_choice *a, const up_tune_choice *b) {
    if (a->reason != b->reason) {
        return a->reason < b->reason;
    }
    /* beyond the limit, a rate that chance may have made buys no force */
    if (a->reason == UP_TUNE_LESS && ((is_quiet(request, a) && is_quiet(request, b)) || up_tune_same_rate(a, b))) {
        return a->largest < b->largest;
    }
    return a->reversed.share < b->reversed.share ||
           (!(a->reversed.share > b->reversed.share) && a->largest < b->largest);
}

/* Both keep the limit at an acceptable rate: a change has to be worth it. */
static int is_worth_it(const up_tune_choice *one, const up_tune_choice *today) {
    if (one->reversed.share < today->reversed.share) {
        return !up_tune_same_rate(one, today) || one->largest <= today->largest;
    }
    return !(one->reversed.share > today->reversed.share) && one->largest < (1 - UP_TUNE_FORCE_NOISE) * today->largest;
}

void up_tune_recommend(const up_tune_request *request, up_tune_result *result) {
    up_tune_choice *const today = &result->today;
    result->recommended = -1;
    today->reason = today->keeps && is_quiet(request, today) ? UP_TUNE_WITHIN : UP_TUNE_LEAVE;
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        up_tune_choice *const one = &result->best[kind];
        if (!one->is_there) {
            continue;
        }
        one->reason = class_of(request, result, one);
        const int may_be = one->reason < today->reason || (one->reason == UP_TUNE_WITHIN && is_worth_it(one, today));
        if (may_be && (result->recommended < 0 || is_better(request, one, &result->best[result->recommended]))) {
            result->recommended = kind;
        }
    }
}

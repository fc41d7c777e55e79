#include "analysis/campaign_tally.h"

#include <math.h>
#include <string.h>

void up_tally_clear(const up_case_maker *maker, up_tally *tally) {
    memset(tally, 0, sizeof *tally);
    tally->maker = maker;
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        up_quantile_clear(&tally->headline[h]);
    }
    up_quantile_clear(&tally->severity);
}

double up_tally_result(const up_case_maker *maker, const up_closing_row *row) {
    if (row->status != UP_OK) {
        return UP_ABSENT;
    }
    return maker->plan.rod ? row->headline[UP_HEADLINE_peak_rod_force] : row->severity;
}

static void add_slices(up_tally *tally, const up_closing_row *row, double result) {
    const int hit = tally->maker->plan.rod ? row->verdict == UP_VERDICT_FAILED : row->false_reversal;
    for (int i = 0; i < tally->maker->singles; i++) {
        up_tally_slice *const slice = &tally->slice[i][row->share[i] * UP_TALLY_BINS / 256];
        slice->closings++;
        slice->hits += (uint64_t)hit;
        up_exact_sum_add(&slice->sum, result);
    }
}

static void add_failure(up_tally *tally, const up_closing_row *row) {
    if (tally->failed == 0 || row->number < tally->first_failed) {
        tally->first_failed = row->number;
        tally->first_failure = row->status;
    }
    tally->failed++;
}

void up_tally_add(up_tally *tally, const up_closing_row *row) {
    tally->halved += row->halvings > 0;
    if (row->status != UP_OK) {
        add_failure(tally, row);
        return;
    }
    tally->closings++;
    tally->end[row->end]++;
    tally->reversed += row->reversals > 0;
    tally->false_reversals += (uint64_t)row->false_reversal;
    if (row->false_reversal && row->turned >= 0 && row->turned < UP_TURNED_COUNT) {
        tally->turned[row->turned]++;
    }
    tally->touched += !up_is_absent(row->headline[UP_HEADLINE_peak_rod_force]);
    tally->coasted += row->false_reversal && row->verdict == UP_VERDICT_FAILED;
    tally->passed += row->verdict == UP_VERDICT_PASSED;
    tally->refused += row->verdict == UP_VERDICT_FAILED;
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        up_quantile_add(&tally->headline[h], row->headline[h]);
    }
    up_quantile_add(&tally->severity, row->severity);
    const double result = up_tally_result(tally->maker, row);
    if (isfinite(result)) {
        tally->with_result++;
        up_exact_sum_add(&tally->result, result);
        up_exact_sum_add_product(&tally->square, result, result);
        add_slices(tally, row, result);
    }
}

double up_tally_mean(const up_tally *tally) {
    return tally->with_result > 0 ? up_exact_sum_value(&tally->result) / (double)tally->with_result : UP_ABSENT;
}

/* Sum of squared deviations from the mean. */
static double squares(const up_tally *tally) {
    const double count = (double)tally->with_result, sum = up_exact_sum_value(&tally->result);
    return up_exact_sum_less(&tally->square, sum * sum / count);
}

double up_tally_deviation(const up_tally *tally) {
    return tally->with_result > 1 ? sqrt(fmax(squares(tally), 0) / ((double)tally->with_result - 1)) : UP_ABSENT;
}

/* Share of the variance that lies between slices. between: sum over the slices of closings times squared deviation of the slice's
 * mean; all: sum of all squared deviations. Slices that mean nothing still differ by chance, (filled - 1) times the variance
 * inside them: that is taken off. */
static double share_between(double between, double all, double count, double filled) {
    if (!(all > 0) || count <= filled) {
        return UP_ABSENT;
    }
    const double within = (all - between) / (count - filled);
    return (between - (filled - 1) * within) / all;
}

double up_tally_first_order(const up_tally *tally, int single) {
    const double mean = up_tally_mean(tally);
    double between = 0, filled = 0;
    for (int b = 0; b < UP_TALLY_BINS; b++) {
        const up_tally_slice *const slice = &tally->slice[single][b];
        if (slice->closings > 0) {
            const double off = up_exact_sum_value(&slice->sum) / (double)slice->closings - mean;
            between += (double)slice->closings * off * off;
            filled += 1;
        }
    }
    return share_between(between, tally->with_result > 1 ? squares(tally) : 0, (double)tally->with_result, filled);
}

double up_tally_hit_first_order(const up_tally *tally, int single) {
    double hits = 0, closings = 0, between = 0, filled = 0;
    for (int b = 0; b < UP_TALLY_BINS; b++) {
        hits += (double)tally->slice[single][b].hits;
        closings += (double)tally->slice[single][b].closings;
    }
    const double share = hits / fmax(closings, 1);
    for (int b = 0; b < UP_TALLY_BINS; b++) {
        const up_tally_slice *const slice = &tally->slice[single][b];
        if (slice->closings > 0) {
            const double off = (double)slice->hits / (double)slice->closings - share;
            between += (double)slice->closings * off * off;
            filled += 1;
        }
    }
    return share_between(between, closings * share * (1 - share), closings, filled);
}

double up_tally_chance(const up_tally *tally) {
    return 3 * sqrt(2.0 * (UP_TALLY_BINS - 1)) / ((double)tally->with_result + 1);
}

up_tally_quarter up_tally_quarter_of(const up_tally *tally, int single, int upper) {
    up_tally_quarter quarter = {0, 0, UP_ABSENT};
    const int first = upper ? UP_TALLY_BINS - UP_TALLY_BINS / 4 : 0;
    up_exact_sum sum = {0};
    for (int b = first; b < first + UP_TALLY_BINS / 4; b++) {
        const up_tally_slice *const slice = &tally->slice[single][b];
        quarter.closings += slice->closings;
        quarter.hits += slice->hits;
        up_exact_sum_merge(&sum, &slice->sum);
    }
    if (quarter.closings > 0) {
        quarter.mean = up_exact_sum_value(&sum) / (double)quarter.closings;
    }
    return quarter;
}

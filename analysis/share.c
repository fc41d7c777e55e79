#include "analysis/share.h"

#include <math.h>

#include "core/door/values.h"

/* Sum of the terms of the binomial distribution from `hits` on, upwards (step 1) or downwards (-1), as far as they count. The
 * terms have to fall that way, or the sum ends early. Ratios from term to term would lose the far tail; logarithms do not. */
static double sum_from(int hits, int of, double p, int step) {
    const double log_hit = log(p), log_miss = log1p(-p);
    double sum = 0;
    double log_ways = lgamma(of + 1.0) - lgamma(hits + 1.0) - lgamma(of - hits + 1.0);
    for (int i = hits; i >= 0 && i <= of; i += step) {
        const double term = exp(log_ways + i * log_hit + (of - i) * log_miss);
        sum += term;
        if (term < 1e-18 * sum) {
            break;
        }
        log_ways += step > 0 ? log((double)(of - i) / (i + 1.0)) : log((double)i / (of - i + 1.0));
    }
    return sum;
}

/* Probability of `hits` or more out of `of` when each is a hit with probability p, 0 < p < 1, hits >= 1. Summed on the side
 * where the terms fall, so a million closings cost no more than a thousand. */
static double at_least(int hits, int of, double p) {
    return hits > of * p ? sum_from(hits, of, p, 1) : 1 - sum_from(hits - 1, of, p, -1);
}

/* The p at which `hits` or more have the given probability. at_least rises with p. */
static double where(int hits, int of, double probability) {
    double low = 0, high = 1;
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (at_least(hits, of, middle) < probability) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

void up_share_interval(int hits, int of, double confidence, double *low, double *high) {
    const double tail = 0.5 * (1 - confidence);
    *low = 0;
    *high = 1;
    if (hits < 0 || hits > of) {
        return;
    }
    if (hits > 0) {
        *low = where(hits, of, tail);
    }
    if (hits < of) {
        *high = where(hits + 1, of, 1 - tail);
    }
}

up_share up_share_of(int hits, int of) {
    up_share share = {hits, of, of > 0 ? (double)hits / of : UP_ABSENT, 0, 1};
    if (of > 0) {
        up_share_interval(hits, of, 0.95, &share.low, &share.high);
    }
    return share;
}

#include "analysis/share.h"

#include <math.h>

#include "core/door/values.h"

/* Probability of `hits` or more out of `of` when each is a hit with probability p, 0 < p < 1, hits >= 1. */
static double at_least(int hits, int of, double p) {
    const double log_hit = log(p), log_miss = log1p(-p);
    double sum = 0;
    /* Ratios from term to term would lose the far tail; logarithms do not. */
    double log_ways = lgamma(of + 1.0) - lgamma(hits + 1.0) - lgamma(of - hits + 1.0);
    for (int i = hits; i <= of; i++) {
        sum += exp(log_ways + i * log_hit + (of - i) * log_miss);
        log_ways += log((double)(of - i) / (i + 1.0));
    }
    return sum;
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

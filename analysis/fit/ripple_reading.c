/* What a line is of a turn: every pair of commutator count and order of the line is asked how well it explains the lines
 * that move together.
 *
 * A line of an order that a motor is known to show is expected with some probability, one of another whole order with a
 * small one, and lines at no whole order are strays. The probabilities are judgement (common practice, no source);
 * docs/ripple.md lists them, and the tests show what comes of them. */
#include <math.h>
#include <string.h>

#include "analysis/fit/commutation.h"
#include "analysis/fit/ripple_parts.h"
#include "core/base/up_math.h"

enum { BARS_MOST = 40, PER_TURN_MOST = 2 * BARS_MOST * 2, READINGS_MOST = 1200 };

static const double stray = 0.002;       /* stray lines per bin ...                                */
static const double strong_stray = 3e-4; /* ... and of those 30 times above the floor              */
static const double other_order = 0.01;  /* a line at a whole order that has no name               */
static const double off_by = 1.5;        /* bins that a line may lie from the place of its order   */

typedef struct candidate {
    int per_turn, segments, poles, line;
    double log_likelihood;
} candidate;

/* Chance that a motor shows a line at an order. odd: an odd number of bars between two poles. */
static double chance_of(int order, int n, int odd) {
    if (order == n) {
        return 0.92;
    }
    if (order == 2 * n) {
        return 0.5;
    }
    if (2 * order == n) {
        return odd ? 0.5 : 0.25;
    }
    if (order == 3 * n) {
        return 0.2;
    }
    if (3 * order == n || 3 * order == 2 * n || 2 * order == 3 * n) {
        return 0.15;
    }
    if (order <= 4) {
        return order == 1 ? 0.5 : order == 2 ? 0.4 : 0.2;
    }
    const int away = order > n ? order - n : n - order;
    return away == 1 ? 0.25 : away == 2 ? 0.12 : other_order;
}

/* How likely the strongest line is of this order, before any line is looked at. */
static double chance_strongest(int order, int n) {
    if (order == n) {
        return 0.5;
    }
    if (2 * order == n || order == 1) {
        return 0.12;
    }
    if (order == 2 || order == 2 * n) {
        return 0.08;
    }
    return 3 * order == n || 3 * order == 2 * n || order <= 4 ? 0.02 : 0.002;
}

/* Numbers of bars and poles seen in practice (common practice, no source). */
static double chance_of_bars(int bars, int poles) {
    const double common = bars >= 7 && bars <= 16 ? 1 : bars >= 17 && bars <= 24 ? 0.4 : bars >= 5 ? 0.15 : 0.05;
    return common * (poles == 2 ? 1 : poles == 4 ? 0.6 : 0.1);
}

static double log_stray(const up_ripple_orders *o, int i) {
    return log(o->power[i] > 30 ? strong_stray : stray);
}

/* Strength of the order that a turn shows, in logarithms: the lines found against those expected. */
static double explain(const up_ripple_orders *o, int line, int n, int odd) {
    double log_likelihood = 0;
    int next = 0;
    const double tolerance = off_by * o->step;
    const int last = (int)floor(o->highest * line);
    for (int order = 1; order <= last; order++) {
        const double place = (double)order / line, chance = chance_of(order, n, odd);
        if (place < o->lowest) {
            continue;
        }
        while (next < o->count && o->order[next] < place - tolerance) {
            log_likelihood += log_stray(o, next++);
        }
        if (next < o->count && o->order[next] <= place + tolerance) {
            log_likelihood += log(chance / (2 * off_by));
            next++;
        } else {
            log_likelihood += log(1 - chance);
        }
    }
    for (; next < o->count; next++) {
        log_likelihood += log_stray(o, next);
    }
    return log_likelihood;
}

/* ln of the density of this speed over ln(speed): the guide's normal; without one, what door motors do (common practice,
 * no source: around 300 rad/s, two thirds of them within a factor of 1.6). */
static double speed_density(const up_ripple_request *q, double guide_log, int line, double speed) {
    if (isnan(guide_log)) {
        const double z = log(speed / 300) / 0.5;
        return -0.5 * z * z - log(0.5 * sqrt(2 * UP_PI));
    }
    const double sigma = 0.5 * q->guide_tolerance, z = (guide_log - log(line)) / sigma;
    return -0.5 * z * z - log(sigma * sqrt(2 * UP_PI));
}

typedef struct list {
    int count;
    candidate one[READINGS_MOST];
} list;

static void keep(list *all, candidate c) {
    for (int i = 0; i < all->count; i++) {
        candidate *known = &all->one[i];
        if (known->per_turn == c.per_turn && known->line == c.line) {
            /* The same speed and count from other bars: they share, and the likelier gives the name. */
            const double more = c.log_likelihood > known->log_likelihood ? c.log_likelihood : known->log_likelihood;
            const double sum = more + log(exp(c.log_likelihood - more) + exp(known->log_likelihood - more));
            if (c.log_likelihood > known->log_likelihood) {
                *known = c;
            }
            known->log_likelihood = sum;
            return;
        }
    }
    if (all->count < READINGS_MOST) {
        all->one[all->count++] = c;
    }
}

/* Orders that the strongest line may be of. */
static int line_choices(int n, int *choice) {
    const int all[] = {n, 2 * n, 1, 2, 3, 4, n % 2 ? 0 : n / 2, n % 3 ? 0 : n / 3, n % 3 ? 0 : 2 * n / 3, n - 1, n + 1};
    int count = 0;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        int fresh = all[i] > 0;
        for (int j = 0; j < count; j++) {
            fresh = fresh && choice[j] != all[i];
        }
        if (fresh) {
            choice[count++] = all[i];
        }
    }
    return count;
}

static void try_motor(const up_ripple_request *q, const up_ripple_orders *o, double line_frequency, double guide_log,
                      int segments, int poles, double weight, list *all) {
    const int n = up_commutations(segments, poles), odd = poles == 2 && segments % 2;
    int choice[16];
    const int choices = line_choices(n, choice);
    for (int i = 0; i < choices; i++) {
        const double speed = 2 * UP_PI * line_frequency / choice[i];
        if (speed < q->slowest || speed > q->fastest) {
            continue;
        }
        const candidate c = {n, segments, poles, choice[i],
                             log(weight * chance_strongest(choice[i], n)) + explain(o, choice[i], n, odd) +
                                 speed_density(q, guide_log, choice[i], speed)};
        keep(all, c);
    }
}

static void try_all(const up_ripple_request *q, const up_ripple_orders *o, double line, double guide_log, list *all) {
    double whole = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (int poles = q->poles ? q->poles : 2; poles <= (q->poles ? q->poles : 4); poles += 2) {
            for (int s = q->segments ? q->segments : 3; s <= (q->segments ? q->segments : BARS_MOST); s++) {
                const double chance = chance_of_bars(s, poles);
                if (pass == 0) {
                    whole += chance;
                } else {
                    try_motor(q, o, line, guide_log, s, poles, chance / whole, all);
                }
            }
        }
    }
}

static void list_segments(const up_ripple_request *q, up_ripple_result *r) {
    const int n = r->reading[0].per_turn;
    r->segment_choices = 0;
    r->segment_choice[r->segment_choices++] = r->reading[0].segments;
    for (int poles = q->poles ? q->poles : 2; poles <= (q->poles ? q->poles : 4); poles += 2) {
        for (int s = q->segments ? q->segments : 3; s <= (q->segments ? q->segments : BARS_MOST); s++) {
            int known = 0;
            for (int i = 0; i < r->segment_choices; i++) {
                known = known || r->segment_choice[i] == s;
            }
            if (!known && up_commutations(s, poles) == n && r->segment_choices < UP_RIPPLE_SEGMENTS) {
                r->segment_choice[r->segment_choices++] = s;
            }
        }
    }
}

double up_ripple_read(const up_ripple_request *q, const up_ripple_orders *o, double line, double guide_log,
                      up_ripple_result *r) {
    static const double even_line = 5; /* ln of the range of lines looked for: a stray may lie anywhere in it */
    list all;
    all.count = 0;
    try_all(q, o, line, guide_log, &all);
    r->readings = 0;
    r->per_turn_told = 0;
    if (all.count == 0) {
        return -INFINITY;
    }
    int best = 0;
    for (int i = 1; i < all.count; i++) {
        best = all.one[i].log_likelihood > all.one[best].log_likelihood ? i : best;
    }
    const double top = all.one[best].log_likelihood;
    double sum = 0;
    for (int i = 0; i < all.count; i++) {
        sum += exp(all.one[i].log_likelihood - top);
    }
    double same_count = 0;
    r->speed_likelihood = 0;
    for (int i = 0; i < all.count; i++) {
        r->speed_likelihood += all.one[i].line == all.one[best].line ? exp(all.one[i].log_likelihood - top) / sum : 0;
        same_count += all.one[i].per_turn == all.one[best].per_turn ? exp(all.one[i].log_likelihood - top) / sum : 0;
    }
    const int line_told = all.one[best].line;
    for (int k = 0; k < UP_RIPPLE_READINGS && k < all.count; k++) {
        int next = 0;
        for (int i = 1; i < all.count; i++) {
            next = all.one[i].log_likelihood > all.one[next].log_likelihood ? i : next;
        }
        const candidate *c = &all.one[next];
        const double share = exp(c->log_likelihood - top) / sum;
        if (k > 0 && share < 0.01) {
            break;
        }
        r->reading[r->readings++] =
            (up_ripple_reading){c->line, c->per_turn, c->segments, c->poles, (double)line_told / c->line, share};
        all.one[next].log_likelihood = -INFINITY;
    }
    r->per_turn_told = same_count >= 0.95;
    list_segments(q, r);
    double strays = -log(even_line);
    for (int i = 0; i < o->count; i++) {
        strays += log_stray(o, i);
    }
    return top + log(sum) - strays;
}

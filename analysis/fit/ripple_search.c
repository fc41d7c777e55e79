/* The strongest line is followed, then the next, until one is the motor's. */
#include <math.h>
#include <string.h>

#include "analysis/fit/ripple_parts.h"

enum { BASES = 5 /* lines that are followed before the search is given up */ };

static const double least_gain = 12;    /* a path must gain: what paths through noise alone stay below            */
static const double least_evidence = 0; /* ln: the lines are rather the motor's than anything's                   */

static void keep(up_ripple_desk *d, up_ripple_search *found, double evidence, const up_ripple_result *readings,
                 int steady, int confirmed) {
    float *swap = d->kept.frequency;
    d->kept = d->path;
    d->path.frequency = swap;
    found->have = 1;
    found->evidence = evidence;
    found->steady = steady;
    found->confirmed = confirmed;
    found->orders = d->orders;
    found->readings = *readings;
}

static double median_line(up_ripple_desk *d) {
    size_t known = 0;
    for (size_t f = 0; f < d->signal.frames; f++) {
        if (d->path.frequency[f] > 0) {
            d->scratch[known++] = d->path.frequency[f];
        }
    }
    return up_ripple_quantile(d->scratch, known, 0.5);
}

static void refuse(up_ripple_desk *d, up_ripple_search *found, up_ripple_motion motion) {
    up_ripple_result *r = d->result;
    if (motion == UP_RIPPLE_AGAINST) {
        found->against++;
        return;
    }
    found->stayed++;
    if (r->artefacts < UP_RIPPLE_ARTEFACTS) {
        r->artefact[r->artefacts++] = median_line(d);
    }
}

static void find_orders(up_ripple_desk *d) {
    up_ripple_orders_find(&d->signal, &d->path, d->stretch, d->sample, d->power, d->sum, d->map.top, &d->orders);
    if (d->orders.count == 0) { /* no run is long enough for a long stretch */
        up_ripple_orders_find(&d->signal, &d->path, d->frame, d->sample, d->power, d->sum, d->map.top, &d->orders);
    }
}

/* ---- from a low order to a better one ---------------------------------------------------------------------------- */

/* Power of the line at an order of the path; 0 when it is not among those found. */
static double power_at(const up_ripple_orders *o, double order) {
    double power = 0;
    for (int i = 0; i < o->count; i++) {
        if (fabs(o->order[i] - order) < 2 * o->step) {
            power = fmax(power, o->power[i]);
        }
    }
    return power;
}

/* The multiple or half of the commutation that tells the speed best (order^2 times power), as order of the shaft; 0 when
 * it is not much better than the path's own line. */
static int better_line(const up_ripple_request *q, const up_ripple_search *found) {
    const up_ripple_reading *r = &found->readings.reading[0];
    double best = 4 * power_at(&found->orders, 1);
    int line = 0;
    for (int half = 1; half <= 4; half++) {
        const int order = half * r->per_turn / 2;
        const double ratio = (double)order / r->line, worth = ratio * ratio * power_at(&found->orders, ratio);
        if (half * r->per_turn % 2 == 0 && worth > best) {
            best = worth;
            line = order;
        }
    }
    /* With known bars the ripple is worth a try even where the low order's own scatter smeared it out of sight. */
    return line == 0 && q->segments && q->poles && r->line <= 4 && 3 * r->line < r->per_turn ? r->per_turn : line;
}

/* Leaves of the map a band around so many times the kept path. */
static void leave_band(up_ripple_desk *d, double times, double width) {
    const double per_state = UP_RIPPLE_PER_OCTAVE / log(2.0);
    for (size_t f = 0; f < d->signal.frames; f++) {
        uint8_t *score = d->map.score + f * (size_t)d->map.states;
        const double middle = times * d->kept.frequency[f];
        const double state = middle > d->map.lowest ? per_state * log(middle / d->map.lowest) : -1e9;
        for (int i = 0; i < d->map.states; i++) {
            if (fabs(i - state) > width * per_state + 0.5) {
                score[i] = 0;
            }
        }
    }
}

/* A shaft order is strong but low: its frequency is told so many times worse as its order is lower. When the search ended
 * on such a line, the path goes over to the better one that was found to move with it. */
static void climb(up_ripple_desk *d, up_ripple_search *found) {
    const int line = better_line(d->request, found);
    if (line == 0) {
        return;
    }
    const double times = (double)line / found->readings.reading[0].line;
    leave_band(d, times, fmin(0.05, 0.45 / line));
    up_ripple_path_find(&d->signal, &d->map, &d->path);
    if (d->path.gain < least_gain || 10 * d->path.frames < 6 * d->kept.frames) {
        return;
    }
    double guide_log;
    int confirmed;
    const up_ripple_motion motion = up_ripple_moves(&d->signal, &d->path, d->scratch, &guide_log, &confirmed);
    find_orders(d);
    up_ripple_result readings = *d->result;
    const double evidence = up_ripple_read(d->request, &d->orders, median_line(d), guide_log, &readings);
    const int as_before = (motion == UP_RIPPLE_WITH_MOTOR || motion == UP_RIPPLE_STEADY) &&
                          evidence >= least_evidence && readings.readings > 0 && readings.reading[0].line == line;
    if (as_before) {
        keep(d, found, evidence, &readings, found->steady, confirmed);
    }
}

/* ---- the search -------------------------------------------------------------------------------------------------- */

/* Follows the strongest line, then the next, until one is the motor's. */
static void follow(up_ripple_desk *d, up_ripple_search *found) {
    memset(found, 0, sizeof *found);
    for (int base = 0; base < BASES; base++) {
        up_ripple_path_find(&d->signal, &d->map, &d->path);
        if (d->path.frames < UP_RIPPLE_FRAMES_LEAST || d->path.gain < least_gain) {
            return;
        }
        double guide_log;
        int confirmed;
        const up_ripple_motion motion = up_ripple_moves(&d->signal, &d->path, d->scratch, &guide_log, &confirmed);
        up_ripple_path_erase(&d->signal, &d->map, &d->path);
        if (motion == UP_RIPPLE_STAYS || motion == UP_RIPPLE_AGAINST) {
            refuse(d, found, motion);
            continue;
        }
        find_orders(d);
        up_ripple_result readings = *d->result;
        const double evidence = up_ripple_read(d->request, &d->orders, median_line(d), guide_log, &readings);
        if (evidence < least_evidence) {
            continue;
        }
        if (motion == UP_RIPPLE_WITH_MOTOR) {
            if (found->have && found->steady) { /* that one stood still while this one moves */
                found->stayed++;
            }
            keep(d, found, evidence, &readings, 0, confirmed);
            return;
        }
        if (!found->have || evidence > found->evidence) {
            keep(d, found, evidence, &readings, 1, 0);
        }
    }
}

void up_ripple_search_for(up_ripple_desk *d, up_ripple_search *found) {
    follow(d, found);
    if (found->have) {
        climb(d, found);
    }
}

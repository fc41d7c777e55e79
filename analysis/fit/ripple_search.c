/* The strongest line is followed, then the next, until one is the motor's. */
#include <math.h>
#include <string.h>

#include "analysis/fit/ripple_parts.h"

enum { BASES = 5 /* lines that are followed before the search is given up */ };

static const double least_gain = 12;    /* a path must gain: what paths through noise alone stay below            */
static const double least_evidence = 0; /* ln: the lines are rather the motor's than anything's                   */

static void keep(up_ripple_desk *d, up_ripple_search *found, double evidence, const up_ripple_result *readings,
                 int steady) {
    float *swap = d->kept.frequency;
    d->kept = d->path;
    d->path.frequency = swap;
    found->have = 1;
    found->evidence = evidence;
    found->steady = steady;
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

/* Follows the strongest line, then the next, until one is the motor's. */
void up_ripple_search_for(up_ripple_desk *d, up_ripple_search *found) {
    memset(found, 0, sizeof *found);
    for (int base = 0; base < BASES; base++) {
        up_ripple_path_find(&d->signal, &d->map, &d->path);
        if (d->path.frames < UP_RIPPLE_FRAMES_LEAST || d->path.gain < least_gain) {
            return;
        }
        double guide_log;
        const up_ripple_motion motion = up_ripple_moves(&d->signal, &d->path, d->scratch, &guide_log);
        up_ripple_path_erase(&d->signal, &d->map, &d->path);
        if (motion == UP_RIPPLE_STAYS || motion == UP_RIPPLE_AGAINST) {
            refuse(d, found, motion);
            continue;
        }
        up_ripple_orders_find(&d->signal, &d->path, d->stretch, d->sample, d->power, d->sum, d->map.top, &d->orders);
        if (d->orders.count == 0) {
            up_ripple_orders_find(&d->signal, &d->path, d->frame, d->sample, d->power, d->sum, d->map.top, &d->orders);
        }
        up_ripple_result readings = *d->result;
        const double evidence = up_ripple_read(d->request, &d->orders, median_line(d), guide_log, &readings);
        if (evidence < least_evidence) {
            continue;
        }
        if (motion == UP_RIPPLE_WITH_MOTOR) {
            if (found->have && found->steady) { /* that one stood still while this one moves */
                found->stayed++;
            }
            keep(d, found, evidence, &readings, 0);
            return;
        }
        if (!found->have || evidence > found->evidence) {
            keep(d, found, evidence, &readings, 1);
        }
    }
}

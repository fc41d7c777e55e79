/* Friction by position: the sliding drag at which the torque balance of a turn closes, gathered along the travel. */
#include <math.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"

typedef struct heap {
    double sum, square, sheet;
    int rows;
} heap;

/* Drag on the glass with which a window's balance closes, N; NaN: none. */
static double drag_in(const up_fit_work *work, const up_window *w, const double *p, up_door *door) {
    up_place_on_travel place;
    up_fit_put(work, p, door);
    up_fit_place_of(work, p, w, &place);
    const double plain = up_glass_drag(door, place.travel, NULL) + door->header_friction * place.header;
    const double step = 20;
    const double here = up_fit_current_left(work, p, door, w, 0), there = up_fit_current_left(work, p, door, w, step);
    const double more = here / (here - there) * step;
    const double again = up_fit_current_left(work, p, door, w, more);
    const double slope = (again - there) / (more - step);
    const double better = fabs(more - step) > 1e-6 && slope != 0 ? more - again / slope : more;
    /* The header seal's push raises what has to be pushed through as drag does. */
    return plain + better + (w->direction > 0 ? place.header : 0);
}

static double sheet_drag(const up_fit_work *work, const up_window *w, const up_place_on_travel *place) {
    const up_values *const v = &work->request->known->values;
    const up_door *const d = &work->door;
    const double plain = v->run_channel_drag * (v->channel_engaged + 2 * place->travel) + v->belt_drag;
    const double points = up_glass_drag(d, place->travel, NULL) - d->drag_start - d->drag_slope * place->travel;
    const double header = place->header * (d->header_friction + (w->direction > 0));
    return plain * d->drag_factor + points + header;
}

/* By how much the mean drag of the windows in one place moves with each parameter, and its deviation from that. */
static double deviation_by_numbers(const up_fit_work *work, const double *p, const up_squares_result *solved,
                                   const up_window *w) {
    double slope[UP_SQUARES_MOST] = {0}, moved[UP_FIT_COUNT + UP_SQUARES_MOST];
    memcpy(moved, p, sizeof moved);
    for (int j = 0; j < work->parameters; j++) {
        const int q = work->quantity[j];
        if (q >= UP_FIT_COUNT || !(solved->deviation[j] > 0) || !isfinite(solved->deviation[j])) {
            continue;
        }
        const double step = 0.1 * solved->deviation[j];
        moved[q] = p[q] + step;
        const double up = drag_in(work, w, moved, work->scratch);
        moved[q] = p[q] - step;
        const double down = drag_in(work, w, moved, work->scratch);
        moved[q] = p[q];
        slope[j] = (up - down) / (2 * step);
    }
    double sum = 0;
    for (int a = 0; a < work->parameters; a++) {
        for (int b = 0; b < work->parameters; b++) {
            sum += slope[a] * solved->covariance[a][b] * slope[b];
        }
    }
    return sqrt(fmax(sum, 0));
}

static void gather(const up_fit_work *work, const double *p, int direction, heap *heaps, const up_window **middle) {
    const double width = work->door.travel / UP_FIT_PLACES;
    for (int r = 0; r < work->request->recordings; r++) {
        for (int k = 0; k < work->windows[r]; k++) {
            const up_window *const w = &work->window[r][k];
            if (w->stalled || !w->fine || isnan(w->speed_gain) || w->direction != direction || !(w->place.travel > 0)) {
                continue;
            }
            up_place_on_travel place;
            up_fit_place_of(work, p, w, &place);
            const int bin = (int)fmin(fmax(place.travel, 0) / width, UP_FIT_PLACES - 1);
            const double drag = drag_in(work, w, p, work->scratch);
            if (isfinite(drag)) {
                heaps[bin].sum += drag;
                heaps[bin].square += drag * drag;
                heaps[bin].sheet += sheet_drag(work, w, &place);
                heaps[bin].rows++;
                middle[bin] = w;
            }
        }
    }
}

/* Widest of the groups that the windows came from. */
static double widening(const up_fit_work *work) {
    double most = 1;
    for (int g = 0; g < work->groups; g++) {
        if (work->group[g].kind == UP_FIT_GROUP_GLASS_TORQUE) {
            most = fmax(most, work->group[g].widening);
        }
    }
    return most;
}

void up_fit_profile(const up_fit_work *work, const double *p, const up_squares_result *solved, up_fit_result *result) {
    const double width = work->door.travel / UP_FIT_PLACES;
    for (int direction = 1; direction >= -1; direction -= 2) {
        heap heaps[UP_FIT_PLACES];
        const up_window *middle[UP_FIT_PLACES];
        memset(heaps, 0, sizeof heaps);
        gather(work, p, direction, heaps, middle);
        for (int bin = 0; bin < UP_FIT_PLACES; bin++) {
            const heap *const h = &heaps[bin];
            if (h->rows < 2) {
                continue;
            }
            const double mean = h->sum / h->rows;
            const double scatter = fmax(h->square / h->rows - mean * mean, 0) / (h->rows - 1);
            const double numbers = deviation_by_numbers(work, p, solved, middle[bin]);
            result->place[result->places++] =
                (up_fit_place){.from = bin * width,
                               .to = (bin + 1) * width,
                               .rows = h->rows,
                               .drag = mean,
                               .spread = 1.959963984540054 * sqrt(scatter * widening(work) + numbers * numbers),
                               .sheet = h->sheet / h->rows,
                               .direction = direction};
        }
    }
}

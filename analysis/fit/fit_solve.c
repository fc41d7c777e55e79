/* The solution: rows at a place, their scatter, rounds of least squares. */
#include <math.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"

static const double NORMAL_95 = 1.959963984540054;
static const double ENOUGH = 1e-4; /* of the sum of squares, in variances: a hundredth of a deviation */

/* ---- parameters ------------------------------------------------------------------------------------------------------ */

void up_fit_choose_parameters(up_fit_work *work) {
    const up_known *const known = work->request->known;
    for (int g = 0; g < work->groups; g++) {
        work->used |= up_fit_reads(work->group[g].kind, work, work->group[g].recording);
    }
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_number number = up_fit_number((up_fit_quantity)q);
        const double spread = known->spread[number];
        work->base[q] = known->values.number[number];
        work->deviation[q] = spread > 0 ? spread / NORMAL_95 : 0;
        if ((work->used >> q & 1) && work->deviation[q] > 0 && work->parameters < UP_SQUARES_MOST) {
            work->quantity[work->parameters++] = q;
        }
    }
    for (int k = 0; k < work->extras && work->parameters < UP_SQUARES_MOST; k++) {
        work->base[UP_FIT_COUNT + k] = work->extra_start[k];
        work->deviation[UP_FIT_COUNT + k] = work->extra_deviation[k];
        work->quantity[work->parameters++] = UP_FIT_COUNT + k;
    }
}

/* ---- rows ------------------------------------------------------------------------------------------------------------ */

static void raw_rows(const up_fit_work *work, const up_fit_group *group, const double *p, double *residual) {
    switch (group->kind) {
    case UP_FIT_GROUP_RUN_UP:
    case UP_FIT_GROUP_COAST:
    case UP_FIT_GROUP_FREE_TORQUE:
    case UP_FIT_GROUP_GLASS_TORQUE:
        up_fit_mechanic_rows(work, group, p, residual);
        break;
    default:
        up_fit_electric_rows(work, group, p, residual);
        break;
    }
}

void up_fit_spread_out(const up_fit_work *work, const double *parameter, double *p) {
    memcpy(p, work->base, sizeof work->base);
    for (int j = 0; j < work->parameters; j++) {
        p[work->quantity[j]] = parameter[j];
    }
}

/* Below these no number of a drive can lie; a search that strays there is sent back. */
static int is_possible(const double *p) {
    return p[UP_FIT_winding_resistance] > 0 && p[UP_FIT_inductance] > 0 && p[UP_FIT_torque_constant] > 0 &&
           p[UP_FIT_armature_inertia] > 0 && p[UP_FIT_winding_capacity] > 0 && p[UP_FIT_glass_mass] > 0 &&
           p[UP_FIT_mesh_loss] > -0.5 && p[UP_FIT_worm_friction] > -0.05 && p[UP_FIT_worm_friction] < 1;
}

static int reads(const up_fit_work *work, const up_fit_group *group, int quantity) {
    if (quantity < UP_FIT_COUNT) {
        return (int)(up_fit_reads(group->kind, work, group->recording) >> quantity & 1);
    }
    const int extra = quantity - UP_FIT_COUNT;
    if (group->kind == UP_FIT_GROUP_GLASS_TORQUE) {
        return work->offset[group->recording] == extra;
    }
    return group->transient && (group->transient->extra[0] == extra || group->transient->extra[1] == extra);
}

static double step_of(const up_fit_work *work, int quantity, double value) {
    const double deviation = work->deviation[quantity];
    const double size = fmax(fabs(value), deviation > 0 ? deviation : 0);
    return 1e-5 * (size > 0 ? size : 1);
}

static int all_finite(const double *value, int count) {
    for (int k = 0; k < count; k++) {
        if (!isfinite(value[k])) {
            return 0;
        }
    }
    return 1;
}

static int fill_residuals(up_fit_work *work, const double *parameter) {
    double p[UP_FIT_COUNT + UP_SQUARES_MOST];
    up_fit_spread_out(work, parameter, p);
    work->fresh = work->fresh_slope = 0;
    if (!is_possible(p)) {
        return -1;
    }
    for (int g = 0; g < work->groups; g++) {
        const up_fit_group *const group = &work->group[g];
        const double unit = group->deviation * sqrt(group->widening);
        double *const r = work->residual + group->first;
        raw_rows(work, group, p, r);
        for (int k = 0; k < group->rows; k++) {
            r[k] /= unit;
        }
    }
    memcpy(work->at, parameter, (size_t)work->parameters * sizeof *parameter);
    work->fresh = all_finite(work->residual, work->rows);
    return work->fresh ? 0 : -1;
}

static void fill_column(up_fit_work *work, const up_fit_group *group, double *p, int j) {
    const size_t n = (size_t)work->parameters;
    const int q = work->quantity[j];
    const double value = p[q], step = step_of(work, q, value);
    const double *const here = work->residual + group->first;
    const double unit = group->deviation * sqrt(group->widening);
    p[q] = value + step;
    raw_rows(work, group, p, work->moved);
    p[q] = value;
    for (int k = 0; k < group->rows; k++) {
        const size_t row = (size_t)group->first + (size_t)k;
        work->slope[row * n + (size_t)j] = (work->moved[k] / unit - here[k]) / step;
    }
}

static void fill_slopes(up_fit_work *work) {
    double p[UP_FIT_COUNT + UP_SQUARES_MOST];
    up_fit_spread_out(work, work->at, p);
    memset(work->slope, 0, (size_t)work->rows * (size_t)work->parameters * sizeof *work->slope);
    for (int g = 0; g < work->groups; g++) {
        for (int j = 0; j < work->parameters; j++) {
            if (reads(work, &work->group[g], work->quantity[j])) {
                fill_column(work, &work->group[g], p, j);
            }
        }
    }
    work->fresh_slope = 1;
}

static int rows_of(const void *context, const double *parameter, size_t first, size_t count, double *residual,
                   double *slope) {
    up_fit_work *const work = *(up_fit_work *const *)context;
    const size_t n = (size_t)work->parameters;
    if (!work->fresh || memcmp(work->at, parameter, n * sizeof *parameter) != 0) {
        if (fill_residuals(work, parameter) != 0) {
            return -1;
        }
    }
    memcpy(residual, work->residual + first, count * sizeof *residual);
    if (slope) {
        if (!work->fresh_slope) {
            fill_slopes(work);
        }
        memcpy(slope, work->slope + first * n, count * n * sizeof *slope);
    }
    return 0;
}

/* ---- scatter --------------------------------------------------------------------------------------------------------- */

/* By how much neighbours have something in common: one and twice the sum of the autocorrelations, taken in pairs until one is
 * no longer positive (C. J. Geyer, "Practical Markov chain Monte Carlo", Statistical Science 7 (1992) 473, from memory). */
static double widening_of(const double *r, int count) {
    double mean = 0, square = 0;
    for (int k = 0; k < count; k++) {
        mean += r[k] / count;
    }
    for (int k = 0; k < count; k++) {
        square += (r[k] - mean) * (r[k] - mean);
    }
    double sum = 1;
    for (int lag = 1; lag + 1 < count / 3 && square > 0; lag += 2) {
        double pair = 0;
        for (int both = lag; both <= lag + 1; both++) {
            for (int k = 0; k + both < count; k++) {
                pair += (r[k] - mean) * (r[k + both] - mean);
            }
        }
        if (pair <= 0) {
            break;
        }
        sum += 2 * pair / square;
    }
    return fmin(sum, 0.25 * count + 1);
}

/* Rows that the fit used up in this group: the sum of their leverages. */
static double used_up(const up_fit_work *work, const up_fit_group *group, const up_squares_result *solved) {
    const int n = work->parameters;
    double sum = 0;
    for (int k = 0; k < group->rows; k++) {
        const double *const s = work->slope + ((size_t)group->first + (size_t)k) * (size_t)n;
        for (int a = 0; a < n; a++) {
            for (int b = 0; b < n && s[a] != 0; b++) {
                sum += s[a] * solved->covariance[a][b] * s[b];
            }
        }
    }
    return sum;
}

/* The balance of a turn leaves out how glass and damper swing and how the give changes: four parts in ten thousand of the current, slowly
 * changing along the stroke, as if there were no more than so many turns to look at (assumption of this tool; simulated
 * closings without any noise lie within half of it). */
static void doubt_balance(up_fit_group *group) {
    const double share = 4e-4;
    const int independent = 12;
    double current = 0;
    for (int k = 0; k < group->rows; k++) {
        const up_window *const w = &group->window[k];
        current += fabs(w->current) / (w->end - w->start) / group->rows;
    }
    const double model = share * current * sqrt(fmax((double)group->rows / independent, 1));
    const double sum = group->deviation * group->deviation * group->widening + model * model;
    group->widening = fmax(sum / (group->deviation * group->deviation), group->widening);
}

static void judge_scatter(up_fit_work *work, const up_squares_result *solved) {
    for (int g = 0; g < work->groups; g++) {
        up_fit_group *const group = &work->group[g];
        const double *const r = work->residual + group->first;
        double square = 0;
        for (int k = 0; k < group->rows; k++) {
            square += r[k] * r[k];
        }
        const double unit = group->deviation * sqrt(group->widening);
        /* Leverages are per effective row; so many plain rows hang on each of them. */
        const double used = fmin(used_up(work, group, solved), 0.8 * group->rows);
        const double deviation = unit * sqrt(square / (group->rows - used));
        group->deviation = fmax(deviation, 1e-9 * unit);
        group->widening = widening_of(r, group->rows);
        if (group->kind == UP_FIT_GROUP_GLASS_TORQUE) {
            doubt_balance(group);
        }
    }
    work->fresh = work->fresh_slope = 0;
}

up_squares_end up_fit_solve(up_fit_work *work, int rounds, up_squares_result *solved) {
    double start[UP_SQUARES_MOST], known[UP_SQUARES_MOST], deviation[UP_SQUARES_MOST];
    const up_fit_work *const self = work;
    for (int j = 0; j < work->parameters; j++) {
        const int q = work->quantity[j];
        known[j] = work->base[q];
        start[j] = q < UP_FIT_COUNT ? work->door.values.number[up_fit_number((up_fit_quantity)q)] : work->base[q];
        deviation[j] = work->deviation[q];
    }
    const up_squares_problem problem = {.parameters = work->parameters,
                                        .rows = (size_t)work->rows,
                                        .model = rows_of,
                                        .context = &self,
                                        .enough = ENOUGH,
                                        .known = known,
                                        .known_deviation = deviation,
                                        .in_deviations = 1};
    for (int round = 0; round < rounds; round++) {
        if (up_squares_solve(&problem, start, solved) == UP_SQUARES_NO_START) {
            return solved->end;
        }
        memcpy(start, solved->parameter, sizeof start);
        double residual[1], slope[UP_SQUARES_MOST];
        rows_of(&self, start, 0, 1, residual, slope);
        if (round + 1 < rounds) {
            judge_scatter(work, solved);
        }
    }
    return solved->end;
}

#include "analysis/fit/least_squares.h"

#include <math.h>
#include <string.h>

enum { BLOCK = 64, STEPS_MOST = 2000, SWEEPS_MOST = 60, TRIALS_MOST = 60 };

static const double EPSILON = 2.220446049250313e-16;
/* Singular values below this share of the largest one are noise of differences or of rounding. */
static const double RANK_SHARE_EXACT = 1e-12, RANK_SHARE_DIFFERENCES = 1e-9;

/* The triangle of everything seen so far: R and Q'r. */
typedef struct triangle {
    int n;
    double r[UP_SQUARES_MOST][UP_SQUARES_MOST];
    double q[UP_SQUARES_MOST];
    double sum, prior_sum; /* squared residuals */
} triangle;

/* The same taken apart: R / columns = u diag(value) v', columns by scale. */
typedef struct parts {
    double value[UP_SQUARES_MOST];
    double v[UP_SQUARES_MOST][UP_SQUARES_MOST];
    double uq[UP_SQUARES_MOST]; /* u' Q'r */
} parts;

typedef struct solver {
    const up_squares_problem *problem;
    double size[UP_SQUARES_MOST];  /* of the parameters */
    double scale[UP_SQUARES_MOST]; /* of the columns: largest norm so far */
    triangle t;
    parts p;
} solver;

/* ---- rows ---------------------------------------------------------------------------------------------------------- */

/* Folds count rows, each n slopes and a residual behind them, into the triangle by reflections. */
static void fold(triangle *t, double (*row)[UP_SQUARES_MOST + 1], int count) {
    const int n = t->n;
    for (int k = 0; k < n; k++) {
        double norm = t->r[k][k] * t->r[k][k];
        for (int i = 0; i < count; i++) {
            norm += row[i][k] * row[i][k];
        }
        norm = sqrt(norm);
        if (norm == 0) {
            continue;
        }
        const double alpha = t->r[k][k] > 0 ? -norm : norm;
        const double head = t->r[k][k] - alpha;
        const double beta = -1 / (alpha * head);
        t->r[k][k] = alpha;
        for (int j = k + 1; j <= n; j++) {
            double *const top = j < n ? &t->r[k][j] : &t->q[k];
            double dot = head * *top;
            for (int i = 0; i < count; i++) {
                dot += row[i][k] * row[i][j];
            }
            dot *= beta;
            *top -= dot * head;
            for (int i = 0; i < count; i++) {
                row[i][j] -= dot * row[i][k];
            }
        }
    }
}

/* Slopes of a block of rows by central differences; returns nonzero where the model does not exist. */
static int take_differences(const solver *s, const double *parameter, size_t first, size_t count, double *slope) {
    const up_squares_problem *const problem = s->problem;
    const int n = problem->parameters;
    double moved[UP_SQUARES_MOST], up[BLOCK] = {0}, down[BLOCK] = {0};
    memcpy(moved, parameter, (size_t)n * sizeof *moved);
    for (int j = 0; j < n; j++) {
        const double size = fmax(fabs(parameter[j]), s->size[j]);
        const double step = cbrt(EPSILON) * (size > 0 ? size : 1);
        const double above = parameter[j] + step, below = parameter[j] - step;
        moved[j] = above;
        int bad = problem->model(problem->context, moved, first, count, up, NULL);
        moved[j] = below;
        bad |= problem->model(problem->context, moved, first, count, down, NULL);
        moved[j] = parameter[j];
        if (bad) {
            return bad;
        }
        for (size_t i = 0; i < count; i++) {
            slope[i * (size_t)n + (size_t)j] = (up[i] - down[i]) / (above - below);
        }
    }
    return 0;
}

static int knows(const up_squares_problem *problem, int j) {
    return problem->known != NULL && problem->known_deviation != NULL && problem->known_deviation[j] > 0 &&
           isfinite(problem->known_deviation[j]);
}

static double prior_row(const up_squares_problem *problem, const double *parameter, int j) {
    return (parameter[j] - problem->known[j]) / problem->known_deviation[j];
}

static void fold_priors(const up_squares_problem *problem, const double *parameter, triangle *t) {
    for (int j = 0; j < problem->parameters; j++) {
        double row[1][UP_SQUARES_MOST + 1] = {{0}};
        if (knows(problem, j)) {
            row[0][j] = 1 / problem->known_deviation[j];
            row[0][problem->parameters] = prior_row(problem, parameter, j);
            t->prior_sum += row[0][problem->parameters] * row[0][problem->parameters];
            fold(t, row, 1);
        }
    }
}

/* Sum of squares at a place, earlier knowledge included; infinite where the model does not exist. */
static double sum_at(const up_squares_problem *problem, const double *parameter) {
    double residual[BLOCK];
    double sum = 0;
    for (size_t first = 0; first < problem->rows; first += BLOCK) {
        const size_t count = problem->rows - first < BLOCK ? problem->rows - first : BLOCK;
        if (problem->model(problem->context, parameter, first, count, residual, NULL) != 0) {
            return INFINITY;
        }
        for (size_t i = 0; i < count; i++) {
            sum += residual[i] * residual[i];
        }
    }
    for (int j = 0; j < problem->parameters; j++) {
        const double row = knows(problem, j) ? prior_row(problem, parameter, j) : 0;
        sum += row * row;
    }
    return isfinite(sum) ? sum : INFINITY;
}

/* Builds the triangle at a place; returns nonzero where the model does not exist. */
static int build(solver *s, const double *parameter) {
    const up_squares_problem *const problem = s->problem;
    const int n = problem->parameters;
    double residual[BLOCK] = {0}, slope[BLOCK * UP_SQUARES_MOST], row[BLOCK][UP_SQUARES_MOST + 1];
    memset(&s->t, 0, sizeof s->t);
    s->t.n = n;
    for (size_t first = 0; first < problem->rows; first += BLOCK) {
        const size_t count = problem->rows - first < BLOCK ? problem->rows - first : BLOCK;
        int bad =
            problem->model(problem->context, parameter, first, count, residual, problem->differences ? NULL : slope);
        if (!bad && problem->differences) {
            bad = take_differences(s, parameter, first, count, slope);
        }
        if (bad) {
            return bad;
        }
        for (size_t i = 0; i < count; i++) {
            memcpy(row[i], slope + i * (size_t)n, (size_t)n * sizeof **row);
            row[i][n] = residual[i];
            s->t.sum += residual[i] * residual[i];
        }
        fold(&s->t, row, (int)count);
    }
    fold_priors(problem, parameter, &s->t);
    return !isfinite(s->t.sum + s->t.prior_sum);
}

/* ---- singular values ------------------------------------------------------------------------------------------------ */

/* One-sided Jacobi rotations on the columns of w until they stand square to each other; v gathers the rotations. */
static void rotate_square(int n, double (*w)[UP_SQUARES_MOST], double (*v)[UP_SQUARES_MOST]) {
    for (int sweep = 0, turned = 1; sweep < SWEEPS_MOST && turned; sweep++) {
        turned = 0;
        for (int a = 0; a < n - 1; a++) {
            for (int b = a + 1; b < n; b++) {
                double aa = 0, bb = 0, ab = 0;
                for (int i = 0; i < n; i++) {
                    aa += w[i][a] * w[i][a];
                    bb += w[i][b] * w[i][b];
                    ab += w[i][a] * w[i][b];
                }
                if (fabs(ab) <= 4 * EPSILON * sqrt(aa * bb) || ab == 0) {
                    continue;
                }
                turned = 1;
                const double zeta = (bb - aa) / (2 * ab);
                const double t = (zeta >= 0 ? 1 : -1) / (fabs(zeta) + hypot(1, zeta));
                const double c = 1 / hypot(1, t), d = c * t;
                for (int i = 0; i < n; i++) {
                    const double wa = w[i][a], va = v[i][a];
                    w[i][a] = c * wa - d * w[i][b];
                    w[i][b] = d * wa + c * w[i][b];
                    v[i][a] = c * va - d * v[i][b];
                    v[i][b] = d * va + c * v[i][b];
                }
            }
        }
    }
}

static void take_apart(solver *s, const double *scale) {
    const int n = s->t.n;
    double w[UP_SQUARES_MOST][UP_SQUARES_MOST];
    memset(&s->p, 0, sizeof s->p);
    for (int i = 0; i < n; i++) {
        s->p.v[i][i] = 1;
        for (int j = 0; j < n; j++) {
            w[i][j] = j >= i ? s->t.r[i][j] / scale[j] : 0;
        }
    }
    rotate_square(n, w, s->p.v);
    for (int j = 0; j < n; j++) {
        double square = 0, dot = 0;
        for (int i = 0; i < n; i++) {
            square += w[i][j] * w[i][j];
            dot += w[i][j] * s->t.q[i];
        }
        s->p.value[j] = sqrt(square);
        s->p.uq[j] = s->p.value[j] > 0 ? dot / s->p.value[j] : 0;
    }
}

static double column_norm(const triangle *t, int j) {
    double square = 0;
    for (int i = 0; i <= j; i++) {
        square += t->r[i][j] * t->r[i][j];
    }
    return sqrt(square);
}

static void widen_scale(solver *s) {
    for (int j = 0; j < s->t.n; j++) {
        s->scale[j] = fmax(s->scale[j], column_norm(&s->t, j));
        s->scale[j] = s->scale[j] > 0 ? s->scale[j] : 1;
    }
}

static double largest(const parts *p, int n) {
    double most = 0;
    for (int j = 0; j < n; j++) {
        most = fmax(most, p->value[j]);
    }
    return most;
}

/* ---- the search ------------------------------------------------------------------------------------------------------ */

/* The step for a damping; returns by how much the linear model expects the sum to fall. */
static double step_for(const solver *s, double damping, double *step) {
    const int n = s->t.n;
    const double least = RANK_SHARE_EXACT * largest(&s->p, n);
    double expected = 0;
    memset(step, 0, (size_t)n * sizeof *step);
    for (int k = 0; k < n; k++) {
        const double value = s->p.value[k];
        if (value <= least) {
            continue;
        }
        const double share = value * value / (value * value + damping);
        const double along = -share / value * s->p.uq[k];
        expected += s->p.uq[k] * s->p.uq[k] * share * (2 - share);
        for (int j = 0; j < n; j++) {
            step[j] += s->p.v[j][k] * along / s->scale[j];
        }
    }
    return expected;
}

static int is_small(const solver *s, const double *parameter, const double *step, double share) {
    for (int j = 0; j < s->t.n; j++) {
        if (fabs(step[j]) > share * fmax(fabs(parameter[j]), 1e-6 * s->size[j])) {
            return 0;
        }
    }
    return 1;
}

/* One accepted step from parameter with sum *sum. Returns 0, or 1 when nothing is to be gained any more. */
static int advance(solver *s, double *parameter, double *sum, double *damping, double *grow) {
    const int n = s->t.n;
    double step[UP_SQUARES_MOST] = {0}, moved[UP_SQUARES_MOST] = {0};
    for (int trial = 0; trial < TRIALS_MOST; trial++) {
        const double expected = step_for(s, *damping, step);
        for (int j = 0; j < n; j++) {
            moved[j] = parameter[j] + step[j];
        }
        const double there = sum_at(s->problem, moved);
        const double gain = *sum - there;
        if (gain >= 0 && isfinite(there)) {
            const double ratio = expected > 0 ? gain / expected : 1;
            const double turn = 2 * ratio - 1;
            const int still = is_small(s, parameter, step, 1e-11);
            const int flat = expected <= fmax(1e-15 * *sum, s->problem->enough) &&
                             (s->problem->enough > 0 || is_small(s, parameter, step, 1e-8));
            *damping *= fmax(1.0 / 3, 1 - turn * turn * turn);
            *grow = 2;
            memcpy(parameter, moved, (size_t)n * sizeof *parameter);
            *sum = there;
            return still || flat || there == 0;
        }
        if (is_small(s, parameter, step, 1e-13) || expected < s->problem->enough) {
            return 1;
        }
        *damping = fmax(*damping, 1e-12) * *grow;
        *grow *= 2;
    }
    return 1;
}

static up_squares_end search(solver *s, double *parameter, int *steps) {
    double damping = 1e-3, grow = 2;
    if (build(s, parameter) != 0) {
        return UP_SQUARES_NO_START;
    }
    double sum = s->t.sum + s->t.prior_sum;
    for (*steps = 0; *steps < STEPS_MOST; ++*steps) {
        widen_scale(s);
        take_apart(s, s->scale);
        const int done = advance(s, parameter, &sum, &damping, &grow);
        if (build(s, parameter) != 0) {
            return UP_SQUARES_GAVE_UP;
        }
        if (done) {
            return UP_SQUARES_FOUND;
        }
    }
    return UP_SQUARES_GAVE_UP;
}

/* ---- the result ------------------------------------------------------------------------------------------------------ */

/* Rank, and the combination seen least. */
static double judge_rank(const solver *s, up_squares_result *result) {
    const int n = s->t.n;
    const double share = s->problem->differences ? RANK_SHARE_DIFFERENCES : RANK_SHARE_EXACT;
    const double least = share * largest(&s->p, n);
    int weakest = 0;
    result->rank = 0;
    for (int k = 0; k < n; k++) {
        result->rank += s->p.value[k] > least;
        weakest = s->p.value[k] < s->p.value[weakest] ? k : weakest;
    }
    for (int j = 0; j < n && result->rank < n; j++) {
        result->blind[j] = s->p.v[j][weakest];
    }
    return least;
}

static void fill_covariance(const solver *s, const double *scale, double least, double variance,
                            up_squares_result *result) {
    const int n = s->t.n;
    for (int a = 0; a < n; a++) {
        double unseen = 0;
        for (int k = 0; k < n; k++) {
            unseen += s->p.value[k] > least ? 0 : s->p.v[a][k] * s->p.v[a][k];
        }
        for (int b = 0; b < n; b++) {
            double sum = 0;
            for (int k = 0; k < n; k++) {
                const double value = s->p.value[k];
                sum += value > least ? s->p.v[a][k] * s->p.v[b][k] / (value * value) : 0;
            }
            result->covariance[a][b] = variance * sum / (scale[a] * scale[b]);
        }
        result->deviation[a] = unseen > 1e-8 ? INFINITY : sqrt(result->covariance[a][a]);
    }
}

static int count_priors(const up_squares_problem *problem) {
    int count = 0;
    for (int j = 0; j < problem->parameters; j++) {
        count += knows(problem, j);
    }
    return count;
}

/* Parameters that the rows alone decide: the trace of what earlier knowledge does not hold. */
static double decided_by_rows(const up_squares_problem *problem, const up_squares_result *result) {
    double held = 0;
    for (int j = 0; j < problem->parameters; j++) {
        if (knows(problem, j)) {
            const double share = result->deviation[j] / problem->known_deviation[j];
            held += fmin(share * share, 1);
        }
    }
    return problem->parameters - held;
}

static void fill_result(solver *s, up_squares_result *result) {
    const up_squares_problem *const problem = s->problem;
    double scale[UP_SQUARES_MOST] = {0};
    for (int j = 0; j < s->t.n; j++) {
        const double norm = column_norm(&s->t, j);
        scale[j] = norm > 0 ? norm : 1;
    }
    take_apart(s, scale);
    const double least = judge_rank(s, result);
    const int bound = count_priors(problem);
    result->sum = s->t.sum;
    result->prior_sum = s->t.prior_sum;
    result->degrees = (long long)problem->rows - result->rank;
    if (problem->in_deviations || bound > 0) {
        fill_covariance(s, scale, least, 1, result);
        result->degrees = (long long)problem->rows - lround(decided_by_rows(problem, result));
        result->scatter = result->degrees > 0 ? sqrt(result->sum / (double)result->degrees) : NAN;
        return;
    }
    result->scatter = result->degrees > 0 ? sqrt(result->sum / (double)result->degrees) : NAN;
    fill_covariance(s, scale, least, result->scatter * result->scatter, result);
}

up_squares_end up_squares_solve(const up_squares_problem *problem, const double *start, up_squares_result *result) {
    solver s;
    memset(result, 0, sizeof *result);
    result->end = UP_SQUARES_BAD_PROBLEM;
    const int n = problem->parameters;
    if (n < 1 || n > UP_SQUARES_MOST || problem->model == NULL || problem->rows + (size_t)count_priors(problem) == 0) {
        return result->end;
    }
    s.problem = problem;
    for (int j = 0; j < n; j++) {
        s.scale[j] = 0;
        s.size[j] = problem->size ? fabs(problem->size[j]) : fabs(start[j]);
        result->parameter[j] = start[j];
    }
    result->end = search(&s, result->parameter, &result->steps);
    if (result->end != UP_SQUARES_NO_START) {
        fill_result(&s, result);
    }
    return result->end;
}

double up_squares_correlation(const up_squares_result *result, int one, int other) {
    const double scale = sqrt(result->covariance[one][one]) * sqrt(result->covariance[other][other]);
    return scale > 0 && isfinite(scale) ? result->covariance[one][other] / scale : 0;
}

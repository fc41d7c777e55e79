#include "analysis/fit/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/fit/fit_parts.h"
#include "analysis/student.h"

enum { FIRST_ROUNDS = 2, LAST_ROUNDS = 3 };

static const double NORMAL_95 = 1.959963984540054;
static const double ENOUGH = 1e-4; /* of the sum of squares, in variances: a hundredth of a deviation */
static const double HEADER_CLEAR =
    0.018; /* m below the header seal from where windows and their neighbours are free of it */

/* ---- words ----------------------------------------------------------------------------------------------------------- */

up_number up_fit_number(up_fit_quantity quantity) {
    static const up_number number[UP_FIT_COUNT] = {
#define UP_FIT_NUMBER(id) UP_NUMBER_##id,
        UP_FIT_LIST(UP_FIT_NUMBER)
#undef UP_FIT_NUMBER
    };
    return number[quantity];
}

const char *up_fit_group_unit(up_fit_group_kind kind) {
    static const char *const unit[] = {
#define UP_FIT_UNIT(id, unit, text) unit,
        UP_FIT_GROUP_LIST(UP_FIT_UNIT)
#undef UP_FIT_UNIT
    };
    return (unsigned)kind < UP_FIT_GROUP_COUNT ? unit[kind] : "";
}

const char *up_fit_group_text(up_fit_group_kind kind) {
    static const char *const text[] = {
#define UP_FIT_TEXT(id, unit, text) text,
        UP_FIT_GROUP_LIST(UP_FIT_TEXT)
#undef UP_FIT_TEXT
    };
    return (unsigned)kind < UP_FIT_GROUP_COUNT ? text[kind] : "";
}

/* ---- groups of rows -------------------------------------------------------------------------------------------------- */

#define BIT(id) (1u << UP_FIT_##id)

unsigned up_fit_reads(up_fit_group_kind kind, const up_fit_work *work, int recording) {
    const unsigned winding = BIT(winding_resistance) | BIT(brush_drop) | BIT(winding_capacity);
    const unsigned drive = BIT(torque_constant) | BIT(motor_friction) | BIT(motor_viscous) | BIT(worm_friction) |
                           BIT(output_drag) | BIT(armature_inertia);
    const unsigned harness = BIT(contact_resistance) | BIT(bridge_resistance);
    const unsigned glass = BIT(mesh_loss) | BIT(glass_mass) | BIT(run_channel_drag) | BIT(belt_drag) |
                           BIT(seal_viscous) | BIT(channel_friction);
    const up_aligned *const a = &work->course[recording].aligned;
    const int leads = a->leads.track != NULL;
    switch (kind) {
    case UP_FIT_GROUP_RUN_VOLTS:
        return winding | BIT(torque_constant) | BIT(inductance) | (leads ? 0 : harness);
    case UP_FIT_GROUP_STALL_VOLTS:
        return winding | BIT(inductance) | (leads ? 0 : harness);
    case UP_FIT_GROUP_SUPPLY:
        return BIT(supply_voltage) | BIT(supply_resistance) | (a->battery.track ? 0 : harness);
    case UP_FIT_GROUP_HARNESS:
        return harness;
    case UP_FIT_GROUP_LOCKED:
        return winding | BIT(inductance);
    case UP_FIT_GROUP_RUN_UP:
        return winding | BIT(inductance) | drive;
    case UP_FIT_GROUP_COAST:
        return drive;
    case UP_FIT_GROUP_FREE_TORQUE:
    case UP_FIT_GROUP_GLASS_TORQUE:
        return drive | (kind == UP_FIT_GROUP_GLASS_TORQUE ? glass : 0) | (leads ? winding | BIT(inductance) : 0) |
               (!leads && a->battery.track ? winding | BIT(inductance) | harness : 0);
    case UP_FIT_GROUP_COUNT:
    default:
        return 0;
    }
}

static void add_windows(up_fit_work *work, up_fit_group_kind kind, int recording, int from, int to, double deviation) {
    if (to - from >= 3 && work->groups < UP_FIT_GROUPS_MAX) {
        work->group[work->groups++] = (up_fit_group){.kind = kind,
                                                     .recording = recording,
                                                     .first = work->rows,
                                                     .rows = to - from,
                                                     .deviation = deviation,
                                                     .widening = 1,
                                                     .window = work->window[recording] + from};
        work->rows += to - from;
    }
}

/* 0: turns at a known place clear of header seal and down-stop, 1: turns elsewhere, 2: several turns together, 3: stalled. */
enum { CLASSES = 4 };

static int class_of(const up_fit_work *work, const up_window *w) {
    if (w->stalled || !w->fine) {
        return w->stalled ? 3 : 2;
    }
    return w->place.travel > HEADER_CLEAR && w->place.travel < work->door.header_start - HEADER_CLEAR ? 0 : 1;
}

static int sort_windows(up_fit_work *work, int recording, int part[CLASSES + 1]) {
    const int count = work->windows[recording];
    up_window *const sorted = malloc(UP_FIT_WINDOWS_MAX * sizeof *sorted);
    if (!sorted) {
        return -1;
    }
    int filled = 0;
    for (int kind = 0; kind < CLASSES; kind++) {
        part[kind] = filled;
        for (int k = 0; k < count; k++) {
            if (class_of(work, &work->window[recording][k]) == kind) {
                sorted[filled++] = work->window[recording][k];
            }
        }
    }
    part[CLASSES] = filled;
    free(work->window[recording]);
    work->window[recording] = sorted;
    return 0;
}

/* A supply that holds its current lets the voltage wander while the current stands still. */
static int limits_current(const up_window *w, int count) {
    double most = 0, low = INFINITY, high = 0;
    int at_most = 0;
    for (int k = 0; k < count; k++) {
        most = fmax(most, fabs(w[k].current) / (w[k].end - w[k].start));
    }
    for (int k = 0; k < count; k++) {
        const double time = w[k].end - w[k].start;
        if (fabs(w[k].current) / time > 0.98 * most) {
            const double volts = fabs(w[k].leads) / time;
            low = fmin(low, volts);
            high = fmax(high, volts);
            at_most++;
        }
    }
    return at_most >= 5 && high > 1.2 * low;
}

static int add_groups(up_fit_work *work, int recording) {
    const up_fit_recording *const r = &work->request->recording[recording];
    const up_course *const course = &work->course[recording];
    const int leads = course->aligned.leads.track != NULL, battery = course->aligned.battery.track != NULL;
    int part[CLASSES + 1];
    if (sort_windows(work, recording, part) != 0) {
        return -1;
    }
    if (leads || battery) {
        add_windows(work, UP_FIT_GROUP_RUN_VOLTS, recording, part[2], part[3], 2);
        add_windows(work, UP_FIT_GROUP_STALL_VOLTS, recording, part[3], part[4], 0.05);
    }
    if (r->setting != UP_FIT_LOCKED) {
        add_windows(work, r->setting == UP_FIT_FREE ? UP_FIT_GROUP_FREE_TORQUE : UP_FIT_GROUP_GLASS_TORQUE, recording,
                    0, r->setting == UP_FIT_FREE ? part[2] : part[1], 0.05);
    }
    const int limited = leads && limits_current(work->window[recording] + part[2], part[4] - part[2]);
    work->advice |= limited ? 1u << UP_FIT_ADVICE_CURRENT_LIMIT : 0;
    if (!r->bench_supply && (leads || battery) && !limited) {
        add_windows(work, UP_FIT_GROUP_SUPPLY, recording, part[2], part[4], 0.05);
    }
    if (!r->bench_supply && leads && battery) {
        add_windows(work, UP_FIT_GROUP_HARNESS, recording, part[2], part[4], 0.05);
    }
    return 0;
}

/* ---- parameters ------------------------------------------------------------------------------------------------------ */

static void choose_parameters(up_fit_work *work) {
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

static void spread_out(const up_fit_work *work, const double *parameter, double *p) {
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
    spread_out(work, parameter, p);
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
    spread_out(work, work->at, p);
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

static up_squares_end solve(up_fit_work *work, int rounds, up_squares_result *solved) {
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

/* ---- the result ------------------------------------------------------------------------------------------------------ */

static double instrument_of(const up_fit_work *work, const up_fit_group *group) {
    const up_aligned *const a = &work->course[group->recording].aligned;
    const int amps = group->kind == UP_FIT_GROUP_LOCKED || group->kind == UP_FIT_GROUP_RUN_UP;
    const int torque = group->kind == UP_FIT_GROUP_FREE_TORQUE || group->kind == UP_FIT_GROUP_GLASS_TORQUE;
    const up_track *const volts = a->leads.track ? a->leads.track : a->battery.track;
    const double root = sqrt(12.0);
    if (amps) {
        return a->current.track->step / root;
    }
    if (group->kind == UP_FIT_GROUP_COAST) {
        return volts ? volts->step / root : NAN;
    }
    double samples = 0;
    for (int k = 0; k < group->rows; k++) {
        samples += (group->window[k].end - group->window[k].start) / work->course[group->recording].sample_interval /
                   group->rows;
    }
    const double amps_mean = a->current.track->step / root / sqrt(fmax(samples, 1));
    const double volts_mean = volts ? volts->step / root / sqrt(fmax(samples, 1)) : NAN;
    return torque ? amps_mean : hypot(volts_mean, work->door.winding_resistance * amps_mean);
}

static void fill_groups(const up_fit_work *work, up_fit_result *result) {
    double effective = 0;
    result->groups = work->groups;
    for (int g = 0; g < work->groups; g++) {
        const up_fit_group *const group = &work->group[g];
        const double unit = group->deviation * sqrt(group->widening);
        double square = 0;
        for (int k = 0; k < group->rows; k++) {
            square += work->residual[group->first + k] * work->residual[group->first + k];
        }
        const up_transient *const t = group->transient;
        result->group[g] = (up_fit_residuals){.kind = group->kind,
                                              .recording = group->recording,
                                              .rows = group->rows,
                                              .effective = group->rows / group->widening,
                                              .rms = unit * sqrt(square / group->rows),
                                              .instrument = instrument_of(work, group),
                                              .first = t ? t->time[0] : group->window[0].start,
                                              .last = t ? t->time[t->count - 1] : group->window[group->rows - 1].end};
        effective += group->rows / group->widening;
    }
    const double degrees = effective - work->parameters;
    result->degrees = degrees < 1 ? 1 : degrees > 1e6 ? 1000000 : (int)degrees;
}

static void fill_value(const up_fit_work *work, const up_squares_result *solved, int q, int place, double wide,
                       up_fit_value *value) {
    const up_number number = up_fit_number((up_fit_quantity)q);
    const double spread = work->request->known->spread[number];
    *value = (up_fit_value){.verdict = work->used >> q & 1 ? UP_FIT_NOT_TOLD : UP_FIT_UNTOUCHED,
                            .prior = work->base[q],
                            .prior_spread = spread,
                            .value = work->base[q],
                            .spread = spread};
    if (place < 0) {
        return;
    }
    value->value = solved->parameter[place];
    value->spread = fmin(wide * solved->deviation[place], spread);
    value->shift = (value->value - value->prior) / work->deviation[q];
    const double share = value->spread / spread;
    value->verdict = share < 0.5 ? UP_FIT_TOLD : share < 0.8 ? UP_FIT_HINTED : UP_FIT_NOT_TOLD;
}

static void fill_result(const up_fit_work *work, const up_squares_result *solved, up_fit_result *result) {
    int place[UP_FIT_COUNT];
    fill_groups(work, result);
    const double wide = up_student_95(result->degrees);
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        place[q] = -1;
        for (int j = 0; j < work->parameters; j++) {
            place[q] = work->quantity[j] == q ? j : place[q];
        }
        fill_value(work, solved, q, place[q], wide, &result->value[q]);
    }
    for (int a = 0; a < UP_FIT_COUNT; a++) {
        for (int b = a + 1; b < UP_FIT_COUNT && place[a] >= 0; b++) {
            const double together = place[b] >= 0 ? up_squares_correlation(solved, place[a], place[b]) : 0;
            if (fabs(together) > 0.9 && result->pairs < UP_FIT_PAIRS_MAX) {
                result->pair[result->pairs++] = (up_fit_pair){(up_fit_quantity)a, (up_fit_quantity)b, together};
            }
        }
    }
    result->rank_lost = work->parameters - solved->rank;
}

/* ---- all together ---------------------------------------------------------------------------------------------------- */

static void let_go(up_fit_work *work) {
    for (int i = 0; i < UP_FIT_RECORDINGS_MAX; i++) {
        up_course_free(&work->course[i]);
        free(work->window[i]);
    }
    for (int i = 0; i < work->transients; i++) {
        free(work->transient[i].time);
    }
    free(work->residual);
    free(work->slope);
    free(work->moved);
    free(work->scratch);
    free(work);
}

static up_status take_recordings(up_fit_work *work, up_fit_result *result) {
    for (int i = 0; i < work->request->recordings; i++) {
        const up_fit_recording *const r = &work->request->recording[i];
        const up_status status = up_course_take(&work->course[i], r->recorded, &work->door, r->setting == UP_FIT_LOCKED,
                                                work->speed[i].there ? &work->speed[i].track : NULL);
        if (status != UP_OK) {
            return status;
        }
        if (up_fit_cut(work, i, &result->course[i]) != 0 || add_groups(work, i) != 0 ||
            up_fit_take_transients(work, i) != 0) {
            return UP_MEMORY_TOO_SMALL;
        }
    }
    return UP_OK;
}

static int make_memory(up_fit_work *work) {
    const size_t rows = (size_t)work->rows + 1;
    work->residual = malloc(rows * sizeof *work->residual);
    work->slope = malloc(rows * UP_SQUARES_MOST * sizeof *work->slope);
    work->moved = malloc(rows * sizeof *work->moved);
    return work->residual && work->slope && work->moved ? 0 : -1;
}

static up_status find(up_fit_work *work, int rounds, up_squares_result *solved, up_fit_result *result) {
    if (make_memory(work) != 0) {
        return UP_MEMORY_TOO_SMALL;
    }
    choose_parameters(work);
    if (work->rows > 0 && work->parameters > 0 && solve(work, rounds, solved) != UP_SQUARES_FOUND) {
        return UP_NOT_FINITE;
    }
    double p[UP_FIT_COUNT + UP_SQUARES_MOST];
    fill_result(work, solved, result);
    spread_out(work, solved->parameter, p);
    up_fit_profile(work, p, solved, result);
    up_fit_advise(work, result);
    return UP_OK;
}

/* One pass with the door as it is thought to be: heating and places along the recordings follow from that. */
static up_status pass(const up_fit_request *request, const up_fit_speed_track *speed, const up_values *thought,
                      int rounds, up_fit_result *result) {
    up_fit_work *const work = calloc(1, sizeof *work);
    up_squares_result *const solved = calloc(1, sizeof *solved);
    up_status status = UP_MEMORY_TOO_SMALL;
    memset(result, 0, sizeof *result);
    if (work && solved) {
        work->request = request;
        work->speed = speed;
        work->scratch = malloc(sizeof *work->scratch);
        status = up_door_prepare(thought, request->temperature, &work->door);
        status = status == UP_OK && !work->scratch ? UP_MEMORY_TOO_SMALL : status;
    }
    if (status == UP_OK) {
        *work->scratch = work->door;
        status = take_recordings(work, result);
    }
    if (status == UP_OK) {
        status = find(work, rounds, solved, result);
    }
    if (work) {
        let_go(work);
    }
    free(solved);
    return status;
}

/* The sheet with what was found, kept inside the entries' bounds. */
static void think_again(const up_fit_result *result, up_values *thought) {
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_number number = up_fit_number((up_fit_quantity)q);
        double low = 0, high = 0;
        up_number_bounds(number, &low, &high);
        if (result->value[q].verdict != UP_FIT_UNTOUCHED) {
            thought->number[number] = fmin(fmax(result->value[q].value, low), high);
        }
    }
}

up_status up_fit(const up_fit_request *request, up_fit_result *result) {
    enum { PASSES = 2 };
    if (request->recordings < 1 || request->recordings > UP_FIT_RECORDINGS_MAX) {
        return UP_BAD_OPTION;
    }
    up_values thought = request->known->values;
    up_fit_speed_track speed[UP_FIT_RECORDINGS_MAX] = {0};
    up_status status = UP_OK;
    for (int i = 0; i < request->recordings && status == UP_OK; i++) {
        status = up_fit_find_speed(request, i, &speed[i]) == 0 ? UP_OK : UP_MEMORY_TOO_SMALL;
    }
    for (int i = 0; i < PASSES && status == UP_OK; i++) {
        if (i > 0) {
            think_again(result, &thought);
        }
        status = pass(request, speed, &thought, i + 1 < PASSES ? FIRST_ROUNDS : LAST_ROUNDS, result);
    }
    for (int i = 0; i < request->recordings; i++) {
        free(speed[i].time);
    }
    return status;
}

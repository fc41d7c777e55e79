#include "core/sim/step.h"

#include "core/sim/loads_flat.h"
#include "core/sim/step_coefficients.h"

enum { BODIES = 4 };

/* (e - J) u = r, with the positions eliminated, is a row of four: winding, armature, output, glass. The factors are kept
 * for the six right-hand sides of a step. */
typedef struct factors {
    double e, per_e;
    double upper[BODIES - 1], lower[BODIES - 1], per_pivot[BODIES];
    double per_filter;
    const up_slopes *s;
} factors;

static void factorise(const up_slopes *s, double e, factors *f) {
    const double q = 1.0 / e;
    f->e = e;
    f->per_e = q;
    f->s = s;
    const double diagonal[BODIES] = {
        e - s->current_by_current, e - s->armature_by_armature - q * s->armature_by_armature_angle,
        e - s->output_by_output - q * s->output_by_output_angle, e - s->glass_by_glass - q * s->glass_by_travel};
    f->upper[0] = -s->current_by_armature;
    f->upper[1] = -s->armature_by_output - q * s->armature_by_output_angle;
    f->upper[2] = -s->output_by_glass - q * s->output_by_travel;
    const double below[BODIES - 1] = {-s->armature_by_current, -s->output_by_armature - q * s->output_by_armature_angle,
                                      -s->glass_by_output - q * s->glass_by_output_angle};
    f->per_pivot[0] = 1.0 / diagonal[0];
    for (int k = 1; k < BODIES; k++) {
        f->lower[k - 1] = below[k - 1] * f->per_pivot[k - 1];
        f->per_pivot[k] = 1.0 / (diagonal[k] - f->lower[k - 1] * f->upper[k - 1]);
    }
    f->per_filter = 1.0 / (e + s->filter);
}

static void solve(const factors *f, const double r[UP_STATES], double u[UP_STATES]) {
    const up_slopes *s = f->s;
    const double q = f->per_e;
    const double armature_angle = q * r[UP_ARMATURE_ANGLE];
    const double output_angle = q * r[UP_OUTPUT_ANGLE];
    const double travel = q * r[UP_TRAVEL];
    const double b0 = r[UP_CURRENT];
    const double b1 = r[UP_ARMATURE_SPEED] + s->armature_by_armature_angle * armature_angle +
                      s->armature_by_output_angle * output_angle - f->lower[0] * b0;
    const double b2 = r[UP_OUTPUT_SPEED] + s->output_by_armature_angle * armature_angle +
                      s->output_by_output_angle * output_angle + s->output_by_travel * travel - f->lower[1] * b1;
    const double b3 =
        r[UP_GLASS_SPEED] + s->glass_by_output_angle * output_angle + s->glass_by_travel * travel - f->lower[2] * b2;
    u[UP_GLASS_SPEED] = b3 * f->per_pivot[3];
    u[UP_OUTPUT_SPEED] = (b2 - f->upper[2] * u[UP_GLASS_SPEED]) * f->per_pivot[2];
    u[UP_ARMATURE_SPEED] = (b1 - f->upper[1] * u[UP_OUTPUT_SPEED]) * f->per_pivot[1];
    u[UP_CURRENT] = (b0 - f->upper[0] * u[UP_ARMATURE_SPEED]) * f->per_pivot[0];
    u[UP_ARMATURE_ANGLE] = armature_angle + q * u[UP_ARMATURE_SPEED];
    u[UP_OUTPUT_ANGLE] = output_angle + q * u[UP_OUTPUT_SPEED];
    u[UP_TRAVEL] = travel + q * u[UP_GLASS_SPEED];
    u[UP_FILTERED] = (r[UP_FILTERED] + s->filter * u[UP_CURRENT]) * f->per_filter;
}

/* The states two by two: the same sums in the same order, half the instructions where the processor has pairs. */
typedef double pair __attribute__((vector_size(16)));

typedef union vector {
    pair two[UP_STATES / 2];
    double one[UP_STATES];
} vector;

static inline pair both(double x) {
    return (pair){x, x};
}

/* One stage's share in the place and in the rest; `k` and `past` are constants, so a stage to come leaves no code. */
#define UP_ADD_STAGE(k)                                  \
    if (past > (k)) {                                    \
        place += both(UP_STEP_A[past][k]) * u[k].two[n]; \
        rest += both(UP_STEP_C[past][k]) * u[k].two[n];  \
    }

/* y0 and the sums of the `past` stages before, weighted by one row of A and of C. */
static inline __attribute__((always_inline)) void gather(const vector *y0, const vector *u, int past, vector *y,
                                                         vector *r) {
    for (int n = 0; n < UP_STATES / 2; n++) {
        pair place = y0->two[n];
        pair rest = both(0.0);
        UP_ADD_STAGE(0)
        UP_ADD_STAGE(1)
        UP_ADD_STAGE(2)
        UP_ADD_STAGE(3)
        UP_ADD_STAGE(4)
        y->two[n] = place;
        r->two[n] = rest;
    }
}

typedef struct stepping {
    const up_piece *piece;
    const up_slopes *slopes;
    factors f;
    double h, per_h;
} stepping;

/* Stage at place y with the sums r of the stages before: u. */
static void stage_at(const stepping *s, int stage, const vector *y, vector *r, vector *u) {
    up_loads loads;
    const double after = UP_STEP_PLACE[stage] * s->h;
    const up_heat heat = up_heat_after(s->piece, after);
    up_loads_flat(s->piece->door, s->piece->world, s->piece->modes, &heat, s->piece->time + after, y->one, &loads);
    for (int n = 0; n < UP_STATES; n++) {
        r->one[n] = loads.rate[n] + s->per_h * r->one[n];
    }
    const double share = s->h * UP_STEP_TIME_SHARE[stage];
    r->one[UP_CURRENT] += share * s->slopes->current_by_time;
    r->one[UP_ARMATURE_SPEED] += share * s->slopes->armature_by_time;
    r->one[UP_GLASS_SPEED] += share * s->slopes->glass_by_time;
    solve(&s->f, r->one, u->one);
}

void up_step(const up_piece *piece, const up_slopes *slopes, const double y0[UP_STATES], const up_loads *loads0,
             double h, double y1[UP_STATES], double error[UP_STATES]) {
    vector u[UP_STAGES];
    vector start;
    vector r;
    vector y;
    stepping s = {.piece = piece, .slopes = slopes, .h = h, .per_h = 1.0 / h};
    factorise(slopes, s.per_h / UP_STEP_GAMMA, &s.f);
    for (int n = 0; n < UP_STATES; n++) {
        start.one[n] = y0[n];
        r.one[n] = loads0->rate[n];
    }
    r.one[UP_CURRENT] += h * UP_STEP_TIME_SHARE[0] * slopes->current_by_time;
    r.one[UP_ARMATURE_SPEED] += h * UP_STEP_TIME_SHARE[0] * slopes->armature_by_time;
    r.one[UP_GLASS_SPEED] += h * UP_STEP_TIME_SHARE[0] * slopes->glass_by_time;
    solve(&s.f, r.one, u[0].one);
    gather(&start, u, 1, &y, &r);
    stage_at(&s, 1, &y, &r, &u[1]);
    gather(&start, u, 2, &y, &r);
    stage_at(&s, 2, &y, &r, &u[2]);
    gather(&start, u, 3, &y, &r);
    stage_at(&s, 3, &y, &r, &u[3]);
    gather(&start, u, 4, &y, &r);
    stage_at(&s, 4, &y, &r, &u[4]);
    gather(&start, u, 5, &y, &r);
    stage_at(&s, 5, &y, &r, &u[5]);
    for (int n = 0; n < UP_STATES; n++) {
        y1[n] = y.one[n] + u[UP_STAGES - 1].one[n];
        error[n] = u[UP_STAGES - 1].one[n];
    }
}

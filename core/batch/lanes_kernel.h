/* The attempt of a step in all lanes. Included once for each width with UP_LANES and UP_LANES_NAME defined.
 *
 * Follows core/sim/slopes.c, step.c, span.c, guards.c and loads.c operation by operation; tests/laws/lanes_test.c holds
 * every width to their bits. */
#include "core/batch/lanes.h"

#include "core/base/up_math.h"
#include "core/batch/lanes_loads.h"
#include "core/sim/span.h"
#include "core/sim/step_coefficients.h"

/* The members of up_loads at the start of the span. */
#define AT0(member) AT(s->loads0[offsetof(up_loads, member) / sizeof(double)])

/* ---- slopes -------------------------------------------------------------------------------------------------------- */

typedef struct lane_slopes {
    lane current_by_current, current_by_armature;
    lane armature_by_current, armature_by_armature, armature_by_output, armature_by_armature_angle,
        armature_by_output_angle;
    lane output_by_armature, output_by_output, output_by_glass, output_by_armature_angle, output_by_output_angle,
        output_by_travel;
    lane glass_by_output, glass_by_glass, glass_by_output_angle, glass_by_travel;
    lane filter;
    lane current_by_time, armature_by_time;
} lane_slopes;

UP_LANE_FLAT void slopes_electrical(up_lanes *s, lane_slopes *d) {
    const lane root = AT0(brush_root);
    const lane i = AT(s->y0[UP_CURRENT]);
    const lane brush = AT(s->brush_drop) * (root * root - i * i) / (root * root * root);
    const lane per_inductance = AT(s->moving_inductance);
    d->current_by_current = -(AT0(loop) + AT0(winding) + brush) * per_inductance;
    d->current_by_armature = -AT0(torque_constant) * per_inductance;
    const lane winding_rate = AT(s->winding_resistance) * AT(s->winding_coefficient) * AT0(heat_rate.winding);
    const lane constant_rate = AT(s->torque_constant) * AT(s->magnet_coefficient) * AT0(heat_rate.box);
    d->current_by_time = -(winding_rate * i + constant_rate * AT(s->y0[UP_ARMATURE_SPEED])) * per_inductance;
    d->filter = AT(s->per_current_filter);
    d->armature_by_time = constant_rate * i * AT(s->moves[UP_ARMATURE]);
}

UP_LANE_FLAT void slopes_armature(up_lanes *s, lane_slopes *d) {
    const lane moves = AT(s->moves[UP_ARMATURE]);
    const lane per_ratio = AT(s->per_worm_ratio);
    const lane carried = -(1.0 + AT0(worm_share)) * per_ratio * moves;
    d->armature_by_current = AT0(torque_constant) * moves;
    d->armature_by_armature_angle = carried * AT0(damper_by_angle) * per_ratio;
    d->armature_by_output_angle = -carried * AT0(damper_by_angle);
    d->armature_by_output = -carried * AT0(damper_by_speed);
    d->armature_by_armature = carried * AT0(damper_by_speed) * per_ratio -
                              (AT(s->motor_viscous) + AT0(damper_torque) * per_ratio * AT0(worm_share_slope)) * moves;
}

UP_LANE_FLAT void slopes_output(up_lanes *s, lane_slopes *d) {
    const lane moves = AT(s->moves[UP_OUTPUT]);
    const lane ratio = AT0(ratio);
    const lane side = pick(ratio < 0.0, AT(s->output_side_minus), AT(s->output_side_plus));
    const lane loaded = (1.0 + side * AT(s->output_loss)) * moves;
    d->output_by_armature = AT0(damper_by_speed) * AT(s->per_worm_ratio) * moves;
    d->output_by_armature_angle = AT0(damper_by_angle) * AT(s->per_worm_ratio) * moves;
    d->output_by_output = -AT0(damper_by_speed) * moves - loaded * ratio * ratio * AT(s->damping);
    d->output_by_output_angle = (AT(s->balance_slope) - AT0(damper_by_angle)) * moves -
                                loaded * (AT0(ratio_slope) * AT0(lift_force) + ratio * AT0(lift_by_angle));
    d->output_by_glass = loaded * ratio * AT(s->damping);
    d->output_by_travel = loaded * ratio * AT(s->stiffness);
}

UP_LANE_FLAT void slopes_glass(up_lanes *s, lane_slopes *d) {
    const lane moves = AT(s->moves[UP_GLASS]);
    const lane slip = AT(s->slip[UP_GLASS]);
    const lane pulled = 1.0 - AT(s->glass_side) * AT0(tilt);
    const lane v = AT(s->y0[UP_GLASS_SPEED]);
    const lane x = AT(s->y0[UP_TRAVEL]);
    const lane up = AT(s->up_slope);
    const lane down = AT(s->down_slope);
    const lane header = AT(s->header_slope);
    d->glass_by_output = pulled * AT0(ratio) * AT(s->damping) * moves;
    d->glass_by_output_angle =
        (pulled * AT0(lift_by_angle) - AT(s->glass_side) * AT0(tilt_slope) * AT0(lift_force)) * moves;
    const lane stop_damping = AT(s->stop_damping) * (up * (x - AT(s->travel)) + down * -x);
    d->glass_by_glass =
        -(pulled * AT(s->damping) + stop_damping + slip * AT0(drag) * AT0(stribeck_slope) + AT(s->viscous)) * moves;
    const lane drag_slope = AT0(drag_slope) + AT(s->header_friction) * header;
    d->glass_by_travel =
        -(pulled * AT(s->stiffness) + AT0(weight_slope) + header + AT(s->rod_slope) +
          up * (1.0 + AT(s->stop_damping) * v) + down * (1.0 - AT(s->stop_damping) * v) +
          slip * drag_slope * AT0(stribeck)) *
        moves;
}

/* ---- length of the step ------------------------------------------------------------------------------------------------ */

UP_LANE_FLAT lane chosen_length(const up_lanes *s, const lane_slopes *d) {
    const lane growth =
        larger(d->armature_by_armature, larger(d->output_by_output, d->glass_by_glass));
    const lane longest =
        pick(growth * UP_SPAN_LONGEST > 1.0, 1.0 / growth, all(UP_SPAN_LONGEST));
    const lane wish = AT(s->wish);
    const lane left = AT(s->left);
    const lane length = pick(MASK_AT(s->fresh), smaller(wish, longest), wish);
    const lane before = pick(length >= left, left, 0.5 * left);
    return pick(~MASK_AT(s->exact) & (length > 0.6 * left), before, length);
}

/* ---- the step ---------------------------------------------------------------------------------------------------------- */

enum { BODIES = 4 };

typedef struct stepping {
    up_lanes *s;
    lane_slopes slopes;
    lane per_e, upper[BODIES - 1], lower[BODIES - 1], per_pivot[BODIES], per_filter;
    lane h, per_h;
    lane u[UP_STAGES][UP_STATES];
} stepping;

UP_LANE_FLAT void factorise(stepping *f, lane e) {
    const lane_slopes *s = &f->slopes;
    const lane q = 1.0 / e;
    f->per_e = q;
    const lane diagonal[BODIES] = {
        e - s->current_by_current, e - s->armature_by_armature - q * s->armature_by_armature_angle,
        e - s->output_by_output - q * s->output_by_output_angle, e - s->glass_by_glass - q * s->glass_by_travel};
    f->upper[0] = -s->current_by_armature;
    f->upper[1] = -s->armature_by_output - q * s->armature_by_output_angle;
    f->upper[2] = -s->output_by_glass - q * s->output_by_travel;
    const lane below[BODIES - 1] = {-s->armature_by_current, -s->output_by_armature - q * s->output_by_armature_angle,
                                    -s->glass_by_output - q * s->glass_by_output_angle};
    f->per_pivot[0] = 1.0 / diagonal[0];
    for (int k = 1; k < BODIES; k++) {
        f->lower[k - 1] = below[k - 1] * f->per_pivot[k - 1];
        f->per_pivot[k] = 1.0 / (diagonal[k] - f->lower[k - 1] * f->upper[k - 1]);
    }
    f->per_filter = 1.0 / (e + s->filter);
}

UP_LANE_FLAT void solve(const stepping *f, const lane *r, lane *u) {
    const lane_slopes *s = &f->slopes;
    const lane q = f->per_e;
    const lane armature_angle = q * r[UP_ARMATURE_ANGLE];
    const lane output_angle = q * r[UP_OUTPUT_ANGLE];
    const lane travel = q * r[UP_TRAVEL];
    const lane b0 = r[UP_CURRENT];
    const lane b1 = r[UP_ARMATURE_SPEED] + s->armature_by_armature_angle * armature_angle +
                    s->armature_by_output_angle * output_angle - f->lower[0] * b0;
    const lane b2 = r[UP_OUTPUT_SPEED] + s->output_by_armature_angle * armature_angle +
                    s->output_by_output_angle * output_angle + s->output_by_travel * travel - f->lower[1] * b1;
    const lane b3 =
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

/* Stage at place y with the sums r of the stages before. */
static __attribute__((noinline)) void stage_at(stepping *f, int stage, const lane *y, lane *r) {
    up_lanes *s = f->s;
    const lane after = UP_STEP_PLACE[stage] * f->h;
    const lane_heat heat = {AT(s->heat_winding) + after * AT0(heat_rate.winding),
                            AT(s->heat_box) + after * AT0(heat_rate.box),
                            AT(s->heat_protector) + after * AT0(heat_rate.protector)};
    lane_loads loads;
    lane_loads_at(s, &heat, y, &loads);
#define UP_ADD_RATE(n) r[n] = loads.rate[n] + f->per_h * r[n];
    UP_LANE_STATES(UP_ADD_RATE)
#undef UP_ADD_RATE
    const lane share = f->h * UP_STEP_TIME_SHARE[stage];
    r[UP_CURRENT] += share * f->slopes.current_by_time;
    r[UP_ARMATURE_SPEED] += share * f->slopes.armature_by_time;
    solve(f, r, f->u[stage]);
}

/* One stage's share; `k` and `past` are constants, so a stage to come leaves no code. */
#define UP_ADD_STAGE(k)                            \
    if (past > (k)) {                              \
        place += UP_STEP_A[past][k] * f->u[k][n]; \
        rest += UP_STEP_C[past][k] * f->u[k][n];  \
    }

/* y0 and the sums of the `past` stages before, weighted by one row of A and of C. */
UP_LANE_FLAT void gather(const stepping *f, int past, lane *y, lane *r) {
    for (int n = 0; n < UP_STATES; n++) {
        lane place = AT(f->s->y0[n]);
        lane rest = all(0.0);
        UP_ADD_STAGE(0)
        UP_ADD_STAGE(1)
        UP_ADD_STAGE(2)
        UP_ADD_STAGE(3)
        UP_ADD_STAGE(4)
        y[n] = place;
        r[n] = rest;
    }
}

/* From y0 over h: y1; what the last stage adds is the error. */
UP_LANE_FLAT void step(stepping *f, lane *y1) {
    up_lanes *s = f->s;
    lane r[UP_STATES];
    lane y[UP_STATES];
    f->per_h = 1.0 / f->h;
    factorise(f, f->per_h / UP_STEP_GAMMA);
    for (int n = 0; n < UP_STATES; n++) {
        r[n] = AT(s->loads0[n]);
    }
    r[UP_CURRENT] += f->h * UP_STEP_TIME_SHARE[0] * f->slopes.current_by_time;
    r[UP_ARMATURE_SPEED] += f->h * UP_STEP_TIME_SHARE[0] * f->slopes.armature_by_time;
    solve(f, r, f->u[0]);
    gather(f, 1, y, r);
    stage_at(f, 1, y, r);
    gather(f, 2, y, r);
    stage_at(f, 2, y, r);
    gather(f, 3, y, r);
    stage_at(f, 3, y, r);
    gather(f, 4, y, r);
    stage_at(f, 4, y, r);
    gather(f, 5, y, r);
    stage_at(f, 5, y, r);
    for (int n = 0; n < UP_STATES; n++) {
        y1[n] = y[n] + f->u[UP_STAGES - 1][n];
        AT(s->y1[n]) = y1[n];
    }
}

/* What up_length_accepted and its like need to know of the step. */
UP_LANE_FLAT void judge_step(const stepping *f, const lane *y1) {
    up_lanes *s = f->s;
    lane sum = all(0.0);
    lane numbers = all(0.0);
    for (int n = 0; n < UP_STATES; n++) {
        const lane part = f->u[UP_STAGES - 1][n] / AT(s->scale[n]);
        sum += part * part;
        numbers += y1[n];
    }
    const lane error = root(sum / (double)UP_STATES);
    const lane factor = 0.9 / root(root(larger(error, all(1e-8))));
    const lane bounded = pick(factor < 0.2, all(0.2), smaller_or_nan(factor, all(5.0)));
    AT(s->error) = error;
    AT(s->next) = smaller(all(UP_SPAN_LONGEST), f->h * bounded);
    MASK_AT(s->finite) = numbers - numbers == 0.0;
}

/* ---- loads in the middle and at the end ---------------------------------------------------------------------------------- */

static __attribute__((noinline)) void loads_after(up_lanes *s, const lane *after, const lane *y, lane_loads *loads) {
    const lane_heat heat = {AT(s->heat_winding) + *after * AT0(heat_rate.winding),
                            AT(s->heat_box) + *after * AT0(heat_rate.box),
                            AT(s->heat_protector) + *after * AT0(heat_rate.protector)};
    lane_loads_at(s, &heat, y, loads);
}

UP_LANE_FLAT void middle_state(up_lanes *s, lane length, const lane *y1, const lane_loads *end, lane *y) {
    const lane u = 0.5 * length / length;
    const lane w = 1.0 - u;
    for (int n = 0; n < UP_STATES; n++) {
        const lane y0 = AT(s->y0[n]);
        const lane rise = y1[n] - y0;
        const lane d0 = length * AT(s->loads0[n]) - rise;
        const lane d1 = rise - length * end->rate[n];
        y[n] = y0 + u * rise + u * w * (w * d0 + u * d1);
        AT(s->y_middle[n]) = y[n];
    }
}

/* ---- guards ----------------------------------------------------------------------------------------------------------- */

UP_LANE_FLAT void guards_at(const up_lanes *s, const lane *y, const lane_loads *l, lane *guard) {
    for (int body = 0; body < UP_BODIES; body++) {
        const lane moving = AT(s->slip[body]) * y[UP_ARMATURE_SPEED + body];
        const lane held = smaller(l->hold_up[body] - l->net[body], l->hold_down[body] + l->net[body]);
        guard[UP_GUARD_ARMATURE + body] = pick(MASK_AT(s->slips[body]), moving, held);
    }
    guard[UP_GUARD_DAMPER_HIGH] = AT(s->damper_high) - l->windup;
    guard[UP_GUARD_DAMPER_LOW] = l->windup - AT(s->damper_low);
    guard[UP_GUARD_LIFT_SIGN] = AT(s->lift_sign) * l->lift_force;
    const lane x = y[UP_TRAVEL];
    guard[UP_GUARD_HEADER] = AT(s->header_way) * (x - AT(s->header_start));
    guard[UP_GUARD_ROD] = pick(MASK_AT(s->has_rod), AT(s->rod_way) * (x - AT(s->rod_travel)), all(1e300));
    guard[UP_GUARD_UP_STOP] = AT(s->up_way) * (x - AT(s->travel));
    guard[UP_GUARD_DOWN_STOP] = AT(s->down_way) * -x;
    const lane ring = AT(s->limit_gear) * y[UP_OUTPUT_ANGLE];
    guard[UP_GUARD_LIMIT_HIGH] = AT(s->limit_high) - ring;
    guard[UP_GUARD_LIMIT_LOW] = ring - AT(s->limit_low);
}

UP_LANE_FLAT lane_mask crossed(const lane *from, const lane *to) {
    lane_mask some = {0};
    for (int n = 0; n < UP_GUARDS; n++) {
        some |= (to[n] < 0.0) & ((from[n] >= 0.0) | (to[n] < 2.0 * from[n]));
    }
    return some;
}

/* ---- ledger ------------------------------------------------------------------------------------------------------------ */

UP_LANE_FLAT void flows_at(const up_lanes *s, const lane *y, const lane_loads *l, lane *flow) {
    const lane i = y[UP_CURRENT];
    const lane armature = y[UP_ARMATURE_SPEED];
    const lane output = y[UP_OUTPUT_SPEED];
    const lane v = y[UP_GLASS_SPEED];
    const lane closing = armature * AT(s->per_worm_ratio) - output;
    const lane give = l->ratio * output - v;
    const lane wheel = l->damper_torque * AT(s->per_worm_ratio);
    flow[UP_LEDGER_drawn] = l->source * i;
    flow[UP_LEDGER_supply_heat] = l->loop * i * i;
    flow[UP_LEDGER_winding_heat] = l->winding * i * i;
    flow[UP_LEDGER_brush_heat] = l->brush_voltage * i;
    flow[UP_LEDGER_switching] = all(0.0);
    flow[UP_LEDGER_motor_friction] = (AT(s->armature_coulomb) + AT(s->motor_viscous) * armature) * armature;
    flow[UP_LEDGER_worm_friction] = wheel * l->worm_share * armature;
    flow[UP_LEDGER_damper_heat] = l->damper_by_speed * closing * closing;
    flow[UP_LEDGER_mesh_friction] = AT(s->slip[UP_OUTPUT]) * l->hold_up[UP_OUTPUT] * output;
    flow[UP_LEDGER_regulator_heat] = AT(s->damping) * give * give;
    flow[UP_LEDGER_seal_friction] = l->glass_friction * v;
    const lane up = only(MASK_AT(s->up_stop), AT(s->up_stiffness) * (y[UP_TRAVEL] - AT(s->travel)));
    const lane down = only(MASK_AT(s->down_stop), AT(s->down_stiffness) * -y[UP_TRAVEL]);
    flow[UP_LEDGER_stop_heat] = (up + down) * AT(s->stop_damping) * v * v;
}

/* ---- all together -------------------------------------------------------------------------------------------------------- */

/* Three places of the span: its start, its middle and its end. */
typedef struct places {
    lane y[3][UP_STATES];
    lane_loads loads[3];
} places;

enum { START, MIDDLE, END };

static __attribute__((noinline)) void look(up_lanes *s, const places *at) {
    lane guard[3][UP_GUARDS];
    for (int place = 0; place < 3; place++) {
        guards_at(s, at->y[place], &at->loads[place], guard[place]);
    }
    MASK_AT(s->crossed_middle) = crossed(guard[START], guard[MIDDLE]);
    MASK_AT(s->crossed_end) = crossed(guard[START], guard[END]);
    for (int n = 0; n < UP_GUARDS; n++) {
        AT(s->guard0[n]) = guard[START][n];
        AT(s->guard1[n]) = guard[END][n];
    }
}

static __attribute__((noinline)) void keep_flows(up_lanes *s, const places *at, const lane *length) {
    lane flow[3][UP_FLOWS];
    for (int place = 0; place < 3; place++) {
        flows_at(s, at->y[place], &at->loads[place], flow[place]);
    }
    const lane sixth = *length / 6.0;
    for (int n = 0; n < UP_FLOWS; n++) {
        AT(s->flow[n]) = sixth * (flow[START][n] + 4.0 * flow[MIDDLE][n] + flow[END][n]);
    }
}

/* The last attempt's end is this one's start in the lanes that went on smoothly. */
UP_LANE_FLAT void carry_loads(up_lanes *s, places *at) {
    const lane_mask carry = MASK_AT(s->carry);
    lane *start = (lane *)(void *)&at->loads[START];
    for (int n = 0; n < UP_LOADS_ROWS; n++) {
        const lane x = pick(carry, AT(s->loads1[n]), AT(s->loads0[n]));
        AT(s->loads0[n]) = x;
        start[n] = x;
    }
    MASK_AT(s->carry) = (lane_mask){0};
    for (int n = 0; n < UP_STATES; n++) {
        at->y[START][n] = AT(s->y0[n]);
    }
}

static __attribute__((noinline)) void make_step(up_lanes *s, places *at) {
    stepping f;
    f.s = s;
    slopes_electrical(s, &f.slopes);
    slopes_armature(s, &f.slopes);
    slopes_output(s, &f.slopes);
    slopes_glass(s, &f.slopes);
    f.h = chosen_length(s, &f.slopes);
    AT(s->length) = f.h;
    step(&f, at->y[END]);
    judge_step(&f, at->y[END]);
}

void UP_LANES_NAME(up_lanes *s) {
    places at;
    carry_loads(s, &at);
    make_step(s, &at);
    const lane length = AT(s->length);
    loads_after(s, &length, at.y[END], &at.loads[END]);
    middle_state(s, length, at.y[END], &at.loads[END], at.y[MIDDLE]);
    const lane half = 0.5 * length;
    loads_after(s, &half, at.y[MIDDLE], &at.loads[MIDDLE]);
    look(s, &at);
    keep_flows(s, &at, &length);
    const lane *end = (const lane *)(const void *)&at.loads[END];
    for (int n = 0; n < UP_LOADS_ROWS; n++) {
        AT(s->loads1[n]) = end[n];
    }
    AT(s->middle_heat[0]) = at.loads[MIDDLE].heat_winding;
    AT(s->middle_heat[1]) = at.loads[MIDDLE].heat_box;
    AT(s->middle_heat[2]) = at.loads[MIDDLE].heat_protector;
}

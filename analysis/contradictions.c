#include "analysis/contradictions.h"

#include <math.h>
#include <string.h>

#include "analysis/train.h"
#include "core/base/up_math.h"
#include "core/parts/gear.h"
#include "core/parts/worm.h"
#include "core/regulator/arms.h"

/* ---- texts -------------------------------------------------------------------------------------------------- */

typedef struct pair_row {
    const char *name, *unit;
    int one_sided;
    const char *one, *other;
} pair_row;

static const pair_row rows[UP_PAIR_COUNT] = {
#define UP_PAIR_ROW(id, unit, sense, one, other) {#id, unit, sense, one, other},
    UP_PAIR_LIST(UP_PAIR_ROW)
#undef UP_PAIR_ROW
};

const char *up_pair_name(up_pair pair) {
    return rows[pair].name;
}

const char *up_pair_unit(up_pair pair) {
    return rows[pair].unit;
}

int up_pair_is_one_sided(up_pair pair) {
    return rows[pair].one_sided;
}

const char *up_pair_one(up_pair pair) {
    return rows[pair].one;
}

const char *up_pair_other(up_pair pair) {
    return rows[pair].other;
}

const char *up_accord_word(up_accord accord) {
    static const char *const word[] = {"agrees", "doubtful", "contradicts"};
    return word[accord];
}

/* ---- both sides of each pair --------------------------------------------------------------------------------- */

static void put(up_pair_sides *sides, up_pair pair, double one, double other, double slack) {
    sides->one[pair] = one;
    sides->other[pair] = other;
    sides->slack[pair] = slack;
}

/* Lengthening of cable, arms and panel at the glass when the motor stalls on the up-stop, m. */
static double stall_stretch(const up_door *door) {
    up_circuit circuit;
    up_place_on_travel top;
    up_stall stall;
    up_circuit_of(door, &circuit);
    up_place_at(door, door->travel, &top);
    up_stall_at(door, &circuit, &top, &stall);
    return up_max(stall.lift, 0.0) / door->stiffness;
}

static void counted_sides(const up_door *door, const double *figures, up_pair_sides *sides) {
    const up_values *v = &door->values;
    const double stretch = stall_stretch(door);
    up_lift_point top;
    door->regulator->lift(v, door->top_angle, &top);
    if (!up_is_absent(v->measured_turns)) {
        up_lift_point counted;
        door->regulator->lift(v, 2 * UP_PI * v->measured_turns, &counted);
        put(sides, UP_PAIR_travel_turns, v->glass_travel, counted.travel - 0.5 * stretch, 0.5 * stretch);
    }
    if (!up_is_absent(v->measured_pulses)) {
        const double per_turn = v->encoder_pulses * (door->encoder_on_output ? 1.0 : door->worm_ratio);
        const double windup = door->encoder_on_output ? 0.0 : figures[UP_TRAIN_FIGURE_windup_stall];
        const double extra = (stretch / top.ratio + windup) / (2 * UP_PI) * per_turn;
        put(sides, UP_PAIR_pulses_travel, v->measured_pulses, figures[UP_TRAIN_FIGURE_pulses_per_stroke] + 0.5 * extra,
            0.5 * extra + 0.5);
        const double between = 0.5 * windup / (2 * UP_PI) * per_turn;
        put(sides, UP_PAIR_pulses_turns, v->measured_pulses, v->measured_turns * per_turn + between, between + 0.5);
    }
}

static void running_sides(const up_door *door, const double *figures, up_pair_sides *sides) {
    const up_values *v = &door->values;
    put(sides, UP_PAIR_raise_time, v->measured_raise_time, figures[UP_TRAIN_FIGURE_raise_time], 0);
    put(sides, UP_PAIR_lower_time, v->measured_lower_time, figures[UP_TRAIN_FIGURE_lower_time], 0);
    put(sides, UP_PAIR_raise_current, v->measured_run_current, figures[UP_TRAIN_FIGURE_raise_current], 0);
    put(sides, UP_PAIR_stall_current, v->measured_stall_current, figures[UP_TRAIN_FIGURE_stall_current], 0);
    put(sides, UP_PAIR_free_current, v->measured_free_current, figures[UP_TRAIN_FIGURE_free_current], 0);
    put(sides, UP_PAIR_free_speed, v->measured_free_speed, figures[UP_TRAIN_FIGURE_free_speed], 0);
    /* The measured current is the better witness: friction then has no say in the drop. */
    const double current =
        up_is_absent(v->measured_run_current) ? figures[UP_TRAIN_FIGURE_raise_current] : v->measured_run_current;
    const double drop = current * (door->source_resistance + door->bridge_resistance);
    put(sides, UP_PAIR_running_voltage, v->measured_voltage_drop, door->open_voltage - drop, 0);
}

static void geometry_sides(const up_door *door, const double *figures, up_pair_sides *sides) {
    const up_values *v = &door->values;
    const double lead = up_worm_lead_angle(v->worm_starts, v->worm_module, v->worm_diameter);
    put(sides, UP_PAIR_lead_angle, v->worm_lead_angle, lead, 0);
    put(sides, UP_PAIR_lead_limit, up_is_absent(v->worm_lead_angle) ? lead : v->worm_lead_angle,
        up_worm_largest_lead_angle(v->worm_pressure_angle), 0);
    if (v->family != UP_FAMILY_SINGLE_ARM && v->family != UP_FAMILY_CROSSED_ARMS) {
        return;
    }
    const double sweep = up_arm_gear(v) * door->top_angle;
    put(sides, UP_PAIR_sector_teeth, sweep / (2 * UP_PI) * v->sector_teeth + figures[UP_TRAIN_FIGURE_contact_ratio],
        v->sector_cut, 0);
    if (v->family == UP_FAMILY_CROSSED_ARMS) {
        const double sines = up_sin(v->arm_start + sweep) - up_sin(v->arm_start);
        const double equaliser = v->equaliser_pivot * (1.0 + v->equaliser_upper / v->equaliser_lower);
        put(sides, UP_PAIR_arm_rises, v->arm_length * sines, equaliser * sines, 0);
    }
}

void up_pair_sides_of(const up_door *door, const double *figures, up_pair_sides *sides) {
    for (int i = 0; i < UP_PAIR_COUNT; i++) {
        put(sides, (up_pair)i, UP_ABSENT, UP_ABSENT, 0);
    }
    counted_sides(door, figures, sides);
    running_sides(door, figures, sides);
    geometry_sides(door, figures, sides);
}

/* ---- judging ------------------------------------------------------------------------------------------------- */

typedef struct moments {
    int count;
    double mean, deviation;
} moments;

static moments moments_of(const double *what, int stride, int count) {
    moments m = {0, 0, 0};
    double square = 0;
    for (int i = 0; i < count; i++) {
        const double x = what[(size_t)i * (size_t)stride];
        if (isfinite(x)) {
            m.count++;
            const double step = x - m.mean;
            m.mean += step / m.count;
            square += step * (x - m.mean);
        }
    }
    m.deviation = m.count > 1 ? sqrt(square / (m.count - 1)) : 0.0;
    return m;
}

/* Squared correlation of what with one drawn number, over the draws in which what is finite. The number is taken less
 * the sheet's own value: a shift that changes nothing but the rounding. */
static double shared_square(const double *what, const moments *m, const double *numbers, int column, double shift,
                            int count) {
    double together = 0, sum = 0, square = 0;
    for (int i = 0; i < count; i++) {
        if (isfinite(what[i])) {
            const double x = numbers[(size_t)i * UP_NUMBER_COUNT + (size_t)column] - shift;
            sum += x;
            square += x * x;
            together += (what[i] - m->mean) * x;
        }
    }
    const double scale = (square - sum * sum / m->count) * m->deviation * m->deviation * (m->count - 1);
    return scale > 0 ? fmin(together * together / scale, 1.0) : 0.0;
}

int up_suspects_of(const double *what, const double *numbers, int count, const up_known *known, int max,
                   up_number *suspect, double *share) {
    const double worth_naming = 0.1;
    const moments m = moments_of(what, 1, count);
    int found = 0;
    if (m.count < 20 || !(m.deviation > 0)) {
        return 0;
    }
    for (int k = 0; k < UP_NUMBER_COUNT; k++) {
        if (!(known->spread[k] > 0) || up_is_absent(known->values.number[k])) {
            continue;
        }
        const double here = shared_square(what, &m, numbers, k, known->values.number[k], count);
        if (!(here >= worth_naming) || (found == max && here <= share[max - 1])) {
            continue;
        }
        int place = found < max ? found++ : max - 1;
        for (; place > 0 && share[place - 1] < here; place--) {
            share[place] = share[place - 1];
            suspect[place] = suspect[place - 1];
        }
        share[place] = here;
        suspect[place] = (up_number)k;
    }
    return found;
}

static double score_of(double difference, double deviation, double size) {
    const double most = 1000.0;
    if (difference <= 1e-9 * size) {
        return 0.0;
    }
    return deviation > 0 ? fmin(difference / deviation, most) : most;
}

static void judge(const up_pair_sides *nominal, const up_pair_sides *sides, const double *numbers, int count,
                  const up_known *known, int pair, double *difference, up_contradiction *c) {
    const int stride = (int)(sizeof *sides / sizeof(double));
    memset(c, 0, sizeof *c);
    c->one = nominal->one[pair];
    c->other = nominal->other[pair];
    c->applies = isfinite(c->one) && isfinite(c->other);
    if (!c->applies) {
        return;
    }
    for (int i = 0; i < count; i++) {
        difference[i] = sides[i].one[pair] - sides[i].other[pair];
    }
    c->slack = nominal->slack[pair];
    c->one_deviation = moments_of(&sides[0].one[pair], stride, count).deviation;
    c->other_deviation = moments_of(&sides[0].other[pair], stride, count).deviation;
    c->deviation = moments_of(difference, 1, count).deviation;
    const double gap = rows[pair].one_sided ? c->one - c->other : fabs(c->one - c->other);
    c->score = score_of(gap - c->slack, c->deviation, fmax(fabs(c->one), fabs(c->other)));
    c->accord = c->score < 2 ? UP_ACCORD_AGREES : c->score <= 3 ? UP_ACCORD_DOUBTFUL : UP_ACCORD_CONTRADICTS;
    c->suspects = up_suspects_of(difference, numbers, count, known, UP_SUSPECTS_MAX, c->suspect, c->suspect_share);
}

void up_contradictions_judge(const up_pair_sides *nominal, const up_pair_sides *sides, const double *numbers, int count,
                             const up_known *known, double *difference, up_contradiction *contradictions) {
    for (int i = 0; i < UP_PAIR_COUNT; i++) {
        judge(nominal, sides, numbers, count, known, i, difference, &contradictions[i]);
    }
}

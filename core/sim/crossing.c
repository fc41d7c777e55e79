#include "core/sim/crossing.h"

#include "core/base/up_math.h"

up_sighting up_look(const up_scene *scene, const double *y, const up_loads *loads) {
    up_sighting s;
    up_guards_at(scene->door, scene->world, &scene->motion->modes, y, loads, s.value);
    return s;
}

static int crossed(const up_sighting *from, const up_sighting *to, int guard) {
    return to->value[guard] < 0.0 && (from->value[guard] >= 0.0 || to->value[guard] < 2.0 * from->value[guard]);
}

int up_any_crossed(const up_sighting *from, const up_sighting *to) {
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, to, guard)) {
            return 1;
        }
    }
    return 0;
}

int up_near_enough(const up_sighting *from, const up_sighting *to) {
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, to, guard) && to->value[guard] < -up_guard_tolerance(guard)) {
            return 0;
        }
    }
    return 1;
}

/* Earliest straight-line crossing between two up_sightings, as a share of the way; weight bends it off a stale end. */
static double straight_crossing(const up_sighting *from, const up_sighting *low, const up_sighting *high,
                                double weight) {
    double share = 1.0;
    for (int guard = 0; guard < UP_GUARDS; guard++) {
        if (crossed(from, high, guard)) {
            const double above = weight * up_max(low->value[guard], 0.0);
            share = up_min(share, above / (above - high->value[guard]));
        }
    }
    return share;
}

/* A crossing as the interpolant shows it: when, of which guard, and how fast that guard falls there. */
typedef struct crossing {
    double after; /* s */
    int guard;
    double fall; /* per s */
} crossing;

/* First guess from the interpolant, where a look costs one evaluation and no step. */
static crossing guess(const up_scene *scene, const up_span *span, const up_sighting *from, up_sighting at_end) {
    double low = 0.0;
    double high = span->length;
    up_sighting at_low = *from;
    double weight = 1.0;
    const up_heat *heat = &scene->motion->heat;
    for (int i = 0; i < 12 && high - low > 1e-9; i++) {
        const double after =
            low + (high - low) * up_clamp(straight_crossing(from, &at_low, &at_end, weight), 0.02, 0.98);
        double y[UP_STATES];
        up_loads loads;
        up_span_state(span, after, y);
        up_loads_at(scene->door, scene->world, &scene->motion->modes, heat, span->start + after, y, &loads);
        scene->counts->derivative_calls++;
        const up_sighting here = up_look(scene, y, &loads);
        if (up_any_crossed(from, &here)) {
            high = after;
            at_end = here;
            if (up_near_enough(from, &here)) {
                break;
            }
            weight *= 0.5;
        } else {
            low = after;
            at_low = here;
            weight = 1.0;
        }
    }
    int guard = 0;
    while (!crossed(from, &at_end, guard)) {
        guard++;
    }
    return (crossing){high, guard, (at_low.value[guard] - at_end.value[guard]) / (high - low)};
}

void up_locator_begin(up_locator *l, const up_scene *scene, const up_span *span, const up_sighting *from,
                      const up_sighting *at_end) {
    const crossing seen = guess(scene, span, from, *at_end);
    *l = (up_locator){.from = *from,
                      .at_low = *from,
                      .at_high = *at_end,
                      .high = span->length,
                      .after = seen.after,
                      .made = span->length,
                      .weight = 1.0,
                      .guard = seen.guard,
                      .fall = seen.fall};
}

int up_locator_wants(const up_locator *l, double start) {
    return !l->found && l->tries < 60 && l->high - l->low > 1e-12 + 4e-16 * start;
}

void up_locator_note(up_locator *l, const up_sighting *here) {
    l->made = l->after;
    if (up_any_crossed(&l->from, here)) {
        l->high = l->after;
        l->at_high = *here;
        l->found = up_near_enough(&l->from, here);
        l->weight *= 0.5;
    } else {
        l->low = l->after;
        l->at_low = *here;
        l->weight = 1.0;
    }
    if (l->found) {
        return;
    }
    /* Newton with the interpolant's slope, aimed half a tolerance past the crossing; else the straight line */
    const double aim = here->value[l->guard] + 0.5 * up_guard_tolerance(l->guard);
    const double newton = l->after + aim / l->fall;
    const double share = straight_crossing(&l->from, &l->at_low, &l->at_high, l->weight) * (1.0 + 1e-4);
    const double straight = l->low + (l->high - l->low) * up_clamp(share, 1e-3, 1.0 - 1e-3);
    l->after = l->tries < 3 && newton > l->low && newton < l->high ? newton : straight;
    l->tries++;
}

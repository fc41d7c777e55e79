/* Where one smooth piece ends: a guard for each law that changes regime, and the changes themselves.
 *
 * Contract: inside a regime every guard is zero or positive; the piece ends where the first becomes negative. Guards are
 * looked at in the middle and at the end of every step, so a guard that dips below zero and comes back within half a step
 * is not seen; error control keeps steps short where anything swings. */
#ifndef UPSTOP_SIM_GUARDS_H
#define UPSTOP_SIM_GUARDS_H

#include "core/sim/loads.h"

enum {
    UP_GUARD_ARMATURE, /* slipping: speed in its direction, rad/s; sticking: margin of the hold, N m */
    UP_GUARD_OUTPUT,
    UP_GUARD_GLASS,       /* m/s or N                                                                  */
    UP_GUARD_DAMPER_HIGH, /* rad to the upper end of the damper's regime                             */
    UP_GUARD_DAMPER_LOW,
    UP_GUARD_LIFT_SIGN, /* N, lifting force in the direction of its sign                           */
    UP_GUARD_HEADER,    /* m to the change of each contact                                         */
    UP_GUARD_ROD,
    UP_GUARD_UP_STOP,
    UP_GUARD_DOWN_STOP,
    UP_GUARD_LIMIT_HIGH, /* rad of the limit ring                                                   */
    UP_GUARD_LIMIT_LOW,
    UP_GUARDS
};

typedef void up_told(void *context, up_event_kind kind);

void up_guards_at(const up_door *door, const up_world *world, const up_modes *modes, const double y[UP_STATES],
                  const up_loads *loads, double guard[UP_GUARDS]);

/* Windup at the ends of a damper's regime, rad; +-1e300 where it has none. */
void up_guard_damper_range(const up_door *door, up_damper_regime regime, double *low, double *high);

/* How far below zero each guard may be when its crossing counts as found; same units. */
double up_guard_tolerance(int guard);

/* Changes the regimes of *motion whose guards are negative until none is, and fills loads for the new ones. Speeds that
 * came to zero are set to exactly zero. Returns the number of changes. */
int up_settle(const up_door *door, const up_world *world, up_motion *motion, up_loads *loads, up_told *told,
              void *context);

/* Regimes for a position at rest: contacts from the positions, everything sticking. */
void up_modes_at_rest(const up_door *door, const up_world *world, const double y[UP_STATES], up_modes *modes);

#endif

/* A door taken apart: single bodies and laws of a prepared door on the bench, driven by the library's own stepper.
 *
 * Every test that overwrites members of an up_door does it through here, so that derived members stay in step. */
#ifndef UPSTOP_TESTS_WORKBENCH_H
#define UPSTOP_TESTS_WORKBENCH_H

#include "core/sim/run_state.h"

typedef struct workbench {
    up_door door;
    up_run_options options;
    up_outcome outcome; /* only its ledger is kept; call workbench_ledger_gap to close it */
    up_sink sink;
    up_own_stepper memory;
    up_run_state run;                                     /* run.motion, run.world: what moves and what acts on it */
    void (*span)(void *context, const up_run_state *run); /* told each span before it is history; may be NULL */
    up_told *told;                                        /* may be NULL */
    void *context;
} workbench;

/* A rack door at 20 degC stripped of everything: no resistance but the winding's, no brush drop, no change with temperature,
 * no friction anywhere, no damper torque, no weight, nothing in the glass's way, no spring between drive and glass. All
 * bodies stand. */
void bare_door(workbench *bench);

void bare_motor(up_door *door, double resistance, double inductance, double constant, double inertia, double viscous);
void bare_glass(up_door *door, double mass);
/* Drive to glass: stiffness N/m, damping N s/m. */
void bare_regulator(up_door *door, double stiffness, double damping);
/* Output shaft: inertia in kg m2; a huge one turns on at its speed whatever pulls at it. */
void bare_output(up_door *door, double inertia);
/* Coulomb friction of the glass, N; static excess as a share; the speed at which half of it is gone; N s/m. */
void bare_glass_friction(up_door *door, double running, double static_extra, double speed, double viscous);
/* Travel per radian of the output shaft, m. */
double bare_ratio(const up_door *door);

/* Regimes for run.motion as it stands; must be called once after setting up. */
void workbench_start(workbench *bench, double tolerance);
/* Until that time, s. Fails the test when the stepper does. */
void workbench_run(workbench *bench, double until);
/* Drawn less all the rest, J; also in outcome.ledger. */
double workbench_ledger_gap(workbench *bench);

#endif

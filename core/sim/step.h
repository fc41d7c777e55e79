/* One step of the integrator inside one regime: a stiffly accurate Rosenbrock method of order 4 with 6 stages.
 *
 * Method and coefficients: RODAS, E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd ed., Springer
 * 1996, section IV.7 and the authors' published code (typed from memory; tests/laws/step_test.c measures order 4). */
#ifndef UPSTOP_SIM_STEP_H
#define UPSTOP_SIM_STEP_H

#include "core/sim/loads.h"

/* What the step needs to know and does not change. */
typedef struct up_piece {
    const up_door *door;
    const up_world *world;
    const up_modes *modes;
    up_heat heat;      /* K at the start of the step                                    */
    up_heat heat_rate; /* K/s at the start of the step; temperatures run on straight    */
    double time;       /* s, start of the step                                          */
} up_piece;

/* Partial derivatives of the rates, the ones that are not zero or one. */
typedef struct up_slopes {
    double current_by_current, current_by_armature;
    double armature_by_current, armature_by_armature, armature_by_output, armature_by_armature_angle,
        armature_by_output_angle;
    double output_by_armature, output_by_output, output_by_glass, output_by_armature_angle, output_by_output_angle,
        output_by_travel;
    double glass_by_output, glass_by_glass, glass_by_output_angle, glass_by_travel;
    double filter;                            /* 1/s */
    double current_by_time, armature_by_time; /* through the temperatures */
    double glass_by_time;                     /* through what shakes it   */
} up_slopes;

void up_slopes_at(const up_piece *piece, const double y[UP_STATES], const up_loads *loads, up_slopes *slopes);

/* From y0 with its loads over h seconds: y1, and the estimate of the local error. Five calls of up_loads_at. */
void up_step(const up_piece *piece, const up_slopes *slopes, const double y0[UP_STATES], const up_loads *loads0,
             double h, double y1[UP_STATES], double error[UP_STATES]);

/* Temperatures `after` seconds into the step. */
static inline up_heat up_heat_after(const up_piece *piece, double after) {
    return (up_heat){piece->heat.winding + after * piece->heat_rate.winding,
                     piece->heat.box + after * piece->heat_rate.box,
                     piece->heat.protector + after * piece->heat_rate.protector};
}

#endif

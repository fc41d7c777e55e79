/* The equations of motion a second time, written from docs/model.md alone: every number from the sheet's values, every
 * position by its closed form with the C library's sine and cosine. No table, nothing of up_door. */
#ifndef UPSTOP_TESTS_REFERENCE_CLOSED_FORM_H
#define UPSTOP_TESTS_REFERENCE_CLOSED_FORM_H

#include "core/door/values.h"
#include "core/sim/loads.h"

typedef struct closed_form {
    up_values v;
    double temperature;   /* K, of the air                        */
    double source;        /* ohm, battery, wires, plugs           */
    double worm_tangent;  /* tan of the lead angle                */
    double gear;          /* arm turns per output turn, or 1      */
    double middle_cosine; /* cos of the single arm at half travel */
    double top;           /* rad, output angle at the up-stop     */
    double inertia, loss, stiffness;
    double cold, dirt;
} closed_form;

/* values: a usable door. */
void closed_form_make(closed_form *form, const up_values *values, double temperature);

/* Fills of *loads what rates, guards and flows need. */
void closed_form_loads(const closed_form *form, const up_world *world, const up_modes *modes, const up_heat *heat,
                       double time, const double y[UP_STATES], up_loads *loads);

#endif

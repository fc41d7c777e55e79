/* The doors and closings on which the library and CVODE are held against each other, the same for tests and bench. */
#ifndef UPSTOP_TESTS_REFERENCE_DOORS_H
#define UPSTOP_TESTS_REFERENCE_DOORS_H

#include <stdint.h>

#include "core/sim/run.h"

enum { TYPICAL_DOORS = UP_FAMILY_COUNT, EXAMPLE_DOORS = 4, ROD_CLOSINGS = 3 };

const char *typical_door_name(int index);
/* Typical values of family `index`. */
void typical_door(int index, up_values *values);

const char *example_door_name(int index);
/* Sheet `index` of examples/; 0: read. */
int example_door(int index, up_values *values);

/* One-touch closing at 20 degC onto a rod: 150 mm, 40 mm and 10 mm from the top, softer first. */
void rod_closing(int which, up_run_options *options);

/* Random door `index` with a random rod closing: -40..70 degC, 4..200 mm, 5..50 kN/m. Status of up_random_door. */
up_status random_closing(uint64_t index, up_values *values, up_run_options *options);

#endif

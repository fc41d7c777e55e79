/* Finding where the first guard of a span becomes negative. Knows no step: whoever makes the steps asks which length to
 * try next and tells what was seen there. */
#ifndef UPSTOP_SIM_CROSSING_H
#define UPSTOP_SIM_CROSSING_H

#include "core/sim/span.h"

typedef struct up_sighting {
    double value[UP_GUARDS];
} up_sighting;

up_sighting up_look(const up_scene *scene, const double *y, const up_loads *loads);

/* Some guard came to be negative between the two. One that began a little below zero, where rounding left it, sleeps until
 * it has been above or falls further. */
int up_any_crossed(const up_sighting *from, const up_sighting *to);

/* All guards that are negative are so by less than their tolerance. */
int up_near_enough(const up_sighting *from, const up_sighting *to);

typedef struct up_locator {
    up_sighting from, at_low, at_high;
    double low, high; /* s into the span: not crossed yet, crossed                    */
    double after;     /* s, the length to try next                                    */
    double made;      /* s, the length the span holds                                 */
    double weight;
    int guard;   /* seen to cross by the interpolant */
    double fall; /* per s, how fast it falls there   */
    int tries, found;
} up_locator;

/* The span's end shows a crossing that is not near enough. */
void up_locator_begin(up_locator *locator, const up_scene *scene, const up_span *span, const up_sighting *from,
                      const up_sighting *at_end);
/* 1: make a step of locator->after and tell what its end shows; 0: the place is locator->high. */
int up_locator_wants(const up_locator *locator, double start);
void up_locator_note(up_locator *locator, const up_sighting *here);

#endif

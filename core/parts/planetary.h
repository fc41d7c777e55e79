/* Planetary gears: speeds after Willis, and whether a set can be put together.
 *
 * The limit ring sits on the carrier of such a set: the sun turns with the pinion shaft, the ring with internal teeth
 * stands, the carrier turns slowly and opens the contact. Numbers of teeth come in as doubles, as the sheet holds
 * them. */
#ifndef UPSTOP_PARTS_PLANETARY_H
#define UPSTOP_PARTS_PLANETARY_H

/* Willis: (speed_a - carrier) / (speed_b - carrier) = ratio. Returns speed_a; any unit of speed. `ratio` is what the
 * train gives with the carrier held: minus teeth b over teeth a for each outside mesh, plus for an inside mesh. */
double up_willis_speed(double ratio, double speed_b, double carrier_speed);

/* Turns of the carrier per turn of the sun with the ring held: 1 / (1 + ring / sun). */
double up_planetary_carrier_turns(double sun_teeth, double ring_teeth);

/* What stands in the way of putting a set together; bits, 0: it fits. */
enum {
    UP_PLANETARY_FITS = 0,
    UP_PLANETARY_RING_SIZE = 1, /* ring is not sun + 2 planet: axes of sun and planets do not come out                */
    UP_PLANETARY_SPACING = 2,   /* (sun + ring) / planets is not whole: equally spaced planets do not mesh            */
    UP_PLANETARY_CROWDED = 4    /* tips of neighbouring planets touch (addendum of one module)                       */
};

int up_planetary_assembly(double sun_teeth, double planet_teeth, double ring_teeth, double planets);

#endif

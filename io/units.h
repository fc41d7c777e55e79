/* Quantities with a unit, as people write them. UDUNITS-2 does the conversion; its database is read only when a value
 * carries a unit other than the one listed for the entry, because reading it takes a few milliseconds. */
#ifndef UPSTOP_IO_UNITS_H
#define UPSTOP_IO_UNITS_H

#include <stddef.h>

typedef enum up_unit_status {
    UP_UNIT_OK,
    UP_UNIT_UNKNOWN,         /* no such unit                                     */
    UP_UNIT_WRONG_DIMENSION, /* a unit of another kind of quantity               */
    UP_UNIT_NO_DATABASE      /* the units database could not be read             */
} up_unit_status;

/* Start with up_units_init, end with up_units_free; may be shared by any number of conversions, not by threads. */
typedef struct up_units {
    void *system; /* NULL until it is needed */
    int failed;   /* 1: reading the database failed */
} up_units;

void up_units_init(up_units *units);
void up_units_free(up_units *units);

/* How to go from `unit` to `wanted`: wanted = factor * x + offset.
 * unit:   anything UDUNITS-2 knows, and deg, rev, Nm, N·m, mm², oz (of mass), teeth, turns, pulses ... for counts.
 * wanted: a unit as entries.def lists it; "1" and "count" are plain.
 * "AWG" is not a linear unit: see up_units_awg_area. */
up_unit_status up_units_convert(up_units *units, const char *unit, const char *wanted, double *factor, double *offset);

/* What a unit measures, for messages: "a length", "a mass", "a torque"; "" when no name fits. */
const char *up_units_kind(up_units *units, const char *unit);

/* Cross-section of a solid round wire by American wire gauge, mm2: d = 0.127 mm * 92^((36 - gauge) / 39).
 * Source: ASTM B258. gauge -3 (0000) to 40. */
double up_units_awg_area(double gauge);

/* "12.5 mm" for an option of the command line: number, unit, converted to `wanted`. A bare number is refused unless
 * wanted is "1" or "count". Returns UP_UNIT_OK and *value, or what went wrong; UP_UNIT_UNKNOWN with *unit_missing = 1
 * when there is a number but no unit; *not_a_number = 1 when there is no number. The pointers may be NULL. */
up_unit_status up_units_read(up_units *units, const char *text, const char *wanted, double *value, int *unit_missing,
                             int *not_a_number);

#endif

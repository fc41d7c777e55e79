/* What names of columns, keys of preambles and units mean. */
#ifndef UPSTOP_IO_RECORDING_WORDS_H
#define UPSTOP_IO_RECORDING_WORDS_H

#include "io/recording.h"
#include "io/units.h"

/* ---- names of columns ---- */

typedef enum up_meaning {
    UP_MEANS_NOTHING, /* the name says nothing */
    UP_MEANS_TIME,
    UP_MEANS_NUMBERING,
    UP_MEANS_SIGNAL
} up_meaning;

/* What a name says by its words; *signal and *on_glass with UP_MEANS_SIGNAL. */
up_meaning up_name_meaning(const char *name, up_signal *signal, int *on_glass);

/* Does the name belong to the other edge of a peak-detecting channel? Then *length is the length of the channel's name in
 * front. */
int up_name_is_twin(const char *name, size_t *length);

/* ---- units ---- */

typedef enum up_dimension {
    UP_DIMENSION_NONE,
    UP_DIMENSION_TIME,
    UP_DIMENSION_SIGNAL,
    UP_DIMENSION_PLAIN
} up_dimension;

/* What a unit measures, and how to go to SI. */
typedef struct up_unit_meaning {
    up_dimension dimension;
    up_signal signal;
    int on_glass;
    double factor, offset; /* SI = factor * x + offset */
} up_unit_meaning;

/* Looks at a unit as instruments write it: "Volt", "mV", "msec", "Sa/s" is none. NONE: no unit known here. */
up_unit_meaning up_unit_look(up_units *units, const char *unit);

/* One of the few units that nearly every recording has, so that a name which is nothing else may be taken for it. */
int up_unit_is_usual(const char *unit);

/* The unit for a given signal: 0 and factor, offset to SI, or -1 when it measures something else. A sensitivity
 * "100 mV/A" is understood; found is then the unit in the file ("" : volts). */
int up_unit_for(up_units *units, const char *unit, const char *found, up_signal signal, int on_glass, double *factor,
                double *offset);

/* Takes the unit out of a name: "Voltage (V)", "I [mA]", "Time / s", "Strom;A" ... Writes the bare name and the unit, returns
 * what to call the way it was written, or NULL when there is none. */
const char *up_name_unit(up_units *units, const char *name, char *bare, size_t bare_size, char *unit, size_t unit_size);

/* ---- keys of preambles ---- */

typedef enum up_key {
    UP_KEY_OTHER,
    UP_KEY_INTERVAL,
    UP_KEY_RATE,
    UP_KEY_START,
    UP_KEY_TIME_UNIT,
    UP_KEY_COUNT, /* of samples */
    UP_KEY_UNIT,
    UP_KEY_NAME
} up_key;

up_key up_key_meaning(const char *key);

/* A rate in Hz from "250 kSa/s", "2.5E+05", "1 GS/s" split into number and unit; NaN when the unit is no rate. */
double up_rate_in_hertz(up_units *units, double number, const char *unit);

#endif

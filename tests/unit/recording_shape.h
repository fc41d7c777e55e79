/* What must be understood of one recording in tests/recordings, as a row of a table. */
#ifndef UPSTOP_TESTS_RECORDING_SHAPE_H
#define UPSTOP_TESTS_RECORDING_SHAPE_H

#include "io/recording.h"

typedef struct wanted_column {
    const char *name, *unit; /* NULL: ends the list */
    up_role role;
    up_signal signal;
    size_t missing;
    size_t row;   /* of the sample whose value is given */
    double value; /* SI */
} wanted_column;

typedef struct wanted {
    const char *file;
    up_time_how how;
    size_t samples;         /* of the first time base */
    double start, interval; /* s; interval NaN: uneven */
    const char *note;       /* part of a remark; NULL: there is none with a warning */
    long line;              /* of that remark; 0: any */
    wanted_column column[5];
} wanted;

#define TIME_COLUMN(name, unit) \
    { name, unit, UP_ROLE_TIME, UP_SIGNAL_COUNT, 0, 0, 0 }
#define VOLTS UP_ROLE_SIGNAL, UP_SIGNAL_VOLTAGE
#define AMPS UP_ROLE_SIGNAL, UP_SIGNAL_CURRENT

/* Nearly equal: 1e-9 of it. */
int shape_near(double a, double b);

/* Reads tests/recordings/NAME; fails the test when it cannot be. said: NULL: nothing. */
void shape_read(const char *name, const up_recording_options *said, up_recording *recording);

/* Reads it and compares all that the row names. */
void shape_check(const wanted *shape);

#endif

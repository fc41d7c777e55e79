/* Units as instruments write them. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "io/recording/words.h"
#include "io/sheet_number.h"

/* Spellings of instruments for io/units.h, letter case aside where that is safe. */
static const struct {
    const char *theirs, *ours;
} spellings[] = {
    {"volt", "V"},
    {"volts", "V"},
    {"vdc", "V"},
    {"v dc", "V"},
    {"millivolt", "mV"},
    {"millivolts", "mV"},
    {"vrms", "V"},
    {"amp", "A"},
    {"amps", "A"},
    {"ampere", "A"},
    {"amperes", "A"},
    {"adc", "A"},
    {"a dc", "A"},
    {"milliamp", "mA"},
    {"milliamps", "mA"},
    {"second", "s"},
    {"seconds", "s"},
    {"sec", "s"},
    {"secs", "s"},
    {"sek", "s"},
    {"sekunden", "s"},
    {"msec", "ms"},
    {"millisecond", "ms"},
    {"milliseconds", "ms"},
    {"usec", "us"},
    {"\xc2\xb5s", "us"},
    {"\xce\xbcs", "us"},
    {"microseconds", "us"},
    {"nsec", "ns"},
    {"\xc2\xb5V", "uV"},
    {"\xce\xbcV", "uV"},
    {"\xc2\xb5"
     "A",
     "uA"},
    {"\xce\xbc"
     "A",
     "uA"},
    {"rpm", "rpm"},
    {"u/min", "rpm"},
    {"1/min", "rpm"},
    {"min-1", "rpm"},
    {"min^-1", "rpm"},
    {"tr/min", "rpm"},
    {"r/min", "rpm"},
    {"rev/min", "rpm"},
    {"\xc2\xb0"
     "C",
     "degC"},
    {"\xe2\x84\x83", "degC"},
    {"deg c", "degC"},
    {"celsius", "degC"},
    {"\xc2\xb0"
     "F",
     "degF"},
    {"deg f", "degF"},
    {"newton", "N"},
    {"newtons", "N"},
    {"\xc2\xb0", "deg"},
    {"degrees", "deg"},
    {"minutes", "min"},
    {"mins", "min"},
    {"hours", "h"},
    {"hour", "h"},
    {"metre", "m"},
    {"meter", "m"},
    {"pascal", "Pa"},
    {"counts", "count"},
    {"cnt", "count"},
    {"millis", "ms"},
    {"micros", "us"},
};

static const char *respelled(const char *unit) {
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        if (strcasecmp(spellings[i].theirs, unit) == 0) {
            return spellings[i].ours;
        }
    }
    return unit;
}

/* The units of nearly every recording, without the units library, which takes milliseconds to start. */
static const struct {
    const char *unit;
    up_dimension dimension;
    up_signal signal;
    double factor;
} usual[] = {
    {"s", UP_DIMENSION_TIME, 0, 1},
    {"ms", UP_DIMENSION_TIME, 0, 1e-3},
    {"us", UP_DIMENSION_TIME, 0, 1e-6},
    {"ns", UP_DIMENSION_TIME, 0, 1e-9},
    {"V", UP_DIMENSION_SIGNAL, UP_SIGNAL_VOLTAGE, 1},
    {"mV", UP_DIMENSION_SIGNAL, UP_SIGNAL_VOLTAGE, 1e-3},
    {"A", UP_DIMENSION_SIGNAL, UP_SIGNAL_CURRENT, 1},
    {"mA", UP_DIMENSION_SIGNAL, UP_SIGNAL_CURRENT, 1e-3},
    {"count", UP_DIMENSION_PLAIN, UP_SIGNAL_PULSES, 1},
};

/* What the library is asked to convert to, in this order: an angle is asked for before a plain number. */
static const struct {
    const char *wanted;
    up_dimension dimension;
    up_signal signal;
    int on_glass;
    double more; /* from wanted to SI */
} asked[] = {
    {"s", UP_DIMENSION_TIME, 0, 0, 1},
    {"V", UP_DIMENSION_SIGNAL, UP_SIGNAL_VOLTAGE, 0, 1},
    {"A", UP_DIMENSION_SIGNAL, UP_SIGNAL_CURRENT, 0, 1},
    {"rpm", UP_DIMENSION_SIGNAL, UP_SIGNAL_SPEED, 0, 6.283185307179586476925 / 60},
    {"deg", UP_DIMENSION_SIGNAL, UP_SIGNAL_POSITION, 0, 6.283185307179586476925 / 360},
    {"m/s", UP_DIMENSION_SIGNAL, UP_SIGNAL_SPEED, 1, 1},
    {"m", UP_DIMENSION_SIGNAL, UP_SIGNAL_POSITION, 1, 1},
    {"N", UP_DIMENSION_SIGNAL, UP_SIGNAL_FORCE, 0, 1},
    {"K", UP_DIMENSION_SIGNAL, UP_SIGNAL_TEMPERATURE, 0, 1},
    {"Pa", UP_DIMENSION_SIGNAL, UP_SIGNAL_SOUND, 0, 1},
    {"1", UP_DIMENSION_PLAIN, UP_SIGNAL_PULSES, 0, 1},
};

int up_unit_is_usual(const char *unit) {
    const char *known = respelled(unit);
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++) {
        if (strcmp(usual[i].unit, known) == 0) {
            return 1;
        }
    }
    return known != unit || strcmp(unit, "N") == 0 || strcmp(unit, "degC") == 0 || strcmp(unit, "m/s") == 0;
}

/* The units library takes "ch1" for a hundredth of an hour, and "Min" for a million inches. */
static int is_no_unit(const char *unit) {
    static const char *const words[] = {"Min", "Max", "Avg", "Std", "Mean", NULL};
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], unit) == 0) {
            return 1;
        }
    }
    return unit[0] == '\0' || strncasecmp(unit, "ch", 2) == 0;
}

up_unit_meaning up_unit_look(up_units *units, const char *unit) {
    up_unit_meaning meaning = {UP_DIMENSION_NONE, UP_SIGNAL_COUNT, 0, 1, 0};
    if (is_no_unit(unit)) {
        return meaning;
    }
    const char *known = respelled(unit);
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++) {
        if (strcmp(usual[i].unit, known) == 0) {
            return (up_unit_meaning){usual[i].dimension, usual[i].signal, 0, usual[i].factor, 0};
        }
    }
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        double factor, offset;
        if (up_units_convert(units, known, asked[i].wanted, &factor, &offset) == UP_UNIT_OK) {
            return (up_unit_meaning){asked[i].dimension, asked[i].signal, asked[i].on_glass, factor * asked[i].more,
                                     offset * asked[i].more};
        }
    }
    return meaning;
}

/* "100 mV/A": what the instrument showed a volt for. */
static int sensitivity(up_units *units, const char *unit, const char *found, const char *si, double *factor) {
    char rest[UP_COLUMN_UNIT_MAX], wanted[24];
    double number, step, ratio, offset;
    const char *end = up_scan_number(unit, &number, &step);
    if (end == NULL || number == 0 || !up_trimmed(end, rest, sizeof rest) || strchr(rest, '/') == NULL) {
        return 0;
    }
    snprintf(wanted, sizeof wanted, "V/(%s)", si);
    if (strchr(si, '/') == NULL) {
        snprintf(wanted, sizeof wanted, "V/%s", si);
    }
    if (up_units_convert(units, rest, wanted, &ratio, &offset) != UP_UNIT_OK) {
        return 0;
    }
    const up_unit_meaning in_file = up_unit_look(units, found);
    const double volts =
        in_file.dimension == UP_DIMENSION_SIGNAL && in_file.signal == UP_SIGNAL_VOLTAGE ? in_file.factor : 1;
    *factor = volts / (number * ratio);
    return 1;
}

int up_unit_for(up_units *units, const char *unit, const char *found, up_signal signal, int on_glass, double *factor,
                double *offset) {
    *factor = 1;
    *offset = 0;
    if (unit[0] == '\0') {
        return 0;
    }
    if (sensitivity(units, unit, found, signal == UP_SIGNAL_TEMPERATURE ? "K" : up_signal_unit(signal, on_glass),
                    factor)) {
        return 0;
    }
    const up_unit_meaning meaning = up_unit_look(units, unit);
    const int fits =
        (meaning.dimension == UP_DIMENSION_SIGNAL && meaning.signal == signal) ||
        (meaning.dimension == UP_DIMENSION_PLAIN && (signal == UP_SIGNAL_PULSES || signal == UP_SIGNAL_SOUND)) ||
        (meaning.dimension == UP_DIMENSION_SIGNAL && meaning.signal == UP_SIGNAL_VOLTAGE &&
         (signal == UP_SIGNAL_PULSES || signal == UP_SIGNAL_SOUND));
    if (!fits) {
        return -1;
    }
    *factor = meaning.factor;
    *offset = meaning.offset;
    return 0;
}

double up_rate_in_hertz(up_units *units, double number, const char *unit) {
    static const char *const samples[] = {"Sa/s",      "S/s",       "sa/s", "sps", "SPS", "Sps",
                                          "samples/s", "Samples/s", "Hz",   "hz",  "HZ",  NULL};
    double factor, offset;
    if (unit[0] == '\0') {
        return number;
    }
    for (int i = 0; samples[i] != NULL; i++) {
        const size_t tail = strlen(samples[i]), length = strlen(unit);
        if (length >= tail && length <= tail + 1 && strcmp(unit + length - tail, samples[i]) == 0) {
            const char prefix = length > tail ? unit[0] : ' ';
            return number * (prefix == 'k' || prefix == 'K' ? 1e3
                             : prefix == 'M'                ? 1e6
                             : prefix == 'G'                ? 1e9
                             : prefix == ' '                ? 1
                                                            : (double)NAN);
        }
    }
    return up_units_convert(units, unit, "Hz", &factor, &offset) == UP_UNIT_OK ? number * factor : (double)NAN;
}

#include "io/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

#include "io/sheet_number.h"

enum { UNIT_LENGTH_MAX = 64 };

/* Words that only say what is counted: five teeth are five. */
static const char *const counted_things[] = {"count",   "teeth",   "tooth", "turns",       "turn", "pulses",
                                             "pulse",   "starts",  "start", "segments",    "bars", "poles",
                                             "magnets", "planets", "edges", "revolutions", "rev",  "times"};

/* Spellings of the bench which the units library does not know, or knows as something else (its oz is of volume). */
static const struct {
    const char *ours, *theirs;
} spellings[] = {
    {"deg", "arc_degree"},   {"degs", "arc_degree"}, {"Nm", "N.m"},          {"Nmm", "N.mm"},
    {"Ncm", "N.cm"},         {"mNm", "mN.m"},        {"kgf", "kgf"},         {"oz", "(0.0625 lb)"},
    {"ozf", "(0.0625 lbf)"}, {"rev", "revolution"},  {"revs", "revolution"}, {"turn", "revolution"},
    {"turns", "revolution"}, {"Ohm", "ohm"},         {"Ohms", "ohm"},        {"ohms", "ohm"},
    {"mOhm", "mohm"},        {"mohms", "mohm"},      {"min", "minute"},      {"sec", "s"},
    {"lbs", "lb"},           {"percent", "%"},       {"per cent", "%"},
};

void up_units_init(up_units *units) {
    units->system = NULL;
    units->failed = 0;
}

void up_units_free(up_units *units) {
    if (units->system != NULL) {
        ut_free_system(units->system);
    }
    up_units_init(units);
}

static ut_system *loaded(up_units *units) {
    if (units->system == NULL && !units->failed) {
        ut_set_error_message_handler(ut_ignore);
        units->system = ut_read_xml(NULL);
        units->failed = units->system == NULL;
    }
    return units->system;
}

static int is_unit_letter(char c) {
    return isalpha((unsigned char)c) || c == '_' || (c & 0x80) != 0;
}

/* Length of a character of UTF-8 that stands at text for a letter of ours: multiplication dots. */
static size_t middle_dot(const char *text) {
    if (strncmp(text, "\xc2\xb7", 2) == 0) {
        return 2;
    }
    return strncmp(text, "\xe2\x8b\x85", 3) == 0 ? 3 : 0;
}

static const char *their_spelling(const char *word, size_t length) {
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        if (strlen(spellings[i].ours) == length && memcmp(spellings[i].ours, word, length) == 0) {
            return spellings[i].theirs;
        }
    }
    return NULL;
}

/* May a digit stand here? As an exponent only: the library would read "lb 4" as four pounds. */
static int digit_out_of_place(const char *unit, const char *at) {
    if (!isdigit((unsigned char)*at) || (at == unit && (at[1] == '/' || at[1] == '\0'))) {
        return 0;
    }
    int power = at - unit >= 2 && at[-1] == '*' && at[-2] == '*';
    return at == unit ||
           !(is_unit_letter(at[-1]) || isdigit((unsigned char)at[-1]) || strchr("^-+", at[-1]) != NULL || power);
}

/* Rewrites each word of a unit into the library's spelling. Returns 0 when it does not fit, or holds something that is
 * no unit for us (numbers in front, offsets, logarithms: the library would accept them). */
static int respell(const char *unit, char *out, size_t size) {
    size_t at = 0;
    const char *whole = unit;
    if (unit[0] == '\0' || strpbrk(unit, "@(){}:,;\"'#") != NULL) {
        return 0;
    }
    while (*unit != '\0') {
        const char *piece = unit;
        size_t length = 1, dot = middle_dot(unit);
        if (digit_out_of_place(whole, unit)) {
            return 0;
        }
        if (dot > 0) {
            piece = ".";
            unit += dot;
        } else if (is_unit_letter(*unit)) {
            while (is_unit_letter(unit[length]) && middle_dot(unit + length) == 0) {
                length++;
            }
            const char *theirs = their_spelling(unit, length);
            unit += length;
            if (theirs != NULL) {
                piece = theirs;
                length = strlen(theirs);
            }
        } else {
            unit++;
        }
        if (at + length + 1 > size) {
            return 0;
        }
        memcpy(out + at, piece, length);
        at += length;
    }
    out[at] = '\0';
    return 1;
}

static ut_unit *parse(up_units *units, const char *unit) {
    char theirs[4 * UNIT_LENGTH_MAX];
    if (strlen(unit) > UNIT_LENGTH_MAX || !respell(unit, theirs, sizeof theirs)) {
        return NULL;
    }
    ut_unit *parsed = ut_parse(units->system, theirs, UT_UTF8);
    if (parsed == NULL) { /* the library refuses some signs of Latin 1 inside UTF-8 text and the reverse */
        parsed = ut_parse(units->system, theirs, UT_ASCII);
    }
    return parsed;
}

/* Is there an angle in it? The library takes a radian for a plain number, so it would turn 70 Hz into 70 rad/s and
 * 5 degrees into a friction coefficient. */
static int has_angle(const ut_unit *unit) {
    char text[256];
    int length = ut_format(unit, text, sizeof text, UT_ASCII | UT_DEFINITION);
    return length > 0 && length < (int)sizeof text && strstr(text, "rad") != NULL;
}

static int is_count_word(const char *unit) {
    for (size_t i = 0; i < sizeof counted_things / sizeof counted_things[0]; i++) {
        if (strcmp(unit, counted_things[i]) == 0) {
            return 1;
        }
    }
    return 0;
}

static int angle_matters(const char *wanted) {
    static const char *const strict[] = {"1", "%", "deg", "rpm"};
    for (size_t i = 0; i < sizeof strict / sizeof strict[0]; i++) {
        if (strcmp(wanted, strict[i]) == 0) {
            return 1;
        }
    }
    return 0;
}

static up_unit_status convert_parsed(const ut_unit *from, const ut_unit *to, int strict, double *factor,
                                     double *offset) {
    if (!ut_are_convertible(from, to) || (strict && has_angle(from) != has_angle(to))) {
        return UP_UNIT_WRONG_DIMENSION;
    }
    cv_converter *converter = ut_get_converter((ut_unit *)from, (ut_unit *)to);
    if (converter == NULL) {
        return UP_UNIT_WRONG_DIMENSION;
    }
    double zero = cv_convert_double(converter, 0.0);
    double one = cv_convert_double(converter, 1.0);
    cv_free(converter);
    *offset = zero;
    *factor = one - zero;
    /* Reciprocal units (s for 1/s) count as convertible but are not linear. */
    return isfinite(zero) && isfinite(one) ? UP_UNIT_OK : UP_UNIT_WRONG_DIMENSION;
}

static up_unit_status convert_with_library(up_units *units, const char *unit, const char *wanted, double *factor,
                                           double *offset) {
    if (loaded(units) == NULL) {
        return UP_UNIT_NO_DATABASE;
    }
    ut_unit *from = parse(units, unit);
    if (from == NULL) {
        return UP_UNIT_UNKNOWN;
    }
    int is_count = strcmp(wanted, "count") == 0;
    ut_unit *to = parse(units, is_count ? "1" : wanted);
    up_unit_status status = UP_UNIT_WRONG_DIMENSION;
    if (to != NULL && !is_count) {
        status = convert_parsed(from, to, angle_matters(wanted), factor, offset);
    }
    ut_free(from);
    if (to != NULL) {
        ut_free(to);
    }
    return status;
}

up_unit_status up_units_convert(up_units *units, const char *unit, const char *wanted, double *factor, double *offset) {
    *factor = 1.0;
    *offset = 0.0;
    if (strcmp(unit, wanted) == 0) {
        return UP_UNIT_OK;
    }
    if (unit[0] == '\0') {
        return strcmp(wanted, "1") == 0 || strcmp(wanted, "count") == 0 ? UP_UNIT_OK : UP_UNIT_UNKNOWN;
    }
    if (strcmp(wanted, "count") == 0 && is_count_word(unit)) {
        return UP_UNIT_OK;
    }
    return convert_with_library(units, unit, wanted, factor, offset);
}

/* Named by an example unit each; the first that converts both ways gives the name. */
static const struct {
    const char *unit, *kind;
} kinds[] = {
    {"%", "a plain number"},
    {"deg", "an angle"},
    {"m", "a length"},
    {"mm2", "an area"},
    {"m3", "a volume"},
    {"kg", "a mass"},
    {"s", "a time"},
    {"K", "a temperature"},
    {"A", "a current"},
    {"V", "a voltage"},
    {"ohm", "a resistance"},
    {"H", "an inductance"},
    {"W", "a power"},
    {"Hz", "a frequency"},
    {"rpm", "a turning speed"},
    {"m/s", "a speed"},
    {"N", "a force"},
    {"N.m", "a torque"},
    {"N/m", "a stiffness or a drag per length"},
    {"N.m/rad", "a torsional stiffness"},
    {"Pa", "a stress"},
    {"kg.m2", "a moment of inertia"},
    {"N.m/A", "a torque per current"},
    {"N.m.s/rad", "a torque per turning speed"},
    {"N.s/m", "a damping"},
    {"J/K", "a heat capacity"},
    {"K/W", "a thermal resistance"},
    {"1/K", "a change per kelvin"},
    {"s/m", "a damping per stiffness"},
    {"kg/m3", "a density"},
};

const char *up_units_kind(up_units *units, const char *unit) {
    if (strcmp(unit, "AWG") == 0) {
        return "a wire gauge";
    }
    if (strcmp(unit, "count") == 0 || unit[0] == '\0' || strcmp(unit, "1") == 0) {
        return "a plain number";
    }
    if (loaded(units) == NULL) {
        return "";
    }
    ut_unit *asked = parse(units, unit);
    const char *found = "";
    for (size_t i = 0; asked != NULL && found[0] == '\0' && i < sizeof kinds / sizeof kinds[0]; i++) {
        ut_unit *example = parse(units, kinds[i].unit);
        double factor, offset;
        if (example != NULL && convert_parsed(asked, example, 1, &factor, &offset) == UP_UNIT_OK) {
            found = kinds[i].kind;
        }
        if (example != NULL) {
            ut_free(example);
        }
    }
    if (asked != NULL) {
        ut_free(asked);
    }
    return found;
}

double up_units_awg_area(double gauge) {
    const double diameter = 0.127 * pow(92.0, (36.0 - gauge) / 39.0); /* mm, ASTM B258 */
    return 0.25 * 3.14159265358979323846 * diameter * diameter;
}

up_unit_status up_units_read(up_units *units, const char *text, const char *wanted, double *value, int *unit_missing,
                             int *not_a_number) {
    char unit[UNIT_LENGTH_MAX];
    double number = 0, step = 0, factor, offset;
    const char *end = up_scan_number(text, &number, &step);
    if (unit_missing != NULL) {
        *unit_missing = 0;
    }
    if (not_a_number != NULL) {
        *not_a_number = end == NULL;
    }
    if (end == NULL || !up_trimmed(end, unit, sizeof unit)) {
        return UP_UNIT_UNKNOWN;
    }
    if (unit[0] == '\0' && strcmp(wanted, "1") != 0 && strcmp(wanted, "count") != 0) {
        if (unit_missing != NULL) {
            *unit_missing = 1;
        }
        return UP_UNIT_UNKNOWN;
    }
    if (strcmp(unit, "AWG") == 0) {
        number = up_units_awg_area(number);
        memcpy(unit, "mm2", 4);
    }
    up_unit_status status = up_units_convert(units, unit, wanted, &factor, &offset);
    if (status == UP_UNIT_OK) {
        *value = factor * number + offset;
    }
    return status;
}

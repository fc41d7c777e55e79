#include "apps/cli/pinch_ranges.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "apps/cli/command.h"
#include "io/units.h"

enum { WORD = 96 };

static const char command_name[] = "pinch";

/* What an axis takes on the command line: limits in `unit`, SI = value * factor + offset. */
static const struct {
    const char *unit, *example;
    double low, high, factor, offset;
} rows[UP_PINCH_AXES] = {
    [UP_PINCH_MEASURE] = {"mm", "4..200mm", 1, 1000, 1e-3, 0},
    [UP_PINCH_PLACE] = {"1", "0..1", 0, 1, 1, 0},
    [UP_PINCH_SUPPLY] = {"V", "9..16V", 1, 60, 1, 0},
    [UP_PINCH_TEMPERATURE] = {"degC", "-30..80C", -60, 120, 1, 273.15},
    [UP_PINCH_WEAR] = {"1", "0..1", 0, 1, 1, 0},
    [UP_PINCH_STIFFNESS] = {"1", "1..2", 0.5, 100, 1, 0},
    [UP_PINCH_CLEARANCE] = {"mm", "0.2..60mm", 0, 500, 1e-3, 0},
};

/* "C" alone means degrees Celsius here and no electric charge, "F" degrees Fahrenheit. */
static const char *unit_words(const char *unit) {
    return strcmp(unit, "C") == 0 || strcmp(unit, "\u00b0C") == 0   ? "degC"
           : strcmp(unit, "F") == 0 || strcmp(unit, "\u00b0F") == 0 ? "degF"
                                                                    : unit;
}

/* "9..100V, of it 100 V" names the end that is wrong; "20K, that is -253.15 degC" when it came in another unit. */
static void found_words(const char *whole, const char *text, const char *unit, double value, char *out, size_t size) {
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    size_t used = (size_t)snprintf(out, size, "%s", whole);
    if (strstr(whole, "..")) {
        used += (size_t)snprintf(out + used, size - used, ", of it %.*s", (int)length, text);
    }
    const char *own = text + strspn(text, "+-0123456789.eE \t");
    if (isfinite(value) && strcmp(own, unit) != 0 && strcmp(unit, "1") != 0) {
        snprintf(out + used, size - used, ", that is %.6g %s", value, unit);
    }
}

static int read_one(const char *option, const char *whole, const char *text, const char *unit, const char *example,
                    double low, double high, double *value) {
    char found[4 * WORD];
    char expected[2 * WORD];
    char mend[2 * WORD];
    int unit_missing = 0;
    int not_a_number = 0;
    up_units units;
    up_units_init(&units);
    const up_unit_status status = up_units_read(&units, text, unit, value, &unit_missing, &not_a_number);
    up_units_free(&units);
    if (status == UP_UNIT_OK && isfinite(*value) && *value >= low && *value <= high) {
        return -1;
    }
    const int plain = strcmp(unit, "1") == 0;
    snprintf(expected, sizeof expected,
             plain ? "%g to %g, a number without a unit" : "%g to %g %s, with that unit or one that converts to it",
             low, high, unit);
    snprintf(mend, sizeof mend, "%s, for example --%s %s",
             status == UP_UNIT_NO_DATABASE ? "the units database of UDUNITS-2 cannot be read, install it"
             : unit_missing                ? "write the unit after the number"
             : status == UP_UNIT_OK        ? "give a value in that range"
             : plain                       ? "write the number alone"
                                           : "write numbers and a unit of that kind",
             option, example);
    found_words(whole, text, unit, status == UP_UNIT_OK ? *value : (double)NAN, found, sizeof found);
    return up_cli_bad_option(command_name, option, found, expected, mend);
}

/* Number and unit of `text`, with `unit` where it has none. */
static void with_unit(const char *text, size_t length, const char *unit, char *out, size_t size) {
    size_t number = strspn(text, "+-0123456789.eE \t");
    number = number > length ? length : number;
    const char *own = number < length ? text + number : "";
    const int own_length = number < length ? (int)(length - number) : 0;
    char word[WORD];
    snprintf(word, sizeof word, "%.*s", own_length > 0 ? own_length : WORD - 1, own_length > 0 ? own : unit);
    snprintf(out, size, "%.*s %s", (int)number, text, unit_words(word));
}

int up_pinch_read_quantity(const char *option, const char *text, const char *unit, const char *example, double low,
                           double high, double *value) {
    return read_one(option, text, text, unit, example, low, high, value);
}

int up_pinch_read_range(up_pinch_axis axis, const char *text, up_pinch_range *range) {
    const char *option = up_pinch_axis_name(axis);
    const char *dots = strstr(text, "..");
    const char *second = dots ? dots + 2 : text;
    const char *unit = second + strspn(second, "+-0123456789.eE \t");
    const size_t length = dots ? (size_t)(dots - text) : strlen(text);
    char first_words[2 * WORD];
    char second_words[2 * WORD];
    double value[2];
    if (strlen(text) > WORD / 2 || second[0] == '.') {
        return up_cli_bad_option(command_name, option, text, "two numbers with .. between, or one",
                                 strlen(text) > WORD / 2 ? "write it shorter"
                                                         : "write two points and 0 before a third");
    }
    with_unit(text, length, unit, first_words, sizeof first_words);
    with_unit(second, strlen(second), "", second_words, sizeof second_words);
    int status = read_one(option, text, first_words, rows[axis].unit, rows[axis].example, rows[axis].low,
                          rows[axis].high, &value[0]);
    if (status < 0) {
        status = read_one(option, text, second_words, rows[axis].unit, rows[axis].example, rows[axis].low,
                          rows[axis].high, &value[1]);
    }
    if (status >= 0) {
        return status;
    }
    if (value[0] > value[1]) {
        return up_cli_bad_option(command_name, option, text, "the lower end first", "change the two ends about");
    }
    range->low = value[0] * rows[axis].factor + rows[axis].offset;
    range->high = value[1] * rows[axis].factor + rows[axis].offset;
    return -1;
}

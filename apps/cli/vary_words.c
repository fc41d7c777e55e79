#include "apps/cli/vary_words.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/road.h"
#include "apps/cli/command.h"

enum { WORD_MAX = 96 };

static int bad(const up_words *words, const char *expected, const char *mend) {
    char advice[200];
    snprintf(advice, sizeof advice, "%s, for example %s %s", mend, words->option, words->example);
    return up_cli_bad_option(words->command, words->option, words->text, expected, advice);
}

/* ---- quantities ---- */

/* "C" after a temperature is no electric charge, "F" no capacity. */
static void spell_temperature(const char *unit, char *text, size_t size) {
    const size_t number = strspn(text, "+-0123456789.eE \t");
    const char *const written = text + number;
    if (strcmp(unit, "degC") == 0 && (strcmp(written, "C") == 0 || strcmp(written, "\u00b0C") == 0)) {
        snprintf(text + number, size - number, " degC");
    } else if (strcmp(unit, "degC") == 0 && (strcmp(written, "F") == 0 || strcmp(written, "\u00b0F") == 0)) {
        snprintf(text + number, size - number, " degF");
    }
}

static int one_quantity(up_units *units, const up_words *words, char *text, size_t size, const char *unit, double least,
                        double most, double *value) {
    char expected[120];
    int unit_missing = 0, not_a_number = 0;
    spell_temperature(unit, text, size);
    const up_unit_status status = up_units_read(units, text, unit, value, &unit_missing, &not_a_number);
    if (status == UP_UNIT_OK && isfinite(*value) && *value >= least && *value <= most) {
        return -1;
    }
    if (status == UP_UNIT_NO_DATABASE) {
        return bad(words, unit, "the units database of UDUNITS-2 cannot be read, install it");
    }
    snprintf(expected, sizeof expected, "%g to %g %s", least, most, unit);
    return bad(words, expected,
               unit_missing           ? "write the unit after the number"
               : status == UP_UNIT_OK ? "give values in that range"
                                      : "write a number and its unit");
}

/* "-20..40C" into "-20" and "40C"; without ".." both are the whole. -1, or 0 when it is too long. */
static int split_range(const char *text, char *low, char *high) {
    const char *const dots = strstr(text, "..");
    const size_t first = dots ? (size_t)(dots - text) : strlen(text);
    const char *const second = dots ? dots + 2 : text;
    if (first + 12 >= WORD_MAX || strlen(second) + 12 >= WORD_MAX) {
        return 0;
    }
    memcpy(low, text, first);
    low[first] = '\0';
    memcpy(high, second, strlen(second) + 1);
    return -1;
}

static void lend_unit(char *low, const char *high) {
    const size_t number = strspn(low, "+-0123456789.eE \t");
    if (low[number] == '\0') {
        const char *const unit = high + strspn(high, "+-0123456789.eE \t");
        const size_t length = strlen(unit);
        if (number + length + 1 < WORD_MAX) {
            memcpy(low + number, unit, length + 1);
        }
    }
}

static int in_order(const up_words *words, double low, double high) {
    return low <= high ? -1 : bad(words, "the lower value first", "turn the two round");
}

int up_words_range(up_units *units, const up_words *words, const char *unit, double least, double most, double *low,
                   double *high) {
    char first[WORD_MAX], second[WORD_MAX];
    if (split_range(words->text, first, second) >= 0) {
        return bad(words, "a value or a range", "shorten it");
    }
    lend_unit(first, second);
    int status = one_quantity(units, words, second, sizeof second, unit, least, most, high);
    if (status < 0) {
        status = one_quantity(units, words, first, sizeof first, unit, least, most, low);
    }
    return status < 0 ? in_order(words, *low, *high) : status;
}

int up_words_rod(up_units *units, const up_words *words, double *diameter, double *opening, double *stiffness) {
    char text[WORD_MAX];
    if (strlen(words->text) >= sizeof text) {
        return bad(words, "a diameter, @, and an opening", "shorten it");
    }
    memcpy(text, words->text, strlen(words->text) + 1);
    char *const place = strchr(text, '@');
    if (!place) {
        return bad(words, "its diameter, @, and the opening at which the glass meets it", "write the @");
    }
    *place = '\0';
    char *const comma = strchr(place + 1, ',');
    if (comma) {
        *comma = '\0';
    }
    int status = one_quantity(units, words, text, sizeof text, "mm", 0.1, 1000, diameter);
    if (status < 0) {
        status =
            one_quantity(units, words, place + 1, sizeof text - (size_t)(place + 1 - text), "mm", 0, 2000, opening);
    }
    if (status < 0 && *opening < *diameter) {
        return bad(words, "an opening that lets the rod through",
                   "a rod against the frame is met at its own diameter: 25mm@25mm");
    }
    *diameter /= 1e3;
    *opening /= 1e3;
    if (status < 0 && comma) {
        status = one_quantity(units, words, comma + 1, sizeof text - (size_t)(comma + 1 - text), "N/mm", 0.1, 1e5,
                              stiffness);
        *stiffness *= 1e3;
    }
    return status;
}

/* ---- shares, classes, counts ---- */

static int share_of(const char *text, int percent, double *share) {
    char *end = NULL;
    *share = strtod(text, &end);
    if (end == text) {
        return 0;
    }
    end += strspn(end, " ");
    if (*end == '%') {
        percent = 1;
        end++;
    }
    *share /= percent ? 100 : 1;
    return *end == '\0' && *share >= 0 && *share <= 1;
}

/* "50" where a share is wanted: 50 what? */
static int lacks_percent(const char *text) {
    char *end = NULL;
    const double number = strtod(text, &end);
    return end != text && end[strspn(end, " ")] == '\0' && number > 1 && number <= 100;
}

static int bad_share(const up_words *words, const char *last, const char *expected, const char *mend) {
    return lacks_percent(last) ? bad(words, "a share with its unit", "write % after the number")
                               : bad(words, expected, mend);
}

int up_words_share(const up_words *words, double *share) {
    if (strcmp(words->text, "none") == 0) {
        *share = 0;
        return -1;
    }
    return share_of(words->text, 0, share) ? -1 : bad_share(words, words->text, "0 to 100 %, or none", "write a share");
}

int up_words_shares(const up_words *words, double *low, double *high) {
    char first[WORD_MAX], second[WORD_MAX];
    if (strcmp(words->text, "none") == 0) {
        *low = *high = 0;
        return -1;
    }
    if (split_range(words->text, first, second) >= 0) {
        return bad(words, "a share or a range", "shorten it");
    }
    if (!share_of(second, 0, high) || !share_of(first, strchr(second, '%') != NULL, low)) {
        return bad_share(words, second, "0 to 100 %, a range of it, or none", "write a share or two with .. between");
    }
    return in_order(words, *low, *high);
}

int up_words_road(const up_words *words, double *low, double *high) {
    const char *const text = words->text;
    const up_road_class *const first = up_road_class_named(text[0]);
    const up_road_class *second = first;
    if (first && strncmp(text + 1, "..", 2) == 0 && strlen(text) == 4) {
        second = up_road_class_named(text[3]);
    } else if (!first || text[1] != '\0') {
        second = NULL;
    }
    if (!first || !second) {
        return bad(words, "a road class A to H of ISO 8608, two with .. between, or none", "write the letter");
    }
    *low = first->mean;
    *high = second->mean;
    return in_order(words, *low, *high);
}

int up_words_whole(const up_words *words, double least, double most, double *value) {
    char expected[96];
    char *end = NULL;
    errno = 0;
    *value = strtod(words->text, &end);
    if (end != words->text && *end == '\0' && errno == 0 && *value >= least && *value <= most &&
        *value == floor(*value)) {
        return -1;
    }
    snprintf(expected, sizeof expected, "a whole number from %.10g to %.10g", least, most);
    return bad(words, expected, "write the number alone");
}

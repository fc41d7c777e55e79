#include "io/pinch_number.h"

#include <stdio.h>
#include <string.h>

enum { DIGITS_MOST = 9, WORD = 64 };

static int differ(double a, double b) {
    return a < b || a > b; /* NaN differs from nothing */
}

char *up_number_beside(double value, double limit, int decimals, char *out, size_t size) {
    char beside[WORD];
    for (int digits = decimals;; digits++) {
        snprintf(out, size, "%.*f", digits, value);
        snprintf(beside, sizeof beside, "%.*f", digits, limit);
        if (!differ(value, limit) || digits >= DIGITS_MOST || strcmp(out, beside) != 0) {
            return out;
        }
    }
}

char *up_number_band(double low, double high, const char *between, char *out, size_t size) {
    char first[WORD];
    char second[WORD];
    for (int digits = 3;; digits++) {
        snprintf(first, sizeof first, "%.*g", digits, low);
        snprintf(second, sizeof second, "%.*g", digits, high);
        if (!differ(low, high)) {
            snprintf(out, size, "%s", first);
            return out;
        }
        if (digits >= DIGITS_MOST || strcmp(first, second) != 0) {
            snprintf(out, size, "%s%s%s", first, between, second);
            return out;
        }
    }
}

#include "core/door/values.h"

#include <string.h>

typedef struct number_row {
    double fallback, spread, low, high;
    int families;
} number_row;

typedef struct family_row {
    int number;
    int family;
    double fallback, spread;
} family_row;

static const number_row number_rows[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, per_si, fallback, spread, low, high, families, source, how) \
    {fallback, spread, low, high, families},
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static const int choice_fallback[UP_CHOICE_COUNT] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, key, words, fallback, families, how) fallback,
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

enum {
    single_arm = UP_FAMILY_SINGLE_ARM,
    crossed_arms = UP_FAMILY_CROSSED_ARMS,
    cable = UP_FAMILY_CABLE,
    rack = UP_FAMILY_RACK
};

static const family_row family_rows[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, family, fallback, spread) {UP_NUMBER_##id, family, fallback, spread},
#include "core/door/entries.def"
};

enum { FAMILY_ROWS = sizeof family_rows / sizeof family_rows[0] };

void up_values_fallback(up_family family, up_values *values) {
    memset(values, 0, sizeof *values);
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        values->number[i] = number_rows[i].fallback;
    }
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        values->choice[i] = choice_fallback[i];
    }
    for (int i = 0; i < FAMILY_ROWS; i++) {
        if (family_rows[i].family == (int)family) {
            values->number[family_rows[i].number] = family_rows[i].fallback;
        }
    }
    values->family = (int)family;
}

void up_values_fallback_spread(up_family family, double spread[UP_NUMBER_COUNT]) {
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        spread[i] = number_rows[i].spread;
    }
    for (int i = 0; i < FAMILY_ROWS; i++) {
        if (family_rows[i].family == (int)family) {
            spread[family_rows[i].number] = family_rows[i].spread;
        }
    }
}

void up_number_bounds(up_number number, double *low, double *high) {
    *low = number_rows[number].low;
    *high = number_rows[number].high;
}

int up_number_families(up_number number) {
    return number_rows[number].families;
}

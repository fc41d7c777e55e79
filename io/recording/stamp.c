#include "io/recording/stamp.h"

#include <string.h>

#include "io/recording/number.h"

/* Days from 1970-01-01 in the Gregorian calendar, years from 1 on: counted in years that begin in March. */
static int64_t days_since_1970(int year, int month, int day) {
    const int64_t y = month <= 2 ? year - 1 : year;
    const int64_t era = y / 400, of_era = y - era * 400;
    const int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static const char *whole(const char *at, const char *end, int digits_max, int *value) {
    const char *from = at;
    *value = 0;
    while (at < end && at - from < digits_max && up_is_digit(*at)) {
        *value = 10 * *value + (*at++ - '0');
    }
    return at > from ? at : NULL;
}

static int plausible(int year, int month, int day) {
    return year >= 1900 && year < 2200 && month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

/* Where the date ends, NULL when there is none. */
static const char *read_date(const char *text, const char *end, int day_first, int64_t *days) {
    int a, b, c;
    const char *at = whole(text, end, 4, &a);
    if (at == NULL || at >= end || strchr("-/.", *at) == NULL || *at == '\0') {
        return NULL;
    }
    const char mark = *at++;
    const int year_leads = at - text == 5;
    if ((at = whole(at, end, 2, &b)) == NULL || at >= end || *at++ != mark || (at = whole(at, end, 4, &c)) == NULL) {
        return NULL;
    }
    int year = c, month = a, day = b;
    if (year_leads) {
        year = a;
        month = b;
        day = c;
    } else if (mark == '.' || mark == '-' || day_first || a > 12) {
        month = b;
        day = a;
    }
    if (!year_leads && year < 100) {
        year += year < 70 ? 2000 : 1900;
    }
    if (!plausible(year, month, day)) {
        return NULL;
    }
    *days = days_since_1970(year, month, day);
    return at;
}

static const char *read_half_of_day(const char *at, const char *end, int *hour) {
    const char *word = at < end && *at == ' ' ? at + 1 : at;
    if (end - word >= 2 && (word[1] | 0x20) == 'm' && ((word[0] | 0x20) == 'a' || (word[0] | 0x20) == 'p')) {
        *hour = *hour % 12 + ((word[0] | 0x20) == 'p' ? 12 : 0);
        return word + 2;
    }
    return at;
}

static const char *read_zone(const char *at, const char *end) {
    int number;
    if (at < end && *at == 'Z') {
        return at + 1;
    }
    const char *word = at < end && *at == ' ' ? at + 1 : at;
    if (word < end && (*word == '+' || *word == '-')) {
        const char *next = whole(word + 1, end, 4, &number);
        if (next != NULL && next < end && *next == ':') {
            next = whole(next + 1, end, 2, &number);
        }
        return next != NULL ? next : at;
    }
    return at;
}

static const char *read_clock(const char *text, const char *end, int64_t *seconds, double *fraction) {
    int first, second, third = 0, parts = 2;
    const char *at = whole(text, end, 3, &first);
    if (at == NULL || at >= end || *at++ != ':' || (at = whole(at, end, 2, &second)) == NULL) {
        return NULL;
    }
    if (at < end && *at == ':') {
        parts = 3;
        if ((at = whole(at + 1, end, 2, &third)) == NULL) {
            return NULL;
        }
    }
    *fraction = 0;
    /* A third colon comes before thousandths in some loggers. */
    const int has_fraction = at + 1 < end && (*at == '.' || *at == ',' || *at == ':') && up_is_digit(at[1]);
    if (has_fraction) {
        double scale = 0.1;
        for (at++; at < end && up_is_digit(*at); at++) {
            *fraction += scale * (*at - '0');
            scale /= 10;
        }
    }
    if (parts == 2 && has_fraction) { /* minutes and seconds */
        third = second;
        second = first;
        first = 0;
    }
    if (second > 59 || third > 60) {
        return NULL;
    }
    at = read_half_of_day(at, end, &first);
    *seconds = (int64_t)first * 3600 + second * 60 + third;
    return read_zone(at, end);
}

int up_stamp_read(const char *text, const char *end, int day_first, up_stamp *stamp) {
    int64_t days = 0, seconds = 0;
    *stamp = (up_stamp){0};
    const char *at = read_date(text, end, day_first, &days);
    if (at != NULL) {
        stamp->has = UP_STAMP_DATE;
        text = at;
        if (text < end && (*text == 'T' || *text == ' ' || *text == '_')) {
            text++;
        }
    }
    if (text < end) {
        at = read_clock(text, end, &seconds, &stamp->fraction);
        if (at != NULL) {
            stamp->has |= UP_STAMP_CLOCK;
        }
    }
    stamp->seconds = days * 86400 + seconds;
    return stamp->has != 0 && at == end;
}

#include "io/sheet_number.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_LENGTH_MAX = 64 };

static int is_digit(char c) {
    return c >= '0' && c <= '9';
}

static int is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

typedef struct scan {
    const char *at;
    char digits[NUMBER_LENGTH_MAX + 8];
    size_t length;
    int too_long;
} scan;

static void keep(scan *s, char c) {
    if (s->length < NUMBER_LENGTH_MAX) {
        s->digits[s->length++] = c;
    } else {
        s->too_long = 1;
    }
}

static int take_digits(scan *s) {
    int count = 0;
    while (is_digit(*s->at)) {
        keep(s, *s->at++);
        count++;
    }
    return count;
}

static void take_sign(scan *s) {
    static const char minus[] = "\xe2\x88\x92";
    if (*s->at == '+' || *s->at == '-') {
        keep(s, *s->at++);
    } else if (strncmp(s->at, minus, 3) == 0) {
        keep(s, '-');
        s->at += 3;
    }
}

/* The C library wants the decimal sign of the program's locale. */
static void take_point(scan *s) {
    keep(s, localeconv()->decimal_point[0]);
    s->at++;
}

static int take_exponent(scan *s) {
    const char *at = s->at;
    if (*at != 'e' && *at != 'E') {
        return 0;
    }
    at++;
    if (*at == '+' || *at == '-') {
        at++;
    }
    if (!is_digit(*at)) {
        return 0;
    }
    int sign = s->at[1] == '-' ? -1 : 1, exponent = 0;
    while (s->at < at) {
        keep(s, *s->at++);
    }
    while (is_digit(*s->at)) {
        exponent = exponent < 1000 ? 10 * exponent + (*s->at - '0') : exponent;
        keep(s, *s->at++);
    }
    return sign * exponent;
}

const char *up_scan_number(const char *text, double *value, double *step) {
    scan s = {.at = text};
    while (is_blank(*s.at)) {
        s.at++;
    }
    take_sign(&s);
    int before = take_digits(&s), after = 0;
    if (*s.at == '.' && s.at[1] != '.' && (before > 0 || is_digit(s.at[1]))) {
        take_point(&s);
        after = take_digits(&s);
    }
    if (before + after == 0) {
        return NULL;
    }
    int exponent = take_exponent(&s);
    s.digits[s.length] = '\0';
    *value = strtod(s.digits, NULL);
    *step = pow(10.0, exponent - after);
    return s.too_long || !isfinite(*value) ? NULL : s.at;
}

int up_trimmed(const char *text, char *out, size_t size) {
    while (is_blank(*text)) {
        text++;
    }
    size_t length = strlen(text);
    while (length > 0 && is_blank(text[length - 1])) {
        length--;
    }
    int fits = length < size;
    if (fits) {
        memcpy(out, text, length);
        out[length] = '\0';
    } else if (size > 0) {
        out[0] = '\0';
    }
    return fits;
}

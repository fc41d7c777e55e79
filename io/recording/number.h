/* Decimal numbers out of text, fast and exact.
 *
 * A number whose digits make a whole number below 2^53 and whose power of ten is at most 22 in size is exact as the
 * product or quotient of two doubles, each of which is exact, with the one rounding that IEEE 754 promises (W. D. Clinger,
 * "How to read floating point numbers accurately", PLDI 1990). Everything else goes to the C library. */
#ifndef UPSTOP_IO_RECORDING_NUMBER_H
#define UPSTOP_IO_RECORDING_NUMBER_H

#include <stdint.h>
#include <string.h>

/* The slow way, for digits beyond the exact ones: [text, end) is a number as up_number_scan takes it. */
double up_number_by_library(const char *text, const char *end, char decimal);

extern const double up_powers_of_ten[23];

static inline int up_is_digit(char c) {
    return (unsigned char)(c - '0') < 10;
}

/* Eight digits at once, when the eight bytes at text are digits: by arithmetic in one register. */
static inline int up_eight_digits(const char *text, uint64_t *value) {
    uint64_t word;
    memcpy(&word, text, sizeof word);
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    word = __builtin_bswap64(word);
#endif
    const uint64_t zeros = word - UINT64_C(0x3030303030303030);
    if (((zeros | (zeros + UINT64_C(0x7676767676767676))) & UINT64_C(0x8080808080808080)) != 0) {
        return 0;
    }
    word = zeros * 10 + (zeros >> 8);
    word = (((word & UINT64_C(0x000000ff000000ff)) * UINT64_C(0x000f424000000064)) +
            (((word >> 16) & UINT64_C(0x000000ff000000ff)) * UINT64_C(0x0000271000000001))) >>
           32;
    *value = word;
    return 1;
}

/* Exponent behind a mantissa: returns where it ends, text itself when there is none. */
static inline const char *up_number_exponent(const char *text, int *power) {
    const char *at = text + 1;
    int negative = 0, size = 0;
    if (*at == '+' || *at == '-') {
        negative = *at++ == '-';
    }
    if (!up_is_digit(*at)) {
        return text;
    }
    for (; up_is_digit(*at); at++) {
        size = size < 100000 ? 10 * size + (*at - '0') : size;
    }
    *power += negative ? -size : size;
    return at;
}

/* Reads the number that begins at text: sign, digits, decimal mark, exponent; no blanks, no hexadecimal, no words. A byte
 * that is no part of a number must follow within the same memory, and eight more readable ones after it. Returns where it
 * ends, or NULL when none begins here. */
static inline const char *up_number_scan(const char *text, char decimal, double *value) {
    const char *at = text;
    const int negative = *at == '-';
    if (negative || *at == '+') {
        at++;
    }
    uint64_t mantissa = 0, eight = 0;
    const char *digits = at;
    for (; up_is_digit(*at); at++) {
        mantissa = 10 * mantissa + (uint64_t)(*at - '0');
    }
    int count = (int)(at - digits > 1000 ? 1000 : at - digits), power = 0;
    if (*at == decimal) {
        const char *fraction = ++at;
        if (up_eight_digits(at, &eight)) {
            mantissa = mantissa * 100000000 + eight;
            at += 8;
        }
        for (; up_is_digit(*at); at++) {
            mantissa = 10 * mantissa + (uint64_t)(*at - '0');
        }
        const int behind = (int)(at - fraction > 1000 ? 1000 : at - fraction);
        power = -behind;
        count += behind;
    }
    if (count == 0) {
        return NULL;
    }
    if ((*at | 0x20) == 'e') {
        at = up_number_exponent(at, &power);
    }
    /* Up to 19 digits cannot have overflowed; leading zeros may make it more, which is the library's business. */
    if (count > 19 || mantissa > (UINT64_C(1) << 53) || power < -22 || power > 22) {
        *value = up_number_by_library(text, at, decimal);
        return at;
    }
    const double whole = (double)mantissa;
    const double size = power < 0 ? whole / up_powers_of_ten[-power] : whole * up_powers_of_ten[power];
    *value = negative ? -size : size;
    return at;
}

#endif

#include "io/recording/number.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>

/* All of them are doubles exactly: 10^22 = 2^22 * 5^22 and 5^22 < 2^53. */
const double up_powers_of_ten[23] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                     1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

enum { DIGITS_MAX = 400 }; /* more than any double needs to be told from its neighbours is cut */

double up_number_by_library(const char *text, const char *end, char decimal) {
    char copy[DIGITS_MAX + 32];
    const char *point = localeconv()->decimal_point; /* strtod reads the mark of the locale */
    size_t at = 0;
    const char *exponent = end;
    for (const char *p = text; p < end; p++) {
        if ((*p | 0x20) == 'e') {
            exponent = p;
            break;
        }
    }
    long dropped = 0;
    int behind = 0;
    for (const char *p = text; p < exponent; p++) {
        if (at >= DIGITS_MAX) {
            behind |= *p == decimal;
            dropped += !behind && *p != decimal;
        } else if (*p == decimal) {
            behind = 1;
            copy[at++] = point[0];
        } else {
            copy[at++] = *p;
        }
    }
    long power = exponent < end ? strtol(exponent + 1, NULL, 10) : 0;
    power = power > 100000 ? 100000 : power < -100000 ? -100000 : power;
    power += dropped;
    /* The exponent behind the digits, as text again. */
    copy[at++] = 'e';
    copy[at++] = power < 0 ? '-' : '+';
    unsigned long size = (unsigned long)(power < 0 ? -power : power);
    char reversed[24];
    int length = 0;
    do {
        reversed[length++] = (char)('0' + size % 10);
        size /= 10;
    } while (size > 0);
    while (length > 0) {
        copy[at++] = reversed[--length];
    }
    copy[at] = '\0';
    return strtod(copy, NULL);
}

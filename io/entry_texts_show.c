/* Numbers for people: rounded to what is known of them, with their unit. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "io/entry_texts.h"

enum { SIGNIFICANT_OF_SPREAD = 2, DECIMALS_MAX = 9 };

static int is_plain(const char *unit) {
    return unit == NULL || unit[0] == '\0' || strcmp(unit, "1") == 0 || strcmp(unit, "count") == 0;
}

/* Decimals that show `spread` with two digits. */
static int decimals_for(double spread) {
    int decimals = SIGNIFICANT_OF_SPREAD - 1 - (int)floor(log10(spread));
    return decimals < 0 ? 0 : (decimals > DECIMALS_MAX ? DECIMALS_MAX : decimals);
}

char *up_show_quantity(double value, double spread, const char *unit, char *out, size_t size) {
    const char *gap = is_plain(unit) ? "" : " ";
    const char *name = is_plain(unit) ? "" : unit;
    if (isnan(value)) {
        snprintf(out, size, "unknown");
    } else if (isnan(spread) || isinf(spread) || spread <= 0) {
        snprintf(out, size, "%.6g%s%s", value, gap, name);
    } else {
        int decimals = decimals_for(spread);
        double smallest = 0.5 * pow(10.0, -decimals);
        snprintf(out, size, "%.*f%s%s ±%.*f", decimals, fabs(value) < smallest ? 0.0 : value, gap, name, decimals,
                 spread);
    }
    return out;
}

char *up_show_number(up_number number, double si, char *out, size_t size) {
    return up_show_quantity(up_number_shown(number, si), 0, up_entry_text_of_number(number)->unit, out, size);
}

char *up_show_interval(up_number number, double si, double spread_si, char *out, size_t size) {
    return up_show_quantity(up_number_shown(number, si), up_number_shown_difference(number, spread_si),
                            up_entry_text_of_number(number)->unit, out, size);
}

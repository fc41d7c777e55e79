#include "apps/cli/train_show.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const up_shown_unit units[] = {
    {"m/s", "mm/s", 1e3},
    {"m", "mm", 1e3},
    {"rad/s", "rpm", 9.549296585513721},
    {"rad", "deg", 57.29577951308232},
    {"Pa", "MPa", 1e-6},
    {"1/m", "/mm", 1e-3},
    {"count", "", 1},
    {"1", "", 1},
    {"share", "%", 100},
};

up_shown_unit up_train_unit(const char *si) {
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(units[i].si, si) == 0) {
            return units[i];
        }
    }
    return (up_shown_unit){si, si, 1};
}

char *up_train_show_decimals(double value, int decimals, char *out, size_t size) {
    if (isnan(value)) {
        snprintf(out, size, "-");
    } else if (isinf(value)) {
        snprintf(out, size, "no limit");
    } else {
        snprintf(out, size, "%.*f", decimals, value);
    }
    return out;
}

char *up_train_show(double value, int digits, char *out, size_t size) {
    const double magnitude = fabs(value);
    int decimals = 0;
    if (isfinite(value) && magnitude > 1e-6) {
        decimals = digits - 1 - (int)floor(log10(magnitude));
    }
    return up_train_show_decimals(value, decimals < 0 ? 0 : decimals > 8 ? 8 : decimals, out, size);
}

int up_train_decimals(double width) {
    if (!(width > 1e-6) || !isfinite(width)) {
        return 2;
    }
    const int decimals = 1 - (int)floor(log10(width));
    return decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
}

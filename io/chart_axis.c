#include "io/chart_axis.h"

#include <math.h>
#include <stdio.h>

static double round_step(double rough) {
    double power = pow(10, floor(log10(rough)));
    double lead = rough / power;
    return power * (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10);
}

up_axis up_axis_over(double low, double high, int wanted, int widen) {
    up_axis axis = {.low = isfinite(low) ? low : 0, .high = high};
    if (!isfinite(high) || !(high > axis.low)) {
        axis.high = axis.low + 1;
    }
    axis.step = round_step((axis.high - axis.low) / (wanted < 2 ? 2 : wanted));
    double slack = 1e-9 * axis.step;
    if (widen) {
        axis.low = axis.step * floor((axis.low + slack) / axis.step);
        axis.high = axis.step * ceil((axis.high - slack) / axis.step);
    }
    axis.first = axis.step * ceil((axis.low - slack) / axis.step);
    axis.marks = 1 + (int)floor((axis.high - axis.first + slack) / axis.step);
    axis.decimals = (int)fmin(9, fmax(0, -floor(log10(axis.step) + 1e-9)));
    return axis;
}

char *up_axis_mark(const up_axis *axis, int mark, char *out, size_t size) {
    double value = axis->first + mark * axis->step;
    long long scale = 1;
    int decimals = axis->decimals < 0 ? 0 : axis->decimals > 9 ? 9 : axis->decimals;
    for (int i = 0; i < decimals; i++) {
        scale *= 10;
    }
    long long whole = llround(fabs(value) * (double)scale);
    const char *sign = value < 0 && whole > 0 ? "\u2212" : "";
    if (decimals > 0) {
        snprintf(out, size, "%s%lld.%0*lld", sign, whole / scale, decimals, whole % scale);
    } else {
        snprintf(out, size, "%s%lld", sign, whole);
    }
    return out;
}

#include "analysis/refit/reading.h"

#include <stdlib.h>

#include "core/door/values.h"

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double quantile(const double *sorted, int count, double p) {
    const double place = (count - 1) * p;
    const int below = (int)place;
    const int above = below + 1 < count ? below + 1 : below;
    return sorted[below] + (place - below) * (sorted[above] - sorted[below]);
}

up_reading up_reading_of(double *column, int draws, double value) {
    up_reading reading = {value, UP_ABSENT, UP_ABSENT, 0};
    for (int i = 0; i < draws; i++) {
        if (!up_is_absent(column[i])) {
            column[reading.count++] = column[i];
        }
    }
    if (reading.count > 0 && 2 * reading.count >= draws) {
        qsort(column, (size_t)reading.count, sizeof *column, by_size);
        reading.low = quantile(column, reading.count, 0.025);
        reading.high = quantile(column, reading.count, 0.975);
    }
    return reading;
}

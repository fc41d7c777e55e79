#include "analysis/middle.h"

#include <stdlib.h>

#include "core/door/values.h"

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double quantile(const double *sorted, int count, double share) {
    const double place = share * (count - 1);
    const int below = (int)place;
    const double rest = place - below;
    /* between equal neighbours there is no line: two infinite ones would make a NaN */
    if (below + 1 >= count || !(rest > 0) || sorted[below] == sorted[below + 1]) {
        return sorted[below];
    }
    return sorted[below] + rest * (sorted[below + 1] - sorted[below]);
}

void up_middle_95(double *values, int count, double *low, double *high) {
    *low = *high = UP_ABSENT;
    if (count < 1) {
        return;
    }
    qsort(values, (size_t)count, sizeof *values, by_size);
    *low = quantile(values, count, 0.025);
    *high = quantile(values, count, 0.975);
}

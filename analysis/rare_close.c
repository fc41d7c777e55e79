/* From the populations' sums to the estimate and its interval. */
#include "analysis/rare_close.h"

#include <math.h>

#include "analysis/student.h"

static void close_levels(int levels, up_rare_result *result) {
    result->levels = levels + 1;
    for (int i = 0; i < result->levels; i++) {
        up_rare_level *const level = &result->level[i];
        const double populations = level->populations; /* 0 where none came: not a number */
        level->share /= populations;
        level->acceptance = i < levels ? level->acceptance / populations : NAN;
    }
}

/* Mean, variation and interval. The interval is that of the logarithm: estimates of a product are skewed to the
 * right. */
static void close_estimate(const up_rare_request *r, const up_rare_sums *all, up_rare_result *result) {
    const int n = r->populations;
    double sum = 0, square = 0;
    for (int i = 0; i < n; i++) {
        sum += result->each[i];
        result->reached += result->each[i] > 0;
    }
    result->probability = sum / n;
    if (result->reached == 0) {
        result->variation = result->formula_variation = result->founders = NAN;
        result->high = all->still / n;
        return;
    }
    for (int i = 0; i < n; i++) {
        const double gap = result->each[i] / result->probability - 1;
        square += gap * gap;
    }
    result->formula_variation = sqrt(all->variation) / n;
    result->founders = sum * sum / all->squares;
    const double scatter = n > 1 ? sqrt(square / (n - 1) / n) : 0;
    result->variation = fmax(n >= 4 ? scatter : result->formula_variation, 1 / sqrt(result->founders));
    const double width = n >= 4 ? up_student_95(n - 1) : 1.96;
    const double ratio = exp(width * sqrt(log1p(result->variation * result->variation)));
    result->low = result->probability / ratio;
    result->high = fmin(result->probability * ratio, 1);
}

void up_rare_close(const up_rare_request *request, int levels, const up_rare_sums *sums, up_rare_result *result) {
    close_levels(levels, result);
    close_estimate(request, sums, result);
}

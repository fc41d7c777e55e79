#include "analysis/case_draw.h"

#include <math.h>
#include <string.h>

#include "core/base/up_math.h"

#define NORMAL_95 1.96 /* standard deviations in the half width of a 95 % interval */
#define CUT_OFF 1.5    /* spreads                                                  */

/* ---- the normal distribution ------------------------------------------------------------------------------------- */

static double polynomial(const double *from_highest, int count, double x) {
    double sum = 0;
    for (int i = 0; i < count; i++) {
        sum = sum * x + from_highest[i];
    }
    return sum;
}

/* Share beyond x, x >= 0. */
static double tail(double x) {
    static const double above[] = {3.52624965998911e-02, 0.700383064443688, 6.37396220353165, 33.912866078383,
                                   112.079291497871,     221.213596169931,  220.206867912376};
    static const double under[] = {8.83883476483184e-02, 1.75566716318264, 16.064177579207,  86.7807322029461,
                                   296.564248779674,     637.333633378831, 793.826512519948, 440.413735824752};
    if (x > 37) {
        return 0;
    }
    const double bell = up_exp(-0.5 * x * x);
    if (x < 7.07106781186547) {
        return bell * polynomial(above, 7, x) / polynomial(under, 8, x);
    }
    double fraction = x + 0.65;
    for (int i = 4; i >= 1; i--) {
        fraction = x + i / fraction;
    }
    return bell / fraction / 2.506628274631;
}

double up_normal_below(double z) {
    return z > 0 ? 1 - tail(z) : tail(-z);
}

double up_normal_place(double p) {
    static const double middle_above[] = {2.5090809287301226727e+3, 3.3430575583588128105e+4, 6.7265770927008700853e+4,
                                          4.5921953931549871457e+4, 1.3731693765509461125e+4, 1.9715909503065514427e+3,
                                          1.3314166789178437745e+2, 3.3871328727963666080e+0};
    static const double middle_under[] = {
        5.2264952788528545610e+3, 2.8729085735721942674e+4, 3.9307895800092710610e+4, 2.1213794301586595867e+4,
        5.3941960214247511077e+3, 6.8718700749205790830e+2, 4.2313330701600911252e+1, 1.0};
    static const double outer_above[] = {
        7.74545014278341407640e-4, 2.27238449892691845833e-2, 2.41780725177450611770e-1, 1.27045825245236838258e+0,
        3.64784832476320460504e+0, 5.76949722146069140550e+0, 4.63033784615654529590e+0, 1.42343711074968357734e+0};
    static const double outer_under[] = {
        1.05075007164441684324e-9, 5.47593808499534494600e-4, 1.51986665636164571966e-2, 1.48103976427480074590e-1,
        6.89767334985100004550e-1, 1.67638483018380384940e+0, 2.05319162663775882187e+0, 1.0};
    static const double far_above[] = {2.01033439929228813265e-7, 2.71155556874348757815e-5, 1.24266094738807843860e-3,
                                       2.65321895265761230930e-2, 2.96560571828504891230e-1, 1.78482653991729133580e+0,
                                       5.46378491116411436990e+0, 6.65790464350110377720e+0};
    static const double far_under[] = {
        2.04426310338993978564e-15, 1.42151175831644588870e-7, 1.84631831751005468180e-5, 7.86869131145613259100e-4,
        1.48753612908506148525e-2,  1.36929880922735805310e-1, 5.99832206555887937690e-1, 1.0};
    const double off = p - 0.5;
    if (up_abs(off) <= 0.425) {
        const double r = 0.180625 - off * off;
        return off * polynomial(middle_above, 8, r) / polynomial(middle_under, 8, r);
    }
    const double outside = up_max(off < 0 ? p : 1 - p, 5e-17); /* 1 - p has no digits below that */
    const double r = up_sqrt(-up_log(outside));
    const double place = r <= 5 ? polynomial(outer_above, 8, r - 1.6) / polynomial(outer_under, 8, r - 1.6)
                                : polynomial(far_above, 8, r - 5) / polynomial(far_under, 8, r - 5);
    return off < 0 ? -place : place;
}

/* ---- numbers of the sheet ------------------------------------------------------------------------------------------ */

static const char *const units[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, ...) unit,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

int up_draw_prepare(const up_known *known, up_number number, up_draw *draw) {
    const double value = known->values.number[number], spread = known->spread[number];
    /* Entries measured on the assembled door only contradict the model, they are no part of it. */
    if (number >= UP_NUMBER_measured_raise_time || !(spread > 0) || up_is_absent(value) ||
        (up_number_families(number) & (1 << known->values.family)) == 0) {
        return 0;
    }
    double low, high;
    up_number_bounds(number, &low, &high);
    *draw = (up_draw){.number = number, .value = value, .deviation = spread / NORMAL_95};
    draw->whole = strcmp(units[number], "count") == 0;
    draw->low = up_max(low, value - CUT_OFF * spread);
    draw->high = up_min(high, value + CUT_OFF * spread);
    if (draw->whole) { /* whole numbers between the cuts, each with all that rounds to it */
        draw->low = ceil(draw->low);
        draw->high = floor(draw->high);
    }
    const double half = draw->whole ? 0.5 : 0.0;
    draw->below = up_normal_below((draw->low - half - value) / draw->deviation);
    draw->between = up_normal_below((draw->high + half - value) / draw->deviation) - draw->below;
    return draw->between > 0 && draw->high > draw->low;
}

double up_draw_value(const up_draw *draw, double share) {
    const double drawn = draw->value + draw->deviation * up_normal_place(draw->below + draw->between * share);
    return up_clamp(draw->whole ? floor(drawn + 0.5) : drawn, draw->low, draw->high);
}

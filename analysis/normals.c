#include "analysis/normals.h"

#include <math.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"

/* M. J. Wichura, "Algorithm AS 241: the percentage points of the normal distribution", Appl. Statist. 37 (1988) 477,
 * routine PPND16: quotients of polynomials of degree 7, coefficients lowest first (from memory; the test holds the
 * result to the C library's erfc). */
static const double middle_top[] = {3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
                                    1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                                    3.3430575583588128105e4, 2.5090809287301226727e3};
static const double middle_bottom[] = {1.0,
                                       4.2313330701600911252e1,
                                       6.8718700749205790830e2,
                                       5.3941960214247511077e3,
                                       2.1213794301586595867e4,
                                       3.9307895800092710610e4,
                                       2.8729085735721942674e4,
                                       5.2264952788528545610e3};
static const double near_top[] = {1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                                  3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                                  2.27238449892691845833e-2, 7.74545014278341407640e-4};
static const double near_bottom[] = {1.0,
                                     2.05319162663775882187e0,
                                     1.67638483018380384940e0,
                                     6.89767334985100004550e-1,
                                     1.48103976427480074590e-1,
                                     1.51986665636164571966e-2,
                                     5.47593808499534494600e-4,
                                     1.05075007164441684324e-9};
static const double far_top[] = {6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                                 2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                 2.71155556874348757815e-5, 2.01033439929228813265e-7};
static const double far_bottom[] = {1.0,
                                    5.99832206555887937690e-1,
                                    1.36929880922735805310e-1,
                                    1.48753612908506148525e-2,
                                    7.86869131145613259100e-4,
                                    1.84631831751005468180e-5,
                                    1.42151175831644588870e-7,
                                    2.04426310338993978564e-15};

static double polynomial(const double c[8], double x) {
    return ((((((c[7] * x + c[6]) * x + c[5]) * x + c[4]) * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0];
}

/* From the smaller of the two tails, 0 < tail <= 0.075: the distance from the middle. */
static double from_tail(double tail) {
    const double r = up_sqrt(-up_log(tail));
    return r <= 5 ? polynomial(near_top, r - 1.6) / polynomial(near_bottom, r - 1.6)
                  : polynomial(far_top, r - 5) / polynomial(far_bottom, r - 5);
}

double up_normal_inverse(double p) {
    const double q = p - 0.5;
    if (up_abs(q) <= 0.425) {
        const double r = 0.180625 - q * q;
        return q * polynomial(middle_top, r) / polynomial(middle_bottom, r);
    }
    if (!(p > 0 && p < 1)) {
        return p == 0 ? -INFINITY : p == 1 ? INFINITY : NAN;
    }
    return q < 0 ? -from_tail(p) : from_tail(1 - p);
}

double up_normal_below(double x) {
    return 0.5 * erfc(-x * 0.70710678118654752440);
}

/* Middle of one of 2^52 even parts of 0..1, so that neither 0 nor 1 comes up. */
static double from_word(uint64_t word) {
    return ((double)(word >> 12) + 0.5) * 0x1p-52;
}

void up_normals_fill(uint64_t seed, uint64_t stream, uint64_t first, int count, double *normals) {
    const uint32_t key[2] = {(uint32_t)seed, (uint32_t)(seed >> 32)};
    for (int i = 0; i < count;) {
        const uint64_t number = first + (uint64_t)i, block = number / 2;
        const uint32_t counter[4] = {(uint32_t)block, (uint32_t)(block >> 32), (uint32_t)stream,
                                     (uint32_t)(stream >> 32)};
        uint32_t word[4];
        up_philox4x32(counter, key, word);
        if (number % 2 == 0) {
            normals[i++] = up_normal_inverse(from_word((uint64_t)word[1] << 32 | word[0]));
        }
        if (i < count && first + (uint64_t)i == 2 * block + 1) {
            normals[i++] = up_normal_inverse(from_word((uint64_t)word[3] << 32 | word[2]));
        }
    }
}

#include "core/base/up_math.h"

#include <stdint.h>
#include <string.h>

#define NOT_A_NUMBER (__builtin_nan(""))
#define INFINITE (__builtin_inf())

/* ---- sine and cosine -----------------------------------------------------------------------------------------
 * The angle is reduced by a multiple of pi/2, held as three parts of 33 bits so that the product with the multiple is
 * exact (Cody and Waite, Software Manual for the Elementary Functions, 1980); Taylor polynomials serve the rest, whose
 * truncation at pi/4 is below 1e-17. */

static const double HALF_PI_1 = 1.57079632673412561417e+00; /* first 33 bits of pi/2 */
static const double HALF_PI_2 = 6.07710050630396597660e-11; /* next 33 bits          */
static const double HALF_PI_3 = 2.02226624879595063154e-21; /* the rest              */

static double sine_near_zero(double r) {
    const double z = r * r;
    double p = -1.0 / 1307674368000.0 + z * (1.0 / 355687428096000.0);
    p = 1.0 / 6227020800.0 + z * p;
    p = -1.0 / 39916800.0 + z * p;
    p = 1.0 / 362880.0 + z * p;
    p = -1.0 / 5040.0 + z * p;
    p = 1.0 / 120.0 + z * p;
    p = -1.0 / 6.0 + z * p;
    return r + r * z * p;
}

static double cosine_near_zero(double r) {
    const double z = r * r;
    double p = -1.0 / 87178291200.0 + z * (1.0 / 20922789888000.0);
    p = 1.0 / 479001600.0 + z * p;
    p = -1.0 / 3628800.0 + z * p;
    p = 1.0 / 40320.0 + z * p;
    p = -1.0 / 720.0 + z * p;
    p = 1.0 / 24.0 + z * p;
    const double half = 0.5 * z;
    const double one_less = 1.0 - half;
    return one_less + ((1.0 - one_less - half) + z * z * p);
}

/* Value of sin(angle + quarter_turns * pi/2). */
static double sine_of_quarter(double angle, int quarter_turns) {
    const double turns = angle * (2.0 / UP_PI);
    const double k = __builtin_floor(turns + 0.5);
    const double r = ((angle - k * HALF_PI_1) - k * HALF_PI_2) - k * HALF_PI_3;
    const int64_t quarter = ((int64_t)k + quarter_turns) & 3;
    const double magnitude = (quarter & 1) ? cosine_near_zero(r) : sine_near_zero(r);
    return (quarter & 2) ? -magnitude : magnitude;
}

static int in_angle_range(double angle) {
    return angle >= -1e5 && angle <= 1e5;
}

double up_sin(double angle) {
    return in_angle_range(angle) ? sine_of_quarter(angle, 0) : NOT_A_NUMBER;
}

double up_cos(double angle) {
    return in_angle_range(angle) ? sine_of_quarter(angle, 1) : NOT_A_NUMBER;
}

double up_tan(double angle) {
    return up_sin(angle) / up_cos(angle);
}

/* ---- arc tangent ---------------------------------------------------------------------------------------------
 * Halved until it is below 1/8 or so: atan(x) = atan(c) + atan((x - c) / (1 + x c)) with c from a table of eighths,
 * then the alternating series. */

static double arc_near_zero(double x) {
    const double z = x * x;
    double p = 0.0;
    for (int n = 21; n >= 3; n -= 2) {
        const double term = 1.0 / n;
        p = ((n & 2) ? -term : term) + z * p;
    }
    return x + x * z * p;
}

double up_atan(double ratio) {
    static const double arc_of_eighth[9] = {0.0,
                                            0.12435499454676144,
                                            0.24497866312686414,
                                            0.35877067027057225,
                                            0.46364760900080609,
                                            0.55859931534356244,
                                            0.64350110879328437,
                                            0.71882999962162453,
                                            0.78539816339744828};
    if (ratio != ratio) {
        return ratio;
    }
    const double x = up_abs(ratio);
    const int inverted = x > 1.0;
    const double y = inverted ? 1.0 / x : x;
    const int eighth = (int)(y * 8.0 + 0.5);
    const double c = eighth * 0.125;
    double arc = arc_of_eighth[eighth] + arc_near_zero((y - c) / (1.0 + y * c));
    if (inverted) {
        arc = (UP_PI / 2 - arc) + 6.123233995736766e-17;
    }
    return ratio < 0 ? -arc : arc;
}

double up_atan2(double y, double x) {
    if (x != x || y != y) {
        return x + y;
    }
    if (x > 0) {
        return up_atan(y / x);
    }
    if (x < 0) {
        return y >= 0 ? up_atan(y / x) + UP_PI : up_atan(y / x) - UP_PI;
    }
    return y > 0 ? UP_PI / 2 : (y < 0 ? -UP_PI / 2 : 0.0);
}

double up_asin(double ratio) {
    return up_atan2(ratio, up_sqrt((1.0 - ratio) * (1.0 + ratio)));
}

double up_acos(double ratio) {
    return up_atan2(up_sqrt((1.0 - ratio) * (1.0 + ratio)), ratio);
}

/* ---- exponential and logarithm ------------------------------------------------------------------------------- */

static const double LN2_HIGH = 6.93147180369123816490e-01; /* first 32 bits of ln 2 */
static const double LN2_LOW = 1.90821492927058770002e-10;

static double scale_by_power_of_two(double x, int power) {
    const uint64_t bits = (uint64_t)(power + 1023) << 52;
    double factor;
    memcpy(&factor, &bits, sizeof factor);
    return x * factor;
}

double up_exp(double exponent) {
    if (exponent != exponent) {
        return exponent;
    }
    if (exponent > 709.78) {
        return INFINITE;
    }
    if (exponent < -708.0) {
        return 0.0;
    }
    const double k = __builtin_floor(exponent * 1.4426950408889634 + 0.5);
    const double high = exponent - k * LN2_HIGH;
    const double low = k * LN2_LOW;
    const double r = high - low;
    double p = 1.0 / 6227020800.0;
    static const double inverse_factorial[] = {
        1.0 / 479001600, 1.0 / 39916800, 1.0 / 3628800, 1.0 / 362880, 1.0 / 40320, 1.0 / 5040,
        1.0 / 720,       1.0 / 120,      1.0 / 24,      1.0 / 6,      0.5};
    for (int i = 0; i < 11; i++) {
        p = inverse_factorial[i] + r * p;
    }
    const double grown = 1.0 + (high + (r * r * p - low));
    const int power = (int)k;
    return power > 1000 ? scale_by_power_of_two(scale_by_power_of_two(grown, 1000), power - 1000)
                        : scale_by_power_of_two(grown, power);
}

double up_log(double number) {
    if (number != number || number < 0) {
        return NOT_A_NUMBER;
    }
    if (number == 0.0) {
        return -INFINITE;
    }
    if (number > 1.7976931348623157e308) {
        return number;
    }
    int power = 0;
    if (number < 2.2250738585072014e-308) {
        number *= 18014398509481984.0; /* 2^54 */
        power = -54;
    }
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    power += (int)(bits >> 52) - 1023;
    bits = (bits & 0x000fffffffffffffULL) | 0x3ff0000000000000ULL;
    double m;
    memcpy(&m, &bits, sizeof m);
    if (m > 1.4142135623730951) {
        m *= 0.5;
        power += 1;
    }
    /* log(m) = 2 artanh(s), s = (m-1)/(m+1), |s| < 0.1716; written so that the leading part f stays exact */
    const double f = m - 1.0;
    const double s = f / (2.0 + f);
    const double z = s * s;
    double p = 0.0;
    for (int n = 21; n >= 3; n -= 2) {
        p = 1.0 / n + z * p;
    }
    const double half_square = 0.5 * f * f;
    const double tail = s * (half_square + 2.0 * z * p);
    return power * LN2_HIGH - ((half_square - (tail + power * LN2_LOW)) - f);
}

double up_pow(double base, double exponent) {
    return up_exp(exponent * up_log(base));
}

/* Elementary functions whose bits do not depend on the C library.
 *
 * A closing has to give the same bits with every compiler and in WebAssembly; the mathematics of C libraries differs in
 * the last place, so the core uses these. Made of additions, multiplications, divisions and sqrt only, which IEEE 754
 * fixes; compiled with contraction off. Largest errors measured against an 80-bit C library, in units in the last place:
 * sin and cos 1.5 up to 10 rad and 2.5 up to 1e5 rad, tan 3 to 3.5, atan 2, asin and acos 3, exp 1, log 1, sqrt exact
 * (tests/unit/up_math_test.c holds them to it). */
#ifndef UPSTOP_BASE_UP_MATH_H
#define UPSTOP_BASE_UP_MATH_H

#define UP_PI 3.14159265358979323846
#define UP_GRAVITY 9.80665 /* m/s2, standard acceleration of free fall, ISO 80000-3 */
#define UP_ZERO_CELSIUS 273.15
#define UP_ROOM_TEMPERATURE 293.15 /* K, to which resistances and drags are referred */

double up_sin(double angle);  /* rad, |angle| <= 1e5 */
double up_cos(double angle);  /* rad, |angle| <= 1e5 */
double up_tan(double angle);  /* rad, |angle| <= 1e5 */
double up_atan(double ratio); /* all finite          */
double up_atan2(double y, double x);
double up_asin(double ratio);   /* -1..1, NaN outside  */
double up_acos(double ratio);   /* -1..1, NaN outside  */
double up_exp(double exponent); /* 0 below -708, +inf above 709.78 */
double up_log(double number);   /* > 0, NaN for negative, -inf at 0 */
double up_pow(double base,
              double exponent); /* base > 0; error grows with |exponent * log(base)|, 1e-14 relative up to 100 */

static inline double up_abs(double x) {
    return x < 0 ? -x : (x > 0 ? x : 0.0);
}
static inline double up_min(double a, double b) {
    return a < b ? a : b;
}
static inline double up_max(double a, double b) {
    return a > b ? a : b;
}
static inline double up_clamp(double x, double low, double high) {
    return x < low ? low : (x > high ? high : x);
}
static inline double up_sqrt(double x) {
    return __builtin_sqrt(x); /* correctly rounded by IEEE 754, one instruction */
}

#endif

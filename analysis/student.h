/* Half width of two-sided 95 % intervals in standard errors: Student's t.
 *
 * Expansion in 1 / degrees after M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 26.7.5 (from
 * memory), within 0.0015 of the tables from 4 degrees on; below that exact values. */
#ifndef UPSTOP_ANALYSIS_STUDENT_H
#define UPSTOP_ANALYSIS_STUDENT_H

/* degrees >= 1; infinite below. */
static inline double up_student_95(int degrees) {
    const double z = 1.959963984540054, z2 = z * z;
    static const double few[] = {0, 12.706204736432095, 4.302652729911275, 3.182446305284263};
    if (degrees < 4) {
        return degrees >= 1 ? few[degrees] : __builtin_inf();
    }
    const double g1 = z * (z2 + 1) / 4;
    const double g2 = z * ((5 * z2 + 16) * z2 + 3) / 96;
    const double g3 = z * (((3 * z2 + 19) * z2 + 17) * z2 - 15) / 384;
    const double g4 = z * ((((79 * z2 + 776) * z2 + 1482) * z2 - 1920) * z2 - 945) / 92160;
    const double n = degrees;
    return z + (g1 + (g2 + (g3 + g4 / n) / n) / n) / n;
}

#endif

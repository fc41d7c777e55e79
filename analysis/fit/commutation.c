#include "analysis/fit/commutation.h"

#include "core/base/up_math.h"

int up_commutations(int segments, int poles) {
    if (segments < 1 || poles < 2) {
        return 0;
    }
    int a = segments, b = poles;
    while (b != 0) {
        const int rest = a % b;
        a = b;
        b = rest;
    }
    return segments / a * poles;
}

double up_commutation_frequency(int per_turn, double speed) {
    return per_turn * speed / (2 * UP_PI);
}

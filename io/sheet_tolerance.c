#include "io/sheet_tolerance.h"

#include <math.h>

#include "io/entry_texts.h"

/* Spread of a thing nobody has a typical value for, as a share of the value: a clamp meter or stopwatch read in haste
 * is good to 3 %, common practice, no source. */
static const double spread_without_typical = 0.12;

static double whole_spread(double value, double typical, double typical_spread) {
    if (up_is_absent(typical)) {
        return spread_without_typical * fabs(value);
    }
    return typical == 0 ? typical_spread : typical_spread * fabs(value / typical);
}

double up_default_tolerance(up_number number, up_mark mark, double value, double step, double typical,
                            double typical_spread) {
    if (mark == UP_MARK_COUNTED || (up_number_is_whole(number) && mark != UP_MARK_ASSUMED)) {
        return 0;
    }
    double whole = whole_spread(value, typical, typical_spread);
    switch (mark) {
    case UP_MARK_ASSUMED:
        return whole;
    case UP_MARK_READ_OFF:
        return fmax(whole / 10, step / 2);
    default:
        return fmax(whole / 4, step);
    }
}

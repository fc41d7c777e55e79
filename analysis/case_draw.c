#include "analysis/case_draw.h"

#include <math.h>
#include <string.h>

#include "analysis/normals.h"
#include "core/base/up_math.h"

#define NORMAL_95 1.96 /* standard deviations in the half width of a 95 % interval */
#define CUT_OFF 1.5    /* spreads                                                  */

static const char *const units[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, unit, ...) unit,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

int up_draw_prepare(const up_known *known, up_number number, up_draw *draw) {
    const double value = known->values.number[number], spread = known->spread[number];
    /* The slope of the frame and its lip matter to a rod in the way of the pinch map and to no closing here. Entries measured
     * on the assembled door only contradict the model, they are no part of it. */
    if (number > UP_NUMBER_frame_length || !(spread > 0) || up_is_absent(value) ||
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
    const double drawn = draw->value + draw->deviation * up_normal_inverse(draw->below + draw->between * share);
    return up_clamp(draw->whole ? floor(drawn + 0.5) : drawn, draw->low, draw->high);
}

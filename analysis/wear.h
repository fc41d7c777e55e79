/* What years of use do to a door: a table of entries and what they become at the end of life.
 *
 * Only the direction is known from print (friction of the run channel rises with distance); how much is an
 * assumption of this tool, row by row. Replace a row by what was measured on the door, where somebody measured. */
#ifndef UPSTOP_ANALYSIS_WEAR_H
#define UPSTOP_ANALYSIS_WEAR_H

#include "core/door/values.h"

typedef struct up_wear_row {
    up_number number;
    double factor;      /* of the value when new, at the end of life                          */
    double added;       /* SI unit, on top of that at the end of life                         */
    const char *source; /* "read: ..." or "assumption of this tool"                           */
    const char *text;   /* why                                                                */
} up_wear_row;

int up_wear_rows(void);
const up_wear_row *up_wear_row_at(int index); /* static storage; NULL outside */

/* wear: 0 new (an exact copy) .. 1 end of life, in between straight; outside that it is clamped, NaN counts as 0.
 * Results are kept within the entries' bounds; absent entries stay absent. out may be in. */
void up_worn(const up_values *in, double wear, up_values *out);

#endif

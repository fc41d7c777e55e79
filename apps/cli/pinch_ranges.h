/* Ranges of quantities on the command line: "-30..80C", "9..16V", "12.6V", "0..1". */
#ifndef UPSTOP_CLI_PINCH_RANGES_H
#define UPSTOP_CLI_PINCH_RANGES_H

#include "analysis/pinch_map.h"

/* One value or two with .. between; the unit may stand once, behind the second. Reads into SI units.
 * Returns -1, or an exit status after one message on stderr. */
int up_pinch_read_range(up_pinch_axis axis, const char *text, up_pinch_range *range);

/* One quantity of an option that is no axis, within low..high of `unit`; *value in `unit`. Returns as above. */
int up_pinch_read_quantity(const char *option, const char *text, const char *unit, const char *example, double low,
                           double high, double *value);

#endif

/* Numbers of a pinch map in few digits that still say the truth: a force beside its limit, the two ends of a band. */
#ifndef UPSTOP_IO_PINCH_NUMBER_H
#define UPSTOP_IO_PINCH_NUMBER_H

#include <stddef.h>

/* `value` with `decimals` digits behind the point, and as many more (9 at most) as it takes not to read like `limit` when
 * it is another number: 100.04 beside 100 is "100.04". limit NaN: none. Returns out. */
char *up_number_beside(double value, double limit, int decimals, char *out, size_t size);

/* "9..16", or "20" when both ends are the same; significant digits: 3, and as many more (9 at most) as it takes to tell
 * the ends apart. between: the word between the two. Returns out. */
char *up_number_band(double low, double high, const char *between, char *out, size_t size);

#endif

/* Reading a number from text, whatever the locale. */
#ifndef UPSTOP_IO_SHEET_NUMBER_H
#define UPSTOP_IO_SHEET_NUMBER_H

#include <stddef.h>

/* Reads a decimal number at the start of text (blanks in front are skipped): sign (also the typographic minus), digits,
 * a point, an exponent. "350..354" ends before the two points. Hexadecimal, "inf" and "nan" are no numbers.
 * *step becomes one unit of the last digit written. Returns where it ended, or NULL when there is no finite number. */
const char *up_scan_number(const char *text, double *value, double *step);

/* Copies text without blanks at both ends. Returns 0 when it does not fit; then out is "". */
int up_trimmed(const char *text, char *out, size_t size);

#endif

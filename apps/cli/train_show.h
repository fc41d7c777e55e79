/* Numbers of `upstop train` as words: unit for people, digits by the width of the interval. */
#ifndef UPSTOP_CLI_TRAIN_SHOW_H
#define UPSTOP_CLI_TRAIN_SHOW_H

#include <stddef.h>

/* How an SI unit is shown: value * factor in `shown`. Unknown units are shown as they are. */
typedef struct up_shown_unit {
    const char *si, *shown;
    double factor;
} up_shown_unit;

up_shown_unit up_train_unit(const char *si);

/* "3.46", "0.00012", "1240": `digits` significant digits, never an exponent for 1e-6..1e7; "-" for NaN, "no limit"
 * for an infinite one. Returns out. */
char *up_train_show(double value, int digits, char *out, size_t size);

/* With a number of decimals instead. */
char *up_train_show_decimals(double value, int decimals, char *out, size_t size);

/* Decimals that keep the second digit of a width; 0..6. */
int up_train_decimals(double width);

#endif

/* The compact notation of one value: number or range, unit, tolerance, origin.
 *
 *   3.6 kg ±0.1 measured        390..394 mm measured        73 counted        16 AWG read-off
 *   0.42 ohm +/-5 % measured    25 % ±10 %                  12.6 V
 */
#ifndef UPSTOP_IO_SHEET_QUANTITY_H
#define UPSTOP_IO_SHEET_QUANTITY_H

#include <stddef.h>

#include "analysis/known.h"

enum { UP_UNIT_TEXT_MAX = 48 };

typedef struct up_quantity {
    double low, high;            /* as written; the same unless a range */
    double step;                 /* one unit of the last digit written  */
    char unit[UP_UNIT_TEXT_MAX]; /* "" when none                        */
    int has_tolerance;
    double tolerance;
    char tolerance_unit[UP_UNIT_TEXT_MAX]; /* "" the value's unit, "%" a share of the value */
    int has_mark;
    up_mark mark;
} up_quantity;

typedef enum up_quantity_problem {
    UP_QUANTITY_OK,
    UP_QUANTITY_NO_NUMBER,
    UP_QUANTITY_COMMA,         /* "3,6" */
    UP_QUANTITY_BAD_RANGE,     /* second number missing or below the first */
    UP_QUANTITY_BAD_TOLERANCE, /* no number after the sign, or a range with a tolerance */
    UP_QUANTITY_TOO_LONG
} up_quantity_problem;

up_quantity_problem up_quantity_read(const char *text, up_quantity *quantity);

/* Reads only "±0.1 kg", "+/-5 %", "0.1 kg" or "0.1" into the tolerance. */
up_quantity_problem up_quantity_read_tolerance(const char *text, up_quantity *quantity);

/* Mark by its word; returns 0 when it is none. */
int up_mark_read(const char *word, up_mark *mark);
const char *up_mark_word(up_mark mark);
const char *up_mark_text(up_mark mark);

#endif

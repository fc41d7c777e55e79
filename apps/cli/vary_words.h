/* Values of options that are ranges, shares and classes: "-20..40C", "50 %", "A..C". Each function returns -1, or the exit status
 * after one clear message. */
#ifndef UPSTOP_CLI_VARY_WORDS_H
#define UPSTOP_CLI_VARY_WORDS_H

#include "io/units.h"

typedef struct up_words {
    const char *command, *option; /* "vary", "--temperature": for the message */
    const char *text;             /* as written                               */
    const char *example;          /* "-20..40C"                               */
} up_words;

/* One quantity or two with ".." between; the first may leave its unit to the second. Both within least..most, in `unit`. */
int up_words_range(up_units *units, const up_words *words, const char *unit, double least, double most, double *low,
                   double *high);

/* "25mm@120mm" or "25mm@120mm,10N/mm": SI; *stiffness stays as it is when it is not given. */
int up_words_rod(up_units *units, const up_words *words, double *diameter, double *opening, double *stiffness);

/* "30 %", "0.3", "none": 0..1. */
int up_words_share(const up_words *words, double *share);
/* The same with "..": "0..50%". */
int up_words_shares(const up_words *words, double *low, double *high);

/* "C", "A..C": Gd(n0) in m3, the geometric means of the classes. */
int up_words_road(const up_words *words, double *low, double *high);

/* A whole number. */
int up_words_whole(const up_words *words, double least, double most, double *value);

#endif

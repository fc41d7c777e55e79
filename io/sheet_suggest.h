/* "Did you mean": the nearest of some words. */
#ifndef UPSTOP_IO_SHEET_SUGGEST_H
#define UPSTOP_IO_SHEET_SUGGEST_H

#include <stddef.h>

/* Number of letters to insert, leave out, change or swap to make b of a, letter case aside; at most 32 letters are
 * looked at. */
int up_letters_apart(const char *a, const char *b);

/* Is b near enough to a to be meant: a third of its letters wrong at most. */
int up_is_near(int apart, const char *b);

/* Keeps the better candidate: *best starts as NULL, *apart as anything. */
void up_suggest(const char *written, const char *candidate, const char **best, int *apart);

#endif

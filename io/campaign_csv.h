/* A campaign's closings as CSV: first row names with units in brackets, then one row a closing, in order of their number. */
#ifndef UPSTOP_IO_CAMPAIGN_CSV_H
#define UPSTOP_IO_CAMPAIGN_CSV_H

#include "io/campaign_store.h"

/* Closings 1..count of the store, to a file that appears whole or not at all. Nine significant digits, decimal point in every
 * locale, an empty field where something does not exist. Returns 0, or 3 with *why: a text of static storage or of the
 * store. */
int up_campaign_write_csv(up_store *store, uint64_t count, const char *path, const char **why);

#endif

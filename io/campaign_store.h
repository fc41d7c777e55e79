/* A campaign on disk: every closing that was run, in blocks that are there as a whole or not at all.
 *
 * An SQLite database (docs/campaigns.md describes its tables). A block is one transaction, so a program may be killed at any
 * moment: what it had delivered stays, what it was at is run again, nothing is counted twice. The store remembers what it
 * was made for, and refuses anything else. */
#ifndef UPSTOP_IO_CAMPAIGN_STORE_H
#define UPSTOP_IO_CAMPAIGN_STORE_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/campaign.h"

enum { UP_STORE_FORMAT = 1, UP_STORE_MESSAGE = 400 };

/* Something the campaign was made for, as text: an entry of the sheet, a figure of the plan, the seed. */
typedef struct up_store_fact {
    char name[64];
    char value[96];
} up_store_fact;

typedef struct up_store up_store;

/* Opens or makes a store. path: NULL for one that is thrown away at the end.
 * 0: *store is the caller's, to be closed. 2: the file is no store, or one made for something else; 3: out of memory, disk
 * full and the like. Then *store is NULL and message says what, without a full stop. */
int up_store_open(const char *path, const up_store_fact *facts, int count, up_store **store,
                  char message[UP_STORE_MESSAGE]);

/* Leaves one file behind. NULL allowed. */
void up_store_close(up_store *store);

/* Blocks that are there, in rising order. Returns 0 or 3. */
int up_store_blocks(up_store *store, void (*found)(void *context, int64_t block), void *context);

/* Puts a block in, UP_BLOCK rows; one that is there already stays as it is. Returns 0 or 3. Not from two threads at once. */
int up_store_put(up_store *store, int64_t block, const up_closing_row *rows);

/* Closings first..last in order; row is zeroed but for what the store keeps (up_campaign_shares fills the shares). The
 * callback returns 0 to go on. Returns 0, or 3, or what the callback returned. */
int up_store_read(up_store *store, uint64_t first, uint64_t last, int (*row)(void *context, up_closing_row *row),
                  void *context);

/* What went wrong last, after a 3. */
const char *up_store_message(const up_store *store);

#endif

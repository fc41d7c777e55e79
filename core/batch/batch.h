/* Many closings with one thread, several of them side by side: each outcome has the bits that up_run gives it.
 *
 * A processor adds and multiplies two, four or eight numbers as fast as one. One closing has little use for that, its sums
 * wait for each other; several closings have. */
#ifndef UPSTOP_BATCH_BATCH_H
#define UPSTOP_BATCH_BATCH_H

#include <stddef.h>

#include "core/sim/run.h"

enum {
    UP_BATCH_WIDTH_MAX = 8,
    UP_BATCH_MEMORY = 65536 /* bytes that are enough for up_batch_memory() */
};

/* One closing of a batch. */
typedef struct up_batch_item {
    const up_door *door; /* prepared, read-only, stays until the item is done; may be in many items */
    const up_run_options *options;
    up_outcome *outcome;
    up_run_counts *counts; /* may be NULL                    */
    up_status status;      /* filled: what up_run would return */
} up_batch_item;

/* Widths this processor can do, the best first: 8, 4, 2; 0 ends the list. Static storage. */
const int *up_batch_widths(void);

/* Bytes of memory up_batch_run needs; 64 bytes of it may go for alignment. */
size_t up_batch_memory(void);

/* Where items come from and what becomes of them. A room holds one item at a time: `next` is asked for the first and,
 * when that is done, for the one after, so a caller needs one door, options and outcome to a room, not to an item. */
typedef struct up_batch_source {
    void *context;
    /* Fills *item for room 0..width - 1. 0: no more; not asked again after that. */
    int (*next)(void *context, int room, up_batch_item *item);
    void (*done)(void *context, int room, const up_batch_item *item);
} up_batch_source;

/* Runs all that the source gives, in whatever order it ends. width: one of up_batch_widths, 0: the best. memory:
 * up_batch_memory() bytes, contents of no interest before and after.
 * Returns UP_OK, or UP_BAD_OPTION when the width is not among them or the memory too small: nothing is run then. */
up_status up_batch_run_from(const up_batch_source *source, int width, void *memory, size_t memory_size);

/* The same for items in a row; also refuses a count below 0. */
up_status up_batch_run(up_batch_item *items, int count, int width, void *memory, size_t memory_size);

#endif

/* Workers made of the system's threads, to hand to an analysis (analysis/workers.h). */
#ifndef UPSTOP_IO_THREADS_H
#define UPSTOP_IO_THREADS_H

#include "analysis/workers.h"

/* Starts threads - 1 threads (1 is allowed: none is started); to be ended with up_threads_stop by the same owner.
 * NULL when threads < 1, or the system gives no memory. Fewer threads than asked for when the system refuses some:
 * see up_workers.threads. */
up_workers *up_threads_start(int threads);
void up_threads_stop(up_workers *workers); /* NULL allowed */

/* Processors that are on line, at least 1. */
int up_threads_available(void);

#endif

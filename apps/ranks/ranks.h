/* A campaign's closings on many machines, over MPI.
 *
 * Rank 0 reads the sheet, hands out blocks, keeps the store, and runs closings itself; the others get the numbers of the door
 * from it and read no file. Every rank has its next block before it has finished the one it is at, and rank 0 looks for
 * arrived blocks between two closings, so nobody waits. All ranks have to be of one kind of machine: rows travel as bytes. */
#ifndef UPSTOP_RANKS_RANKS_H
#define UPSTOP_RANKS_RANKS_H

#include "apps/cli/vary_run.h"

typedef struct up_rank_crew {
    up_vary_crew crew; /* first */
    int ranks;
    void *memory;                     /* of rank 0's own worker    */
    const up_campaign_desk *desk;     /* during a job              */
    int64_t under_way;                /* blocks that others are at */
    up_closing_row arrived[UP_BLOCK]; /* the last one              */
} up_rank_crew;

/* For rank 0. workers: for what one process does alone. Returns 0, or -1 when memory is short. */
int up_rank_crew_start(up_rank_crew *crew, up_workers *workers);
/* Sends the other ranks home. */
void up_rank_crew_end(up_rank_crew *crew);

/* For all other ranks: works for rank 0 until sent home. Returns 0, or -1 after a message when memory is short. */
int up_rank_serve(void);

#endif

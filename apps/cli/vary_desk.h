/* The desk of a campaign: hands out the blocks that are missing, takes them back, into the store and the tally. */
#ifndef UPSTOP_CLI_VARY_DESK_H
#define UPSTOP_CLI_VARY_DESK_H

#include <pthread.h>
#include <stdint.h>

#include "analysis/campaign_tally.h"
#include "io/campaign_store.h"

typedef struct up_vary_desk {
    pthread_mutex_t lock;
    const up_campaign *campaign;
    uint64_t closings; /* asked for                                                      */
    up_store *store;   /* NULL: nothing is kept                                          */
    up_tally *tally;
    unsigned char *taken;  /* a bit a block: handed out or there already                     */
    int64_t blocks, next;  /* in all; where to look for one that is missing                  */
    int64_t had, finished; /* blocks found in the store; delivered since                     */
    int trouble;           /* 1: the store refused a block; no more are handed out           */
    int stopped;           /* 1: somebody asked to stop                                      */
    int progress;
    double began, told; /* s, of the clock: the start, and when progress was last told    */
} up_vary_desk;

/* Reads what the store has into the tally. Returns -1, or an exit status after one message on stderr. */
int up_vary_desk_open(up_vary_desk *desk, const char *command, const up_campaign *campaign, uint64_t closings,
                      up_store *store, up_tally *tally, int progress);
void up_vary_desk_close(up_vary_desk *desk);

/* The desk as the campaign sees it; `breathe` is left out. */
up_campaign_desk up_vary_desk_of(up_vary_desk *desk);

/* From now on an interrupt (SIGINT, SIGTERM) lets the blocks under way be finished and hands out no more. */
void up_vary_catch_signals(void);
/* The signal that came; 0: none. */
int up_vary_signal(void);

/* s, some steady clock. */
double up_vary_clock(void);

#endif

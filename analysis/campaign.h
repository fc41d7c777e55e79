/* Many closings: the cases of a plan, counted in blocks.
 *
 * Closings are numbered from 1; block b holds closings b * UP_BLOCK + 1 to (b + 1) * UP_BLOCK, and what is in a block depends
 * on maker, seed and number alone. So it does not matter who makes which block, in what order, or in how many attempts.
 *
 * Nothing is allocated, nothing is locked: a desk, the caller's, hands out blocks and takes them back, and is called from
 * several threads when there are several workers. */
#ifndef UPSTOP_ANALYSIS_CAMPAIGN_H
#define UPSTOP_ANALYSIS_CAMPAIGN_H

#include <stddef.h>

#include "analysis/case.h"
#include "analysis/spread.h"
#include "analysis/workers.h"

enum { UP_BLOCK = 256 };

/* Where a closing turned round for nothing, by the highest place that the glass reached before it came back. */
typedef enum up_turned { UP_TURNED_START, UP_TURNED_WAY, UP_TURNED_TOP, UP_TURNED_COUNT } up_turned;

/* m: the first so many of the travel are its start, the last so many of the opening the last part before the top (of a short
 * travel a third each). As far as a start mask and a learning length usually reach, and further than any header seal. */
#define UP_TURNED_NEAR 0.050

/* For the opening and the travel of a door at which it turned. */
up_turned up_turned_at(double opening, double travel);

/* "start", "way", "top"; static storage; NULL outside the list. */
const char *up_turned_word(up_turned turned);

/* What is kept of a closing. Plain data, the same layout for every program built from one source on one kind of machine. */
typedef struct up_closing_row {
    uint64_t number; /* from 1                                                                          */
    int32_t status;  /* up_status; unless UP_OK, nothing below counts but the number and what was drawn   */
    int32_t end;     /* up_end                                                                           */
    int32_t reversals;
    int32_t false_reversal; /* 1: turned round before it touched a rod, or without one                     */
    int32_t turned;         /* up_turned of a false reversal; -1: there was none                            */
    int32_t verdict; /* up_verdict_result of the plan's rule on this closing; -1: not judged, see up_campaign_verdict */
    int32_t halvings;                   /* see up_case                                                                */
    double severity;                    /* up_case_severity                                                           */
    double headline[UP_HEADLINE_COUNT]; /* NaN: did not happen; a rod or a stop that was not touched has no force */
    double drawn[UP_DRAWN_COUNT];
    unsigned char share[UP_CASE_SINGLES_MAX]; /* see up_case; not stored, up_campaign_shares gives them again  */
} up_closing_row;

typedef struct up_campaign {
    const up_case_maker *maker;
    uint64_t seed;
    const uint64_t *index; /* NULL; or how factors are drawn: see up_case_draw, for all closings alike     */
} up_campaign;

/* Makes the case of a closing, for whoever wants to run it in another way. z: scratch, maker->numbers. */
up_status up_campaign_case(const up_campaign *campaign, uint64_t number, double *z, up_case *out);

/* The verdict of the plan's rule on an outcome; -1: not judged. Glass that turned round for nothing and coasted onto the rod
 * met it slower than the rule means, so passing there proves nothing and is not judged; failing there stands. *met: whether
 * the closing counts as one that met the rod: it touched it before it turned round, or it failed on it. */
int32_t up_campaign_verdict(const up_plan *plan, const up_case *made, const up_outcome *outcome, int *met);

/* The row for an outcome of a case. */
void up_campaign_row(const up_campaign *campaign, uint64_t number, const up_case *made, up_status status,
                     const up_outcome *outcome, up_closing_row *row);

/* The shares of a row that was read back from a store. z: scratch, maker->numbers. */
void up_campaign_shares(const up_campaign *campaign, up_closing_row *row, double *z);

/* Where blocks come from and where they go. All may be called from any of the workers' threads, several at once. */
typedef struct up_campaign_desk {
    void *context;
    int64_t (*next)(
        void *context); /* number of the next block to make; negative: no more, not asked again by this worker */
    void (*deliver)(void *context, int64_t block, const up_closing_row *rows); /* UP_BLOCK rows in order, not kept */
    void (*breathe)(void *context); /* NULL, or called between two closings of one worker                   */
} up_campaign_desk;

/* Bytes of memory for one worker, about 2 MB. */
size_t up_campaign_memory(void);

/* One worker: takes blocks and delivers them until there are no more. memory: aligned for double, not kept.
 * UP_OK, UP_MEMORY_TOO_SMALL. Single closings may have failed: see their rows. */
up_status up_campaign_work(const up_campaign *campaign, const up_campaign_desk *desk, void *memory, size_t memory_size);

/* All workers. memory: up_campaign_memory() for each thread of `workers` (NULL: one). */
up_status up_campaign_run(const up_campaign *campaign, up_workers *workers, const up_campaign_desk *desk, void *memory,
                          size_t memory_size);

#endif

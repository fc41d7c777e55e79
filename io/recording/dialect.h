/* How a table is written: what separates its cells, what marks its decimals. */
#ifndef UPSTOP_IO_RECORDING_DIALECT_H
#define UPSTOP_IO_RECORDING_DIALECT_H

#include "io/recording/cells.h"

/* The first lines of a text, as they stand in the source's first block. */
enum { UP_HEAD_LINES_MAX = 4000 };

typedef struct up_head {
    int count;
    const char *from[UP_HEAD_LINES_MAX], *to[UP_HEAD_LINES_MAX]; /* without line ends */
} up_head;

void up_head_cut(up_head *head, const char *from, const char *to);

/* What was said in the options stays. Returns the score: numbers found a line, 0 when there is no number at all. */
double up_dialect_find(const up_head *head, const up_recording_options *options, up_dialect *dialect);

#endif

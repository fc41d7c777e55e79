/* A page of work instructions as plain text, at most UP_PAPER_COLUMNS wide, with [ ] to tick. */
#ifndef UPSTOP_IO_PAPER_TEXT_H
#define UPSTOP_IO_PAPER_TEXT_H

#include <stdio.h>

#include "io/paper.h"

/* Returns 0, or -1 when the paper lacks something for want of memory or the stream refuses a write. */
int up_paper_print(const up_paper *paper, FILE *file);

#endif

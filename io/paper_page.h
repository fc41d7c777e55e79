/* A page of work instructions drawn on A4, upright, with cairo: as PDF, a page to a page, or as one SVG with the pages one
 * below the other. */
#ifndef UPSTOP_IO_PAPER_PAGE_H
#define UPSTOP_IO_PAPER_PAGE_H

#include <stdio.h>

#include "io/paper.h"

typedef enum up_page_format { UP_PAGE_PDF, UP_PAGE_SVG } up_page_format;

/* The letters are made as large as goes with pages_most pages, 9.5 points at most and 7 at least; if that is not enough
 * there are more pages. foot: small words at the foot of every page, UTF-8.
 * Draws into an open stream, which stays open. Returns the number of pages, or -1 when memory is short or the stream
 * refuses a write. */
int up_paper_draw(const up_paper *paper, up_page_format format, int pages_most, const char *foot, FILE *file);

#endif

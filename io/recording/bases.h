/* Time bases: bases.c chooses where they come from, base_column.c makes one out of a column. */
#ifndef UPSTOP_IO_RECORDING_BASES_H
#define UPSTOP_IO_RECORDING_BASES_H

#include "io/recording/draft.h"

int up_column_has_numbers(const up_column *column);

/* Rising by one from row to row, whole numbers, in the first thousand. */
int up_column_counts_by_one(const up_column *column);

/* An empty one; NULL when there are UP_BASES_MAX. */
up_time_base *up_base_add(up_draft *draft);

/* Stamps of a column in s from the first: midnight passed, a column of dates added to one of times of day. */
void up_stamps_to_times(up_draft *draft, int at);

/* Mends the column's times, chooses the part (first_base), judges whether they are even. stated: interval stated elsewhere,
 * NaN none. grain: s, what the digits of a double leave of the times as they stood in the file. Takes the column's array. Returns 0, or 2 with the draft's problem. */
int up_base_from_column(up_draft *draft, int at, up_time_how how, double stated, double grain, int first_base);

#endif

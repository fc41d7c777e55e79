/* Dates and times of day as instruments print them. */
#ifndef UPSTOP_IO_RECORDING_STAMP_H
#define UPSTOP_IO_RECORDING_STAMP_H

#include <stdint.h>

/* What was written: bits. */
enum { UP_STAMP_DATE = 1, UP_STAMP_CLOCK = 2 };

typedef struct up_stamp {
    int has;         /* of the bits above                                                    */
    int64_t seconds; /* whole ones since 1970-01-01 00:00 of the same clock, or since midnight */
    double fraction; /* s, 0 to 1                                                            */
} up_stamp;

/* "2026-11-25 17:12:03.125", "25.11.2026 17:12:03,125", "11/25/26 5:12:03 PM", "2026-11-25T17:12:03Z", "17:12:03.1",
 * "2026-11-25". day_first: how 3/4/2026 is read. [text, end) without blanks around. Returns 1 when all of it is a stamp.
 * A time zone is read over: all stamps of a file have the same one. */
int up_stamp_read(const char *text, const char *end, int day_first, up_stamp *stamp);

#endif

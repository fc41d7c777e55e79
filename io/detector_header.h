/* The constants of the pinch detector as a C header: what is flashed. */
#ifndef UPSTOP_IO_DETECTOR_HEADER_H
#define UPSTOP_IO_DETECTOR_HEADER_H

#include <stdio.h>

#include "core/control/settings.h"

typedef struct up_detector_header {
    const up_control_settings *control;
    const char *title;         /* of the door sheet, UTF-8; may be ""                          */
    const char *const *origin; /* lines that say how they came about, UTF-8; ended by NULL */
} up_detector_header;

/* Writes to an open stream, which stays open. The same bytes for the same constants, whatever the day. Returns 0, or -1
 * when the stream refuses a write. */
int up_detector_header_write(const up_detector_header *header, FILE *file);

#endif

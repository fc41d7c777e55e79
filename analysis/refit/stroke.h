/* One stroke as a stopwatch and a clamp meter see it, over the doors that a sheet allows.
 *
 * The stopwatch starts with the first drive of the bridge and stops when the glass first touches the stop it travels to.
 * `upstop move` tells moving_time instead: there the glass creeps on into rubber and springs for some tenths of a second,
 * which no eye sees. A glass that a stiff header seal holds before its stop is timed to where it stands. SI units; opens no file, allocates nothing. */
#ifndef UPSTOP_ANALYSIS_REFIT_STROKE_H
#define UPSTOP_ANALYSIS_REFIT_STROKE_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/known.h"
#include "analysis/refit/reading.h"
#include "analysis/share.h"
#include "analysis/workers.h"
#include "core/base/status.h"

typedef struct up_stroke_request {
    const up_known *known;
    int raising;        /* 1: from fully open, one-touch; 0: from closed, lowering by one touch */
    double temperature; /* K                                                                    */
    uint64_t seed;
    int draws; /* >= 1 */
} up_stroke_request;

typedef struct up_stroke {
    up_reading time;    /* s; NaN where it did not come to the stop                   */
    up_reading current; /* A, mean while it runs, the start left out                     */
    up_share done;      /* drawn doors that came to the stop and rest there, of those that ran */
} up_stroke;

/* Bytes of scratch memory. */
size_t up_stroke_memory(int draws);

/* workers may be NULL; the answer does not depend on them. memory: the caller's, aligned for double, not kept.
 * Returns UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL, or what up_door_prepare or up_run say of the sheet itself. */
up_status up_stroke_run(const up_stroke_request *request, up_workers *workers, void *memory, size_t memory_size,
                        up_stroke *stroke);

#endif

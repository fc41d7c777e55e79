/* Random settings and calls of the detector over the whole range that docs/detector.md ("Contracts") allows: ends of the
 * ranges come often, for it is there that sums run over. A function of the place, nothing else. */
#ifndef UPSTOP_TESTS_DETECTOR_ANY_SETTINGS_H
#define UPSTOP_TESTS_DETECTOR_ANY_SETTINGS_H

#include <stdint.h>

#include "detector/pinch_detector.h"

/* low <= number <= high */
uint32_t any_number(uint64_t place, uint64_t stream, uint32_t low, uint32_t high);

/* Valid ones; often such that something can be seen. */
void any_settings(uint64_t place, up_detector_settings *settings);

/* Half of them as set up, half filled with anything: what outlives a closing may come from a worn store. */
void any_memory(uint64_t place, const up_detector_settings *settings, up_detector_memory *memory);

/* How readings come: about evenly, and now and then anything at all. */
typedef struct any_drive {
    uint32_t now_us, period_us, supply_mv, opening_edges;
    int32_t current_ma;
    uint32_t wild; /* one call in so many is anything at all; 0: none */
} any_drive;

typedef struct any_call {
    up_detector_reading edge, tick; /* the tick comes between this edge and the next */
    int32_t true_edges;
    int moved; /* the position turned out to be true_edges */
} any_call;

any_drive any_drive_of(uint64_t place);
any_call any_call_of(any_drive *drive, uint64_t place);

#endif

/* Levels on the encoder's and the limit contact's leads while a run is recorded. */
#ifndef UPSTOP_ANALYSIS_BENCH_PULSE_LEADS_H
#define UPSTOP_ANALYSIS_BENCH_PULSE_LEADS_H

#include "analysis/bench/virtual_bench.h"

typedef struct up_pulse_leads {
    const up_bench *bench;
    double missed_share;
    uint64_t edges;     /* passed so far          */
    int begun, level;   /* of the encoder's lead  */
    double back, again; /* s, between which a bouncing edge is undone */
} up_pulse_leads;

void up_pulse_leads_begin(up_pulse_leads *leads, const up_bench *bench, const up_values *values);

/* An edge of the core at that time, s. */
void up_pulse_leads_edge(up_pulse_leads *leads, double time);

/* 0 or 1. Times rise from call to call. */
int up_encoder_lead(up_pulse_leads *leads, double time, double core_level);
int up_limit_lead(const up_pulse_leads *leads, double time, double contact);

#endif

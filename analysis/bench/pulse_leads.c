#include "analysis/bench/pulse_leads.h"

#include <math.h>

#include "core/base/counter_random.h"

enum { STREAM_DOUBLED = 1100, STREAM_CHATTER };

enum { CORE_STREAM_MISSED = 11 }; /* docs/model.md, section 9: the lead and the controller miss the same edges */

#define CHATTER_TIME 2e-3 /* s */

void up_pulse_leads_begin(up_pulse_leads *leads, const up_bench *bench, const up_values *values) {
    *leads =
        (up_pulse_leads){.bench = bench, .missed_share = values->encoder_missed, .back = INFINITY, .again = INFINITY};
}

static int arrives(const up_pulse_leads *leads, uint64_t number, double time) {
    const up_run_options *run = &leads->bench->run;
    const int dead = time >= run->faults.encoder_dead_time; /* false where it is absent */
    const int missed =
        number == run->faults.lost_edge || up_random_unit(run->seed, CORE_STREAM_MISSED, number) < leads->missed_share;
    return !dead && !missed;
}

static int doubled(const up_pulse_leads *leads, uint64_t number) {
    return number == leads->bench->run.faults.doubled_edge ||
           up_random_unit(leads->bench->seed, STREAM_DOUBLED, number) < leads->bench->line.doubled_share;
}

void up_pulse_leads_edge(up_pulse_leads *leads, double time) {
    leads->edges++;
    if (!arrives(leads, leads->edges, time)) {
        return;
    }
    leads->level = !leads->level;
    leads->back = leads->again = INFINITY;
    if (doubled(leads, leads->edges)) {
        leads->back = time + 0.5 * leads->bench->line.bounce_time;
        leads->again = time + leads->bench->line.bounce_time;
    }
}

int up_encoder_lead(up_pulse_leads *leads, double time, double core_level) {
    if (!leads->begun) { /* before the first edge the lead is as the core has it */
        leads->begun = 1;
        leads->level = core_level > 0.5;
    }
    const int undone = time >= leads->back && time < leads->again;
    return undone ? !leads->level : leads->level;
}

int up_limit_lead(const up_pulse_leads *leads, double time, double contact) {
    const int stuck = leads->bench->run.faults.limit_stuck;
    if (stuck != 0) {
        return stuck == 2;
    }
    const double chatter = leads->bench->line.limit_chatter;
    const uint64_t slot = (uint64_t)floor(time / CHATTER_TIME);
    return contact > 0.5 && !(chatter > 0 && up_random_unit(leads->bench->seed, STREAM_CHATTER, slot) < chatter);
}

/* Recordings of which the truth is known, for tuning and judging whatever looks for faults: a door from the sheet's tolerances,
 * a day, an instrument, and one fault or none. */
#ifndef UPSTOP_ANALYSIS_BENCH_BENCH_CASE_H
#define UPSTOP_ANALYSIS_BENCH_BENCH_CASE_H

#include "analysis/bench/door_fault.h"
#include "analysis/known.h"

/* What the world draws from; every range evenly. */
typedef struct up_bench_plan {
    up_door_fault fault;
    double severity_low, severity_high;
    double temperature_low, temperature_high; /* K; a frozen seal is drawn from -18 to -2 degC instead */
    double supply_low, supply_high; /* V open circuit, before a low battery; NaN: the sheet's, with its tolerance */
    int both_ways;                  /* 1: closes, and opens again from half of the duration on: give it 12 s */
    int leads_direct;               /* 1: 12 V on the leads, 0: the controller closes by one-touch                */
    int instrument;                 /* up_instrument; -1: scope or card, by chance                              */
    double duration;                /* s                                                                          */
} up_bench_plan;

/* Sound doors, 5 to 30 degC, the sheet's battery, by the controller, any instrument with pulses, 6 s. */
void up_bench_plan_default(up_bench_plan *plan);

typedef struct up_bench_case {
    up_door_fault fault;
    double severity, place, temperature;
    up_instrument instrument;
    up_values sound;  /* the door without its fault */
    up_values values; /* with it: for up_bench_record */
    up_bench bench;
} up_bench_case;

/* Case `index` of `seed`: different seeds never share a draw, so what was tuned on one can be judged on another. A fault's case
 * differs from the sound one of the same seed and index by the fault alone (for a frozen seal, by the temperature, too).
 * UP_OK; UP_BAD_OPTION when the fault does not fit the door; or what refuses the door after some tries. */
up_status up_bench_case_draw(const up_known *known, const up_bench_plan *plan, uint64_t seed, uint64_t index,
                             up_bench_case *out);

#endif

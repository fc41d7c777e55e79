#include "analysis/bench/bench_case.h"

#include <math.h>

#include "analysis/spread.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "core/door/check.h"

enum { TRIES = 20 };

/* Places of one case's numbers; the stream is the case. */
enum { AT_TEMPERATURE, AT_SUPPLY, AT_INSTRUMENT, AT_SEVERITY, AT_PLACE, AT_SHAFT, AT_NOISE, AT_SEGMENT, AT_SEED };

void up_bench_plan_default(up_bench_plan *plan) {
    *plan = (up_bench_plan){.temperature_low = 278.15,
                            .temperature_high = 303.15,
                            .supply_low = UP_ABSENT,
                            .supply_high = UP_ABSENT,
                            .instrument = -1,
                            .duration = 6};
}

static double evenly(double low, double high, double share) {
    return low + (high - low) * share;
}

typedef struct up_lot {
    uint64_t seed, stream;
} up_lot;

static double lot(const up_lot *l, uint64_t place) {
    return up_random_unit(l->seed, l->stream, place);
}

static void set_hand(const up_bench_plan *plan, double supply, up_bench *bench) {
    const double half = 0.5 * (plan->duration - bench->zero_time);
    if (plan->leads_direct && plan->both_ways) {
        const double pause = 0.3;
        up_bench_leads_both(bench, 1, supply, up_max(half - pause, 0.1), pause);
    } else if (plan->leads_direct) {
        up_bench_leads(bench, 1, supply, up_max(plan->duration - 1.0, 0.1));
    } else if (plan->both_ways) {
        up_bench_one_touch_then(bench, -1, bench->zero_time + half);
    }
}

static void set_bench(const up_bench_plan *plan, const up_lot *l, up_bench_case *out) {
    up_bench *bench = &out->bench;
    up_bench_default(bench);
    bench->seed = up_random_u64(l->seed, l->stream, AT_SEED);
    bench->run.seed = (uint32_t)(bench->seed >> 32);
    bench->run.time_limit = plan->duration;
    bench->run.temperature = out->temperature;
    bench->brushes.shaft_order = evenly(0.005, 0.03, lot(l, AT_SHAFT));
    bench->brushes.noise = evenly(0.002, 0.008, lot(l, AT_NOISE));
    bench->brushes.dead_segment = (int)(lot(l, AT_SEGMENT) * out->sound.segments);
    const double supply = up_is_absent(plan->supply_low)
                              ? out->sound.supply_voltage
                              : evenly(plan->supply_low, plan->supply_high, lot(l, AT_SUPPLY));
    bench->run.open_voltage = supply;
    set_hand(plan, supply, bench);
    out->instrument = lot(l, AT_INSTRUMENT) < 0.5 ? UP_INSTRUMENT_SCOPE : UP_INSTRUMENT_CARD;
    if (plan->instrument >= 0) {
        out->instrument = (up_instrument)plan->instrument;
    }
    up_bench_connect(bench, out->instrument);
}

up_status up_bench_case_draw(const up_known *known, const up_bench_plan *plan, uint64_t seed, uint64_t index,
                             up_bench_case *out) {
    const up_lot l = {seed, ((uint64_t)1 << 63) | index}; /* up_known_draw's streams stay below that */
    if (!up_door_fault_fits(plan->fault, &known->values)) {
        return UP_BAD_OPTION;
    }
    out->fault = plan->fault;
    out->severity = evenly(plan->severity_low, plan->severity_high, lot(&l, AT_SEVERITY));
    out->place = evenly(0.15, 0.9, lot(&l, AT_PLACE));
    const int cold = plan->fault == UP_DOOR_FAULT_FROZEN_SEAL;
    out->temperature =
        evenly(cold ? 255.15 : plan->temperature_low, cold ? 271.15 : plan->temperature_high, lot(&l, AT_TEMPERATURE));
    up_status status = UP_BAD_VALUE;
    for (uint64_t attempt = 0; attempt < TRIES; attempt++) {
        status = up_known_draw(known, seed, 1 + index * TRIES + attempt, &out->sound);
        if (status != UP_OK) {
            return status;
        }
        out->values = out->sound;
        set_bench(plan, &l, out);
        up_door_fault_put(plan->fault, out->severity, out->place, &out->values, &out->bench);
        if (up_door_is_usable(&out->values)) {
            return UP_OK;
        }
        status = UP_BAD_GEOMETRY;
    }
    return status;
}

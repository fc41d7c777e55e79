/* Laws that hold on every run of every door: 10,000 random doors, each with a random run.
 *
 * Nothing is measured here against an outside figure: the laws are conservation of energy (the ledger's gap, 0.1 % of
 * the energy drawn), the second law (what turns into heat never comes back), and the promises of core/sim/run.h. A
 * failing door prints its index; UPSTOP_DOOR=index runs that one alone. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/random_door.h"
#include "core/base/up_math.h"
#include "io/threads.h"

enum {
    SEED = 20,
#ifdef UPSTOP_SANITIZED
    DOORS = 400
#else
    DOORS = 10000
#endif
};

typedef struct finding {
    const char *what; /* NULL: all laws held */
    double found, wanted;
} finding;

static const int heats[] = {UP_LEDGER_supply_heat,   UP_LEDGER_winding_heat,   UP_LEDGER_brush_heat,
                            UP_LEDGER_switching,     UP_LEDGER_motor_friction, UP_LEDGER_worm_friction,
                            UP_LEDGER_damper_heat,   UP_LEDGER_mesh_friction,  UP_LEDGER_regulator_heat,
                            UP_LEDGER_seal_friction, UP_LEDGER_stop_heat};

static int finite(double x) {
    return x - x == 0;
}

/* What must be a number in every outcome. */
static finding check_numbers(const up_outcome *o) {
    const double always[] = {o->time,
                             o->moving_time,
                             o->start_travel,
                             o->final_travel,
                             o->peak_current,
                             o->peak_rod_force,
                             o->peak_stop_force,
                             o->reversed_distance,
                             o->ledger_gap,
                             o->peak_winding_temperature,
                             o->peak_detector_excess};
    for (size_t i = 0; i < sizeof always / sizeof always[0]; i++) {
        if (!finite(always[i])) {
            return (finding){"an outcome that is no number", (double)i, 0};
        }
    }
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        if (!finite(o->ledger[i])) {
            return (finding){"a ledger account that is no number", i, 0};
        }
    }
    return (finding){NULL, 0, 0};
}

static finding check_ledger(const up_outcome *o) {
    double rest = 0, turned_over = 0;
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        rest += i == UP_LEDGER_drawn ? 0 : o->ledger[i];
        turned_over = fmax(turned_over, fabs(o->ledger[i]));
    }
    const double gap = o->ledger[UP_LEDGER_drawn] - rest;
    if (fabs(gap - o->ledger_gap) > 1e-9 * (1 + turned_over)) {
        return (finding){"the gap is not what the accounts leave, J", o->ledger_gap, gap};
    }
    /* Where next to nothing is drawn the source is a hand that pushes, or a spring that was wound: what is turned over. */
    const double source = fmax(o->ledger[UP_LEDGER_drawn], turned_over);
    if (fabs(gap) > 0.001 * source + 1e-6) {
        return (finding){"ledger gap, J", gap, 0.001 * source};
    }
    for (size_t i = 0; i < sizeof heats / sizeof heats[0]; i++) {
        if (o->ledger[heats[i]] < -1e-6 * (1 + source)) {
            return (finding){up_ledger_name((up_ledger_account)heats[i]), o->ledger[heats[i]], 0};
        }
    }
    return (finding){NULL, 0, 0};
}

static finding check_motion(const up_values *door, const up_run_options *options, const up_outcome *o) {
    /* Beyond a stop only as far as the largest force on it presses the stop in. */
    const double up = door->up_stop_stiffness * (o->final_travel - door->glass_travel);
    const double down = door->down_stop_stiffness * -o->final_travel;
    if (up > o->peak_stop_force + 1e-3 || down > o->peak_stop_force + 1e-3) {
        return (finding){"glass came to rest outside its travel, N on the stop", up_max(up, down), o->peak_stop_force};
    }
    if (o->time > options->time_limit + 1e-9 || o->time < 0) {
        return (finding){"time beyond the limit, s", o->time, options->time_limit};
    }
    if (o->peak_rod_force < 0 || o->peak_stop_force < 0 || o->peak_current < 0 || o->reversed_distance < -1e-9) {
        return (finding){"a magnitude below nought", o->peak_rod_force, 0};
    }
    if (!options->rod && o->peak_rod_force > 0) {
        return (finding){"a force on a rod that is not there, N", o->peak_rod_force, 0};
    }
    if ((unsigned)o->end >= UP_END_COUNT) {
        return (finding){"no such end", o->end, UP_END_COUNT};
    }
    return (finding){NULL, 0, 0};
}

static finding try_door(uint64_t index) {
    up_values values;
    up_run_options options;
    up_door door;
    up_outcome outcome;
    up_run_counts counts;
    if (up_random_door(SEED, index, &values) != UP_OK) {
        return (finding){"no door", 0, 0};
    }
    up_random_run(SEED, index, &values, &options);
    if (up_door_prepare(&values, options.temperature, &door) != UP_OK) {
        return (finding){"no door at this temperature, K", options.temperature, 0};
    }
    const up_status status = up_run(&door, &options, NULL, &outcome, &counts);
    if (status != UP_OK) {
        return (finding){up_status_text(status), (double)counts.steps, 0};
    }
    finding found = check_numbers(&outcome);
    if (!found.what) {
        found = check_ledger(&outcome);
    }
    return found.what ? found : check_motion(&values, &options, &outcome);
}

static void try_doors(void *context, int first, int end) {
    finding *const findings = context;
    for (int i = first; i < end; i++) {
        findings[i] = try_door((uint64_t)i);
    }
}

static void every_law_holds_on_every_random_door(void **state) {
    (void)state;
    static finding findings[DOORS];
    const char *one = getenv("UPSTOP_DOOR");
    if (one) {
        const finding found = try_door(strtoull(one, NULL, 10));
        if (found.what) {
            fail_msg("door %s: %s: found %g, wanted %g", one, found.what, found.found, found.wanted);
        }
        return;
    }
    up_workers *workers = up_threads_start(up_threads_available());
    up_share_work(workers, DOORS, try_doors, findings);
    up_threads_stop(workers);
    int failed = 0;
    for (int i = 0; i < DOORS; i++) {
        if (findings[i].what && ++failed <= 20) {
            print_message("door %d: %s: found %g, wanted %g\n", i, findings[i].what, findings[i].found,
                          findings[i].wanted);
        }
    }
    if (failed) {
        fail_msg("%d of %d doors broke a law", failed, (int)DOORS);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_law_holds_on_every_random_door)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

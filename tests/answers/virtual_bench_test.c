/* The virtual bench against closed forms, the core's own books, and the figures of the trade. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/bench/virtual_bench.h"
#include "core/base/counter_random.h"
#include "core/door/door.h"

static const double pi = 3.14159265358979323846;

#define near(found, wanted, within) assert_near(found, wanted, within, __LINE__)

static void assert_near(double found, double wanted, double within, int line) {
    if (!(fabs(found - wanted) <= within)) {
        fail_msg("line %d: %.9g is not within %g of %.9g", line, found, within, wanted);
    }
}

typedef struct reel {
    double *room;
    size_t size;
    up_recorded recorded;
    up_outcome outcome;
} reel;

static void record(reel *r, const up_values *values, const up_bench *bench) {
    r->size = up_bench_room(bench);
    assert_true(r->size > 0);
    r->room = malloc((r->size + 1) * sizeof *r->room);
    assert_non_null(r->room);
    assert_int_equal(up_bench_record(values, bench, r->room, r->size, &r->recorded, &r->outcome), UP_OK);
    assert_int_equal(r->recorded.tracks, bench->channels);
}

static void typical(up_family family, up_values *values, up_bench *bench) {
    up_values_fallback(family, values);
    up_bench_default(bench);
    bench->brushes = (up_brushes){0};
}

static void plain(up_bench *bench, double rate) {
    up_bench_add(bench, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate);
    up_bench_add(bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate);
}

/* ---- energy ------------------------------------------------------------------------------------------------------ */

/* What goes into the leads is what the battery's source gave less what stayed in battery, loom and bridge: the core's ledger. */
static void the_leads_take_what_the_ledger_says(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        for (int rippled = 0; rippled < 2; rippled++) {
            up_values values;
            up_bench bench;
            typical((up_family)family, &values, &bench);
            values.ripple = rippled ? 0.08 : 0;
            bench.run.time_limit = 8;
            plain(&bench, 20e3);
            reel r;
            record(&r, &values, &bench);
            const double *u = r.recorded.track[0].value, *i = r.recorded.track[1].value;
            double sum = 0;
            for (size_t k = 0; k < r.recorded.track[0].count; k++) {
                sum += u[k] * i[k] / 20e3;
            }
            const double *ledger = r.outcome.ledger;
            const double wanted = ledger[UP_LEDGER_drawn] - ledger[UP_LEDGER_supply_heat];
            assert_true(wanted > 50); /* J: a closing */
            near(sum, wanted, (rippled ? 2e-3 : 5e-4) * wanted);
            free(r.room);
        }
    }
}

/* ---- ripple ------------------------------------------------------------------------------------------------------ */

/* Amplitude of a line in `count` readings under a Hann window. */
static double line(const double *value, size_t count, double rate, double frequency) {
    double a = 0, b = 0, mean = 0;
    for (size_t k = 0; k < count; k++) {
        mean += value[k] / (double)count;
    }
    for (size_t k = 0; k < count; k++) {
        const double window = 1 - cos(2 * pi * (double)k / (double)count);
        const double angle = 2 * pi * frequency * (double)k / rate;
        a += window * (value[k] - mean) * cos(angle);
        b += window * (value[k] - mean) * sin(angle);
    }
    return 2 * hypot(a, b) / (double)count;
}

typedef struct commutator {
    double segments, poles, humps;
} commutator;

/* Two poles: an odd number of segments gives twice as many humps as it has segments, an even one just as many (read, in a
 * note of a maker of commutators); least common multiple of segments and poles in general, for lap windings (from
 * memory). The counts are typed here, not reckoned. */
static const commutator commutators[] = {{3, 2, 6},   {5, 2, 10},  {8, 2, 8},  {9, 2, 18},
                                         {10, 2, 10}, {12, 4, 12}, {10, 4, 20}};

enum { STEADY = 10000 };

static double strongest(const double *value, double rate) {
    double best = 0, at = 0;
    for (int half = 200; half <= 3200; half++) {
        const double f = 0.5 * half;
        const double a = line(value, STEADY, rate, f);
        if (a > best) {
            best = a;
            at = f;
        }
    }
    return at;
}

static void the_ripple_is_where_its_law_puts_it(void **state) {
    (void)state;
    for (size_t n = 0; n < sizeof commutators / sizeof commutators[0]; n++) {
        up_values values;
        up_bench bench;
        typical(UP_FAMILY_CROSSED_ARMS, &values, &bench);
        values.segments = commutators[n].segments;
        values.poles = commutators[n].poles;
        bench.mounting = UP_MOUNTING_MOTOR_FREE;
        bench.run.time_limit = 3;
        up_bench_leads(&bench, 1, 9, 4);
        up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 10e3);
        up_bench_add(&bench, UP_SIGNAL_POSITION, UP_PROBE_ARMATURE, 10e3);
        reel r;
        record(&r, &values, &bench);
        const size_t from = r.recorded.track[0].count - STEADY;
        const double *angle = r.recorded.track[1].value + from;
        const double turns_a_second = (angle[STEADY - 1] - angle[0]) / (2 * pi) * 10e3 / (STEADY - 1);
        const double wanted = commutators[n].humps * turns_a_second;
        assert_true(turns_a_second > 20);
        near(strongest(r.recorded.track[0].value + from, 10e3), wanted, 0.003 * wanted);
        free(r.room);
    }
}

/* A motor on its bench, steady: current track and turns a second. */
static double motor_runs(reel *r, const up_values *values, up_bench *bench) {
    bench->mounting = UP_MOUNTING_MOTOR_FREE;
    bench->run.time_limit = 3;
    up_bench_leads(bench, 1, 9, 4);
    bench->channels = 0;
    up_bench_add(bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 10e3);
    up_bench_add(bench, UP_SIGNAL_POSITION, UP_PROBE_ARMATURE, 10e3);
    record(r, values, bench);
    const double *angle = r->recorded.track[1].value + r->recorded.track[1].count - STEADY;
    return (angle[STEADY - 1] - angle[0]) / (2 * pi) * 10e3 / (STEADY - 1);
}

static const double *steady(const reel *r) {
    return r->recorded.track[0].value + r->recorded.track[0].count - STEADY;
}

static double mean_of(const double *value, size_t count) {
    double sum = 0;
    for (size_t k = 0; k < count; k++) {
        sum += value[k];
    }
    return sum / (double)count;
}

/* Ripple is made in the motor: what lies before it answers with its resistance, so u falls where i rises. */
static void ripple_on_the_voltage_is_the_sources_resistance(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_RACK, &values, &bench);
    bench.mounting = UP_MOUNTING_MOTOR_FREE;
    bench.run.time_limit = 3;
    up_bench_leads(&bench, 1, 9, 4);
    up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 10e3);
    up_bench_add(&bench, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, 10e3);
    up_bench_add(&bench, UP_SIGNAL_VOLTAGE, UP_PROBE_BATTERY, 10e3);
    reel r;
    record(&r, &values, &bench);
    const size_t from = r.recorded.track[0].count - STEADY;
    const double *i = r.recorded.track[0].value + from, mean = mean_of(i, STEADY);
    double square = 0, leads = 0, battery = 0;
    for (int k = 0; k < STEADY; k++) {
        square += (i[k] - mean) * (i[k] - mean);
        leads += (i[k] - mean) * r.recorded.track[1].value[from + (size_t)k];
        battery += (i[k] - mean) * r.recorded.track[2].value[from + (size_t)k];
    }
    up_door door;
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    const double before = door.source_resistance + door.bridge_resistance;
    near(leads / square, -before, 0.01 * before);
    near(battery / square, -values.supply_resistance, 0.01 * values.supply_resistance);
    near(sqrt(2 * square / STEADY), values.ripple * mean, 0.01 * values.ripple * mean);
    free(r.room);
}

static void a_dead_segment_beats_with_the_shaft_and_keeps_the_mean(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_RACK, &values, &bench);
    reel sound, dead;
    const double turns = motor_runs(&sound, &values, &bench);
    bench.brushes.dead_depth = 0.8;
    bench.brushes.dead_segment = 3;
    near(motor_runs(&dead, &values, &bench), turns, 1e-9); /* observed only */
    const double mean = mean_of(steady(&sound), STEADY);
    near(mean_of(steady(&dead), STEADY), mean, 0.01 * mean);
    assert_true(line(steady(&sound), STEADY, 10e3, turns) < 0.002 * mean);
    assert_true(line(steady(&dead), STEADY, 10e3, turns) > 0.03 * mean);
    free(sound.room);
    free(dead.room);
}

static void lines_of_the_shaft_and_below_the_ripple_have_their_size_and_place(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_RACK, &values, &bench); /* 8 segments, 2 poles: 8 humps */
    bench.brushes = (up_brushes){.shaft_order = 0.10, .half_line = 0.04, .third_line = 0.03};
    values.ripple = 0.05;
    reel r;
    const double turns = motor_runs(&r, &values, &bench), mean = mean_of(steady(&r), STEADY);
    near(line(steady(&r), STEADY, 10e3, turns), 0.10 * mean, 0.005 * mean);
    near(line(steady(&r), STEADY, 10e3, 4 * turns), 0.04 * mean, 0.003 * mean);
    near(line(steady(&r), STEADY, 10e3, 8.0 / 3 * turns), 0.03 * mean, 0.003 * mean);
    near(line(steady(&r), STEADY, 10e3, 8 * turns), 0.05 * mean, 0.003 * mean);
    free(r.room);
}

/* ---- mountings --------------------------------------------------------------------------------------------------- */

/* Ohm's law with a brush drop that fades below half an ampere. */
static void a_locked_rotor_draws_what_resistances_leave(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_CABLE, &values, &bench);
    bench.mounting = UP_MOUNTING_ROTOR_LOCKED;
    bench.run.time_limit = 0.3;
    up_bench_leads(&bench, 1, 3.0, 0.1);
    plain(&bench, 10e3);
    up_bench_add(&bench, UP_SIGNAL_SPEED, UP_PROBE_ARMATURE, 10e3);
    reel r;
    record(&r, &values, &bench);
    up_door door;
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    const size_t late = 2500; /* 50 ms after the leads are on, some hundred time constants of the winding */
    const double u = r.recorded.track[0].value[late], i = r.recorded.track[1].value[late];
    const double motor = values.winding_resistance + values.protector_resistance;
    const double all = motor + door.source_resistance + values.bridge_resistance;
    const double drop = values.brush_drop * i / sqrt(i * i + 0.25);
    near(i * all + drop, 3.0, 5e-3); /* the winding warms by a tenth of a kelvin */
    near(u, i * motor + drop, 5e-3);
    assert_true(i > 3);
    near(r.recorded.track[2].value[late], 0, 0);
    near(r.recorded.track[1].value[1900], 0, 0); /* before the trigger */
    near(r.recorded.track[1].start, -0.2, 1e-15);
    free(r.room);
}

/* A bench supply that limits: the leads show what the winding needs, not what the supply is set to. */
static void a_limited_supply_shows_its_limit_and_the_windings_voltage(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_CABLE, &values, &bench);
    bench.mounting = UP_MOUNTING_ROTOR_LOCKED;
    bench.run.time_limit = 0.3;
    bench.current_limit = 5;
    up_bench_leads(&bench, 1, 6.0, 0.1);
    plain(&bench, 10e3);
    reel r;
    record(&r, &values, &bench);
    const double i = r.recorded.track[1].value[2500], u = r.recorded.track[0].value[2500];
    near(i, 5, 0);
    near(u, 5 * (values.winding_resistance + values.protector_resistance) + values.brush_drop, 0.02);
    free(r.room);
    bench.mounting = UP_MOUNTING_IN_DOOR; /* what the limit does to a motion nobody reckons */
    double room[6000];
    assert_int_equal(up_bench_record(&values, &bench, room, 6000, &r.recorded, NULL), UP_BAD_OPTION);
}

/* Alone on the bench the motor carries its friction and the drag of its output shaft through the worm. */
static void a_free_motor_draws_its_friction(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_CROSSED_ARMS, &values, &bench);
    values.ripple = 0;
    bench.mounting = UP_MOUNTING_MOTOR_FREE;
    bench.run.time_limit = 3;
    up_bench_leads(&bench, 1, 12, 4);
    up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3);
    up_bench_add(&bench, UP_SIGNAL_SPEED, UP_PROBE_ARMATURE, 1e3);
    reel r;
    record(&r, &values, &bench);
    const size_t late = r.recorded.track[0].count - 1;
    const double i = r.recorded.track[0].value[late], w = r.recorded.track[1].value[late];
    up_door door;
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    const double loss = up_worm_loss_share(&door, up_worm_friction_of(&door, w), 0);
    const double torque = values.motor_friction + values.motor_viscous * w +
                          values.output_drag / values.wheel_teeth * values.worm_starts * (1 + loss);
    near(i, torque / values.torque_constant, 0.01 * i);
    free(r.room);
}

static void without_glass_it_runs_lighter_and_every_mounting_runs_for_every_family(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        double mean[UP_MOUNTING_COUNT];
        for (int m = 0; m < UP_MOUNTING_COUNT; m++) {
            up_values values;
            up_bench bench;
            typical((up_family)family, &values, &bench);
            bench.mounting = (up_mounting)m;
            bench.run.time_limit = 2;
            up_bench_leads(&bench, 1, 12, 4);
            up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3);
            reel r;
            record(&r, &values, &bench);
            mean[m] = mean_of(r.recorded.track[0].value + 1000, 500);
            free(r.room);
        }
        assert_true(mean[UP_MOUNTING_GLASS_OFF] < 0.7 * mean[UP_MOUNTING_IN_DOOR]);
        assert_true(mean[UP_MOUNTING_MOTOR_FREE] < mean[UP_MOUNTING_GLASS_OFF]);
        assert_true(mean[UP_MOUNTING_ROTOR_LOCKED] > 3 * mean[UP_MOUNTING_IN_DOOR]);
    }
}

static void opening_by_the_controller_draws_the_other_way(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_RACK, &values, &bench);
    up_bench_one_touch(&bench, -1, values.glass_travel);
    plain(&bench, 1e3);
    up_bench_add(&bench, UP_SIGNAL_POSITION, UP_PROBE_GLASS, 1e3);
    up_bench_add(&bench, UP_SIGNAL_VOLTAGE, UP_PROBE_BATTERY, 1e3);
    up_bench_add(&bench, UP_SIGNAL_VOLTAGE, UP_PROBE_CONTROLLER, 1e3);
    reel r;
    record(&r, &values, &bench);
    assert_int_equal(r.outcome.end, UP_END_OPENED);
    near(r.recorded.track[2].value[5999], 0, 0.01); /* it stands wound up on its stop */
    near(mean_of(r.recorded.track[1].value + 1000, 1000), -r.outcome.running_current, 0.2 * r.outcome.running_current);
    assert_true(r.recorded.track[0].value[1500] < -10);
    near(r.recorded.track[3].value[100], values.supply_voltage, 1e-9);
    near(r.recorded.track[3].value[1500],
         values.supply_voltage + values.supply_resistance * r.recorded.track[1].value[1500], 1e-9); /* drawn is -i */
    up_door door;
    assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
    near(r.recorded.track[4].value[1500],
         values.supply_voltage + door.source_resistance * r.recorded.track[1].value[1500], 1e-9);
    free(r.room);
}

/* ---- leads ------------------------------------------------------------------------------------------------------- */

static int changes(const up_track *track) {
    int count = 0;
    for (size_t k = 1; k < track->count; k++) {
        count += (track->value[k] > 0.5) != (track->value[k - 1] > 0.5);
    }
    return count;
}

static int edges_seen(up_values *values, up_bench *bench, uint64_t *passed) {
    bench->channels = 0;
    up_bench_add(bench, UP_SIGNAL_PULSES, UP_PROBE_ENCODER, 20e3);
    reel r;
    record(&r, values, bench);
    const int seen = changes(&r.recorded.track[0]);
    *passed = r.outcome.edges;
    free(r.room);
    return seen;
}

static void the_encoder_lead_changes_with_each_edge_that_arrives(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    uint64_t passed;
    typical(UP_FAMILY_CROSSED_ARMS, &values, &bench);
    int seen = edges_seen(&values, &bench, &passed);
    assert_int_equal(seen, (int)passed);
    assert_true(passed > 500);
    bench.line.doubled_share = 0.1; /* each twice more: 20 % more changes, by chance */
    seen = edges_seen(&values, &bench, &passed);
    const double more = seen - (double)passed;
    near(more / (double)passed, 0.2, 4 * 2 * sqrt(0.09 / (double)passed));
    bench.line.doubled_share = 0;
    bench.run.faults.doubled_edge = 100;
    seen = edges_seen(&values, &bench, &passed);
    assert_int_equal(seen, (int)passed + 2);
    bench.run.faults.doubled_edge = 0;
    bench.run.faults.lost_edge = 100;
    seen = edges_seen(&values, &bench, &passed);
    assert_int_equal(seen, (int)passed - 1);
    bench.run.faults.lost_edge = 0;
    up_bench_leads(&bench, 1, 12.6, 5); /* nobody reverses */
    values.encoder_missed = 0.05;
    seen = edges_seen(&values, &bench, &passed);
    const double missing = 1 - seen / (double)passed;
    assert_true(passed > 500);
    near(missing, 0.05, 4 * sqrt(0.05 * 0.95 / (double)passed));
}

static void the_limit_contact_opens_near_the_top_unless_it_is_stuck(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_RACK, &values, &bench);
    up_bench_add(&bench, UP_SIGNAL_PULSES, UP_PROBE_LIMIT, 1e3);
    up_bench_add(&bench, UP_SIGNAL_POSITION, UP_PROBE_GLASS, 1e3);
    reel r;
    record(&r, &values, &bench);
    assert_int_equal(changes(&r.recorded.track[0]), 1);
    size_t k = 0;
    while (r.recorded.track[0].value[k] > 0.5) {
        k++;
    }
    near(r.recorded.track[1].value[k], values.glass_travel - 0.012, 0.005); /* less the regulator's give */
    assert_int_equal(r.recorded.track[0].on_glass, 1);
    free(r.room);
    bench.run.faults.limit_stuck = 1;
    record(&r, &values, &bench);
    near(mean_of(r.recorded.track[0].value, r.recorded.track[0].count), 0, 0);
    free(r.room);
}

/* No two edges nearer than half of the one before lasted. */
static void assert_no_doubles(const up_track *track) {
    double last = 0, before = 0;
    int count = 0;
    for (size_t k = 1; k < track->count; k++) {
        if ((track->value[k] > 0.5) != (track->value[k - 1] > 0.5)) {
            assert_true(count < 2 || (double)k - last > 0.5 * before); /* the first comes out of standing still */
            before = (double)k - last;
            last = (double)k;
            count++;
        }
    }
    assert_true(count > 500);
}

static void a_gear_that_lets_go_leaves_the_motor_running_free(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_CROSSED_ARMS, &values, &bench);
    up_bench_leads(&bench, 1, 12.6, 4.5);
    values.ripple = 0;
    bench.slip_travel = 0.2;
    up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3);
    up_bench_add(&bench, UP_SIGNAL_SPEED, UP_PROBE_ARMATURE, 1e3);
    up_bench_add(&bench, UP_SIGNAL_POSITION, UP_PROBE_GLASS, 1e3);
    up_bench_add(&bench, UP_SIGNAL_POSITION, UP_PROBE_ARMATURE, 1e3);
    up_bench_add(&bench, UP_SIGNAL_PULSES, UP_PROBE_ENCODER, 20e3);
    reel r, alone;
    record(&r, &values, &bench);
    size_t k = 0;
    while (r.recorded.track[2].value[k] < 0.2) {
        k++;
    }
    const double *speed = r.recorded.track[1].value, *angle = r.recorded.track[3].value;
    assert_no_doubles(&r.recorded.track[4]);
    near(speed[k + 1], speed[k - 1], 0.05 * speed[k]); /* no jump */
    for (size_t j = 1; j < r.recorded.track[3].count; j++) {
        assert_true(angle[j] - angle[j - 1] > -1e-3 && angle[j] - angle[j - 1] < 0.9);
    }
    bench.slip_travel = UP_ABSENT;
    bench.mounting = UP_MOUNTING_MOTOR_FREE;
    record(&alone, &values, &bench);
    near(r.recorded.track[0].value[4000], alone.recorded.track[0].value[4000], 0.02);
    near(speed[4000], alone.recorded.track[1].value[4000], 1);
    near(r.recorded.track[2].value[4000], 0.2, 1e-3);
    near(r.recorded.track[0].value[5000], 0, 1e-9); /* the hand let go at 4.5 s */
    free(r.room);
    free(alone.room);
}

/* ---- instruments ------------------------------------------------------------------------------------------------- */

enum { READINGS = 20000 };

static void show(const up_channel *channel, double frequency, double amplitude, double *value, up_track *track) {
    up_channel_memory memory;
    up_channel_begin(&memory, channel, 1e-5, 7, 1, value, READINGS);
    for (int k = 0; k <= 10 * READINGS; k++) {
        up_channel_feed(&memory, 1e-5 * k, amplitude * sin(2 * pi * frequency * 1e-5 * k));
    }
    up_channel_end(&memory, 0, track);
    assert_int_equal(track->count, READINGS);
}

static double deviation(const double *value, size_t count) {
    const double mean = mean_of(value, count);
    double sum = 0;
    for (size_t k = 0; k < count; k++) {
        sum += (value[k] - mean) * (value[k] - mean);
    }
    return sqrt(sum / (double)count);
}

static void bandwidth_noise_steps_and_range_are_as_set(void **state) {
    (void)state;
    static double value[READINGS];
    up_track track;
    const up_channel bare = {.signal = UP_SIGNAL_CURRENT, .rate = 10e3};
    up_channel c = bare;
    show(&c, 400, 1, value, &track);
    near(deviation(value, READINGS), sqrt(0.5), 1e-3);
    assert_true(isnan(track.low_clip) && isnan(track.high_clip) && isnan(track.step));
    c.bandwidth = 400; /* -3 dB: half the power */
    show(&c, 400, 1, value, &track);
    near(deviation(value + READINGS / 2, READINGS / 2), 0.5, 2e-3);
    c = bare;
    c.noise = 0.1;
    c.offset = 2;
    show(&c, 400, 0, value, &track);
    near(deviation(value, READINGS), 0.1, 0.1 * 4 / sqrt(2.0 * READINGS));
    near(mean_of(value, READINGS), 2, 0.1 * 4 / sqrt(READINGS));
    c = bare;
    c.step = 0.25; /* of a sine many steps high: step / sqrt(12) of noise, W. R. Bennett 1948 (from memory) */
    c.gain_error = 0.01;
    show(&c, 17.3, 50, value, &track);
    double sum = 0;
    for (int k = 0; k < READINGS; k++) {
        const double error = value[k] - 50 * 1.01 * sin(2 * pi * 17.3 * 1e-4 * k);
        near(value[k] / 0.25, round(value[k] / 0.25), 1e-9);
        sum += error * error;
    }
    near(sqrt(sum / READINGS), 0.25 / sqrt(12), 0.003);
    near(track.step, 0.25, 0);
    c = bare;
    c.low = -3;
    c.high = 2;
    show(&c, 10, 2.5, value, &track);
    assert_true(isnan(track.low_clip));
    near(track.high_clip, 2, 0);
}

static void averages_gaps_skew_and_hum_are_as_set(void **state) {
    (void)state;
    static double value[READINGS];
    up_track track;
    up_channel c = {.signal = UP_SIGNAL_CURRENT, .rate = 10e3, .averaged = 1};
    show(&c, 2500, 1, value, &track); /* four readings a period: a mean over a quarter wave is sinc(1/4) = 0.9003 */
    near(deviation(value + 4, READINGS - 4), sqrt(0.5) * sin(pi / 4) / (pi / 4), 2e-3);
    c = (up_channel){.signal = UP_SIGNAL_CURRENT, .rate = 10e3, .lost_share = 0.2, .skew = 5e-5};
    show(&c, 100, 1, value, &track);
    int lost = 0;
    for (int k = 0; k < READINGS; k++) {
        lost += isnan(value[k]);
        if (!isnan(value[k])) {
            near(value[k], sin(2 * pi * 100 * (1e-4 * k + 5e-5)), 1e-4);
        }
    }
    near(lost / (double)READINGS, 0.2, 4 * sqrt(0.16 / READINGS));
    near(track.start, 5e-5, 0);
    c = (up_channel){.signal = UP_SIGNAL_VOLTAGE, .rate = 10e3, .hum = 0.3, .hum_frequency = 50};
    show(&c, 100, 0, value, &track);
    near(deviation(value, READINGS), 0.3 * sqrt(0.5), 1e-3);
}

static void the_same_seed_gives_the_same_bytes_and_another_only_other_noise(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_SINGLE_ARM, &values, &bench);
    up_bench_default(&bench);
    bench.seed = 11;
    up_bench_connect(&bench, UP_INSTRUMENT_CARD);
    reel a, b;
    record(&a, &values, &bench);
    record(&b, &values, &bench);
    assert_int_equal(a.size, b.size);
    assert_memory_equal(a.room, b.room, a.size * sizeof *a.room);
    free(b.room);
    bench.brushes = (up_brushes){0};
    bench.channel[1].noise = 0.05;
    bench.channel[1].step = 0;
    free(a.room);
    record(&a, &values, &bench);
    bench.seed = 12; /* channels are what they were: drawn when they were connected */
    record(&b, &values, &bench);
    double sum = 0;
    const up_track *x = &a.recorded.track[1], *y = &b.recorded.track[1];
    for (size_t k = 0; k < x->count; k++) {
        sum += (x->value[k] - y->value[k]) * (x->value[k] - y->value[k]);
    }
    near(sqrt(sum / (double)x->count), 0.05 * sqrt(2), 0.05 * sqrt(2) * 4 / sqrt(2.0 * (double)x->count));
    free(a.room);
    free(b.room);
}

static void what_makes_no_sense_is_refused(void **state) {
    (void)state;
    up_values values;
    up_bench bench;
    typical(UP_FAMILY_SINGLE_ARM, &values, &bench);
    up_recorded recorded;
    double room[1];
    assert_int_equal(up_bench_room(&bench), 0); /* nothing is connected */
    assert_int_equal(up_bench_record(&values, &bench, room, 1, &recorded, NULL), UP_BAD_OPTION);
    up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3);
    assert_int_equal(up_bench_room(&bench), 6000);
    assert_int_equal(up_bench_record(&values, &bench, room, 1, &recorded, NULL), UP_MEMORY_TOO_SMALL);
    bench.channel[0].rate = 0;
    assert_int_equal(up_bench_room(&bench), 0);
    for (int k = bench.channels; k < UP_TRACKS_MAX; k++) {
        assert_non_null(up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3));
    }
    assert_null(up_bench_add(&bench, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 1e3));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_leads_take_what_the_ledger_says),
        cmocka_unit_test(the_ripple_is_where_its_law_puts_it),
        cmocka_unit_test(ripple_on_the_voltage_is_the_sources_resistance),
        cmocka_unit_test(a_dead_segment_beats_with_the_shaft_and_keeps_the_mean),
        cmocka_unit_test(lines_of_the_shaft_and_below_the_ripple_have_their_size_and_place),
        cmocka_unit_test(a_locked_rotor_draws_what_resistances_leave),
        cmocka_unit_test(a_limited_supply_shows_its_limit_and_the_windings_voltage),
        cmocka_unit_test(a_free_motor_draws_its_friction),
        cmocka_unit_test(without_glass_it_runs_lighter_and_every_mounting_runs_for_every_family),
        cmocka_unit_test(opening_by_the_controller_draws_the_other_way),
        cmocka_unit_test(the_encoder_lead_changes_with_each_edge_that_arrives),
        cmocka_unit_test(the_limit_contact_opens_near_the_top_unless_it_is_stuck),
        cmocka_unit_test(a_gear_that_lets_go_leaves_the_motor_running_free),
        cmocka_unit_test(bandwidth_noise_steps_and_range_are_as_set),
        cmocka_unit_test(averages_gaps_skew_and_hum_are_as_set),
        cmocka_unit_test(the_same_seed_gives_the_same_bytes_and_another_only_other_noise),
        cmocka_unit_test(what_makes_no_sense_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

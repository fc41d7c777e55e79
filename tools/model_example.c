/* Prints the worked examples of docs/model.md and the accuracy table of docs/numerics.md as Markdown, from the core as it
 * is built now.
 *
 * tools/renew-model-example compiles this, runs it and puts its output between the marks in these documents. By hand:
 *
 *     cc -std=c17 -O2 -ffp-contract=off -I . tools/model_example.c BUILD/libupstop_core.a BUILD/libupstop_detector.a \
 *         -lm -o example
 *     ./example         the examples of docs/model.md
 *     ./example -a      the table of accuracy and work of docs/numerics.md
 *
 * The door is the crossed-arms door with every entry at its typical value; a second implementation written from the
 * document compares its own numbers with these. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/base/up_math.h"
#include "core/door/door.h"
#include "core/sim/run.h"

enum { SAMPLES_MAX = 700000, EVENTS_MAX = 400, EDGES_MAX = 4000 };

/* Samples this close give travel and speed at any event by a cubic, whatever the solver's steps are. */
static const double SPACING = 1e-4;

typedef struct place {
    double travel, speed;
} place;

typedef struct record {
    place sample[SAMPLES_MAX];
    size_t samples;
    up_event event[EVENTS_MAX];
    size_t events;
    double edge[EDGES_MAX];
    int level[EDGES_MAX];
    size_t edges;
} record;

static void keep_sample(void *context, const up_sample *sample) {
    record *r = context;
    if (r->samples < SAMPLES_MAX) {
        r->sample[r->samples++] = (place){sample->travel, sample->speed};
    }
}

static void keep_event(void *context, const up_event *event) {
    record *r = context;
    if (r->events < EVENTS_MAX) {
        r->event[r->events++] = *event;
    }
}

static void keep_edge(void *context, double time, int level) {
    record *r = context;
    if (r->edges < EDGES_MAX) {
        r->edge[r->edges] = time;
        r->level[r->edges] = level;
        r->edges++;
    }
}

static double travel_at(const record *r, double time, double otherwise) {
    const size_t i = (size_t)(time / SPACING);
    if (i + 1 >= r->samples) {
        return otherwise;
    }
    const place a = r->sample[i];
    const place b = r->sample[i + 1];
    const double u = time / SPACING - (double)i;
    const double w = 1.0 - u;
    const double rise = b.travel - a.travel;
    return a.travel + u * rise + u * w * (w * (SPACING * a.speed - rise) + u * (rise - SPACING * b.speed));
}

/* ---- constants --------------------------------------------------------------------------------------------------- */

static void row(const char *symbol, double value, const char *unit) {
    printf("| %s | %.12g | %s |\n", symbol, value, unit);
}

/* Every entry of the list that has a value, SI units; words by their number. */
static void print_entries(const up_values *values) {
    static const char *const key[] = {
#define UP_NUMBER(id, name, ...) name,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    static const char *const choice[] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, name, words, ...) name " (" words ")",
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    const int bit = 1 << values->family;
    printf("\nEntries of the door, SI units (kelvin, radian); no drag points:\n\n```\n");
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        if (up_number_families((up_number)i) & bit) {
            if (up_is_absent(values->number[i])) {
                if (i < UP_NUMBER_measured_raise_time) {
                    printf("%-36s left out\n", key[i]);
                }
            } else {
                printf("%-36s %.17g\n", key[i], values->number[i]);
            }
        }
    }
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        printf("%s = %d\n", choice[i], values->choice[i]);
    }
    printf("```\n");
}

static void print_electrical(const up_door *d) {
    row("R_s, source resistance", d->source_resistance, "ohm");
    row("R_b, bridge", d->bridge_resistance, "ohm");
    row("R_20, winding", d->winding_resistance, "ohm");
    row("R_p, protector", d->protector_resistance, "ohm");
    row("G_wc", d->winding_to_case, "W/K");
    row("G_ca", d->case_to_air, "W/K");
    row("G_pc", d->protector_to_case, "W/K");
}

static void print_train(const up_door *d) {
    row("N, worm ratio", d->worm_ratio, "1");
    row("cos phi_n", d->worm_cosine, "1");
    row("tan lambda", d->worm_tangent, "1");
    row("S, tan lambda + cot lambda", d->worm_sum, "1");
    row("s_w, worm slide", d->worm_slide, "s/rad");
    row("J_a", d->armature_inertia, "kg m2");
    row("delta_0, half play", d->damper_half_play, "rad");
    row("k_u", d->damper_up, "N m/rad");
    row("K_u", d->damper_up_limit, "N m/rad");
    row("k_d", d->damper_down, "N m/rad");
    row("K_d", d->damper_down_limit, "N m/rad");
    row("delta_d", d->damper_down_stop, "rad");
    row("J_o", d->output_inertia, "kg m2");
    row("l, output loss", d->output_loss, "1");
    row("theta_top", d->top_angle, "rad");
    row("theta_count", d->counted_top, "rad");
    row("k, regulator", d->stiffness, "N/m");
    up_lift_point point;
    up_lift(d, 0.0, &point);
    row("r(0)", point.ratio, "m/rad");
    up_lift(d, d->top_angle, &point);
    row("r(theta_top)", point.ratio, "m/rad");
}

static void print_glass(const up_door *d) {
    row("W(0)", up_glass_weight(d, 0.0), "N");
    row("W(X)", up_glass_weight(d, d->travel), "N");
    row("D(0)", up_glass_drag(d, 0.0, NULL), "N");
    row("D(X)", up_glass_drag(d, d->travel, NULL), "N");
    row("tau_l = 2 mu_c / guide", d->tilt_share, "1/m");
    row("k_h, header", d->header_stiffness, "N/m");
    row("x_h, header start", d->header_start, "m");
    row("g_l, limit gear", d->limit_gear, "1");
    row("lambda_open", d->limit_open_angle, "rad");
    row("p, edge spacing", d->edge_spacing, "rad");
    row("edges per turn", d->edges_per_turn, "1");
    for (int i = 0; i < d->edges_per_turn && i < 4; i++) {
        char name[16];
        (void)snprintf(name, sizeof name, "o[%d]", i);
        row(name, d->edge_offset[i], "spacing");
    }
}

static void print_settings(const up_door *d) {
    const up_control_settings *c = &d->control;
    const up_detector_settings *t = &c->detector;
    printf("\n| setting | value | | setting | value |\n| --- | --- | --- | --- | --- |\n");
    printf("| tick_us | %u | | window | %u |\n", c->tick_us, t->window);
    printf("| debounce_ticks | %u | | speed_numerator | %u |\n", c->debounce_ticks, t->speed_numerator);
    printf("| stall_us | %u | | free_speed_gain | %u |\n", c->stall_us, t->free_speed_gain);
    printf("| reverse_pause_us | %u | | brush_mv | %u |\n", c->reverse_pause_us, t->brush_mv);
    printf("| end_zone_edges | %d | | zone_shift | %u |\n", c->end_zone_edges, t->zone_shift);
    printf("| top_band_edges | %d | | confirm_edges | %u |\n", c->top_band_edges, t->confirm_edges);
    printf("| reverse_edges | %d | | mask_edges | %u |\n", c->reverse_edges, t->mask_edges);
    printf("| limit_edges | %d | | learning_edges | %u |\n", c->limit_edges, t->learning_edges);
    printf("| stroke_edges | %d | | threshold | %d |\n", c->stroke_edges, t->threshold);
    printf("| two_channels | %u | | supply_edges | %u |\n", c->two_channels, t->supply_edges);
    printf("| reversals_allowed | %u | | lag | %u |\n", c->reversals_allowed, t->lag);
    printf("| back_off_us | %u | | stretch_q | %u |\n", c->back_off_us, t->stretch);
    printf("| fine_shift | %u | | taught_load | %d |\n", t->fine_shift, t->taught_load);
    printf("| coarse_shift | %u | | bound | %d |\n", t->coarse_shift, t->bound);
    printf("| weak_mv | %u | | soon_us | %u |\n", c->weak_mv, t->soon_us);
    printf("\ngain[0..16] =");
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        printf(" %u", t->gain[i]);
    }
    printf("\n");
}

static void print_profile(const char *name, const int16_t *knot) {
    printf("\n%s[0..48] =", name);
    for (int i = 0; i < UP_DETECTOR_KNOTS; i++) {
        printf("%s%d", i > 0 && i % 16 == 0 ? "\n" : " ", knot[i]);
    }
    printf("\n");
}

static void print_observer(const up_detector_settings *t) {
    printf("\n| setting | value | | setting | value |\n| --- | --- | --- | --- | --- |\n");
    printf("| lag | %u | | current_gain | %u |\n", t->lag, t->current_gain);
    printf("| step_max_us | %u | | per_acceleration | %u |\n", t->step_max_us, t->per_acceleration);
    printf("| speed_gain | %u | | load_gain | %u |\n", t->speed_gain, t->load_gain);
    printf("| per_filter | %u | | | |\n", t->per_filter);
}

/* ---- runs ---------------------------------------------------------------------------------------------------------- */

static void print_edges(const record *r) {
    printf("\n| edge | time / ms | level after it |\n| --- | --- | --- |\n");
    for (size_t i = 0; i < r->edges; i++) {
        if (i < 5 || i == 99 || i + 1 == r->edges) {
            printf("| %zu | %.5f | %d |\n", i + 1, 1e3 * r->edge[i], r->level[i]);
        }
    }
}

static void print_events(const record *r) {
    printf("\n| time / ms | travel / mm | event |\n| --- | --- | --- |\n");
    for (size_t i = 0; i < r->events; i++) {
        const up_event *e = &r->event[i];
        if (e->kind != UP_EVENT_RUN_ENDS) {
            const double travel = 1e3 * travel_at(r, e->time, e->travel);
            printf("| %.4f | %.4f | %s |\n", 1e3 * e->time, fabs(travel) < 5e-5 ? 0.0 : travel, up_event_name(e->kind));
        }
    }
}

static void print_figure(const char *name, double value, const char *unit) {
    if (value == value) {
        printf("| %s | %.8g | %s |\n", name, fabs(value) < 1e-12 ? 0.0 : value, unit);
    } else {
        printf("| %s | absent | %s |\n", name, unit);
    }
}

static void print_outcome(const up_outcome *o) {
    printf("\n| outcome | value | unit |\n| --- | --- | --- |\n");
    printf("| end | %s | |\n", up_end_name(o->end));
    print_figure("time", o->time, "s");
    print_figure("moving_time", o->moving_time, "s");
    print_figure("start_delay", o->start_delay, "s");
    print_figure("final_travel", o->final_travel, "m");
    print_figure("peak_current", o->peak_current, "A");
    print_figure("running_current", o->running_current, "A");
    print_figure("running_speed", o->running_speed, "m/s");
    print_figure("peak_rod_force", o->peak_rod_force, "N");
    print_figure("peak_rod_time", o->peak_rod_time, "s");
    print_figure("detection_time", o->detection_time, "s");
    print_figure("reversal_travel", o->reversal_travel, "m");
    print_figure("reversed_distance", o->reversed_distance, "m");
    print_figure("peak_stop_force", o->peak_stop_force, "N");
    print_figure("peak_winding_temperature", o->peak_winding_temperature, "K");
    print_figure("peak_detector_excess", o->peak_detector_excess, "N");
    print_figure("peak_excess_travel", o->peak_excess_travel, "m");
    printf("| edges | %llu | |\n| reversals | %d | |\n| protector_trips | %d | |\n", (unsigned long long)o->edges,
           o->reversals, o->protector_trips);
    for (int n = 0; n < UP_LEDGER_COUNT; n++) {
        print_figure(up_ledger_name((up_ledger_account)n), o->ledger[n], "J");
    }
}

static int run(const up_door *door, up_run_options options, const char *title, int with_edges) {
    static record r;
    r.samples = r.events = r.edges = 0;
    const up_sink sink = {.context = &r, .sample = keep_sample, .event = keep_event, .edge = keep_edge};
    up_outcome outcome;
    const char *tolerance = getenv("MODEL_EXAMPLE_TOLERANCE"); /* to see how far the digits are settled */
    options.tolerance = tolerance != NULL ? strtod(tolerance, NULL) : 1e-9;
    options.sample_interval = SPACING;
    const up_status status = up_run(door, &options, &sink, &outcome, NULL);
    if (status != UP_OK) {
        fprintf(stderr, "%s: %s\n", title, up_status_text(status));
        return 0;
    }
    printf("\n#### %s\n", title);
    if (with_edges) {
        print_edges(&r);
    }
    print_events(&r);
    print_outcome(&outcome);
    return 1;
}

static int print_runs(const up_door *door) {
    up_run_options o;
    up_run_options_default(&o);
    o.rod = 1;
    o.rod_opening = 0.120;
    o.rod_stiffness = 10e3;
    int good = run(door, o, "Run A: closing from the down-stop, rod of 10 N/mm at an opening of 120 mm", 1);
    up_run_options_default(&o);
    good &= run(door, o, "Run B: closing from the down-stop, nothing in the way", 1);
    up_run_options_default(&o);
    o.start_travel = 0.300;
    o.switch_step[0].position = UP_SWITCH_LOWER_TOUCH;
    return good & run(door, o, "Run C: lowering from a travel of 300 mm, one-touch", 1);
}

/* 12.6 V straight on the motor leads, raise, from a travel of 380 mm. */
static up_run_options leads_of(const up_door *door) {
    up_run_options o;
    up_run_options_default(&o);
    o.temperature = door->temperature;
    o.start_travel = 0.380;
    o.leads_direct = 1;
    o.switch_step[0].position = UP_SWITCH_RAISE_HELD;
    return o;
}

static int print_at_other_temperatures(const up_values *values) {
    static up_door d;
    if (up_door_prepare(values, 263.15, &d) != UP_OK) {
        return 0;
    }
    printf("\nThe same door at 263.15 K, where it differs:\n\n| constant | value | unit |\n| --- | --- | --- |\n");
    row("R_s, source resistance", d.source_resistance, "ohm");
    row("D(0)", up_glass_drag(&d, 0.0, NULL), "N");
    row("D(X)", up_glass_drag(&d, d.travel, NULL), "N");
    row("k_h, header", d.header_stiffness, "N/m");
    up_run_options o = leads_of(&d);
    o.supply_steps = 1;
    o.supply_step[0] = (up_supply_step){0.3, 13.5};
    o.time_limit = 2.0;
    int good = run(&d, o, "Run D: 263.15 K, leads direct, raise, from 380 mm; 13.5 V from 0.3 s on; time limit 2 s", 1);
    if (up_door_prepare(values, 323.15, &d) != UP_OK) {
        return 0;
    }
    o = leads_of(&d);
    o.time_limit = 60.0;
    good &= run(&d, o, "Run E: 323.15 K, leads direct, raise, from 380 mm; time limit 60 s", 0);
    return good;
}

/* ---- other doors ---------------------------------------------------------------------------------------------------- */

/* Entries in which a family's typical values differ from those of the crossed arms. */
static void print_differences(const up_values *values, const up_values *base) {
    static const char *const key[] = {
#define UP_NUMBER(id, name, ...) name,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
    };
    const int bit = 1 << values->family;
    const int base_bit = 1 << base->family;
    for (int i = 0; i < UP_NUMBER_COUNT; i++) {
        const int families = up_number_families((up_number)i);
        const int known = families & base_bit && values->number[i] == base->number[i];
        if (families & bit && !up_is_absent(values->number[i]) && !known) {
            printf("%-36s %.17g\n", key[i], values->number[i]);
        }
    }
}

static int print_family(up_family family, const up_values *base, const char *name) {
    up_values values;
    static up_door d;
    up_values_fallback(family, &values);
    if (up_door_prepare(&values, UP_ROOM_TEMPERATURE, &d) != UP_OK) {
        return 0;
    }
    printf("\nThe typical %s door at 293.15 K; entries that differ from the crossed-arms door or are new:\n\n```\n",
           name);
    print_differences(&values, base);
    printf("```\n\n| constant | value | unit |\n| --- | --- | --- |\n");
    row("theta_top", d.top_angle, "rad");
    row("theta_count", d.counted_top, "rad");
    row("J_o", d.output_inertia, "kg m2");
    row("l, output loss", d.output_loss, "1");
    row("k, regulator", d.stiffness, "N/m");
    up_lift_point point;
    up_lift(&d, 0.0, &point);
    row("r(0)", point.ratio, "m/rad");
    row("y(0)", point.lever, "m");
    row("lambda_open", d.limit_open_angle, "rad");
    print_settings(&d);
    char title[100];
    (void)snprintf(title, sizeof title, "Run %s: closing from the down-stop, rod of 20 N/mm at an opening of 60 mm",
                   name);
    up_run_options o;
    up_run_options_default(&o);
    o.rod = 1;
    o.rod_opening = 0.060;
    o.rod_stiffness = 20e3;
    return run(&d, o, title, 1);
}

/* One door and run that turns on what the others leave off. */
static int print_odd_run(const up_values *base) {
    up_values v = *base;
    static up_door d;
    v.damper_one_way = 1;
    v.channel_state = UP_CHANNEL_WET;
    v.encoder_shaft = UP_ENCODER_ON_PINION;
    v.encoder_channels = 1;
    v.encoder_pulses = 90;
    v.encoder_missed = 0.02;
    v.detect_force = 400.0;
    v.protection = UP_PROTECTION_NONE;
    v.balance_bottom = 4.0;
    v.balance_top = 2.0;
    v.drag_count = 3;
    v.drag_position[0] = 0.10, v.drag_position[1] = 0.15, v.drag_position[2] = 0.25;
    v.drag_force[0] = 0.0, v.drag_force[1] = 12.0, v.drag_force[2] = -4.0;
    if (up_door_prepare(&v, UP_ROOM_TEMPERATURE, &d) != UP_OK) {
        return 0;
    }
    printf(
        "\nThe crossed-arms door again, with: damper one-way, channels wet, encoder on the pinion with two channels, "
        "90\n"
        "pulses per turn and 2 %% of the edges lost, detector threshold 400 N, no protector, counterbalance 4 N m at\n"
        "the bottom and 2 N m at the top, drag points (0.10 m, 0 N), (0.15 m, 12 N), (0.25 m, -4 N).\n");
    print_settings(&d);
    up_run_options o;
    up_run_options_default(&o);
    o.position_lost = 1;
    o.push_force = -15.0;
    o.seed = 5;
    o.start_travel = 0.05;
    o.switch_steps = 4;
    o.switch_step[0] = (up_switch_step){0.0, UP_SWITCH_RAISE_TOUCH};
    o.switch_step[1] = (up_switch_step){4.0, UP_SWITCH_FREE};
    o.switch_step[2] = (up_switch_step){4.2, UP_SWITCH_LOWER_HELD};
    o.switch_step[3] = (up_switch_step){5.0, UP_SWITCH_FREE};
    return run(&d, o,
               "Run F: from 50 mm, position lost, seed 5, push -15 N; raise kept pulled from 0 s, "
               "free at 4.0 s, lower held from 4.2 s to 5.0 s",
               1);
}

/* The observer, shaken, by late ticks and lost edges; then what a closing teaches; then a dead encoder. */
static int print_detector_runs(const up_values *base) {
    static const double push[] = {0, 10, -10, 20, -20, 15, -5, 0}, press[] = {0, 4, 8, 4, 0, 6, 3, 0};
    up_values v = *base;
    static up_door d;
    v.detect_principle = UP_BY_OBSERVER;
    v.encoder_missed = 0.01;
    if (up_door_prepare(&v, UP_ROOM_TEMPERATURE, &d) != UP_OK) {
        return 0;
    }
    printf("\nThe crossed-arms door with the observer and 1 %% of the edges lost:\n");
    print_observer(&d.control.detector);
    print_profile("profile", d.control.detector.profile);
    const up_shaking shaking = {.start = 0.5, .spacing = 0.1, .count = 8, .push = push, .press = press};
    up_detector_memory memory;
    up_detector_memory_start(&memory, &d.control.detector);
    up_run_options o;
    up_run_options_default(&o);
    o.seed = 5;
    o.shaking = &shaking;
    o.faults.tick_jitter = 0.001;
    o.memory = &memory;
    int good =
        run(&d, o,
            "Run G: from the down-stop, seed 5, ticks up to 1 ms late, shaken: t_s 0.5 s, Delta 0.1 s, p 0 10 -10 20 "
            "-20 15 -5 0 N, Q 0 4 8 4 0 6 3 0 N",
            1);
    print_profile("memory afterwards", memory.profile);
    o.shaking = NULL;
    o.memory = NULL;
    o.rod = 1;
    o.rod_opening = 0.120;
    o.rod_stiffness = 10e3;
    o.faults.current_offset = -1.5;
    good &= run(
        &d, o, "Run H: the same not shaken, measured current 1.5 A too low, rod of 10 N/mm at an opening of 120 mm", 1);
    up_run_options_default(&o);
    o.faults.encoder_dead_time = 1.0;
    return good & run(&d, o, "Run I: from the down-stop, encoder dead from 1 s", 1);
}

/* ---- accuracy over work, for docs/numerics.md ------------------------------------------------------------------------ */

static void measure(const up_door *door, int rod, double tolerance, record *r, up_outcome *outcome,
                    up_run_counts *work) {
    r->samples = r->events = r->edges = 0;
    const up_sink sink = {.context = r, .edge = keep_edge};
    up_run_options o;
    up_run_options_default(&o);
    o.tolerance = tolerance;
    o.rod = rod;
    o.rod_opening = 0.120;
    o.rod_stiffness = 10e3;
    *work = (up_run_counts){0};
    if (up_run(door, &o, &sink, outcome, work) != UP_OK) {
        fprintf(stderr, "no run at a tolerance of %g\n", tolerance);
        exit(1);
    }
}

static void print_accuracy(const up_door *door, int rod) {
    static const double tolerance[] = {1e-3, 3e-4, 1e-4, 5e-5, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9};
    static record exact;
    static record r;
    up_outcome best;
    up_outcome outcome;
    up_run_counts work;
    measure(door, rod, 1e-12, &exact, &best, &work);
    printf("\n| tolerance | steps | rejected | locating | derivative calls | edge times, us | %s | ledger gap, J |\n",
           rod ? "peak force, N" : "stop force, N");
    printf("| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < sizeof tolerance / sizeof tolerance[0]; i++) {
        measure(door, rod, tolerance[i], &r, &outcome, &work);
        double worst = 0.0;
        for (size_t n = 0; n < r.edges && n < exact.edges; n++) {
            worst = fmax(worst, fabs(r.edge[n] - exact.edge[n]));
        }
        const double force =
            rod ? outcome.peak_rod_force - best.peak_rod_force : outcome.peak_stop_force - best.peak_stop_force;
        printf("| %g | %llu | %llu | %llu | %llu | ", tolerance[i], (unsigned long long)work.steps,
               (unsigned long long)work.rejected_steps, (unsigned long long)work.locating_steps,
               (unsigned long long)work.derivative_calls);
        if (r.edges == exact.edges) {
            printf("%.2g", 1e6 * worst);
        } else {
            printf("%zu for %zu edges", r.edges, exact.edges);
        }
        printf(" | %.2g | %.1g |\n", fabs(force), fabs(outcome.ledger_gap));
    }
}

int main(int count, char **arguments) {
    up_values values;
    static up_door door;
    const int accuracy = count > 1 && arguments[1][0] == '-' && arguments[1][1] == 'a';
    up_values_fallback(UP_FAMILY_CROSSED_ARMS, &values);
    if (up_door_prepare(&values, UP_ROOM_TEMPERATURE, &door) != UP_OK) {
        fprintf(stderr, "the typical crossed-arms door cannot be prepared\n");
        return 1;
    }
    if (accuracy) {
        printf("\nRun A of model.md, closing against a rod:\n");
        print_accuracy(&door, 1);
        printf("\nRun B, closing into the stop:\n");
        print_accuracy(&door, 0);
        printf("\n");
        return 0;
    }
    print_entries(&values);
    printf("\nConstants at 293.15 K:\n\n| constant | value | unit |\n| --- | --- | --- |\n");
    print_electrical(&door);
    print_train(&door);
    print_glass(&door);
    printf("\nIntegers of the controller and the detector:\n");
    print_settings(&door);
    const int good = print_runs(&door) && print_at_other_temperatures(&values) && print_odd_run(&values) &&
                     print_detector_runs(&values) && print_family(UP_FAMILY_SINGLE_ARM, &values, "single-arm") &&
                     print_family(UP_FAMILY_CABLE, &values, "cable") && print_family(UP_FAMILY_RACK, &values, "rack");
    return good ? 0 : 1;
}

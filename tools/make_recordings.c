/* Makes the recordings of examples/recordings: simulated runs of the example doors, written as workshop instruments write
 * them. Invented, every one; the files say so.
 *
 * tools/make-recordings compiles this and runs it:  ./make_recordings EXAMPLES FOLDER
 * Each recording is one function of the list at the end; the formats differ on purpose. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/bench/door_fault.h"
#include "analysis/spread.h"
#include "core/base/up_math.h"
#include "io/sheet.h"

#define INVENTED "Invented for the examples of upstop: a simulated run, no measurement"

typedef struct reel {
    up_values values; /* within the sheet's tolerances, not the sheet itself */
    up_bench bench;
    up_recorded recorded;
    up_outcome outcome;
    double *room;
} reel;

static int fail(const char *what, const char *why) {
    fprintf(stderr, "make_recordings: %s: %s\n", what, why);
    return 0;
}

/* ---- doors and runs ---------------------------------------------------------------------------------------------- */

/* One door of those the sheet allows; the same for the same number. */
static int draw_door(const char *examples, const char *name, uint64_t number, reel *r) {
    char path[4096];
    up_sheet sheet;
    up_findings findings = {0};
    (void)snprintf(path, sizeof path, "%s/%s.yaml", examples, name);
    const int bad = up_sheet_read_file(path, &sheet, &findings);
    const int good = bad == 0 && up_known_draw(&sheet.known, 2026, number, &r->values) == UP_OK;
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    up_bench_default(&r->bench);
    r->bench.seed = 1000 + number;
    r->bench.run.seed = (uint32_t)number;
    r->bench.brushes.shaft_order = 0.02;
    r->bench.brushes.noise = 0.006;
    return good || fail(path, "no door");
}

static up_channel *add(reel *r, up_signal signal, up_probe probe, double rate, double noise, double step) {
    up_channel *c = up_bench_add(&r->bench, signal, probe, rate);
    if (c == NULL) {
        abort(); /* a handful of channels each */
    }
    c->noise = noise;
    c->step = step;
    return c;
}

static void add_pulse_lead(reel *r, double rate) {
    up_channel *c = add(r, UP_SIGNAL_PULSES, UP_PROBE_ENCODER, rate, 0.03, 0.02);
    c->bandwidth = 4e3;
    c->level_low = 0.25;
    c->level_high = 4.9;
}

/* end: how the run has to end, for what the list in examples/recordings says of it; UP_END_COUNT: any way. */
static int run(reel *r, const char *name, up_end end) {
    const size_t size = up_bench_room(&r->bench);
    r->room = malloc((size + 1) * sizeof *r->room);
    if (r->room == NULL) {
        return fail(name, "no memory");
    }
    const up_status status = up_bench_record(&r->values, &r->bench, r->room, size, &r->recorded, &r->outcome);
    fprintf(stderr, "%-22s %s: %s, %.2f A while running\n", name, up_status_text(status), up_end_text(r->outcome.end),
            r->outcome.running_current);
    if (status == UP_OK && end != UP_END_COUNT && end != r->outcome.end) {
        return fail(name, "no longer ends as examples/recordings/README.md says");
    }
    return status == UP_OK;
}

static double value_of(const reel *r, int track, size_t k) {
    return r->recorded.track[track].value[k];
}

static size_t rows_of(const reel *r) {
    return r->recorded.track[0].count;
}

/* Time of a reading by the instrument's clock, s; channels in turns are all stamped with the first one's. */
static double time_of(const reel *r, size_t k) {
    return r->recorded.track[0].start + (double)k / r->bench.channel[0].rate;
}

/* ---- front door, bench run: oscilloscope, preamble above, times rounded ------------------------------------------ */

static int bench_run(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 4e3;
    if (!draw_door(examples, "front-door", 1, &r)) {
        return 0;
    }
    r.bench.run.temperature = UP_ZERO_CELSIUS + 21;
    r.bench.run.time_limit = 7.6;
    up_bench_leads_both(&r.bench, 1, 12.7, 3.35, 0.35);
    up_channel *u = add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate, 0.02, 0.08);
    u->low = -16;
    u->high = 16;
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.05, 0.1);
    i->bandwidth = 20e3;
    i->offset = 0.12; /* a clamp that was not set to zero */
    i->gain_error = 0.008;
    i->low = -25;
    i->high = 25;
    if (!run(&r, "front-door-bench-run", UP_END_COUNT)) {
        return 0;
    }
    fprintf(file, "Comment,\"" INVENTED "\"\n");
    fprintf(file, "Record Length,%zu,Points\nSample Interval,%.3E,s\nTrigger Point,%d,Points\n", rows_of(&r), 1 / rate,
            (int)(r.bench.zero_time * rate + 0.5));
    fputs("Channel,CH1,CH2\nFull Scale,32,50\nBits,8,8\n\n", file);
    fputs("TIME,CH1 motor leads,CH2 clamp\ns,V,A\n", file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "%.4E,%.2f,%.1f\n", time_of(&r, k), value_of(&r, 0, k), value_of(&r, 1, k));
    }
    free(r.room);
    return 1;
}

/* ---- front door's motor held in a vice: oscilloscope, one shot, microseconds ------------------------------------- */

static int motor_held(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 25e3;
    if (!draw_door(examples, "front-door", 1, &r)) {
        return 0;
    }
    r.bench.mounting = UP_MOUNTING_ROTOR_LOCKED;
    r.bench.zero_time = 0.02;
    r.bench.run.temperature = UP_ZERO_CELSIUS + 21;
    r.bench.run.time_limit = 0.16;
    up_bench_leads(&r.bench, 1, 4.1, 0.1);
    add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate, 0.008, 0.02);
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.02, 0.04);
    i->bandwidth = 20e3;
    i->offset = 0.12; /* the same clamp */
    i->gain_error = 0.008;
    if (!run(&r, "front-door-motor-held", UP_END_HELD)) {
        return 0;
    }
    fputs("\"" INVENTED "\"\ntime in us,leads in V,clamp in A\n", file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "%.0f,%.2f,%.2f\n", 1e6 * time_of(&r, k), value_of(&r, 0, k), value_of(&r, 1, k));
    }
    free(r.room);
    return 1;
}

/* ---- front door's motor alone, two voltages: no time column ------------------------------------------------------ */

static int motor_free(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 2500;
    if (!draw_door(examples, "front-door", 1, &r)) {
        return 0;
    }
    r.bench.mounting = UP_MOUNTING_MOTOR_FREE;
    r.bench.run.temperature = UP_ZERO_CELSIUS + 21;
    r.bench.run.time_limit = 3;
    up_bench_leads(&r.bench, 1, 6.2, 2.6);
    r.bench.run.supply_steps = 1;
    r.bench.run.supply_step[0] = (up_supply_step){1.5, 12.7};
    add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate, 0.004, 0.005);
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.01, 0.005);
    i->bandwidth = 1e3;
    i->offset = -0.01;
    if (!run(&r, "front-door-motor-free", UP_END_COUNT)) {
        return 0;
    }
    fputs("\"" INVENTED "\"\n\"2500 readings a second\"\nvoltage (V),current (A)\n", file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "%.3f,%.3f\n", value_of(&r, 0, k), value_of(&r, 1, k));
    }
    free(r.room);
    return 1;
}

/* ---- front door, cold morning: logger, semicolons, decimal commas, date and time --------------------------------- */

static void with_comma(FILE *file, const char *format, double value) {
    char text[64];
    (void)snprintf(text, sizeof text, format, value);
    for (char *c = text; *c != 0; c++) {
        *c = *c == '.' ? ',' : *c;
    }
    fputs(text, file);
}

static int cold_morning(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 1e3;
    if (!draw_door(examples, "front-door", 1, &r)) {
        return 0;
    }
    r.bench.seed = 4;
    r.bench.run.temperature = UP_ZERO_CELSIUS - 6;
    r.bench.run.open_voltage = 12.4;
    r.bench.run.time_limit = 5.2;
    up_channel *u = add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate, 0.006, 0.01);
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.015, 0.01);
    u->bandwidth = i->bandwidth = 1e3;
    i->offset = -0.03;
    add(&r, UP_SIGNAL_PULSES, UP_PROBE_ENCODER, rate, 0, 1);
    add(&r, UP_SIGNAL_TEMPERATURE, UP_PROBE_LEADS, rate, 0.05, 0.1);
    if (!run(&r, "cold-morning", UP_END_REVERSED)) {
        return 0;
    }
    fputs("\xEF\xBB\xBF\"" INVENTED "\"\r\n\"Logger\";\"workshop, four inputs\"\r\n", file);
    fputs("\"Date and time\";\"U motor [V]\";\"I motor [A]\";\"Encoder [1]\";\"Door [\xC2\xB0"
          "C]\"\r\n",
          file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        const unsigned ms = 41300 + (unsigned)k; /* after 07:12 */
        fprintf(file, "14.01.2026 07:12:%02u,%03u;", ms / 1000, ms % 1000);
        with_comma(file, "%.2f", value_of(&r, 0, k));
        with_comma(file, ";%.2f", value_of(&r, 1, k));
        fprintf(file, ";%.0f;", value_of(&r, 2, k));
        with_comma(file, "%.1f\r\n", value_of(&r, 3, k) - UP_ZERO_CELSIUS);
    }
    free(r.room);
    return 1;
}

/* ---- rear door, worn brushes: DAQ card, tabs, row of units, sample numbers instead of times ---------------------- */

static int worn_brushes(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 5e3;
    if (!draw_door(examples, "rear-door", 1, &r)) {
        return 0;
    }
    r.bench.run.temperature = UP_ZERO_CELSIUS + 17;
    r.bench.run.time_limit = 5;
    up_channel *u = add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, rate, 0.004, 0.001);
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.01, 0.002);
    u->bandwidth = i->bandwidth = 2e3;
    i->skew = 30e-6; /* one converter in turns */
    i->gain_error = -0.004;
    add_pulse_lead(&r, rate);
    r.bench.channel[2].skew = 60e-6;
    up_door_fault_put(UP_DOOR_FAULT_WORN_BRUSHES, 0.8, 0, &r.values, &r.bench);
    if (!run(&r, "worn-brushes", UP_END_CLOSED)) {
        return 0;
    }
    fputs(INVENTED "\nCard\t16 bit, inputs in turns\nScan rate\t5000\tHz\nShunt\t0.5\tmohm\n\n", file);
    fputs("Scan\tMotor voltage\tMotor current\tEncoder\n\tV\tA\tV\n", file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "%zu\t%.3f\t%.3f\t%.2f\n", k, value_of(&r, 0, k), value_of(&r, 1, k), value_of(&r, 2, k));
    }
    free(r.room);
    return 1;
}

/* ---- sliding door, dry channel: hand-held logger with units glued to the values, and the whine as a telephone hears it  */

enum { WHINE_RATE = 16000 };

static int dry_channel_run(const char *examples, int sound, reel *r) {
    if (!draw_door(examples, "sliding-door", 1, r)) {
        return 0;
    }
    r->bench.run.temperature = UP_ZERO_CELSIUS + 19;
    r->bench.run.time_limit = 7.5;
    if (sound) {
        up_channel *s = add(r, UP_SIGNAL_SOUND, UP_PROBE_LEADS, WHINE_RATE, 0.004, 1.0 / 32768);
        s->bandwidth = 6e3;
        s->low = -1;
        s->high = 32767.0 / 32768;
    } else {
        up_channel *u = add(r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, 200, 0.01, 0.01);
        up_channel *i = add(r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 200, 0.02, 0.01);
        u->averaged = i->averaged = 1;
        i->offset = 0.04;
    }
    up_door_fault_put(UP_DOOR_FAULT_DRY_CHANNEL, 0.8, 0, &r->values, &r->bench);
    return run(r, sound ? "dry-channel, sound" : "dry-channel", UP_END_CLOSED);
}

static int dry_channel(const char *examples, FILE *file) {
    reel r = {0};
    if (!dry_channel_run(examples, 0, &r)) {
        return 0;
    }
    fputs("\"" INVENTED "\"\n\"time\",\"voltage\",\"current\"\n", file);
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "\"%.3f s\",\"%.2f V\",\"%.2f A\",\n", time_of(&r, k), value_of(&r, 0, k), value_of(&r, 1, k));
    }
    free(r.room);
    return 1;
}

static void little(FILE *file, uint32_t value, int bytes) {
    for (int i = 0; i < bytes; i++) {
        fputc((int)(value >> (8 * i) & 0xFF), file);
    }
}

/* RIFF with a comment and one channel of 16 bits. */
static int dry_channel_sound(const char *examples, FILE *file) {
    static const char comment[] = INVENTED; /* with its closing zero an odd or even number of bytes: padded below */
    reel r = {0};
    if (!dry_channel_run(examples, 1, &r)) {
        return 0;
    }
    const uint32_t data = (uint32_t)rows_of(&r) * 2, text = sizeof comment, padded = text + text % 2;
    fputs("RIFF", file);
    little(file, 4 + 24 + (8 + 4 + 8 + padded) + 8 + data, 4);
    fputs("WAVEfmt ", file);
    little(file, 16, 4);
    little(file, 1, 2);
    little(file, 1, 2);
    little(file, WHINE_RATE, 4);
    little(file, WHINE_RATE * 2, 4);
    little(file, 2, 2);
    little(file, 16, 2);
    fputs("LIST", file);
    little(file, 4 + 8 + padded, 4);
    fputs("INFOICMT", file);
    little(file, text, 4);
    fwrite(comment, 1, text, file);
    little(file, 0, (int)(padded - text));
    fputs("data", file);
    little(file, data, 4);
    for (size_t k = 0; k < rows_of(&r); k++) {
        little(file, (uint32_t)(int32_t)(value_of(&r, 0, k) * 32768), 2);
    }
    free(r.room);
    return 1;
}

/* ---- passenger door, weak battery: UTF-16 and tabs, as a spreadsheet hands on ------------------------------------ */

static void wide(FILE *file, const char *text) {
    for (; *text != 0; text++) {
        fputc(*text, file);
        fputc(0, file);
    }
}

static int weak_battery(const char *examples, FILE *file) {
    reel r = {0};
    if (!draw_door(examples, "passenger-door", 1, &r)) {
        return 0;
    }
    r.bench.run.temperature = UP_ZERO_CELSIUS + 8;
    r.bench.run.time_limit = 7.4;
    up_channel *u = add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_BATTERY, 250, 0.008, 0.005);
    up_channel *v = add(&r, UP_SIGNAL_VOLTAGE, UP_PROBE_LEADS, 250, 0.008, 0.005);
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, 250, 0.02, 0.01);
    u->averaged = v->averaged = i->averaged = 1;
    up_door_fault_put(UP_DOOR_FAULT_LOW_BATTERY, 0.85, 0, &r.values, &r.bench);
    if (!run(&r, "weak-battery", UP_END_CLOSED)) {
        return 0;
    }
    fputs("\xFF\xFE", file);
    wide(file, INVENTED "\r\nt (ms)\tbattery (V)\tmotor (V)\tmotor (A)\r\n");
    for (size_t k = 0; k < rows_of(&r); k++) {
        char row[128];
        (void)snprintf(row, sizeof row, "%.0f\t%.3f\t%.3f\t%.2f\r\n", 1e3 * time_of(&r, k), value_of(&r, 0, k),
                       value_of(&r, 1, k), value_of(&r, 2, k));
        wide(file, row);
    }
    free(r.room);
    return 1;
}

/* ---- passenger door, missing pulses: oscilloscope, preamble beside the first samples ----------------------------- */

static int missing_pulses(const char *examples, FILE *file) {
    reel r = {0};
    const double rate = 4e3;
    if (!draw_door(examples, "passenger-door", 1, &r)) {
        return 0;
    }
    r.bench.run.temperature = UP_ZERO_CELSIUS + 15;
    r.bench.run.time_limit = 5.2;
    up_channel *i = add(&r, UP_SIGNAL_CURRENT, UP_PROBE_LEADS, rate, 0.05, 0.1);
    i->bandwidth = 20e3;
    add_pulse_lead(&r, rate);
    up_door_fault_put(UP_DOOR_FAULT_LOST_PULSES, 0.5, 0, &r.values, &r.bench);
    if (!run(&r, "missing-pulses", UP_END_COUNT)) {
        return 0;
    }
    char beside[6][96];
    enum { BESIDE = sizeof beside / sizeof beside[0] };
    (void)snprintf(beside[0], sizeof beside[0], "Note,\"" INVENTED "\",");
    (void)snprintf(beside[1], sizeof beside[1], "Points,%zu,", rows_of(&r));
    (void)snprintf(beside[2], sizeof beside[2], "Interval,%.6f,s", 1 / rate);
    (void)snprintf(beside[3], sizeof beside[3], "Units,A,V");
    (void)snprintf(beside[4], sizeof beside[4], "Source,clamp,encoder lead");
    (void)snprintf(beside[5], sizeof beside[5], "Bits,8,8");
    for (size_t k = 0; k < rows_of(&r); k++) {
        fprintf(file, "%s,%.5f,%.1f,%.2f\n", k < BESIDE ? beside[k] : ",,", time_of(&r, k), value_of(&r, 0, k),
                value_of(&r, 1, k));
    }
    free(r.room);
    return 1;
}

/* ---- all of them ------------------------------------------------------------------------------------------------- */

typedef struct recording {
    const char *name;
    int (*make)(const char *examples, FILE *file);
} recording;

static const recording recordings[] = {
    {"front-door-bench-run.csv", bench_run},
    {"front-door-motor-held.csv", motor_held},
    {"front-door-motor-free.csv", motor_free},
    {"front-door-cold-morning.csv", cold_morning},
    {"rear-door-worn-brushes.txt", worn_brushes},
    {"sliding-door-dry-channel.csv", dry_channel},
    {"sliding-door-dry-channel.wav", dry_channel_sound},
    {"passenger-door-weak-battery.txt", weak_battery},
    {"passenger-door-missing-pulses.csv", missing_pulses},
};

int main(int count, char **argument) {
    if (count != 3) {
        fprintf(stderr, "usage: make_recordings EXAMPLES FOLDER\n");
        return 2;
    }
    for (size_t n = 0; n < sizeof recordings / sizeof recordings[0]; n++) {
        char path[4096];
        (void)snprintf(path, sizeof path, "%s/%s", argument[2], recordings[n].name);
        FILE *file = fopen(path, "wb");
        if (file == NULL) {
            perror(path);
            return 2;
        }
        const int good = recordings[n].make(argument[1], file);
        if (fclose(file) != 0 || !good) {
            fprintf(stderr, "make_recordings: %s was not made\n", path);
            return 1;
        }
    }
    return 0;
}

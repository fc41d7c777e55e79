#include "io/detector_header.h"

#include <inttypes.h>
#include <string.h>

enum { COLUMN = 44, ROW = 8 };

/* Words inside a comment: nothing may end it, and it stays on one line. */
static void print_words(const char *words, FILE *file) {
    for (const char *at = words; *at; at++) {
        const int ends = at[0] == '*' && at[1] == '/';
        const int begins = at[0] == '/' && at[1] == '*';
        const unsigned char letter = (unsigned char)*at;
        fputc(letter < ' ' || letter == 0x7F || letter == '\\' ? ' ' : letter, file);
        if (ends || begins) {
            fputc(' ', file);
        }
    }
}

static void print_number(const char *name, int64_t value, const char *meaning, FILE *file) {
    const int width = fprintf(file, "    .%s = %" PRId64 "%s,", name, value, value > INT32_MAX ? "U" : "");
    fprintf(file, "%*s/* %s */\n", width < COLUMN ? COLUMN - width : 1, "", meaning);
}

static void print_row(const char *name, const int32_t *value, int count, const char *meaning, FILE *file) {
    fprintf(file, "    /* %s */\n    .%s = {", meaning, name);
    for (int i = 0; i < count; i++) {
        fprintf(file, "%s%" PRId32, i == 0 ? "" : i % ROW == 0 ? ",\n        " : ", ", value[i]);
    }
    fputs("},\n", file);
}

static void print_heading(const up_detector_header *header, FILE *file) {
    fputs("/* Constants of the pinch detector", file);
    if (header->title[0]) {
        fputs(" for: ", file);
        print_words(header->title, file);
    }
    fputs("\n *\n", file);
    for (const char *const *line = header->origin; *line; line++) {
        fputs(" * ", file);
        print_words(*line, file);
        fputs("\n", file);
    }
    fputs(" *\n"
          " * A reference design, not a certified one: what was worked out here is a calculation from a door sheet. A "
          "real\n"
          " * controller is judged as built, by people whose trade that is. Never test a closing window with a hand or "
          "any\n"
          " * other part of a body. */\n"
          "#ifndef UPSTOP_DETECTOR_CONSTANTS_H\n"
          "#define UPSTOP_DETECTOR_CONSTANTS_H\n\n"
          "#include \"detector/pinch_detector.h\"\n\n",
          file);
}

static void print_constant(const char *name, int64_t value, const char *meaning, FILE *file) {
    const int width = fprintf(file, "    UPSTOP_%s = %" PRId64 ",", name, value);
    fprintf(file, "%*s/* %s */\n", width < COLUMN ? COLUMN - width : 1, "", meaning);
}

static void print_controller(const up_control_settings *c, FILE *file) {
    fputs("/* What the controller around it needs. */\nenum {\n", file);
    print_constant("TICK_US", c->tick_us, "us, one tick of the controller", file);
    print_constant("END_ZONE_EDGES", c->end_zone_edges,
                   "edges below the top: an obstacle first felt there or nearer is the top", file);
    print_constant("TOP_BAND_EDGES", c->top_band_edges, "edges below the top: a stall there or nearer is the top",
                   file);
    print_constant("STROKE_EDGES", c->stroke_edges, "edges from top to bottom by the sheet; taught on the door", file);
    print_constant("REVERSE_EDGES", c->reverse_edges, "edges to back off", file);
    print_constant("REVERSE_PAUSE_US", c->reverse_pause_us, "us of braking before it backs off", file);
    print_constant("STALL_US", c->stall_us, "us without an edge: it stands", file);
    fputs("};\n\n", file);
}

static void print_pace(const up_detector_settings *d, FILE *file) {
    int32_t gain[UP_DETECTOR_ZONES + 1];
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        gain[i] = d->gain[i];
    }
    print_number("speed_numerator", d->speed_numerator, "over the window's us: armature speed in 1/64 rad/s", file);
    print_number("free_speed_gain", d->free_speed_gain, "free speed in 1/64 rad/s per mV, times 4096", file);
    print_number("brush_mv", d->brush_mv, "mV that turn nothing", file);
    print_number("soon_us", d->soon_us, "us; an edge sooner after another came twice", file);
    print_row("gain", gain, UP_DETECTOR_ZONES + 1,
              "N at the glass per rad/s of missing speed, times 256, at the zones' borders from the top down", file);
    print_number("zone_shift", d->zone_shift, "a zone is 1 << that many edges long", file);
    print_number("window", d->window, "periods averaged", file);
}

static void print_decision(const up_detector_settings *d, FILE *file) {
    print_number("confirm_edges", d->confirm_edges, "readings in a row above the threshold", file);
    print_number("mask_edges", d->mask_edges, "edges after a start in which it only watches", file);
    print_number("supply_edges", d->supply_edges, "edges over which the armature follows the supply", file);
    print_number("learning_edges", d->learning_edges, "edges over which the reference follows", file);
    print_number("threshold", d->threshold, "excess that counts, N times 16", file);
}

static void print_profile(const up_detector_settings *d, FILE *file) {
    int32_t profile[UP_DETECTOR_KNOTS];
    for (int i = 0; i < UP_DETECTOR_KNOTS; i++) {
        profile[i] = d->profile[i];
    }
    print_number("learns", d->learns, "1: keeps and learns a profile of the load", file);
    print_number("fine_shift", d->fine_shift, "narrow intervals of the profile: 1 << that many edges", file);
    print_number("coarse_shift", d->coarse_shift, "wide intervals of the profile: 1 << that many edges", file);
    print_number("bound", d->bound, "how far reference and profile may move, N times 16", file);
    print_row("profile", profile, UP_DETECTOR_KNOTS, "load to be expected at the knots from the top down, N times 16",
              file);
    print_number("stretch", d->stretch, "edges the encoder is ahead per N / 16, times 65536", file);
    print_number("taught_load", d->taught_load, "load at which the top was taught, N times 16", file);
    print_number("lag", d->lag, "readings by which the load is reckoned late", file);
}

static void print_observer(const up_detector_settings *d, FILE *file) {
    const int observes = d->principle == UP_DETECTOR_BY_OBSERVER;
    fprintf(file, "    .principle = %s,\n", observes ? "UP_DETECTOR_BY_OBSERVER" : "UP_DETECTOR_BY_PACE");
    print_number("current_gain", d->current_gain, "missing speed in 1/64 rad/s per mA, times 65536", file);
    print_number("per_acceleration", d->per_acceleration, "2^24 over the motor's time constant in us", file);
    print_number("speed_gain", d->speed_gain, "observer's correction of the speed per us, times 2^24", file);
    print_number("load_gain", d->load_gain, "observer's correction of the load per us, times 2^24", file);
    print_number("per_filter", d->per_filter, "2^24 over the current filter's time constant in us", file);
    print_number("step_max_us", d->step_max_us, "longest step of the observer, us", file);
}

int up_detector_header_write(const up_detector_header *header, FILE *file) {
    const up_detector_settings *const d = &header->control->detector;
    print_heading(header, file);
    print_controller(header->control, file);
    fputs("static const up_detector_settings upstop_detector = {\n", file);
    print_pace(d, file);
    print_decision(d, file);
    print_profile(d, file);
    print_observer(d, file);
    fputs("};\n\n#endif\n", file);
    return ferror(file) ? -1 : 0;
}

#include "apps/cli/refit_options.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/command.h"
#include "io/units.h"

enum { DRAWS_LEAST = 200, DRAWS_MOST = 100000, ARGUMENTS_MOST = 256 };

static const char command_name[] = "refit";

typedef struct words {
    const char *screw, *out, *svg, *pdf, *temperature, *generator, *draws, *seed;
    const char *armature_mass, *unbalance, *brush_new, *brush_now, *brush_least;
    int json;
} words;

static int bad(const char *option, const char *found, const char *expected, const char *mend) {
    return up_cli_bad_option(command_name, option, found, expected, mend);
}

/* ---- the words ---- */

static int read_words(int argc, char **argv, words *given, up_arguments *arguments) {
    const up_option options[] = {
        {"screw", "SCREW",
         "a screw of this door: \"regulator rail=M6 8.8 oiled\", place, size, class,\n"
         "dry, oiled or greased; with what it goes into: \"clamp=M6 8.8 into plastic\"\n"
         "(nut, weld-nut, plastic); as often as there are screws. The place of a usual\n"
         "screw replaces that one",
         NULL, &given->screw},
        {"armature-mass", "MASS", "of the wound armature with its shaft: 95g", NULL, &given->armature_mass},
        {"unbalance", "UNBALANCE", "of the armature as measured, both planes together: 0.8g.mm", NULL,
         &given->unbalance},
        {"brush-new", "LENGTH", "of a new brush: 11mm", NULL, &given->brush_new},
        {"brush-now", "LENGTH", "of the shorter brush as measured: 8.2mm", NULL, &given->brush_now},
        {"brush-least", "LENGTH", "the maker's least length: 5mm", NULL, &given->brush_least},
        {"temperature", "TEMP", "at which the acceptance is run: 12degC (usual 20degC)", NULL, &given->temperature},
        {"generator", "VOLTAGE", "at the battery with the engine running: 14.2V (usual 14V)", NULL, &given->generator},
        {"out", "FILE", "write the card there instead of printing it", NULL, &given->out},
        {"pdf", "FILE", "draw the card on A4, two pages, as PDF", NULL, &given->pdf},
        {"svg", "FILE", "the same as SVG, the pages one below the other", NULL, &given->svg},
        {"draws", "NUMBER", "doors drawn from the tolerances behind each interval, 200 or more", NULL, &given->draws},
        {"seed", "NUMBER", "for the drawn doors", NULL, &given->seed},
        {"json", NULL, "print the card as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET",
        .about = "Writes the refit card of the door in SHEET, to print and tick off: cautions, order of assembly,\n"
                 "tightening torques, grease, what the meter reads on each lead, how the controller finds its place\n"
                 "again, and the figures that a stopwatch, a meter and a force gauge must show. No certification;\n"
                 "the maker's figures come first.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = 1};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

/* ---- quantities ---- */

typedef struct quantity {
    const char *option, *text, *unit, *example;
    double low, high; /* in `unit` */
    double per_si, offset;
    double *value; /* SI */
} quantity;

/* NULL text: stays as it is. */
static int read_quantity(up_units *units, const quantity *q) {
    char expected[96];
    char mend[128];
    double value = 0;
    int unit_missing = 0;
    int not_a_number = 0;
    if (!q->text) {
        return -1;
    }
    const up_unit_status status = up_units_read(units, q->text, q->unit, &value, &unit_missing, &not_a_number);
    if (status == UP_UNIT_OK && value >= q->low && value <= q->high) {
        *q->value = value / q->per_si + q->offset;
        return -1;
    }
    snprintf(expected, sizeof expected, "%g to %g %s, with its unit", q->low, q->high, q->unit);
    snprintf(mend, sizeof mend, "write it like this: --%s %s", q->option, q->example);
    return bad(q->option, q->text, expected,
               status == UP_UNIT_NO_DATABASE ? "the units database of UDUNITS-2 cannot be read, install it" : mend);
}

static int read_quantities(const words *given, up_refit *refit) {
    up_card_request *request = &refit->request;
    const quantity quantities[] = {
        {"temperature", given->temperature, "degC", "12degC", -60, 120, 1, 273.15, &request->temperature},
        {"generator", given->generator, "V", "14.2V", 5, 18, 1, 0, &request->generator_voltage},
        {"armature-mass", given->armature_mass, "g", "95g", 1, 20000, 1e3, 0, &refit->armature_mass},
        {"unbalance", given->unbalance, "g.mm", "0.8g.mm", 0, 1e5, 1e6, 0, &refit->unbalance},
        {"brush-new", given->brush_new, "mm", "11mm", 1, 100, 1e3, 0, &refit->brush.fresh},
        {"brush-now", given->brush_now, "mm", "8.2mm", 0, 100, 1e3, 0, &refit->brush.now},
        {"brush-least", given->brush_least, "mm", "5mm", 0.1, 100, 1e3, 0, &refit->brush.least},
    };
    up_units units;
    int status = -1;
    up_units_init(&units);
    for (size_t i = 0; i < sizeof quantities / sizeof quantities[0] && status < 0; i++) {
        status = read_quantity(&units, &quantities[i]);
    }
    up_units_free(&units);
    return status;
}

static int read_count(const char *option, const char *text, double low, double high, double *value) {
    char expected[80];
    char *end = NULL;
    if (!text) {
        return -1;
    }
    *value = strtod(text, &end);
    if (end != text && *end == '\0' && *value >= low && *value <= high && floor(*value) == *value) {
        return -1;
    }
    snprintf(expected, sizeof expected, "a whole number, %.0f to %.0f", low, high);
    return bad(option, text, expected, "write the number alone");
}

static int refuse_contradictions(const words *given, const up_refit *refit) {
    const up_brush *brush = &refit->brush;
    if (brush->now > brush->fresh) {
        return bad("brush-now", given->brush_now, "at most the length of a new brush", "measure again");
    }
    if (brush->least >= brush->fresh) {
        return bad("brush-least", given->brush_least, "less than the length of a new brush", "look it up again");
    }
    if (!isnan(refit->unbalance) && isnan(refit->armature_mass)) {
        return bad("unbalance", given->unbalance, "--armature-mass as well",
                   "weigh the armature, what it may keep goes by its mass: --armature-mass 95g");
    }
    if (refit->json && refit->out) {
        return bad("json", "--out as well", "JSON on standard output", "leave --out away and redirect the output");
    }
    return -1;
}

/* ---- all of them ---- */

/* Takes every --screw out of the arguments, since the shared reader keeps only the last of its kind. Returns -1, or an exit
 * status after one message. rest: ARGUMENTS_MOST long. */
static int take_screws(int argc, char **argv, up_refit *refit, char **rest, int *count) {
    static const char option[] = "--screw";
    const size_t length = sizeof option - 1;
    int status = -1;
    *count = 0;
    for (int i = 0; i < argc && status < 0; i++) {
        const int begins = strncmp(argv[i], option, length) == 0;
        const char *value = begins && argv[i][length] == '='                    ? argv[i] + length + 1
                            : begins && argv[i][length] == '\0' && i + 1 < argc ? argv[++i]
                                                                                : NULL;
        if (!value) {
            if (*count == ARGUMENTS_MOST) {
                fputs("upstop refit: found more than 256 arguments; expected fewer; leave some out\n", stderr);
                return UP_EXIT_INPUT;
            }
            rest[(*count)++] = argv[i];
        } else if (refit->screws == UP_REFIT_SCREWS) {
            status = bad("screw", value, "at most 12 screws", "leave some out, or write a second card");
        } else {
            status = up_refit_read_screw(value, &refit->screw[refit->screws++]);
        }
    }
    return status;
}

int up_refit_read(int argc, char **argv, up_refit *refit) {
    words given = {0};
    up_arguments arguments = {0};
    char *rest[ARGUMENTS_MOST];
    int count = 0;
    double value = 0;
    *refit = (up_refit){.armature_mass = NAN, .unbalance = NAN, .brush = {NAN, NAN, NAN}};
    up_card_request_default(NULL, &refit->request);
    int status = take_screws(argc, argv, refit, rest, &count);
    if (status < 0) {
        status = read_words(count, rest, &given, &arguments);
    }
    if (status >= 0) {
        return status;
    }
    refit->sheet = arguments.operand[0];
    refit->out = given.out;
    refit->svg = given.svg;
    refit->pdf = given.pdf;
    refit->json = given.json;
    status = read_quantities(&given, refit);
    if (status < 0 && given.draws) {
        status = read_count("draws", given.draws, DRAWS_LEAST, DRAWS_MOST, &value);
        refit->request.draws = status < 0 ? (int)value : refit->request.draws;
    }
    if (status < 0 && given.seed) {
        status = read_count("seed", given.seed, 0, 4294967295.0, &value);
        refit->request.seed = status < 0 ? (uint64_t)value : refit->request.seed;
    }
    return status < 0 ? refuse_contradictions(&given, refit) : status;
}

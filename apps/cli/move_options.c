#include "apps/cli/move_options.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/units.h"

/* On the bare leads nothing ends the run; long enough for a slow stroke and a look at the stall. */
enum { LEADS_SECONDS = 8 };
enum { DRAWS_USUAL = 200, DRAWS_MAX = 100000, WORDS_MAX = 128 };

static const char command_name[] = "move";

/* The values as they stand on the command line. */
typedef struct words {
    int raise, lower, one_touch, held, battery_lost, leads, unpowered, json;
    const char *from, *to, *supply, *supply_step, *temperature, *rod, *release, *push, *seed, *tolerance, *limit,
        *draws, *csv, *chart;
} words;

static int bad(const char *option, const char *found, const char *expected, const char *mend) {
    return up_cli_bad_option(command_name, option, found, expected, mend);
}

/* ---- quantities ---- */

/* "-10C" is ten degrees below zero and no electric charge; "60F" is no capacity. */
static const char *temperature_words(const char *text, char *out, size_t size) {
    size_t length = strlen(text);
    size_t number = strspn(text, "+-0123456789.eE \t");
    const char *unit = text + number;
    const char *means = strcmp(unit, "C") == 0 || strcmp(unit, "\u00b0C") == 0   ? "degC"
                        : strcmp(unit, "F") == 0 || strcmp(unit, "\u00b0F") == 0 ? "degF"
                                                                                 : NULL;
    if (!means || length + 4 >= size) {
        return text;
    }
    snprintf(out, size, "%.*s %s", (int)number, text, means);
    return out;
}

/* One quantity; returns -1, or the exit status after one message. */
static int quantity(up_units *units, const char *option, const char *text, const char *unit, const char *example,
                    double low, double high, double *value) {
    char expected[160];
    int unit_missing = 0;
    int not_a_number = 0;
    up_unit_status status = up_units_read(units, text, unit, value, &unit_missing, &not_a_number);
    if (status == UP_UNIT_OK && isfinite(*value) && *value >= low && *value <= high) {
        return -1;
    }
    if (status == UP_UNIT_OK) {
        snprintf(expected, sizeof expected, "%g to %g %s", low, high, unit);
    } else {
        snprintf(expected, sizeof expected, "a number with a unit such as %s", unit);
    }
    const char *mend = status == UP_UNIT_NO_DATABASE ? "the units database of UDUNITS-2 cannot be read, install it"
                       : unit_missing                ? "write the unit after the number"
                       : status == UP_UNIT_OK        ? "give a value in that range"
                                                     : "write a number and its unit";
    char full_mend[200];
    snprintf(full_mend, sizeof full_mend, "%s, for example %s %s", mend, option, example);
    return bad(option, text, expected, full_mend);
}

/* The part before the first `mark` into head; returns the part behind it, NULL when there is none or it is too long. */
static const char *split(const char *text, char mark, char *head, size_t size) {
    const char *place = strchr(text, mark);
    size_t length = place ? (size_t)(place - text) : strlen(text);
    if (length >= size) {
        return NULL;
    }
    memcpy(head, text, length);
    head[length] = '\0';
    return place ? place + 1 : NULL;
}

/* ---- single options ---- */

static int read_supply_step(up_units *units, const char *text, up_run_options *run) {
    const char *example = "8V@1.2s";
    char head[WORDS_MAX];
    const char *when = split(text, '@', head, sizeof head);
    if (!when) {
        return bad("--supply-step", text, "a voltage, @, and a time after the start",
                   "for example --supply-step 8V@1.2s");
    }
    up_supply_step step = {0};
    int status = quantity(units, "--supply-step", head, "V", example, 0, 60, &step.open_voltage);
    if (status < 0) {
        status = quantity(units, "--supply-step", when, "s", example, 0, 600, &step.time);
    }
    if (status >= 0) {
        return status;
    }
    if (run->supply_steps > 0 && step.time <= run->supply_step[run->supply_steps - 1].time) {
        return bad("--supply-step", text, "steps in the order of time", "put the earlier step first");
    }
    run->supply_step[run->supply_steps++] = step;
    return -1;
}

/* "8V@1.2s,12V@1.5s" */
static int read_supply_steps(up_units *units, const char *text, up_run_options *run) {
    char one[WORDS_MAX];
    for (const char *rest = text; rest;) {
        if (run->supply_steps == UP_SUPPLY_STEPS_MAX) {
            return bad("--supply-step", text, "at most 8 steps", "leave some out");
        }
        const char *next = split(rest, ',', one, sizeof one);
        int status = read_supply_step(units, next || strlen(rest) < sizeof one ? one : rest, run);
        if (status >= 0) {
            return status;
        }
        rest = next;
    }
    return -1;
}

/* "25mm@120mm" or "25mm@120mm,65N/mm" */
static int read_rod(up_units *units, const char *text, up_move *move) {
    const char *example = "25mm@120mm,65N/mm";
    char place[WORDS_MAX];
    char diameter[WORDS_MAX];
    double value = 0;
    const char *stiffness = split(text, ',', place, sizeof place);
    const char *opening = split(place, '@', diameter, sizeof diameter);
    if (!opening) {
        return bad("--rod", text, "its diameter, @, and the opening at which the glass meets it",
                   "for example --rod 25mm@120mm, or with its stiffness --rod 25mm@120mm,65N/mm");
    }
    int status = quantity(units, "--rod", diameter, "mm", example, 0.1, 1000, &value);
    move->rod_diameter = value / 1e3;
    if (status < 0) {
        status = quantity(units, "--rod", opening, "mm", example, 0, 2000, &value);
        move->run.rod_opening = value / 1e3;
    }
    if (status < 0 && move->run.rod_opening < move->rod_diameter) {
        return bad("--rod", text, "an opening that lets the rod through",
                   "a rod against the frame is met at its own diameter: 25mm@25mm");
    }
    if (status < 0 && stiffness) {
        status = quantity(units, "--rod", stiffness, "N/mm", example, 0.01, 1e5, &value);
        move->run.rod_stiffness = value * 1e3;
        move->rod_stiffness_given = 1;
    }
    move->run.rod = 1;
    return status;
}

static int plain_number(const char *option, const char *text, double low, double high, int whole, double *value) {
    char expected[96];
    char *end = NULL;
    errno = 0;
    *value = strtod(text, &end);
    if (end != text && *end == '\0' && errno == 0 && *value >= low && *value <= high &&
        (!whole || *value == floor(*value))) {
        return -1;
    }
    snprintf(expected, sizeof expected, "a %snumber from %g to %.10g", whole ? "whole " : "", low, high);
    return bad(option, text, expected, "write the number alone, without a unit");
}

/* ---- all of them ---- */

static int refuse_contradictions(const words *given) {
    if (given->raise && given->lower) {
        return bad("--lower", "--raise as well", "one direction", "leave one of the two out");
    }
    if (given->one_touch && given->held) {
        return bad("--held", "--one-touch as well", "one way to use the switch", "leave one of the two out");
    }
    if (given->one_touch && (given->release || given->to)) {
        return bad(given->to ? "--to" : "--release", "--one-touch as well", "a held switch",
                   "after one touch the glass travels on by itself, so leave --one-touch out");
    }
    if (given->release && given->to) {
        return bad("--to", "--release as well", "one place or time to let go of the switch",
                   "leave one of the two out");
    }
    if (given->leads && given->unpowered) {
        return bad("--unpowered", "--leads as well", "leads on the battery, or leads open", "leave one of the two out");
    }
    if (given->rod && given->lower) {
        return bad("--rod", "--lower as well", "a rod only while raising", "leave --lower or --rod out");
    }
    if ((given->leads || given->unpowered) && given->battery_lost) {
        return bad("--battery-lost", given->leads ? "--leads as well" : "--unpowered as well", "a working controller",
                   "leave --battery-lost out, there is no controller that could lose its position");
    }
    return -1;
}

static int read_quantities(up_units *units, const words *given, up_move *move) {
    up_run_options *run = &move->run;
    char buffer[WORDS_MAX];
    double value = 0;
    int status = -1;
    if (given->supply) {
        status = quantity(units, "--supply", given->supply, "V", "12.6V", 0, 60, &run->open_voltage);
    }
    if (status < 0 && given->supply_step) {
        status = read_supply_steps(units, given->supply_step, run);
    }
    if (status < 0 && given->temperature) {
        status = quantity(units, "--temperature", temperature_words(given->temperature, buffer, sizeof buffer), "degC",
                          "-10C", -60, 120, &value);
        run->temperature = value + 273.15;
    }
    if (status < 0 && given->rod) {
        status = read_rod(units, given->rod, move);
    }
    if (status < 0 && given->release) {
        status = quantity(units, "--release", given->release, "s", "0.8s", 0.001, 600, &move->release_time);
    }
    if (status < 0 && given->push) {
        status = quantity(units, "--push", given->push, "N", "-100N", -5000, 5000, &run->push_force);
    }
    if (status < 0 && given->limit) {
        status = quantity(units, "--limit", given->limit, "s", "20s", 0.01, 3600, &run->time_limit);
    }
    return status;
}

static int read_numbers(const words *given, up_move *move) {
    double value = 0;
    int status = -1;
    if (given->seed) {
        status = plain_number("--seed", given->seed, 0, 4294967295.0, 1, &value);
        move->run.seed = (uint32_t)value;
    }
    if (status < 0 && given->tolerance) {
        status = plain_number("--tolerance", given->tolerance, 1e-9, 1e-3, 0, &move->run.tolerance);
        move->tolerance_given = 1;
    }
    if (status < 0 && given->draws) {
        status = plain_number("--draws", given->draws, 200, DRAWS_MAX, 1, &value);
        move->draws = (int)value;
    }
    if (status < 0 && given->chart && up_chart_format_of(given->chart, &move->format) != 0) {
        status =
            bad("--chart", given->chart, "a file name that ends in .svg or .png", "for example --chart closing.svg");
    }
    return status;
}

static void set_switch(up_move *move) {
    up_run_options *run = &move->run;
    run->switch_steps = 1;
    run->switch_step[0].time = 0;
    run->switch_step[0].position = move->raising ? (move->one_touch ? UP_SWITCH_RAISE_TOUCH : UP_SWITCH_RAISE_HELD)
                                                 : (move->one_touch ? UP_SWITCH_LOWER_TOUCH : UP_SWITCH_LOWER_HELD);
    if (run->leads_open) {
        run->switch_step[0].position = UP_SWITCH_FREE;
    }
    if (!isnan(move->release_time)) {
        up_move_release(move, move->release_time);
    }
}

void up_move_release(up_move *move, double time) {
    move->run.switch_steps = 2;
    move->run.switch_step[1] = (up_switch_step){time, UP_SWITCH_FREE};
}

static int read_words(int argc, char **argv, words *given, up_arguments *arguments) {
    const up_option options[] = {
        {"raise", NULL, "close the window (usual)", &given->raise, NULL},
        {"lower", NULL, "open the window", &given->lower, NULL},
        {"one-touch", NULL, "touch the switch once and let it travel (usual)", &given->one_touch, NULL},
        {"held", NULL, "hold the switch", &given->held, NULL},
        {"from", "OPENING", "start there: open, closed, or an opening such as 200mm", NULL, &given->from},
        {"to", "OPENING", "hold the switch and let go of it there", NULL, &given->to},
        {"release", "TIME", "hold the switch and let go of it then: 0.8s", NULL, &given->release},
        {"supply", "VOLTAGE", "battery's open-circuit voltage: 12.6V", NULL, &given->supply},
        {"supply-step", "STEPS", "it changes while moving: 8V@1.2s, several as 8V@1.2s,12V@1.5s", NULL,
         &given->supply_step},
        {"temperature", "TEMP", "of all parts and the air: -10C (usual 20C)", NULL, &given->temperature},
        {"rod", "ROD",
         "a test rod in the way: 25mm@120mm, diameter at opening; with its\n"
         "stiffness 25mm@120mm,65N/mm; without, each rule gets its own",
         NULL, &given->rod},
        {"battery-lost", NULL,
         "the battery was off: the controller has lost its position;\n"
         "the switch is held",
         &given->battery_lost, NULL},
        {"leads", NULL, "battery straight on the two heavy motor leads, no controller", &given->leads, NULL},
        {"unpowered", NULL, "motor leads open, nothing drives", &given->unpowered, NULL},
        {"push", "FORCE", "a steady force on the glass, upwards positive: -100N", NULL, &given->push},
        {"limit", "TIME", "end the run then at the latest", NULL, &given->limit},
        {"seed", "NUMBER", "for encoder irregularities, lost edges and the drawn doors", NULL, &given->seed},
        {"tolerance", "NUMBER", "of the integrator, 1e-9 to 1e-3", NULL, &given->tolerance},
        {"draws", "NUMBER", "closings behind each interval, 200 or more", NULL, &given->draws},
        {"csv", "FILE", "write the trace, and the events to FILE with .events before its end", NULL, &given->csv},
        {"chart", "FILE", "draw the run, FILE ends in .svg or .png", NULL, &given->chart},
        {"json", NULL, "print the answers as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET",
        .about = "Simulates one closing or opening of the door in SHEET and tells what happens: times, currents,\n"
                 "forces, energy, and with a test rod the verdict of the published rules. Numbers need units.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = 1};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

int up_move_read(int argc, char **argv, up_move *move) {
    words given = {0};
    up_arguments arguments = {0};
    memset(move, 0, sizeof *move);
    int status = read_words(argc, argv, &given, &arguments);
    if (status < 0) {
        status = refuse_contradictions(&given);
    }
    if (status >= 0) {
        return status;
    }
    up_run_options_default(&move->run);
    move->run.tolerance = 1e-8; /* one closing takes a few milliseconds so, and its edges are right to a microsecond */
    move->sheet = arguments.operand[0];
    move->raising = !given.lower;
    /* a controller that has lost its position refuses one-touch: unless that is to be seen, the switch is held */
    const int must_hold = given.battery_lost && !given.one_touch;
    move->one_touch = !(given.held || given.to || given.release || given.leads || given.unpowered || must_hold);
    move->rod_diameter = UP_ABSENT;
    move->to_opening = UP_ABSENT;
    move->release_time = UP_ABSENT;
    move->draws = DRAWS_USUAL;
    move->csv = given.csv;
    move->chart = given.chart;
    move->json = given.json;
    move->from = given.from;
    move->to = given.to;
    move->run.position_lost = given.battery_lost;
    move->run.leads_direct = given.leads;
    move->run.leads_open = given.unpowered;
    if (given.leads) {
        move->run.time_limit = LEADS_SECONDS;
    }
    up_units units;
    up_units_init(&units);
    status = read_quantities(&units, &given, move);
    up_units_free(&units);
    if (status < 0) {
        status = read_numbers(&given, move);
    }
    if (status < 0) {
        set_switch(move);
    }
    return status;
}

/* "open", "closed" or an opening of 0 to the whole stroke. */
static int opening_of(const char *option, const char *text, double closed_travel, double *opening) {
    if (strcmp(text, "open") == 0 || strcmp(text, "closed") == 0) {
        *opening = text[0] == 'o' ? closed_travel : 0;
        return -1;
    }
    up_units units;
    up_units_init(&units);
    double millimetres = 0;
    int status = quantity(&units, option, text, "mm", "200mm", 0, 1e3 * closed_travel, &millimetres);
    up_units_free(&units);
    *opening = millimetres / 1e3;
    return status;
}

int up_move_place(up_move *move, double closed_travel) {
    /* Whether the glass holds is asked halfway, away from both stops. */
    double opening = move->run.leads_open ? closed_travel / 2 : move->raising ? closed_travel : 0;
    int status = -1;
    if (move->from) {
        status = opening_of("--from", move->from, closed_travel, &opening);
    }
    move->run.start_travel = closed_travel - opening;
    if (status < 0 && move->to) {
        status = opening_of("--to", move->to, closed_travel, &move->to_opening);
    }
    if (status < 0 && move->run.rod && move->run.rod_opening > opening) {
        char found[64];
        char expected[96];
        snprintf(found, sizeof found, "a rod %.4g mm from the top", 1e3 * move->run.rod_opening);
        snprintf(expected, sizeof expected, "at most the opening at the start, %.4g mm", 1e3 * opening);
        status =
            bad("--rod", found, expected, "place the rod between the glass and the top, or start lower with --from");
    }
    return status;
}

#include <stdlib.h>
#include <string.h>

#include "apps/cli/fit_run.h"
#include "io/units.h"

static const char command_name[] = "fit";

const char *up_fit_setting_word(up_fit_setting setting) {
    static const char *const word[] = {"with glass", "drive alone", "held"};
    return (unsigned)setting < 3 ? word[setting] : "";
}

const char *up_fit_verdict_word(up_fit_verdict verdict) {
    static const char *const word[] = {"untouched", "not told", "hinted", "told"};
    return (unsigned)verdict < 4 ? word[verdict] : "";
}

const char *up_fit_motion_word(up_motion motion) {
    static const char *const word[] = {"none", "pulses", "speed", "position", "ripple"};
    return (unsigned)motion < 5 ? word[motion] : "";
}

static int read_words(int argc, char **argv, up_fit_run *run, up_arguments *arguments) {
    const up_option options[] = {
        {"held", "FILE[,FILE]", "recordings with the output held and wound up: the armature cannot turn", NULL,
         &run->locked},
        {"alone", "FILE[,FILE]", "recordings of the drive alone: regulator or glass off", NULL, &run->free_runs},
        {"bench-supply", NULL, "not the door's own battery and harness: nothing is told of those", &run->bench_supply,
         NULL},
        {"temperature", "TEMP", "of all parts at the start: 18degC (usual 20degC)", NULL, &run->temperature},
        {"sheet", "FILE", "write the sheet with what was told, marked `fitted`, into a new file", NULL,
         &run->new_sheet},
        {"residuals", "FILE", "write what is left over, row by row, as CSV into a file", NULL, &run->residuals},
        UP_READ_OPTION_ROWS(&run->reading),
        {"json", NULL, "print the answers as JSON (docs/json.md)", &run->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET [RECORDING...]",
        .about =
            "Works out what recordings tell of the numbers in SHEET, and only that: resistance, brush drop, torque\n"
            "constant, inductance, inertia, friction, supply, drag along the travel; each with its 95 % interval. The\n"
            "sheet's own values and tolerances are taken as known before. Names what could not be told and which\n"
            "recording would tell it. Recordings named after SHEET show the door with its glass.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = UP_OPERANDS_MAX};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

static int add_file(up_fit_run *run, const char *file, up_fit_setting setting) {
    if (run->count >= UP_FIT_RECORDINGS_MAX) {
        fprintf(stderr, "upstop fit: found more than %d recordings; expected at most that many; leave some out\n",
                UP_FIT_RECORDINGS_MAX);
        return UP_EXIT_INPUT;
    }
    run->file[run->count] = file;
    run->setting[run->count++] = setting;
    return -1;
}

/* A list of names between commas. */
static int add_list(up_fit_run *run, const char *option, const char *list, up_fit_setting setting) {
    char *text = list ? strdup(list) : NULL;
    int status = -1;
    if (list && !text) {
        fputs("upstop fit: out of memory\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    run->names[setting] = text;
    for (char *at = text; at && status < 0;) {
        char *const comma = strchr(at, ',');
        if (comma) {
            *comma = '\0';
        }
        status = *at ? add_file(run, at, setting)
                     : up_cli_bad_option(command_name, option, list, "file names with commas between",
                                         "write --held one.csv,two.csv");
        at = comma ? comma + 1 : NULL;
    }
    return status;
}

static int read_temperature(up_fit_run *run) {
    up_units units;
    int unit_missing = 0, not_a_number = 0;
    double value = 0;
    run->kelvin = 293.15;
    if (!run->temperature) {
        return -1;
    }
    up_units_init(&units);
    const up_unit_status status = up_units_read(&units, run->temperature, "degC", &value, &unit_missing, &not_a_number);
    up_units_free(&units);
    if (status == UP_UNIT_OK && value >= -60 && value <= 120) {
        run->kelvin = value + 273.15;
        return -1;
    }
    return up_cli_bad_option(command_name, "temperature", run->temperature, "-60 to 120 degC, with its unit",
                             "write it like this: --temperature 18degC");
}

int up_fit_options(int argc, char **argv, up_fit_run *run) {
    up_arguments arguments = {0};
    int status = read_words(argc, argv, run, &arguments);
    if (status < 0) {
        run->path = arguments.operand[0];
        status = add_list(run, "held", run->locked, UP_FIT_LOCKED);
    }
    if (status < 0) {
        status = add_list(run, "alone", run->free_runs, UP_FIT_FREE);
    }
    for (int i = 1; i < arguments.count && status < 0; i++) {
        status = add_file(run, arguments.operand[i], UP_FIT_WITH_GLASS);
    }
    if (status < 0 && run->count == 0) {
        fputs("upstop fit: found no recording; expected at least one behind the sheet, or with --held or --alone; "
              "name one\n",
              stderr);
        status = UP_EXIT_INPUT;
    }
    if (status < 0) {
        status = read_temperature(run);
    }
    if (status < 0) {
        status = up_read_options(command_name, &run->reading, argc, argv, &run->options);
    }
    return status;
}

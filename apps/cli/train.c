/* upstop train: motion, power and signals from the battery to the glass. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/train.h"
#include "apps/cli/command.h"
#include "apps/cli/train_json.h"
#include "apps/cli/train_text.h"
#include "io/threads.h"
#include "io/units.h"

enum { DRAWS_USUAL = 400, DRAWS_LEAST = 200, DRAWS_MOST = 100000 };

static const char command_name[] = "train";

typedef struct words {
    const char *sheet, *temperature, *supply, *draws, *seed;
    int places, json;
} words;

static int read_words(int argc, char **argv, words *given) {
    const up_option options[] = {
        {"temperature", "TEMP", "of all parts and the air: -10degC (usual 20degC)", NULL, &given->temperature},
        {"supply", "VOLTAGE", "battery's open-circuit voltage: 12.6V (usual: the sheet's)", NULL, &given->supply},
        {"places", NULL, "the stages at the bottom and at the top of the travel too", &given->places, NULL},
        {"draws", "NUMBER", "doors drawn from the tolerances behind each interval, 200 or more", NULL, &given->draws},
        {"seed", "NUMBER", "for the drawn doors", NULL, &given->seed},
        {"json", NULL, "print the answers as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET",
        .about =
            "Works out the power train of the door in SHEET, stage by stage, raising and lowering: speeds, torques,\n"
            "efficiencies both ways, stall, what holds the glass, signals, strength of the teeth; and names\n"
            "entries that contradict each other. Steady running; `upstop move` simulates.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = 1};
    up_arguments arguments = {0};
    const int status = up_cli_arguments(&usage, argc, argv, &arguments);
    given->sheet = status < 0 ? arguments.operand[0] : NULL;
    return status;
}

/* -1, or the exit status after one message. */
static int read_quantity(const char *option, const char *text, const char *unit, const char *expected, const char *mend,
                         double low, double high, double *value) {
    up_units units;
    int unit_missing = 0, not_a_number = 0;
    up_units_init(&units);
    const up_unit_status status = up_units_read(&units, text, unit, value, &unit_missing, &not_a_number);
    up_units_free(&units);
    if (status == UP_UNIT_OK && *value >= low && *value <= high) {
        return -1;
    }
    if (status == UP_UNIT_NO_DATABASE) {
        mend = "The units database of UDUNITS-2 cannot be read; install it.";
    }
    return up_cli_bad_option(command_name, option, text, expected, mend);
}

static int read_count(const char *option, const char *text, const char *expected, const char *mend, double low,
                      double high, double *value) {
    char *end = NULL;
    *value = strtod(text, &end);
    if (end != text && *end == '\0' && *value >= low && *value <= high && floor(*value) == *value) {
        return -1;
    }
    return up_cli_bad_option(command_name, option, text, expected, mend);
}

static int read_request(const words *given, up_train_request *request) {
    double value = 0;
    int status = -1;
    if (given->temperature) {
        status = read_quantity("--temperature", given->temperature, "degC", "-60 to 120 degC, with its unit",
                               "Write it like this: --temperature -10degC", -60, 120, &value);
        request->temperature = value + 273.15;
    }
    if (status < 0 && given->supply) {
        status = read_quantity("--supply", given->supply, "V", "5 to 18 V, with its unit",
                               "Write it like this: --supply 12.6V", 5, 18, &request->open_voltage);
    }
    if (status < 0 && given->draws) {
        status = read_count("--draws", given->draws, "a whole number, 200 to 100000", "Write it like this: --draws 400",
                            DRAWS_LEAST, DRAWS_MOST, &value);
        request->draws = status < 0 ? (int)value : request->draws;
    }
    if (status < 0 && given->seed) {
        status = read_count("--seed", given->seed, "a whole number, 0 to 4294967295", "Write it like this: --seed 7", 0,
                            4294967295.0, &value);
        request->seed = status < 0 ? (uint64_t)value : request->seed;
    }
    return status;
}

static int print(const up_sheet *sheet, const up_train_request *request, const up_train *train, const words *given) {
    if (!given->json) {
        up_train_print_text(sheet, train, given->places, stdout);
    } else if (up_train_print_json(sheet, request, train, stdout) != 0) {
        fprintf(stderr, "upstop train: the JSON cannot be written\n");
        return UP_EXIT_INTERNAL;
    }
    return up_cli_finish(UP_EXIT_OK);
}

static int work_out(const up_sheet *sheet, up_train_request *request, const words *given) {
    const size_t size = up_train_memory(request->draws);
    void *memory = malloc(size);
    up_train *train = malloc(sizeof *train);
    up_workers *workers = up_threads_start(up_threads_available());
    int status = UP_EXIT_INTERNAL;
    request->known = &sheet->known;
    if (memory == NULL || train == NULL) {
        fprintf(stderr, "upstop train: out of memory\n");
    } else {
        const up_status done = up_train_run(request, workers, memory, size, train);
        if (done == UP_OK) {
            status = print(sheet, request, train, given);
        } else {
            fprintf(stderr, "upstop train: %s: %s\n", sheet->path, up_status_text(done));
            status = UP_EXIT_INPUT;
        }
    }
    up_threads_stop(workers);
    free(train);
    free(memory);
    return status;
}

int up_command_train(int argc, char **argv) {
    words given = {0};
    up_train_request request = {.temperature = 293.15, .open_voltage = UP_ABSENT, .seed = 1, .draws = DRAWS_USUAL};
    up_sheet sheet;
    int status = read_words(argc, argv, &given);
    if (status >= 0) {
        return status;
    }
    status = read_request(&given, &request);
    if (status >= 0) {
        return status;
    }
    status = up_cli_read_sheet(given.sheet, &sheet);
    if (status != 0) {
        return status;
    }
    status = work_out(&sheet, &request, &given);
    up_sheet_free(&sheet);
    return status;
}

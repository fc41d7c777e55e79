/* upstop read: a recording as an instrument wrote it, and what was understood of it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/command.h"
#include "apps/cli/read_json.h"
#include "apps/cli/read_options.h"
#include "apps/cli/read_text.h"

static const char command_name[] = "read";

typedef struct words {
    up_read_words reading;
    int facts, json;
} words;

static int read_words(int argc, char **argv, words *given, up_arguments *arguments) {
    const up_option options[] = {
        UP_READ_OPTION_ROWS(&given->reading),
        {"facts", NULL, "all statements of the preamble, not only those that were used", &given->facts, NULL},
        {"json", NULL, "print what was understood as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "FILE...",
        .about =
            "Reads recordings as instruments write them (text tables in any common shape, MAT files, WAV sound) and\n"
            "shows what was understood: columns, units, rate, gaps, missing and clipped samples, and why. What the\n"
            "file does not say, or says wrongly, can be said with the options; other commands take the same ones.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = UP_OPERANDS_MAX};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

int up_command_read(int argc, char **argv) {
    words given = {0};
    up_arguments files = {0};
    up_recording_options options;
    up_recording *recordings = calloc(UP_OPERANDS_MAX, sizeof *recordings);
    int status = read_words(argc, argv, &given, &files), count = 0;
    if (recordings == NULL) {
        fprintf(stderr, "upstop read: out of memory\n");
        return UP_EXIT_INTERNAL;
    }
    if (status < 0) {
        status = up_read_options(command_name, &given.reading, argc, argv, &options);
    }
    while (status < 0 && count < files.count) {
        status = up_cli_read_recording(command_name, files.operand[count], &options, &recordings[count]);
        count++;
    }
    if (status < 0) {
        status = UP_EXIT_OK;
        if (!given.json) {
            for (int i = 0; i < count; i++) {
                up_read_print_text(&recordings[i], given.facts, stdout);
            }
        } else if (up_read_print_json(recordings, count, stdout) != 0) {
            fprintf(stderr, "upstop read: the JSON cannot be written\n");
            status = UP_EXIT_INTERNAL;
        }
        status = up_cli_finish(status);
    }
    for (int i = 0; i < count; i++) {
        up_recording_free(&recordings[i]);
    }
    free(recordings);
    return status;
}

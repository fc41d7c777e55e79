#include "apps/cli/read_options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/units.h"

static int read_time(const char *command, const char *option, const char *text, double *seconds) {
    up_units units;
    if (text == NULL) {
        return -1;
    }
    up_units_init(&units);
    const up_unit_status status = up_units_read(&units, text, "s", seconds, NULL, NULL);
    up_units_free(&units);
    return status == UP_UNIT_OK && isfinite(*seconds)
               ? -1
               : up_cli_bad_option(command, option, text, "a time with its unit", "Write it like this: 12.5ms, -0.2s");
}

/* "10kHz", "250 kSa/s" or "100us". */
static int read_rate(const char *command, const char *text, double *hertz) {
    up_units units;
    double value = NAN;
    char plain[64];
    if (text == NULL) {
        return -1;
    }
    /* Samples a second are hertz. */
    const char *samples = strstr(text, "Sa/s");
    samples = samples != NULL ? samples : strstr(text, "S/s");
    snprintf(plain, sizeof plain, "%.*s%s", samples != NULL ? (int)(samples - text < 40 ? samples - text : 40) : 60,
             text, samples != NULL ? "Hz" : "");
    up_units_init(&units);
    up_unit_status status = up_units_read(&units, plain, "Hz", &value, NULL, NULL);
    if (status != UP_UNIT_OK) {
        status = up_units_read(&units, plain, "s", &value, NULL, NULL);
        value = 1 / value;
    }
    up_units_free(&units);
    *hertz = value;
    return status == UP_UNIT_OK && value >= 1e-6 && value <= 1e12
               ? -1
               : up_cli_bad_option(command, "rate", text, "samples a second or the time between two, with the unit",
                                   "Write it like this: --rate 10kHz or --rate 100us");
}

static int read_whole(const char *command, const char *option, const char *text, long most, long *value) {
    char *end = NULL;
    if (text == NULL) {
        return -1;
    }
    *value = strtol(text, &end, 10);
    return end != text && *end == '\0' && *value >= 1 && *value <= most
               ? -1
               : up_cli_bad_option(command, option, text, "a whole number from 1 on", "Write it like this: 2");
}

static int read_mark(const char *command, const char *option, const char *text, int decimal, char *mark) {
    static const struct {
        const char *word;
        char mark;
    } marks[] = {{"comma", ','}, {"point", '.'}, {"semicolon", ';'}, {"tab", '\t'}, {"blank", ' '}, {"bar", '|'}};
    if (text == NULL) {
        return -1;
    }
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
        const int fits = decimal ? i < 2 : i != 1;
        if (fits && (strcmp(text, marks[i].word) == 0 || (text[0] == marks[i].mark && text[1] == '\0'))) {
            *mark = marks[i].mark;
            return -1;
        }
    }
    return up_cli_bad_option(command, option, text, decimal ? "point or comma" : "comma, semicolon, tab, blank or bar",
                             "Write the word");
}

static int read_column(const char *command, const char *text, up_recording_options *options) {
    const char *expected;
    if (options->said_count >= UP_SAID_MAX) {
        return up_cli_bad_option(command, "column", text, "32 columns at most", "name only those that are needed");
    }
    if (up_said_column_read(text, &options->said[options->said_count], &expected) != 0) {
        return up_cli_bad_option(command, "column", text, expected, "Write it like this: --column CH2=current[A]");
    }
    options->said_count++;
    return -1;
}

static int read_columns(const char *command, int argc, char **argv, up_recording_options *options) {
    int status = -1;
    for (int i = 1; i < argc && status < 0 && strcmp(argv[i], "--") != 0; i++) {
        if (strncmp(argv[i], "--column=", 9) == 0) {
            status = read_column(command, argv[i] + 9, options);
        } else if (strcmp(argv[i], "--column") == 0 && i + 1 < argc) {
            status = read_column(command, argv[++i], options);
        }
    }
    return status;
}

int up_read_options(const char *command, const up_read_words *words, int argc, char **argv,
                    up_recording_options *options) {
    long part = 0;
    up_recording_options_usual(options);
    options->keep_spikes = words->keep_spikes;
    int status = read_rate(command, words->rate, &options->rate);
    status = status < 0 ? read_time(command, "start", words->start, &options->start) : status;
    status = status < 0 ? read_time(command, "from", words->from, &options->from) : status;
    status = status < 0 ? read_time(command, "to", words->to, &options->to) : status;
    status = status < 0 ? read_whole(command, "part", words->part, 1000, &part) : status;
    status = status < 0 ? read_whole(command, "first-line", words->first_line, 4000, &options->first_line) : status;
    status = status < 0 ? read_mark(command, "separator", words->separator, 0, &options->separator) : status;
    status = status < 0 ? read_mark(command, "decimal", words->decimal, 1, &options->decimal) : status;
    options->part = (int)part;
    if (status < 0 && words->start != NULL && words->rate == NULL) {
        status =
            up_cli_bad_option(command, "start", words->start, "--rate beside it", "say how often was sampled, too");
    }
    return status < 0 ? read_columns(command, argc, argv, options) : status;
}

int up_cli_read_recording(const char *command, const char *path, const up_recording_options *options,
                          up_recording *recording) {
    up_problem problem;
    const int status = up_recording_read(path, options, recording, &problem);
    if (status == 2) {
        up_problem_print(&problem, recording->path != NULL ? recording->path : path, stderr);
    } else if (status != 0) {
        fprintf(stderr, "%s%s: out of memory while reading %s\n", up_cli_before(command), command, path);
    }
    return status == 0 ? -1 : status;
}

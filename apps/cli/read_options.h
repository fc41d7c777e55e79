/* What can be said about a recording on the command line; for every command that reads one. */
#ifndef UPSTOP_CLI_READ_OPTIONS_H
#define UPSTOP_CLI_READ_OPTIONS_H

#include "apps/cli/command.h"
#include "io/recording.h"

typedef struct up_read_words {
    const char *rate, *start, *from, *to, *part, *separator, *decimal, *first_line, *column;
    int keep_spikes;
} up_read_words;

/* The rows of a command's option table that fill the words. */
#define UP_READ_OPTION_ROWS(words)                                                                                     \
    {"rate", "RATE", "samples a second, or the time between two: 10kHz, 100us;\nreplaces the times in the file", NULL, \
     &(words)->rate},                                                                                                  \
        {"start", "TIME", "time of the first sample, with --rate: -5ms", NULL, &(words)->start},                       \
        {"column", "NAME=WHAT[UNIT]",                                                                                  \
         "what a column is: CH2=current[100 mV/A], 3=speed[rpm], T=time[ms];\n"                                        \
         "WHAT: voltage, current, speed, position, pulses, force, temperature, sound,\n"                               \
         "time, number (of the sample), nothing; NAME as in the file, or its number;\n"                                \
         "may be given again for other columns",                                                                       \
         NULL, &(words)->column},                                                                                      \
        {"from", "TIME", "only samples from this time on", NULL, &(words)->from},                                      \
        {"to", "TIME", "only samples up to this time", NULL, &(words)->to},                                            \
        {"part", "NUMBER", "where time starts anew in the file: which part (usual: the longest)", NULL,                \
         &(words)->part},                                                                                              \
        {"separator", "MARK", "between cells: comma, semicolon, tab, blank, bar", NULL, &(words)->separator},          \
        {"decimal", "MARK", "decimal mark: point, comma", NULL, &(words)->decimal},                                    \
        {"first-line", "NUMBER", "line of the first samples", NULL, &(words)->first_line}, {                           \
        "keep-spikes", NULL, "keep single wild samples, which are taken for read errors", &(words)->keep_spikes, NULL  \
    }

/* Makes options of the words; --column is looked for in argv, because it may be given several times. Returns -1 to go on, or
 * the exit status after one message. */
int up_read_options(const char *command, const up_read_words *words, int argc, char **argv,
                    up_recording_options *options);

/* Reads a recording for a command; one message on stderr when it cannot be. Returns -1, or the exit status; free it after
 * either. */
int up_cli_read_recording(const char *command, const char *path, const up_recording_options *options,
                          up_recording *recording);

#endif

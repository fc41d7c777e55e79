/* The commands of the program and what they share.
 *
 * A command is one file apps/cli/<name>.c with one function up_command_<name>, and one row of this list. */
#ifndef UPSTOP_CLI_COMMAND_H
#define UPSTOP_CLI_COMMAND_H

#include <stddef.h>

#include "io/sheet.h"

/* X(name, summary): summary is one line without a full stop. Order of a job. */
#define UP_COMMAND_LIST(X)                                                               \
    X(new, "write a door sheet to fill in, with how to measure each entry")              \
    X(check, "name every problem in a door sheet, and what it leaves to assumption")     \
    X(schema, "print the JSON Schema of the door sheet, for editors")                    \
    X(train, "follow motion, power and signals from the battery to the glass")           \
    X(move, "simulate one closing or opening, with or without something in the way")     \
    X(pinch, "map the squeezing force, search the worst case, judge it by the rules")    \
    X(vary, "close the window many times: other doors, other days, roads and batteries") \
    X(tune, "set the pinch detector: squeezing force against reversals for no reason")   \
    X(read, "read recordings as instruments write them, and show what was understood")   \
    X(fit, "work out what recordings tell of the sheet's numbers, and write them back")  \
    X(refit, "print the card for putting the door back: torques, leads, acceptance")

/* Exit statuses of every command. */
enum {
    UP_EXIT_OK = 0,
    UP_EXIT_VERDICT = 1, /* it ran; a check or verdict failed          */
    UP_EXIT_INPUT = 2,   /* sheet, recording or command line is wrong  */
    UP_EXIT_INTERNAL = 3 /* ours: out of memory, cannot write, a defect */
};

/* argv[0] is the command's name, the rest its arguments. Returns an exit status. Results go to stdout, talk to stderr. */
#define UP_COMMAND_DECLARE(name, summary) int up_command_##name(int argc, char **argv);
UP_COMMAND_LIST(UP_COMMAND_DECLARE)
#undef UP_COMMAND_DECLARE

/* ---- arguments ---- */

/* One row per option. Exactly one of flag and text is set:
 *   flag    switch without a value, becomes 1
 *   text    the value as written, points into argv
 * Values are given as `--name value` or `--name=value`. Given twice: the last one counts. */
typedef struct up_option {
    const char *name;       /* "json", without the dashes                     */
    const char *value_name; /* "FILE" for the help; NULL for a flag           */
    const char *help;       /* one line, or several with \n between           */
    int *flag;
    const char **text;
} up_option;

typedef struct up_usage {
    const char *command;  /* "check"; a name that begins with "upstop" is the whole name          */
    const char *operands; /* "SHEET", "" when there are none: for the help                        */
    const char *about;    /* a few lines, each ended by \n                                        */
    const up_option *options;
    int option_count;
    int operands_min, operands_max; /* operands_max <= UP_OPERANDS_MAX                            */
} up_usage;

enum { UP_OPERANDS_MAX = 8 };

typedef struct up_arguments {
    const char *operand[UP_OPERANDS_MAX];
    int count;
} up_arguments;

/* Reads a command's arguments. `--help` is understood everywhere and prints the usage; `--` ends the options.
 * Returns -1 when the command shall go on, else the exit status to return at once (0 after --help, 2 after one clear
 * message on stderr). */
int up_cli_arguments(const up_usage *usage, int argc, char **argv, up_arguments *arguments);

/* Reads a sheet for a command: prints errors and warnings to stderr. Returns 0 when it is usable, 2 or 3 otherwise
 * (then the sheet is freed already). After 0 call up_sheet_free. */
int up_cli_read_sheet(const char *path, up_sheet *sheet);

/* One clear message on stderr for an option's value, "upstop move: --rod: found ...; expected ...; mend"; returns
 * UP_EXIT_INPUT. */
int up_cli_bad_option(const char *command, const char *option, const char *found, const char *expected,
                      const char *mend);

/* What messages put before a command's name: "upstop ", or "" when the name is whole already. */
const char *up_cli_before(const char *command);

/* Flushes stdout; returns status, or UP_EXIT_INTERNAL with a message when writing failed (disk full, closed pipe). */
int up_cli_finish(int status);

#endif

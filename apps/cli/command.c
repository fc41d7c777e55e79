/* What the commands share: arguments, sheets, messages. */
#include "apps/cli/command.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "io/sheet_suggest.h"

enum { HELP_COLUMN = 24 };

static void print_option(const char *name, const char *value_name, const char *help) {
    char left[80];
    snprintf(left, sizeof left, "--%s%s%s", name, value_name != NULL ? " " : "", value_name != NULL ? value_name : "");
    printf("  %-*s ", HELP_COLUMN, left);
    for (const char *end; (end = strchr(help, '\n')) != NULL; help = end + 1) {
        printf("%.*s\n%*s", (int)(end - help), help, HELP_COLUMN + 3, "");
    }
    printf("%s\n", help);
}

const char *up_cli_before(const char *command) {
    return strncmp(command, "upstop", 6) == 0 ? "" : "upstop ";
}

static void print_usage(const up_usage *usage) {
    printf("%s%s%s%s%s\n\n%s\n", up_cli_before(usage->command), usage->command,
           usage->option_count > 0 ? " [options]" : "", usage->operands[0] != '\0' ? " " : "", usage->operands,
           usage->about);
    for (int i = 0; i < usage->option_count; i++) {
        print_option(usage->options[i].name, usage->options[i].value_name, usage->options[i].help);
    }
    print_option("help", NULL, "this text");
    printf("\nExit status: 0 done, 1 a check or verdict failed, 2 bad input, 3 internal trouble,\n"
           "130 interrupted (Ctrl-C).\n");
}

static int complain(const up_usage *usage, const char *found, const char *expected, const char *mend) {
    fprintf(stderr, "%s%s: found %s; expected %s; %s\n", up_cli_before(usage->command), usage->command, found, expected,
            mend);
    return UP_EXIT_INPUT;
}

static const up_option *find_option(const up_usage *usage, const char *name, size_t length) {
    for (int i = 0; i < usage->option_count; i++) {
        if (strlen(usage->options[i].name) == length && strncmp(usage->options[i].name, name, length) == 0) {
            return &usage->options[i];
        }
    }
    return NULL;
}

static int complain_unknown(const up_usage *usage, const char *name, size_t length) {
    char written[64], found[80], mend[160];
    const char *best = NULL;
    int apart = 0;
    snprintf(written, sizeof written, "%.*s", (int)length, name);
    snprintf(found, sizeof found, "the option --%.60s", written);
    for (int i = 0; i < usage->option_count; i++) {
        up_suggest(written, usage->options[i].name, &best, &apart);
    }
    if (best != NULL) {
        snprintf(mend, sizeof mend, "did you mean --%s?", best);
    } else {
        snprintf(mend, sizeof mend, "see %s%s --help", up_cli_before(usage->command), usage->command);
    }
    return complain(usage, found, "an option of this command", mend);
}

/* Takes the option at argv[*at], and its value. Returns -1 to go on. */
static int take_option(const up_usage *usage, int argc, char **argv, int *at) {
    const char *name = argv[*at] + 2, *equals = strchr(name, '=');
    size_t length = equals != NULL ? (size_t)(equals - name) : strlen(name);
    char found[100];
    const up_option *option = find_option(usage, name, length);
    if (option == NULL) {
        return complain_unknown(usage, name, length);
    }
    if (option->flag != NULL) {
        if (equals != NULL) {
            snprintf(found, sizeof found, "a value for --%s", option->name);
            return complain(usage, found, "none: it is a switch", "leave the = and what follows away");
        }
        *option->flag = 1;
        return -1;
    }
    if (equals == NULL && *at + 1 >= argc) {
        snprintf(found, sizeof found, "nothing after --%s", option->name);
        return complain(usage, found, option->value_name, "write the value after it");
    }
    *option->text = equals != NULL ? equals + 1 : argv[++*at];
    return -1;
}

static int take_operand(const up_usage *usage, const char *text, up_arguments *arguments) {
    char found[160];
    if (arguments->count >= usage->operands_max || arguments->count >= UP_OPERANDS_MAX) {
        snprintf(found, sizeof found, "\"%.120s\" as well", text);
        return complain(usage, found, usage->operands[0] != '\0' ? usage->operands : "no name here",
                        "take it out, or see --help");
    }
    arguments->operand[arguments->count++] = text;
    return -1;
}

int up_cli_arguments(const up_usage *usage, int argc, char **argv, up_arguments *arguments) {
    int options_end = 0;
    *arguments = (up_arguments){0};
    for (int i = 1; i < argc; i++) {
        int status = -1;
        if (!options_end && strcmp(argv[i], "--") == 0) {
            options_end = 1;
        } else if (!options_end && strcmp(argv[i], "--help") == 0) {
            print_usage(usage);
            return up_cli_finish(UP_EXIT_OK);
        } else if (!options_end && strncmp(argv[i], "--", 2) == 0) {
            status = take_option(usage, argc, argv, &i);
        } else if (!options_end && argv[i][0] == '-' && argv[i][1] != '\0') {
            status = complain(usage, argv[i], "options that begin with two dashes", "see --help");
        } else {
            status = take_operand(usage, argv[i], arguments);
        }
        if (status >= 0) {
            return status;
        }
    }
    if (arguments->count < usage->operands_min) {
        return complain(usage, "no name", usage->operands, "name the file; - is standard input");
    }
    return -1;
}

int up_cli_read_sheet(const char *path, up_sheet *sheet) {
    up_findings findings = {0};
    int status = up_sheet_read_file(path, sheet, &findings);
    up_findings_print(&findings, sheet->path != NULL ? sheet->path : path, stderr);
    up_findings_free(&findings);
    if (status == 3) {
        fprintf(stderr, "upstop: out of memory while reading %s\n", path);
    }
    if (status != 0) {
        up_sheet_free(sheet);
    }
    return status;
}

int up_cli_bad_option(const char *command, const char *option, const char *found, const char *expected,
                      const char *mend) {
    const char *bare = strncmp(option, "--", 2) == 0 ? option + 2 : option;
    fprintf(stderr, "%s%s: --%s: found %s; expected %s; %s\n", up_cli_before(command), command, bare, found, expected,
            mend);
    return UP_EXIT_INPUT;
}

int up_cli_finish(int status) {
    if (fflush(stdout) != 0 || ferror(stdout)) {
        fprintf(stderr, "upstop: standard output cannot be written: %s\n", strerror(errno));
        return UP_EXIT_INTERNAL;
    }
    return status;
}

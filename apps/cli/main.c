#include <stdio.h>
#include <string.h>

#include "apps/cli/command.h"
#include "io/sheet_suggest.h"

typedef struct command_row {
    const char *name, *summary;
    int (*run)(int argc, char **argv);
} command_row;

static const command_row commands[] = {
#define UP_COMMAND_ROW(name, summary) {#name, summary, up_command_##name},
    UP_COMMAND_LIST(UP_COMMAND_ROW)
#undef UP_COMMAND_ROW
};

enum { COMMANDS = sizeof commands / sizeof commands[0] };

static void print_help(FILE *out) {
    fprintf(out,
            "upstop: a working, checked model of a motor-driven door window, from what you counted and measured\n\n"
            "  upstop COMMAND [options] [door sheet]\n\n");
    for (int i = 0; i < COMMANDS; i++) {
        fprintf(out, "  %-8s %s\n", commands[i].name, commands[i].summary);
    }
    fprintf(out, "\n  upstop COMMAND --help tells about one command; upstop --version prints the version.\n\n"
                 "Start with:  upstop new --family crossed-arms > door.yaml\n"
                 "             upstop check door.yaml\n\n"
                 "Exit status: 0 done, 1 a check or verdict failed, 2 bad input, 3 internal trouble,\n"
                 "130 interrupted (Ctrl-C).\n"
                 "A closing window can injure. Nothing this program says certifies anything.\n");
}

static int unknown_command(const char *name) {
    const char *best = NULL;
    int apart = 0;
    for (int i = 0; i < COMMANDS; i++) {
        up_suggest(name, commands[i].name, &best, &apart);
    }
    fprintf(stderr, "upstop: found the command \"%.60s\"; expected one that upstop --help lists; ", name);
    if (best != NULL) {
        fprintf(stderr, "did you mean %s?\n", best);
    } else {
        fprintf(stderr, "commands come first, then options and files\n");
    }
    return UP_EXIT_INPUT;
}

int main(int argc, char **argv) {
    if (argc < 2) {
        print_help(stderr);
        return UP_EXIT_INPUT;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_help(stdout);
        return up_cli_finish(UP_EXIT_OK);
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("upstop %s\n", UPSTOP_VERSION);
        return up_cli_finish(UP_EXIT_OK);
    }
    for (int i = 0; i < COMMANDS; i++) {
        if (strcmp(argv[1], commands[i].name) == 0) {
            return commands[i].run(argc - 1, argv + 1);
        }
    }
    return unknown_command(argv[1]);
}

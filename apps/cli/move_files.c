#include "apps/cli/move_files.h"

#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "apps/cli/files.h"
#include "apps/cli/move_text.h"
#include "io/chart.h"
#include "io/write_file.h"

enum { PATH_ROOM = 4096 };

/* Name of the unfinished file, for the handler; empty: none. */
static char unfinished[PATH_ROOM];

/* Only calls that are safe in a handler. */
static void remove_and_end(int signal_number) {
    if (unfinished[0]) {
        unlink(unfinished);
    }
    signal(signal_number, SIG_DFL);
    raise(signal_number);
}

static void watch_signals(int on) {
    static const int watched[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction action = {0};
    action.sa_handler = on ? remove_and_end : SIG_DFL;
    for (size_t i = 0; i < sizeof watched / sizeof watched[0]; i++) {
        struct sigaction now;
        if (sigaction(watched[i], NULL, &now) == 0 && now.sa_handler != SIG_IGN) {
            sigaction(watched[i], &action, NULL);
        }
    }
}

typedef int write_content(const up_move_answer *answer, FILE *file);

static int cannot_write(const char *path, int error) {
    fprintf(stderr, "upstop move: cannot write %s: %s.\n", path, error ? strerror(error) : "the disk may be full");
    return UP_EXIT_INTERNAL;
}

/* A place that cannot be written was named by the user; what goes wrong later is trouble of our own. */
static int cannot_open(const char *path, int error) {
    (void)cannot_write(path, error);
    return UP_EXIT_INPUT;
}

static int write_beside(const char *path, write_content *content, const up_move_answer *answer) {
    up_output output;
    if (up_output_open(&output, path) != 0) {
        return cannot_open(path, errno);
    }
    snprintf(unfinished, sizeof unfinished, "%s", output.temporary);
    watch_signals(1);
    errno = 0;
    int failed = content(answer, output.file) != 0;
    int error = errno;
    if (failed) {
        up_output_abandon(&output);
    } else if (up_output_commit(&output) != 0) {
        failed = 1;
        error = errno;
    }
    unfinished[0] = '\0';
    watch_signals(0);
    return failed ? cannot_write(path, error) : -1;
}

static int write_samples(const up_move_answer *answer, FILE *file) {
    return up_trace_print_samples(&answer->trace, answer->door.travel, file);
}

static int write_events(const up_move_answer *answer, FILE *file) {
    return up_trace_print_events(&answer->trace, answer->door.travel, file);
}

static int write_chart(const up_move_answer *answer, FILE *file) {
    char title[256];
    char outcome[256];
    char limit[64];
    double force_limit = up_move_force_limit(answer, limit, sizeof limit);
    const up_chart chart = {.trace = &answer->trace,
                            .closed_travel = answer->door.travel,
                            .header_depth = answer->sheet->known.values.header_depth,
                            .rod_opening = answer->run.rod ? answer->run.rod_opening : NAN,
                            .force_limit = force_limit,
                            .limit_text = limit,
                            .detail = answer->has_cause ? UP_CHART_OPENING_DETAIL
                                      : answer->run.rod ? UP_CHART_ROD_DETAIL
                                                        : UP_CHART_NO_DETAIL,
                            .title = up_move_title(answer, title, sizeof title),
                            .outcome = up_move_outcome(answer, outcome, sizeof outcome)};
    return up_chart_write(&chart, answer->move->format, file);
}

char *up_move_events_name(const char *path, char *out, size_t size) {
    const char *slash = strrchr(path, '/');
    const char *dot = strrchr(path, '.');
    if (!dot || (slash && dot < slash) || dot == path || dot[-1] == '/') {
        snprintf(out, size, "%s.events", path);
    } else {
        snprintf(out, size, "%.*s.events%s", (int)(dot - path), path, dot);
    }
    return out;
}

int up_move_check_files(const up_move *move) {
    char events[PATH_ROOM] = "";
    if (move->csv) {
        up_move_events_name(move->csv, events, sizeof events);
    }
    const char *wanted[] = {move->csv, move->csv ? events : NULL, move->chart};
    const char *option[] = {"csv", "csv", "chart"};
    for (int i = 0; i < 3; i++) {
        if (wanted[i] && up_cli_same_file(wanted[i], move->sheet)) {
            return up_cli_bad_option("move", option[i], wanted[i], "a file that is not the door sheet itself",
                                     "give it another name");
        }
        for (int k = 0; wanted[i] && k < i; k++) {
            if (wanted[k] && up_cli_same_file(wanted[i], wanted[k])) {
                return up_cli_bad_option("move", option[i], wanted[i], "a file that nothing else is written to",
                                         "give it another name");
            }
        }
    }
    return -1;
}

int up_move_write_files(const up_move_answer *answer) {
    const up_move *move = answer->move;
    char events[PATH_ROOM];
    int status = -1;
    if (move->csv) {
        status = write_beside(move->csv, write_samples, answer);
    }
    if (status < 0 && move->csv) {
        status = write_beside(up_move_events_name(move->csv, events, sizeof events), write_events, answer);
    }
    if (status < 0 && move->chart) {
        status = write_beside(move->chart, write_chart, answer);
    }
    return status;
}

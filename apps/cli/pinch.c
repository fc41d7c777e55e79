/* upstop pinch: can this window hurt someone? */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>

#include "apps/cli/command.h"
#include "apps/cli/pinch_files.h"
#include "apps/cli/pinch_json.h"
#include "apps/cli/pinch_run.h"
#include "apps/cli/pinch_text.h"
#include "io/threads.h"

/* A verdict that a rule asks for and that failed makes the exit status 1. */
static int verdict_of(const up_pinch_answer *answer) {
    for (int i = 0; i < answer->rules; i++) {
        if (answer->rule[i].verdict.overall == UP_VERDICT_FAILED) {
            return UP_EXIT_VERDICT;
        }
    }
    return answer->has_faults ? up_pinch_faults_status(&answer->faults) : UP_EXIT_OK;
}

static int tell(const up_pinch_answer *answer) {
    if (!answer->request->json) {
        up_plot_look look = up_plot_look_of(stdout);
        up_pinch_print(answer, &look, stdout);
        if (answer->has_faults) {
            up_pinch_faults_print(&answer->faults, &look, stdout);
        }
        up_pinch_print_end(answer, &look, stdout);
    } else if (up_pinch_print_json(answer, stdout) != 0) {
        if (!ferror(stdout)) { /* that is told at the end */
            fputs("upstop pinch: out of memory.\n", stderr);
        }
        return UP_EXIT_INTERNAL;
    }
    return verdict_of(answer);
}

static int pinch_door(const up_pinch_request *request, const up_sheet *sheet, up_pinch_answer *answer) {
    up_workers *workers = up_threads_start(request->threads);
    int status = up_pinch_work_out(request, sheet, workers, answer);
    up_threads_stop(workers);
    if (status < 0) {
        status = up_pinch_write_files(answer);
    }
    return status < 0 ? tell(answer) : status;
}

int up_command_pinch(int argc, char **argv) {
    up_pinch_request request;
    up_sheet sheet;
    setlocale(LC_CTYPE, "");
    int status = up_pinch_read(argc, argv, &request);
    if (status < 0) {
        status = up_pinch_check_files(&request);
    }
    if (status >= 0) {
        return status;
    }
    status = up_cli_read_sheet(request.sheet, &sheet);
    if (status != 0) {
        return status;
    }
    up_pinch_answer *answer = calloc(1, sizeof *answer);
    if (answer) {
        status = pinch_door(&request, &sheet, answer);
        up_pinch_forget(answer);
        free(answer);
    } else {
        fputs("upstop pinch: out of memory.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    up_sheet_free(&sheet);
    return up_cli_finish(status);
}

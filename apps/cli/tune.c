/* upstop tune: how shall the pinch detector be set? */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>

#include "apps/cli/command.h"
#include "apps/cli/tune_run.h"
#include "apps/cli/tune_text.h"
#include "io/threads.h"

/* The recommended setting keeps the limit at an acceptable rate, or it does not: then the exit status is 1. */
static int tell(const up_tune_answer *answer) {
    if (!answer->wish->json) {
        const up_plot_look look = up_plot_look_of(stdout);
        up_tune_print(answer, &look, stdout);
    } else if (up_tune_print_json(answer, stdout) != 0) {
        if (!ferror(stdout)) { /* that is told at the end */
            fputs("upstop tune: out of memory.\n", stderr);
        }
        return UP_EXIT_INTERNAL;
    }
    return answer->chosen->reason == UP_TUNE_WITHIN ? UP_EXIT_OK : UP_EXIT_VERDICT;
}

static int tune_door(const up_tune_wish *wish, const up_sheet *sheet, up_tune_answer *answer) {
    up_workers *workers = up_threads_start(wish->threads);
    int status = up_tune_work_out(wish, sheet, workers, answer);
    up_threads_stop(workers);
    if (status < 0) {
        status = up_tune_write_files(answer);
    }
    return status < 0 ? tell(answer) : status;
}

int up_command_tune(int argc, char **argv) {
    up_tune_wish wish;
    up_sheet sheet;
    setlocale(LC_CTYPE, "");
    int status = up_tune_read(argc, argv, &wish);
    if (status < 0) {
        status = up_tune_check_files(&wish);
    }
    if (status >= 0) {
        return status;
    }
    status = up_cli_read_sheet(wish.path, &sheet);
    if (status != 0) {
        return status;
    }
    up_tune_answer *answer = calloc(1, sizeof *answer);
    if (answer) {
        status = tune_door(&wish, &sheet, answer);
        up_tune_forget(answer);
        free(answer);
    } else {
        fputs("upstop tune: out of memory.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    up_sheet_free(&sheet);
    return up_cli_finish(status);
}

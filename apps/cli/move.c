/* upstop move: one closing or opening, simulated. */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>

#include "apps/cli/command.h"
#include "apps/cli/move_files.h"
#include "apps/cli/move_json.h"
#include "apps/cli/move_run.h"
#include "apps/cli/move_text.h"

/* A verdict that the rule asks for and that failed makes the exit status 1; a rule that does not bind the closing, or
 * lacks a fact, does not. */
static int verdict_of(const up_move_answer *answer) {
    for (int i = 0; i < answer->rules; i++) {
        if (answer->rule[i].spread.nominal_judgement.overall == UP_VERDICT_FAILED) {
            return UP_EXIT_VERDICT;
        }
    }
    return UP_EXIT_OK;
}

static int tell(const up_move_answer *answer) {
    if (answer->move->json) {
        if (up_move_print_json(answer, stdout) != 0) {
            if (!ferror(stdout)) { /* that is told at the end */
                fputs("upstop move: out of memory.\n", stderr);
            }
            return UP_EXIT_INTERNAL;
        }
    } else {
        up_plot_look look = up_plot_look_of(stdout);
        up_move_print(answer, &look, stdout);
    }
    return verdict_of(answer);
}

static int move_door(up_move *move, const up_sheet *sheet, up_move_answer *answer) {
    int status = up_move_place(move, sheet->known.values.glass_travel);
    if (status < 0) {
        status = up_move_run(move, sheet, answer);
    }
    if (status < 0) {
        status = up_move_write_files(answer);
    }
    return status < 0 ? tell(answer) : status;
}

int up_command_move(int argc, char **argv) {
    up_move move;
    up_sheet sheet;
    setlocale(LC_CTYPE, "");
    int status = up_move_read(argc, argv, &move);
    if (status < 0) {
        status = up_move_check_files(&move);
    }
    if (status >= 0) {
        return status;
    }
    status = up_cli_read_sheet(move.sheet, &sheet);
    if (status != 0) {
        return status;
    }
    up_move_answer *answer = calloc(1, sizeof *answer);
    if (answer) {
        status = move_door(&move, &sheet, answer);
        up_move_forget(answer);
        free(answer);
    } else {
        fputs("upstop move: out of memory.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    up_sheet_free(&sheet);
    return up_cli_finish(status);
}

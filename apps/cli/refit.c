/* upstop refit: the card for putting a door back together. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "apps/cli/command.h"
#include "apps/cli/refit_answer.h"
#include "apps/cli/refit_screws.h"
#include "io/threads.h"

static int work_out_card(const up_refit *refit, up_refit_answer *answer) {
    up_card_request request = refit->request;
    const size_t size = up_card_memory(request.draws);
    void *memory = malloc(size);
    if (!memory) {
        fputs("upstop refit: out of memory.\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    request.known = &answer->sheet->known;
    up_workers *workers = up_threads_start(up_threads_available());
    const up_status done = up_card_run(&request, workers, memory, size, &answer->card);
    up_threads_stop(workers);
    free(memory);
    if (done == UP_OK) {
        return -1;
    }
    fprintf(stderr, "upstop refit: %s: %s.\n", answer->sheet->path, up_status_text(done));
    return done == UP_BAD_GEOMETRY || done == UP_BAD_VALUE || done == UP_BAD_OPTION ? UP_EXIT_INPUT : UP_EXIT_INTERNAL;
}

static void work_out_parts(const up_refit *refit, up_refit_answer *answer) {
    const double speed = answer->card.top_armature_speed;
    for (int i = 0; i < refit->screws; i++) {
        (void)up_tighten(&refit->screw[i].screw, &answer->tightening[i]); /* the reader takes known screws only */
    }
    up_brush_judge(&refit->brush, &answer->brush);
    answer->eccentricity = up_balance_eccentricity(UP_BALANCE_GRADE_ARMATURE, speed);
    answer->unbalance = up_balance_unbalance(UP_BALANCE_GRADE_ARMATURE, refit->armature_mass, speed);
    answer->speck = up_balance_speck(answer->unbalance, UP_REFIT_SPECK_RADIUS);
    answer->unbalanced = refit->unbalance > answer->unbalance;
}

static int refit_door(up_refit *refit, const up_sheet *sheet, up_refit_answer *answer) {
    answer->refit = refit;
    answer->sheet = sheet;
    int status = up_refit_usual_screws(refit, (up_family)sheet->known.values.family);
    if (status < 0) {
        status = work_out_card(refit, answer);
    }
    if (status < 0) {
        work_out_parts(refit, answer);
        status = up_refit_write(answer);
    }
    if (status < 0 && refit->json && up_refit_print_json(answer, stdout) != 0) {
        fputs("upstop refit: the JSON cannot be written.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    if (status < 0) {
        status = answer->unbalanced || answer->brush.short_of ? UP_EXIT_VERDICT : UP_EXIT_OK;
    }
    return status;
}

int up_command_refit(int argc, char **argv) {
    up_refit refit;
    up_sheet sheet;
    int status = up_refit_read(argc, argv, &refit);
    if (status < 0) {
        status = up_refit_check_files(&refit);
    }
    if (status >= 0) {
        return status;
    }
    status = up_cli_read_sheet(refit.sheet, &sheet);
    if (status != 0) {
        return status;
    }
    up_refit_answer *answer = calloc(1, sizeof *answer);
    if (answer) {
        status = refit_door(&refit, &sheet, answer);
        free(answer);
    } else {
        fputs("upstop refit: out of memory.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    up_sheet_free(&sheet);
    return up_cli_finish(status);
}

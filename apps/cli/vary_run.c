#include "apps/cli/vary_run.h"

#include <inttypes.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/vary_desk.h"
#include "apps/cli/vary_json.h"
#include "apps/cli/vary_text.h"
#include "io/campaign_csv.h"
#include "io/threads.h"

/* Integrator tolerance of the closings: as for the intervals of `move`, whose closings differ by far more. */
static const double closing_tolerance = 1e-4;

/* ---- threads ---- */

static int run_threads(up_vary_crew *self, const up_campaign *campaign, const up_campaign_desk *desk) {
    const up_thread_crew *const crew = (const up_thread_crew *)(const void *)self;
    const size_t size = up_campaign_memory() * (size_t)(self->workers ? self->workers->threads : 1);
    void *const memory = malloc(size);
    if (!memory) {
        fprintf(stderr, "%s: out of memory\n", crew->command);
        return UP_EXIT_INTERNAL;
    }
    const up_status status = up_campaign_run(campaign, self->workers, desk, memory, size);
    free(memory);
    return status == UP_OK ? -1 : UP_EXIT_INTERNAL;
}

up_thread_crew up_thread_crew_of(const char *command, up_workers *workers) {
    return (up_thread_crew){{run_threads, workers}, command};
}

/* ---- the campaign ---- */

static int complain_store(const up_vary *vary, int status, const char *message) {
    const char *const mend = status != 2 ? "nothing was run"
                             : strstr(message, "cannot be opened")
                                 ? "name a file in a folder that is there and may be written"
                                 : "name another file, or the sheet and options it was made for";
    fprintf(stderr, "%s: --store %s: %s; %s\n", vary->command, vary->store ? vary->store : "(temporary)", message,
            mend);
    return status == 2 ? UP_EXIT_INPUT : UP_EXIT_INTERNAL;
}

static int open_store(const up_vary *vary, const up_known *known, up_store **store) {
    up_store_fact *facts = NULL;
    char message[UP_STORE_MESSAGE];
    *store = NULL;
    if (!vary->store && !vary->csv) {
        return -1;
    }
    const int count = up_vary_facts(vary, known, closing_tolerance, &facts);
    const int status = count > 0 ? up_store_open(vary->store, facts, count, store, message) : 3;
    if (count == 0) {
        snprintf(message, sizeof message, "out of memory");
    }
    free(facts);
    return status == 0 ? -1 : complain_store(vary, status, message);
}

/* After a signal: what is there stays, and the program ends the way the signal asks for. */
static int end_by_signal(const up_vary *vary, const up_vary_desk *desk) {
    const uint64_t there = (uint64_t)(desk->had + desk->finished) * UP_BLOCK;
    if (vary->store) {
        char count[48];
        fprintf(stderr, "%s: stopped; %s holds %s, the same command goes on from there\n", vary->command, vary->store,
                up_vary_closings_text(there, count, sizeof count));
    } else {
        fprintf(stderr, "%s: stopped; nothing is kept without --store\n", vary->command);
    }
    return UP_EXIT_INTERNAL;
}

static int count_closings(up_vary_answer *answer, up_vary_crew *crew, up_store *store) {
    const up_vary *const vary = answer->vary;
    up_vary_desk desk;
    int status = up_vary_desk_open(&desk, vary->command, &answer->campaign, vary->closings, store, answer->tally,
                                   vary->progress);
    if (status >= 0) {
        return status;
    }
    const up_campaign_desk counter = up_vary_desk_of(&desk);
    status = crew->run(crew, &answer->campaign, &counter);
    answer->seconds = up_vary_clock() - desk.began;
    answer->found = (uint64_t)desk.had * UP_BLOCK;
    answer->run = (uint64_t)desk.finished * UP_BLOCK;
    up_vary_desk_close(&desk);
    if (status < 0 && desk.trouble) {
        fprintf(stderr, "%s: %s\n", vary->command, up_store_message(store));
        status = UP_EXIT_INTERNAL;
    }
    if (status < 0 && desk.stopped) {
        status = end_by_signal(vary, &desk);
    }
    return status;
}

int up_vary_count(const up_vary *vary, const up_campaign *campaign, uint64_t count, up_vary_crew *crew,
                  up_tally *tally) {
    up_vary_desk desk;
    int status = up_vary_desk_open(&desk, vary->command, campaign, count, NULL, tally, 0);
    if (status >= 0) {
        return status;
    }
    const up_campaign_desk counter = up_vary_desk_of(&desk);
    status = crew->run(crew, campaign, &counter);
    up_vary_desk_close(&desk);
    return status < 0 && desk.stopped ? UP_EXIT_INTERNAL : status;
}

static int write_csv(const up_vary *vary, up_store *store) {
    const char *why = "";
    if (!vary->csv || up_campaign_write_csv(store, vary->closings, vary->csv, &why) == 0) {
        return -1;
    }
    fprintf(stderr, "%s: %s cannot be written: %s\n", vary->command, vary->csv, why);
    return UP_EXIT_INTERNAL;
}

/* ---- all of it ---- */

static int verdict_of(const up_vary_answer *answer) {
    const up_tally *const tally = answer->tally;
    const double judged = (double)(tally->passed + tally->refused);
    return judged > 0 && (double)tally->refused > answer->vary->allowed * judged ? UP_EXIT_VERDICT : UP_EXIT_OK;
}

static int tell(const up_vary_answer *answer) {
    if (answer->vary->json) {
        if (up_vary_print_json(answer, stdout) != 0) {
            if (!ferror(stdout)) { /* that is told at the end */
                fprintf(stderr, "%s: out of memory\n", answer->vary->command);
            }
            return UP_EXIT_INTERNAL;
        }
    } else {
        const up_plot_look look = up_plot_look_of(stdout);
        up_vary_print(answer, &look, stdout);
    }
    return -1;
}

static int refuse_rod(const up_vary_answer *answer) {
    char expected[120];
    snprintf(expected, sizeof expected, "a rod at most %.4g mm below the top, as far as this window opens",
             1e3 * answer->sheet->known.values.glass_travel);
    return up_cli_bad_option(answer->vary->command, "--rod", answer->vary->rod, expected,
                             "write a smaller opening after the @, for example --rod 25mm@120mm");
}

static int work(up_vary_answer *answer, up_vary_crew *crew) {
    const up_vary *const vary = answer->vary;
    up_store *store = NULL;
    if (vary->plan.rod && vary->plan.rod_opening > answer->sheet->known.values.glass_travel) {
        return refuse_rod(answer);
    }
    const up_status ready =
        up_case_maker_prepare(&answer->sheet->known, &vary->plan, closing_tolerance, &answer->maker);
    if (ready != UP_OK) {
        fprintf(stderr, "%s: %s: %s\n", vary->command, answer->sheet->path,
                ready == UP_BAD_OPTION ? "the plan makes no sense for this door" : up_status_text(ready));
        return UP_EXIT_INPUT;
    }
    answer->campaign = (up_campaign){&answer->maker, vary->seed, NULL};
    int status = open_store(vary, &answer->sheet->known, &store);
    if (status < 0) {
        status = count_closings(answer, crew, store);
    }
    if (status < 0) {
        status = write_csv(vary, store);
    }
    up_store_close(store);
    if (status < 0) {
        status = up_vary_rank(answer, crew);
    }
    if (status < 0) {
        status = tell(answer);
    }
    return status < 0 ? verdict_of(answer) : status;
}

int up_vary_do(const up_vary *vary, up_vary_crew *crew) {
    up_sheet sheet;
    int status = up_cli_read_sheet(vary->sheet, &sheet);
    if (status != 0) {
        return status;
    }
    up_vary_answer *const answer = calloc(1, sizeof *answer);
    up_tally *const tally = malloc(sizeof *tally);
    if (answer && tally) {
        *answer = (up_vary_answer){.vary = vary, .sheet = &sheet, .tally = tally};
        up_vary_catch_signals();
        status = work(answer, crew);
    } else {
        fprintf(stderr, "%s: out of memory\n", vary->command);
        status = UP_EXIT_INTERNAL;
    }
    free(tally);
    free(answer);
    up_sheet_free(&sheet);
    if (up_vary_signal() != 0) {
        raise(up_vary_signal()); /* its handler is the system's again */
    }
    return up_cli_finish(status);
}

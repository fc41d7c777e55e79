#include "apps/cli/vary_desk.h"

#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "apps/cli/command.h"
#include "apps/cli/vary_text.h"

/* ---- signals and time ---- */

static volatile sig_atomic_t came;

static void note_signal(int number) {
    came = number;
    signal(number, SIG_DFL); /* the second one ends the program at once */
}

void up_vary_catch_signals(void) {
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note_signal;
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
}

int up_vary_signal(void) {
    return came;
}

double up_vary_clock(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* ---- progress ---- */

static void tell_progress(up_vary_desk *desk, int last) {
    const double now = up_vary_clock();
    if (!desk->progress || (!last && now - desk->told < 0.5)) {
        return;
    }
    const int64_t there = desk->had + desk->finished;
    const double rate = (double)desk->finished * UP_BLOCK / (now - desk->began + 1e-9);
    const double left = (double)(desk->blocks - there) * UP_BLOCK / (rate + 1e-9);
    const uint64_t closings = (uint64_t)there * UP_BLOCK;
    desk->told = now;
    char done[32], all[48], speed[32];
    fprintf(stderr, "\r%s of %s, %s a second, %.0f s left   ",
            up_vary_count_text(closings < desk->closings ? closings : desk->closings, done, sizeof done),
            up_vary_closings_text(desk->closings, all, sizeof all),
            up_vary_count_text((uint64_t)rate, speed, sizeof speed), last ? 0.0 : left);
    if (last) {
        fputc('\n', stderr);
    }
}

/* ---- the desk ---- */

static int64_t next_block(void *context) {
    up_vary_desk *const desk = context;
    int64_t block = -1;
    pthread_mutex_lock(&desk->lock);
    desk->stopped |= came != 0;
    if (!desk->trouble && !desk->stopped) {
        while (desk->next < desk->blocks && desk->taken[desk->next / 8] & (1 << desk->next % 8)) {
            desk->next++;
        }
        block = desk->next < desk->blocks ? desk->next++ : -1;
    }
    pthread_mutex_unlock(&desk->lock);
    return block;
}

static void deliver_block(void *context, int64_t block, const up_closing_row *rows) {
    up_vary_desk *const desk = context;
    pthread_mutex_lock(&desk->lock);
    if (desk->store && !desk->trouble && up_store_put(desk->store, block, rows) != 0) {
        desk->trouble = 1;
    }
    for (int i = 0; i < UP_BLOCK; i++) {
        if (rows[i].number <= desk->closings) {
            up_tally_add(desk->tally, &rows[i]);
        }
    }
    desk->finished++;
    tell_progress(desk, 0);
    pthread_mutex_unlock(&desk->lock);
}

up_campaign_desk up_vary_desk_of(up_vary_desk *desk) {
    return (up_campaign_desk){desk, next_block, deliver_block, NULL};
}

/* ---- what is there already ---- */

static void note_block(void *context, int64_t block) {
    up_vary_desk *const desk = context;
    if (block >= 0 && block < desk->blocks) {
        desk->taken[block / 8] |= (unsigned char)(1 << block % 8);
        desk->had++;
    }
}

typedef struct reading {
    up_vary_desk *desk;
    double *z;
} reading;

static int tally_row(void *context, up_closing_row *row) {
    const reading *const r = context;
    up_campaign_shares(r->desk->campaign, row, r->z);
    up_tally_add(r->desk->tally, row);
    return 0;
}

static int read_store(up_vary_desk *desk) {
    reading r = {desk, malloc((size_t)desk->campaign->maker->numbers * sizeof(double))};
    int status = r.z ? up_store_blocks(desk->store, note_block, desk) : 3;
    if (status == 0 && desk->had > 0) {
        status = up_store_read(desk->store, 1, desk->closings, tally_row, &r);
    }
    free(r.z);
    return status;
}

int up_vary_desk_open(up_vary_desk *desk, const char *command, const up_campaign *campaign, uint64_t closings,
                      up_store *store, up_tally *tally, int progress) {
    memset(desk, 0, sizeof *desk);
    desk->campaign = campaign;
    desk->closings = closings;
    desk->store = store;
    desk->tally = tally;
    desk->progress = progress;
    desk->blocks = (int64_t)((closings + UP_BLOCK - 1) / UP_BLOCK);
    desk->taken = calloc((size_t)desk->blocks / 8 + 1, 1);
    if (!desk->taken || pthread_mutex_init(&desk->lock, NULL) != 0) {
        fprintf(stderr, "%s: out of memory\n", command);
        free(desk->taken);
        return UP_EXIT_INTERNAL;
    }
    up_tally_clear(campaign->maker, tally);
    if (store && read_store(desk) != 0) {
        fprintf(stderr, "%s: %s\n", command, up_store_message(store));
        up_vary_desk_close(desk);
        return UP_EXIT_INTERNAL;
    }
    desk->began = up_vary_clock();
    desk->told = desk->began;
    return -1;
}

void up_vary_desk_close(up_vary_desk *desk) {
    tell_progress(desk, 1);
    pthread_mutex_destroy(&desk->lock);
    free(desk->taken);
}

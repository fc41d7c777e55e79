#include "apps/ranks/ranks.h"

#include <mpi.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TAG_JOB = 1, TAG_BLOCK, TAG_ROWS, AHEAD = 2, BUFFERS = 2 };

/* Everything a rank needs to make the same cases. Sent as bytes; pointers mean nothing elsewhere. */
typedef struct job {
    int go_home;
    int rule; /* index in the list of rules, -1: none */
    int has_index;
    up_known known;
    up_plan plan;
    double tolerance;
    uint64_t seed;
    uint64_t index[UP_CASE_FACTORS_MAX];
} job;

static int rule_number(const up_rule *rule) {
    for (int i = 0; i < up_rule_count(); i++) {
        if (up_rule_at(i) == rule) {
            return i;
        }
    }
    return -1;
}

/* ---- rank 0 ------------------------------------------------------------------------------------------------------------ */

static void send_job(const up_rank_crew *crew, const job *j) {
    for (int rank = 1; rank < crew->ranks; rank++) {
        MPI_Send(j, (int)sizeof *j, MPI_BYTE, rank, TAG_JOB, MPI_COMM_WORLD);
    }
}

static void send_block(up_rank_crew *crew, int rank) {
    const int64_t block = crew->desk->next(crew->desk->context);
    crew->under_way += block >= 0;
    MPI_Send(&block, 1, MPI_INT64_T, rank, TAG_BLOCK, MPI_COMM_WORLD);
}

/* A block that has arrived, or the next one that will. */
static void take_rows(up_rank_crew *crew) {
    MPI_Status from;
    MPI_Recv(crew->arrived, (int)sizeof crew->arrived, MPI_BYTE, MPI_ANY_SOURCE, TAG_ROWS, MPI_COMM_WORLD, &from);
    crew->under_way--;
    send_block(crew, from.MPI_SOURCE);
    crew->desk->deliver(crew->desk->context, (int64_t)((crew->arrived[0].number - 1) / UP_BLOCK), crew->arrived);
}

static int64_t own_next(void *context) {
    const up_rank_crew *const crew = context;
    return crew->desk->next(crew->desk->context);
}

static void own_deliver(void *context, int64_t block, const up_closing_row *rows) {
    const up_rank_crew *const crew = context;
    crew->desk->deliver(crew->desk->context, block, rows);
}

static void look_for_rows(void *context) {
    up_rank_crew *const crew = context;
    int there = 0;
    MPI_Iprobe(MPI_ANY_SOURCE, TAG_ROWS, MPI_COMM_WORLD, &there, MPI_STATUS_IGNORE);
    if (there) {
        take_rows(crew);
    }
}

static int run_ranks(up_vary_crew *self, const up_campaign *campaign, const up_campaign_desk *desk) {
    up_rank_crew *const crew = (up_rank_crew *)(void *)self;
    const up_case_maker *const maker = campaign->maker;
    job *const j = calloc(1, sizeof *j);
    if (!j) {
        fputs("upstop-ranks: out of memory\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    *j = (job){.rule = rule_number(maker->plan.rule),
               .has_index = campaign->index != NULL,
               .known = *maker->known,
               .plan = maker->plan,
               .tolerance = maker->tolerance,
               .seed = campaign->seed};
    if (campaign->index) {
        memcpy(j->index, campaign->index, (size_t)up_case_factors(maker) * sizeof j->index[0]);
    }
    send_job(crew, j);
    free(j);
    crew->desk = desk;
    crew->under_way = 0;
    for (int ahead = 0; ahead < AHEAD; ahead++) {
        for (int rank = 1; rank < crew->ranks; rank++) {
            send_block(crew, rank);
        }
    }
    const up_campaign_desk own = {crew, own_next, own_deliver, look_for_rows};
    const up_status status = up_campaign_work(campaign, &own, crew->memory, up_campaign_memory());
    while (crew->under_way > 0) {
        take_rows(crew);
    }
    return status == UP_OK ? -1 : UP_EXIT_INTERNAL;
}

int up_rank_crew_start(up_rank_crew *crew, up_workers *workers) {
    memset(crew, 0, sizeof *crew);
    crew->crew.run = run_ranks;
    crew->crew.workers = workers;
    MPI_Comm_size(MPI_COMM_WORLD, &crew->ranks);
    crew->memory = malloc(up_campaign_memory());
    return crew->memory ? 0 : -1;
}

void up_rank_crew_end(up_rank_crew *crew) {
    job *const j = calloc(1, sizeof *j);
    if (!j) {
        MPI_Abort(MPI_COMM_WORLD, UP_EXIT_INTERNAL);
        return;
    }
    j->go_home = 1;
    send_job(crew, j);
    free(j);
    free(crew->memory);
}

/* ---- the others ---------------------------------------------------------------------------------------------------------- */

/* Rows on their way while the next block is being made. */
typedef struct server {
    job job;
    up_case_maker maker;
    up_closing_row rows[BUFFERS][UP_BLOCK];
    MPI_Request sent[BUFFERS];
    int turn;
} server;

static int64_t asked_next(void *context) {
    int64_t block = -1;
    (void)context;
    MPI_Recv(&block, 1, MPI_INT64_T, 0, TAG_BLOCK, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
    return block;
}

static void send_rows(void *context, int64_t block, const up_closing_row *rows) {
    server *const s = context;
    const int turn = s->turn;
    (void)block;
    MPI_Wait(&s->sent[turn], MPI_STATUS_IGNORE);
    memcpy(s->rows[turn], rows, sizeof s->rows[turn]);
    MPI_Isend(s->rows[turn], (int)sizeof s->rows[turn], MPI_BYTE, 0, TAG_ROWS, MPI_COMM_WORLD, &s->sent[turn]);
    s->turn = (turn + 1) % BUFFERS;
}

/* Between jobs a rank sleeps: rank 0 may have use for the processor. */
static void wait_for_job(job *j) {
    const struct timespec nap = {0, 2000000};
    int there = 0;
    for (;;) {
        MPI_Iprobe(0, TAG_JOB, MPI_COMM_WORLD, &there, MPI_STATUS_IGNORE);
        if (there) {
            break;
        }
        nanosleep(&nap, NULL);
    }
    MPI_Recv(j, (int)sizeof *j, MPI_BYTE, 0, TAG_JOB, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
}

static int do_job(server *s, void *memory) {
    s->job.plan.rule = s->job.rule >= 0 ? up_rule_at(s->job.rule) : NULL;
    if (up_case_maker_prepare(&s->job.known, &s->job.plan, s->job.tolerance, &s->maker) != UP_OK) {
        return -1; /* rank 0 prepared the same, so the program is not the same */
    }
    const up_campaign campaign = {&s->maker, s->job.seed, s->job.has_index ? s->job.index : NULL};
    const up_campaign_desk desk = {s, asked_next, send_rows, NULL};
    const up_status status = up_campaign_work(&campaign, &desk, memory, up_campaign_memory());
    for (int ahead = 1; ahead < AHEAD; ahead++) { /* for each block that was sent ahead, one "no more" is left */
        (void)asked_next(s);
    }
    MPI_Waitall(BUFFERS, s->sent, MPI_STATUSES_IGNORE);
    return status == UP_OK ? 0 : -1;
}

int up_rank_serve(void) {
    server *const s = calloc(1, sizeof *s);
    void *const memory = malloc(up_campaign_memory());
    int status = s && memory ? 0 : -1;
    for (int i = 0; status == 0 && i < BUFFERS; i++) {
        s->sent[i] = MPI_REQUEST_NULL;
    }
    while (status == 0) {
        wait_for_job(&s->job);
        if (s->job.go_home) {
            break;
        }
        status = do_job(s, memory);
    }
    if (status != 0) {
        fputs("upstop-ranks: a rank is short of memory, or of another version than rank 0\n", stderr);
    }
    free(memory);
    free(s);
    return status;
}

/* upstop-ranks: what `upstop vary` does, on many machines: mpirun -n 8 upstop-ranks [options] SHEET */
#include <locale.h>
#include <mpi.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/ranks/ranks.h"
#include "io/threads.h"

/* It has one job, so its name is no word among the arguments. */
static int read_line(int argc, char **argv, up_vary *vary) {
    if (argc > 1 && strcmp(argv[1], "vary") == 0) {
        fputs("upstop-ranks: found \"vary\"; expected options and the SHEET; it does nothing else, so leave the word "
              "out: "
              "upstop-ranks [options] SHEET\n",
              stderr);
        return UP_EXIT_INPUT;
    }
    return up_vary_read("upstop-ranks", argc, argv, vary);
}

/* Rank 0. */
static int lead(int argc, char **argv) {
    up_vary vary;
    setenv("NO_COLOR", "1", 1); /* mpirun makes its pipe look like a terminal */
    int status = read_line(argc, argv, &vary);
    up_workers *const workers = status < 0 ? up_threads_start(vary.threads) : NULL;
    up_rank_crew *const crew = malloc(sizeof *crew);
    if (!crew || up_rank_crew_start(crew, workers) != 0) {
        fputs("upstop-ranks: out of memory\n", stderr);
        MPI_Abort(MPI_COMM_WORLD, UP_EXIT_INTERNAL);
        return UP_EXIT_INTERNAL;
    }
    if (status < 0) {
        status = up_vary_do(&vary, &crew->crew);
    }
    up_rank_crew_end(crew);
    free(crew);
    up_threads_stop(workers);
    return status;
}

int main(int argc, char **argv) {
    int rank = 0;
    int provided = 0;
    setlocale(LC_CTYPE, "");
    /* Only the first thread talks to MPI; the others count for rank 0 alone. */
    if (MPI_Init_thread(&argc, &argv, MPI_THREAD_FUNNELED, &provided) != MPI_SUCCESS) {
        return UP_EXIT_INTERNAL;
    }
    MPI_Comm_rank(MPI_COMM_WORLD, &rank);
    int status = UP_EXIT_OK;
    if (rank == 0) {
        status = lead(argc, argv);
    } else if (up_rank_serve() != 0) {
        MPI_Abort(MPI_COMM_WORLD, UP_EXIT_INTERNAL);
    }
    MPI_Finalize();
    return status;
}

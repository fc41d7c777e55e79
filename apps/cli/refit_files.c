/* Where the refit card goes. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "apps/cli/command.h"
#include "apps/cli/files.h"
#include "apps/cli/refit_answer.h"
#include "io/paper_page.h"
#include "io/paper_text.h"
#include "io/write_file.h"

enum { PAGES = 2, FILES = 3 };

static int cannot_write(const char *path, int error, int status) {
    fprintf(stderr, "upstop refit: cannot write %s: %s.\n", path, error ? strerror(error) : "the disk may be full");
    return status;
}

/* A trial: opens the place beside it and leaves nothing behind. */
static int check_place(const char *option, const char *path) {
    struct stat place;
    up_output output;
    if (!path[0]) {
        return up_cli_bad_option("refit", option, "nothing", "a file name", "for example --pdf card.pdf");
    }
    if (stat(path, &place) == 0 && S_ISDIR(place.st_mode)) {
        return up_cli_bad_option("refit", option, path, "a file, and this is a folder", "add a file name to it");
    }
    if (up_output_open(&output, path) != 0) {
        return cannot_write(path, errno, UP_EXIT_INPUT);
    }
    up_output_abandon(&output);
    return -1;
}

int up_refit_check_files(const up_refit *refit) {
    const char *path[FILES] = {refit->out, refit->pdf, refit->svg};
    static const char *const option[FILES] = {"out", "pdf", "svg"};
    int status = -1;
    for (int i = 0; i < FILES && status < 0; i++) {
        if (!path[i]) {
            continue;
        }
        status = check_place(option[i], path[i]);
        if (status < 0 && up_cli_same_file(path[i], refit->sheet)) {
            status = up_cli_bad_option("refit", option[i], path[i], "a file that is not the door sheet itself",
                                       "give it another name");
        }
        for (int other = 0; other < i && status < 0; other++) {
            if (path[other] && up_cli_same_file(path[i], path[other])) {
                status = up_cli_bad_option("refit", option[i], path[i], "a file that nothing else is written to",
                                           "give it another name");
            }
        }
    }
    return status;
}

static int content(const up_paper *paper, int which, FILE *file) {
    const up_page_format format = which == 1 ? UP_PAGE_PDF : UP_PAGE_SVG;
    return which == 0                                                            ? up_paper_print(paper, file)
           : up_paper_draw(paper, format, PAGES, up_refit_statement(), file) > 0 ? 0
                                                                                 : -1;
}

static int write_beside(const char *path, const up_paper *paper, int which) {
    up_output output;
    if (up_output_open(&output, path) != 0) {
        return cannot_write(path, errno, UP_EXIT_INPUT);
    }
    errno = 0;
    if (content(paper, which, output.file) != 0) {
        const int error = errno;
        up_output_abandon(&output);
        return cannot_write(path, error, UP_EXIT_INTERNAL);
    }
    return up_output_commit(&output) == 0 ? -1 : cannot_write(path, errno, UP_EXIT_INTERNAL);
}

int up_refit_write(const up_refit_answer *answer) {
    const up_refit *refit = answer->refit;
    const char *path[FILES] = {refit->out, refit->pdf, refit->svg};
    up_paper paper = {0};
    int status = -1;
    up_refit_paper(answer, &paper);
    for (int i = 0; i < FILES && status < 0; i++) {
        status = path[i] ? write_beside(path[i], &paper, i) : -1;
    }
    if (status < 0 && !refit->out && !refit->json && up_paper_print(&paper, stdout) != 0 && paper.out_of_memory) {
        fputs("upstop refit: out of memory.\n", stderr);
        status = UP_EXIT_INTERNAL;
    }
    up_paper_free(&paper);
    return status;
}

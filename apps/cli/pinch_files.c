#include "apps/cli/pinch_files.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "apps/cli/files.h"
#include "apps/cli/pinch_text.h"
#include "io/pinch_chart.h"
#include "io/pinch_rows.h"
#include "io/write_file.h"

static int cannot_write(const char *path, int error, int status) {
    fprintf(stderr, "upstop pinch: cannot write %s: %s.\n", path, error ? strerror(error) : "the disk may be full");
    return status;
}

typedef int write_content(const up_pinch_answer *answer, FILE *file);

static int write_beside(const char *path, write_content *content, const up_pinch_answer *answer) {
    up_output output;
    if (up_output_open(&output, path) != 0) {
        return cannot_write(path, errno, UP_EXIT_INPUT); /* a place that the user named */
    }
    errno = 0;
    if (content(answer, output.file) != 0) {
        const int error = errno;
        up_output_abandon(&output);
        return cannot_write(path, error, UP_EXIT_INTERNAL);
    }
    return up_output_commit(&output) == 0 ? -1 : cannot_write(path, errno, UP_EXIT_INTERNAL);
}

static int write_rows(const up_pinch_answer *answer, FILE *file) {
    if (up_pinch_rows_head(file) != 0) {
        return -1;
    }
    for (int i = 0; i < answer->rules; i++) {
        if (up_pinch_rows_print(&answer->rule[i].map, file) != 0) {
            return -1;
        }
    }
    return 0;
}

static int write_picture(const up_pinch_answer *answer, FILE *file) {
    char ranges[256];
    char words[200];
    snprintf(ranges, sizeof ranges, "%s, %d closings",
             up_pinch_range_words(answer->rule[0].plan.range, " \u00b0C", words, sizeof words), answer->closings);
    up_pinch_chart chart = {.ranges = ranges,
                            .across = answer->request->across,
                            .title = answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path};
    for (int i = 0; i < answer->rules && i < UP_PINCH_CHART_PANELS; i++) {
        const up_pinch_rule *rule = &answer->rule[i];
        chart.panel[chart.panels++] = (up_pinch_chart_panel){&rule->map, rule->limit, rule->map.worst[rule->worst]};
    }
    return up_pinch_chart_write(&chart, answer->request->format, file);
}

/* A file can be made there: told before the closings are run, not after. Returns -1, or an exit status. */
static int check_place(const char *option, const char *path) {
    struct stat place;
    char folder[4096] = ".";
    const char *slash = strrchr(path, '/');
    if (!path[0]) {
        return up_cli_bad_option("pinch", option, "nothing", "a file name", "for example --csv map.csv");
    }
    if (stat(path, &place) == 0 && S_ISDIR(place.st_mode)) {
        return up_cli_bad_option("pinch", option, path, "a file, and this is a folder", "add a file name to it");
    }
    if (slash) {
        const size_t length = slash == path ? 1 : (size_t)(slash - path);
        if (length >= sizeof folder) {
            return up_cli_bad_option("pinch", option, path, "a shorter path", "write to a folder nearer by");
        }
        memcpy(folder, path, length);
        folder[length] = '\0';
    }
    if (stat(folder, &place) != 0 || !S_ISDIR(place.st_mode)) {
        return up_cli_bad_option("pinch", option, path, "a file in a folder that is there",
                                 "make the folder first, or name another place");
    }
    if (access(folder, W_OK | X_OK) != 0) {
        return up_cli_bad_option("pinch", option, path, "a file in a folder that may be written to",
                                 "name another place");
    }
    return -1;
}

int up_pinch_check_files(const up_pinch_request *request) {
    const char *wanted[] = {request->csv, request->picture};
    const char *option[] = {"csv", "picture"};
    for (int i = 0; i < 2; i++) {
        if (wanted[i] && up_cli_same_file(wanted[i], request->sheet)) {
            return up_cli_bad_option("pinch", option[i], wanted[i], "a file that is not the door sheet itself",
                                     "give it another name");
        }
        const int status = wanted[i] ? check_place(option[i], wanted[i]) : -1;
        if (status >= 0) {
            return status;
        }
    }
    if (request->csv && request->picture && up_cli_same_file(request->csv, request->picture)) {
        return up_cli_bad_option("pinch", "picture", request->picture, "a file that nothing else is written to",
                                 "give it another name");
    }
    return -1;
}

int up_pinch_write_files(const up_pinch_answer *answer) {
    const up_pinch_request *request = answer->request;
    int status = -1;
    if (request->csv) {
        status = write_beside(request->csv, write_rows, answer);
    }
    if (status < 0 && request->picture) {
        status = write_beside(request->picture, write_picture, answer);
    }
    return status;
}

/* The files of `upstop tune`. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "apps/cli/files.h"
#include "apps/cli/tune_run.h"
#include "io/detector_header.h"
#include "io/entry_texts.h"
#include "io/tune_chart.h"
#include "io/tuned_entries.h"
#include "io/write_file.h"

enum { FILES = 5 };

static int cannot_write(const char *path, int error, int status) {
    fprintf(stderr, "upstop tune: cannot write %s: %s.\n", path, error ? strerror(error) : "the disk may be full");
    return status;
}

static void list_files(const up_tune_wish *wish, const char **path) {
    path[0] = wish->header;
    path[1] = wish->entries;
    path[2] = wish->sheet;
    path[3] = wish->csv;
    path[4] = wish->picture;
}

/* Written by this command: it may be renewed. */
static int is_ours(const char *path) {
    char text[512] = "";
    FILE *const file = fopen(path, "rb");
    if (!file) {
        return 1; /* not there, or it will be complained of when it is written */
    }
    const size_t size = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[size] = '\0';
    return strstr(text, "orked out by upstop tune") != NULL;
}

/* Whether a new file can be made beside it, before half a minute is spent. */
static int has_room(const char *path) {
    char folder[4096] = ".";
    const char *const slash = strrchr(path, '/');
    if (slash && slash == path) {
        strcpy(folder, "/");
    } else if (slash && (size_t)(slash - path) < sizeof folder) {
        memcpy(folder, path, (size_t)(slash - path));
        folder[slash - path] = '\0';
    }
    return access(folder, W_OK | X_OK) == 0;
}

static int check_place(const char *option, const char *path, int kept) {
    if (!has_room(path)) {
        return up_cli_bad_option("tune", option, path, "a file in a folder that is there and may be written to",
                                 "name another place");
    }
    if (kept && access(path, F_OK) == 0) {
        return up_cli_bad_option("tune", option, path, "a file that is not there yet",
                                 "choose another name: a filled-in sheet is never overwritten");
    }
    if ((strcmp(option, "header") == 0 || strcmp(option, "entries") == 0) && !is_ours(path)) {
        return up_cli_bad_option("tune", option, path, "a new file, or one that upstop tune wrote",
                                 "choose another name: what others wrote is not overwritten");
    }
    return -1;
}

int up_tune_check_files(const up_tune_wish *wish) {
    static const char *const option[FILES] = {"header", "entries", "sheet", "csv", "picture"};
    const char *path[FILES];
    list_files(wish, path);
    if (wish->sheet && strcmp(wish->path, "-") == 0) {
        return up_cli_bad_option("tune", "sheet", "a door sheet from standard input",
                                 "a door sheet in a file, to be copied", "use --entries instead");
    }
    for (int i = 0; i < FILES; i++) {
        if (path[i] && up_cli_same_file(path[i], wish->path)) {
            return up_cli_bad_option("tune", option[i], path[i], "a file that is not the door sheet itself",
                                     "give it another name: the old sheet is never changed");
        }
        const int status = path[i] ? check_place(option[i], path[i], path[i] == wish->sheet) : -1;
        if (status >= 0) {
            return status;
        }
        for (int k = 0; path[i] && k < i; k++) {
            if (path[k] && up_cli_same_file(path[i], path[k])) {
                return up_cli_bad_option("tune", option[i], path[i], "a file that nothing else is written to",
                                         "give it another name");
            }
        }
    }
    return -1;
}

/* ---- contents ---- */

static int write_header(const up_tune_answer *answer, FILE *file) {
    const up_detector_header header = {&answer->chosen->point.control, answer->sheet->title, answer->origin};
    return up_detector_header_write(&header, file);
}

static int write_entries(const up_tune_answer *answer, FILE *file) {
    return up_tuned_entries_write(&answer->chosen->point.tuning, answer->origin, file);
}

static int write_sheet(const up_tune_answer *answer, FILE *file) {
    return fputs(answer->new_sheet, file) < 0 ? -1 : 0;
}

static void write_row(const up_tune_answer *answer, const up_tune_point *point, FILE *file) {
    fprintf(file, "%s,%s", point->tuning.principle ? "observer" : "pace", point->tuning.profile ? "learned" : "none");
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (up_tuned_is_used(&point->tuning, (up_tuned)i)) {
            fprintf(file, ",%.10g", up_number_shown(up_tuned_number((up_tuned)i), point->tuning.value[i]));
        } else {
            fputc(',', file);
        }
    }
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        fprintf(file, ",%.6g", point->worst.force[rule]);
    }
    fprintf(file, ",%d,%d,%d\n", point->worst.unturned, point->hits, point->of);
}

static int write_csv(const up_tune_answer *answer, FILE *file) {
    fputs("principle,profile", file);
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        const up_entry_text *const text = up_entry_text_of_number(up_tuned_number((up_tuned)i));
        fprintf(file, ",%s [%s]", text->key, text->unit);
    }
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        fprintf(file, ",largest force %s [N]", answer->wish->request.rule[rule]->name);
    }
    fputs(",rods not turned back from,false reversals,closings\n", file);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        for (int i = 0; i < answer->result.front[kind].count; i++) {
            write_row(answer, &answer->result.front[kind].point[i], file);
        }
    }
    return ferror(file) ? -1 : 0;
}

static int write_picture(const up_tune_answer *answer, FILE *file) {
    char rules[200] = "Rods of";
    const up_tune_request *const request = &answer->wish->request;
    for (int i = 0; i < request->rules; i++) {
        const size_t used = strlen(rules);
        snprintf(rules + used, sizeof rules - used, "%s %s", i ? " and of" : "", request->rule[i]->citation);
    }
    const up_tune_chart chart = {&answer->result, answer->limit,
                                 answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path, rules};
    return up_tune_chart_write(&chart, answer->wish->format, file);
}

/* ---- writing ---- */

typedef int write_content(const up_tune_answer *answer, FILE *file);

static int write_beside(const char *path, write_content *content, const up_tune_answer *answer) {
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

int up_tune_write_files(const up_tune_answer *answer) {
    static write_content *const content[FILES] = {write_header, write_entries, write_sheet, write_csv, write_picture};
    const char *path[FILES];
    int status = -1;
    list_files(answer->wish, path);
    for (int i = 0; i < FILES && status < 0; i++) {
        if (path[i]) {
            status = write_beside(path[i], content[i], answer);
        }
    }
    return status;
}

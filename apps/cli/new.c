/* upstop new: a door sheet to fill in. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "apps/cli/command.h"
#include "io/entry_texts.h"
#include "io/sheet_blank.h"
#include "io/write_file.h"

static int write_to_file(const char *path, up_family family, int bare) {
    up_output output;
    if (access(path, F_OK) == 0) {
        return up_cli_bad_option("new", "out", path, "a file that is not there yet",
                                 "choose another name: a filled-in sheet is never overwritten");
    }
    if (up_output_open(&output, path) != 0) {
        return up_cli_bad_option("new", "out", strerror(errno), "a place where a file can be written", path);
    }
    up_sheet_write_blank(family, bare, output.file);
    if (up_output_commit(&output) != 0) {
        fprintf(stderr, "upstop new: %s cannot be written: %s\n", path, strerror(errno));
        return UP_EXIT_INTERNAL;
    }
    fprintf(stderr, "%s written; fill it in, then: upstop check %s\n", path, path);
    return UP_EXIT_OK;
}

int up_command_new(int argc, char **argv) {
    int bare = 0;
    const char *family_word = NULL, *path = NULL;
    const up_option options[] = {
        {"family", "F", "single-arm, crossed-arms, cable or rack: what lifts the glass", NULL, &family_word},
        {"bare", NULL, "leave out how each entry is measured", &bare, NULL},
        {"out", "FILE", "write there instead of standard output; never over an existing file", NULL, &path},
    };
    const up_usage usage = {"new",
                            "",
                            "Writes a door sheet to fill in: each entry with how to measure it and its typical value.\n"
                            "Whatever you leave a comment counts as assumed.\n",
                            options,
                            sizeof options / sizeof options[0],
                            0,
                            0};
    up_arguments arguments;
    int status = up_cli_arguments(&usage, argc, argv, &arguments);
    if (status >= 0) {
        return status;
    }
    static const char expected[] = "single-arm, crossed-arms, cable or rack";
    if (family_word == NULL) {
        return up_cli_bad_option("new", "family", "nothing", expected, up_entry_text_of_choice(UP_CHOICE_family)->how);
    }
    int family = up_choice_index(UP_CHOICE_family, family_word);
    if (family < 0) {
        return up_cli_bad_option("new", "family", family_word, expected,
                                 up_entry_text_of_choice(UP_CHOICE_family)->how);
    }
    if (path != NULL) {
        return write_to_file(path, (up_family)family, bare);
    }
    up_sheet_write_blank((up_family)family, bare, stdout);
    return up_cli_finish(UP_EXIT_OK);
}

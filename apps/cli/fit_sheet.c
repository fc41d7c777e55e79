/* The new sheet of `upstop fit`. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "apps/cli/files.h"
#include "apps/cli/fit_run.h"
#include "io/entry_texts.h"
#include "io/sheet_entries.h"
#include "io/write_file.h"

static int bad(const char *found, const char *expected, const char *mend) {
    return up_cli_bad_option("fit", "sheet", found, expected, mend);
}

/* Residuals may renew a file of theirs, but never what was read. */
static int check_residuals(const up_fit_run *run) {
    int taken =
        up_cli_same_file(run->residuals, run->path) || (run->new_sheet && strcmp(run->residuals, run->new_sheet) == 0);
    for (int i = 0; i < run->count; i++) {
        taken |= up_cli_same_file(run->residuals, run->file[i]);
    }
    return taken ? up_cli_bad_option("fit", "residuals", run->residuals, "a file that nothing else is in",
                                     "give it another name: sheets and recordings are never changed")
                 : -1;
}

int up_fit_check_sheet(const up_fit_run *run) {
    const int status = run->residuals ? check_residuals(run) : -1;
    if (status >= 0) {
        return status;
    }
    if (!run->new_sheet) {
        return -1;
    }
    if (strcmp(run->path, "-") == 0) {
        return bad("a door sheet from standard input", "a door sheet in a file, to be copied", "name the file");
    }
    if (access(run->new_sheet, F_OK) == 0) {
        return bad(run->new_sheet, "a file that is not there yet",
                   "choose another name: a filled-in sheet is never overwritten");
    }
    return -1;
}

/* "0.441 ohm ±0.002 ohm fitted", both to the third digit of the interval. */
static void entry_of(const up_fit_value *value, up_number number, up_sheet_entry *entry) {
    const up_entry_text *const text = up_entry_text_of_number(number);
    const int plain = strcmp(text->unit, "count") == 0 || strcmp(text->unit, "1") == 0;
    const char *const unit = plain ? "" : text->unit, *const blank = plain ? "" : " ";
    const double spread = up_number_shown_difference(number, value->spread);
    const double digits = spread > 0 ? 2 - floor(log10(spread)) : 6;
    const int decimals = digits < 0 ? 0 : digits > 12 ? 12 : (int)digits;
    entry->key = text->key;
    snprintf(entry->text, sizeof entry->text, "%.*f%s%s \u00b1%.*f%s%s fitted", decimals,
             up_number_shown(number, value->value), blank, unit, decimals, spread, blank, unit);
}

/* What was told or at least hinted; the rest of the sheet stays. */
static int entries_of(const up_fit_run *run, up_sheet_entry *entries) {
    int count = 0;
    for (int q = 0; q < UP_FIT_COUNT; q++) {
        const up_fit_value *const value = &run->result.value[q];
        if (value->verdict == UP_FIT_TOLD || value->verdict == UP_FIT_HINTED) {
            entry_of(value, up_fit_number((up_fit_quantity)q), &entries[count++]);
        }
    }
    return count;
}

/* The new text has to be a sheet, with these values in it. */
static int reads_well(const char *text, const up_fit_run *run) {
    up_sheet sheet;
    up_findings findings = {0};
    int good = up_sheet_read_text(text, strlen(text), "new sheet", &sheet, &findings) == 0;
    for (int q = 0; q < UP_FIT_COUNT && good; q++) {
        const up_fit_value *const value = &run->result.value[q];
        const up_number number = up_fit_number((up_fit_quantity)q);
        if (value->verdict == UP_FIT_TOLD || value->verdict == UP_FIT_HINTED) {
            good = sheet.known.mark[number] == UP_MARK_FITTED &&
                   fabs(sheet.known.values.number[number] - value->value) <= 0.1 * value->spread;
        }
    }
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    return good;
}

static int write_text(const char *path, const char *text) {
    if (up_write_file(path, text, strlen(text)) != 0) {
        fprintf(stderr, "upstop fit: cannot write %s: %s\n", path, strerror(errno));
        return UP_EXIT_INPUT;
    }
    return -1;
}

int up_fit_write_sheet(const up_fit_run *run, const up_sheet *sheet) {
    up_sheet_entry entries[UP_FIT_COUNT];
    const char *entry = NULL;
    if (!run->new_sheet) {
        return -1;
    }
    char *const old = up_cli_read_whole(run->path);
    if (!old) {
        return bad(run->path, "a door sheet that can be read once more, to be copied",
                   "look whether it is still there");
    }
    char *const text = up_sheet_with(old, sheet, entries, entries_of(run, entries), &entry);
    int status = UP_EXIT_INTERNAL;
    if (!text && entry) {
        char found[96];
        snprintf(found, sizeof found, "%s in a form of several lines, or several entries on one line", entry);
        status = bad(found, "the short form, one entry a line", "write that entry as `name: value unit origin`");
    } else if (!text) {
        fputs("upstop fit: out of memory\n", stderr);
    } else if (!reads_well(text, run)) {
        fputs(
            "upstop fit: the new sheet, read again, does not say what was fitted: a value out of an entry's bounds, or "
            "a defect of upstop. Nothing was written.\n",
            stderr);
    } else {
        status = write_text(run->new_sheet, text);
    }
    free(text);
    free(old);
    return status;
}

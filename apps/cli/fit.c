/* upstop fit: what do recordings tell of the sheet's numbers? */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/fit_run.h"
#include "io/write_file.h"

/* A rate that was said is for those recordings that have no times of their own. */
static int read_recording(const up_fit_run *run, const char *file, up_recording *recording) {
    up_recording_options without = run->options;
    up_problem problem;
    without.rate = without.start = NAN;
    if (isnan(run->options.rate) || strcmp(file, "-") == 0) {
        return up_cli_read_recording("fit", file, &run->options, recording);
    }
    if (up_recording_read(file, &without, recording, &problem) == 0) {
        return -1;
    }
    up_recording_free(recording);
    return up_cli_read_recording("fit", file, &run->options, recording);
}

static int read_recordings(up_fit_run *run) {
    int status = -1;
    while (run->count_read < run->count && status < 0) {
        const int i = run->count_read++;
        status = read_recording(run, run->file[i], &run->recording[i]);
        if (status < 0) {
            up_recording_tracks(&run->recording[i], &run->recorded[i]);
        }
    }
    return status;
}

/* A recording that the fit can do nothing with is told by its name. */
static int check_recordings(const up_fit_run *run) {
    for (int i = 0; i < run->count; i++) {
        size_t samples = 0;
        for (int t = 0; t < run->recorded[i].tracks; t++) {
            const up_track *const track = &run->recorded[i].track[t];
            samples = track->signal == UP_SIGNAL_CURRENT && track->count > samples ? track->count : samples;
        }
        if (samples < 20) {
            fprintf(stderr,
                    "%s: found %s; expected at least 20 samples of the motor's current; look with upstop read, and say "
                    "which column it is: --column NAME=current[A]\n",
                    run->file[i], samples ? "too few samples of a current" : "no current");
            return UP_EXIT_INPUT;
        }
    }
    return -1;
}

static void write_residual(void *context, int kind, int recording, double time, double value) {
    FILE *const file = context;
    fprintf(file, "%d,\"%s\",%s,%.9g,%.6g\n", recording + 1, up_fit_group_text((up_fit_group_kind)kind),
            up_fit_group_unit((up_fit_group_kind)kind), time, value);
}

static int complain(const up_fit_run *run, up_status status) {
    if (status == UP_MEMORY_TOO_SMALL) {
        fputs("upstop fit: out of memory\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    fprintf(stderr, "upstop fit: %s: %s\n", run->path,
            status == UP_NOT_FINITE ? "no numbers were found that go with these recordings; look at them with "
                                      "upstop read, and whether they are of this door"
                                    : up_status_text(status));
    return UP_EXIT_INPUT;
}

static int cannot_write(const char *path) {
    fprintf(stderr, "upstop fit: cannot write %s: %s\n", path, strerror(errno));
    return UP_EXIT_INPUT;
}

static int work_out(up_fit_run *run, const up_sheet *sheet) {
    up_output output = {0};
    up_fit_request request = {.known = &sheet->known, .temperature = run->kelvin, .recordings = run->count};
    for (int i = 0; i < run->count; i++) {
        request.recording[i] = (up_fit_recording){&run->recorded[i], run->setting[i], run->bench_supply};
    }
    if (run->residuals) {
        if (up_output_open(&output, run->residuals) != 0) {
            return cannot_write(run->residuals);
        }
        fputs("recording,what,unit,time [s],recorded less fitted\n", output.file);
        request.residual = write_residual;
        request.context = output.file;
    }
    const up_status status = up_fit(&request, &run->result);
    if (status != UP_OK) {
        up_output_abandon(&output);
        return complain(run, status);
    }
    return run->residuals && up_output_commit(&output) != 0 ? cannot_write(run->residuals) : -1;
}

static int tell(const up_fit_run *run, const up_sheet *sheet) {
    if (!run->json) {
        up_fit_print_text(run, sheet, stdout);
    } else if (up_fit_print_json(run, sheet, stdout) != 0) {
        fputs("upstop fit: the JSON cannot be written\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    return UP_EXIT_OK;
}

static int fit_door(up_fit_run *run, const up_sheet *sheet) {
    int status = read_recordings(run);
    if (status < 0) {
        status = check_recordings(run);
    }
    if (status < 0) {
        status = work_out(run, sheet);
    }
    if (status < 0) {
        status = up_fit_write_sheet(run, sheet);
    }
    return status < 0 ? tell(run, sheet) : status;
}

int up_command_fit(int argc, char **argv) {
    up_fit_run *const run = calloc(1, sizeof *run);
    up_sheet sheet;
    if (!run) {
        fputs("upstop fit: out of memory\n", stderr);
        return UP_EXIT_INTERNAL;
    }
    int status = up_fit_options(argc, argv, run);
    if (status < 0) {
        status = up_fit_check_sheet(run);
    }
    if (status < 0) {
        const int read = up_cli_read_sheet(run->path, &sheet);
        status = read;
        if (read == 0) {
            status = fit_door(run, &sheet);
            up_sheet_free(&sheet);
            status = up_cli_finish(status);
        }
    }
    for (int i = 0; i < run->count_read; i++) {
        up_recording_free(&run->recording[i]);
    }
    for (int i = 0; i < 3; i++) {
        free(run->names[i]);
    }
    free(run);
    return status;
}

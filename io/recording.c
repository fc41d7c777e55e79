#include "io/recording.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/formats.h"

static int begin(up_draft *draft, up_units *units, const char *path, const up_recording_options *options,
                 up_recording *recording, up_problem *problem) {
    *recording = (up_recording){.kind = UP_FILE_TEXT, .encoding = ""};
    *problem = (up_problem){0};
    *draft = (up_draft){
        .recording = recording, .options = options, .problem = problem, .units = units, .format_interval = NAN};
    recording->path = strdup(strcmp(path, "-") == 0 ? "stdin" : path);
    return recording->path != NULL ? 0 : 3;
}

static up_file_kind kind_of(const unsigned char *bytes, size_t count, const char *path) {
    static const unsigned char hdf[8] = {0x89, 'H', 'D', 'F', '\r', '\n', 0x1a, '\n'};
    const char *dot = strrchr(path, '.');
    if (count >= 12 && memcmp(bytes, "RIFF", 4) == 0 && memcmp(bytes + 8, "WAVE", 4) == 0) {
        return UP_FILE_WAV;
    }
    if (count >= 4 && (memcmp(bytes, "RF64", 4) == 0 || memcmp(bytes, "RIFX", 4) == 0)) {
        return UP_FILE_WAV;
    }
    if ((count >= 6 && memcmp(bytes, "MATLAB", 6) == 0) || (count >= 8 && memcmp(bytes, hdf, 8) == 0)) {
        return UP_FILE_MAT;
    }
    /* Version 4 has no mark: five small whole numbers, of which the first is a type below 5000. */
    if (dot != NULL && (strcmp(dot, ".mat") == 0 || strcmp(dot, ".MAT") == 0)) {
        return UP_FILE_MAT;
    }
    return UP_FILE_TEXT;
}

static int end(up_draft *draft, int status) {
    if (status == 0) {
        draft->recording->rows = draft->recording->rows > 0 || draft->recording->base_count == 0
                                     ? draft->recording->rows
                                     : draft->recording->base[0].count;
    }
    return status;
}

int up_recording_read_text_with(up_units *units, FILE *file, const char *path, const up_recording_options *options,
                                up_recording *recording, up_problem *problem) {
    up_draft *draft = malloc(sizeof *draft);
    if (draft == NULL) {
        return 3;
    }
    int status = begin(draft, units, path, options, recording, problem);
    if (status == 0) {
        status = up_recording_text(draft, file);
    }
    status = end(draft, status);
    free(draft);
    return status;
}

int up_recording_read_text(FILE *file, const char *path, const up_recording_options *options, up_recording *recording,
                           up_problem *problem) {
    up_units units;
    up_units_init(&units);
    const int status = up_recording_read_text_with(&units, file, path, options, recording, problem);
    up_units_free(&units);
    return status;
}

static int read_other(const char *path, up_file_kind kind, const up_recording_options *options, up_recording *recording,
                      up_problem *problem) {
    up_draft *draft = malloc(sizeof *draft);
    if (draft == NULL) {
        return 3;
    }
    up_units units;
    up_units_init(&units);
    int status = begin(draft, &units, path, options, recording, problem);
    recording->kind = kind;
    if (status == 0) {
        status = kind == UP_FILE_WAV ? up_recording_wav(draft, path) : up_recording_mat(draft, path);
    }
    status = end(draft, status);
    up_units_free(&units);
    free(draft);
    return status;
}

static int cannot_open(const char *path, up_recording *recording, up_problem *problem) {
    *recording = (up_recording){.path = strdup(path), .encoding = ""};
    *problem = (up_problem){0};
    snprintf(problem->found, sizeof problem->found, "%s", strerror(errno));
    snprintf(problem->expected, sizeof problem->expected, "a file that can be read");
    snprintf(problem->mend, sizeof problem->mend, "look at the name and the rights");
    return 2;
}

int up_recording_read(const char *path, const up_recording_options *options, up_recording *recording,
                      up_problem *problem) {
    if (strcmp(path, "-") == 0) {
        return up_recording_read_text(stdin, path, options, recording, problem);
    }
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return cannot_open(path, recording, problem);
    }
    unsigned char first[16];
    const size_t count = fread(first, 1, sizeof first, file);
    const up_file_kind kind = kind_of(first, count, path);
    int status;
    if (ferror(file)) {
        status = cannot_open(path, recording, problem);
    } else if (kind != UP_FILE_TEXT) {
        status = read_other(path, kind, options, recording, problem);
    } else if (fseek(file, 0, SEEK_SET) == 0) {
        status = up_recording_read_text(file, path, options, recording, problem);
    } else { /* a pipe with a name cannot be wound back, but takes back what is still in its buffer */
        size_t left = count;
        while (left > 0 && ungetc(first[left - 1], file) != EOF) {
            left--;
        }
        status = left > 0 ? cannot_open(path, recording, problem)
                          : up_recording_read_text(file, path, options, recording, problem);
    }
    fclose(file);
    return status;
}

void up_recording_free(up_recording *recording) {
    for (int i = 0; i < recording->column_count; i++) {
        free(recording->column[i].value);
    }
    for (int i = 0; i < recording->base_count; i++) {
        free(recording->base[i].time);
    }
    free(recording->column);
    free(recording->fact);
    free(recording->note);
    free(recording->path);
    *recording = (up_recording){.encoding = ""};
}

void up_problem_print(const up_problem *problem, const char *path, FILE *out) {
    fputs(path, out);
    if (problem->line > 0) {
        fprintf(out, ":%ld", problem->line);
        if (problem->column > 0) {
            fprintf(out, ":%d", problem->column);
        }
    }
    fprintf(out, ": found %s; expected %s; %s\n", problem->found, problem->expected, problem->mend);
}

double up_time_base_end(const up_time_base *base) {
    if (base->count < 2) {
        return base->start;
    }
    return base->time != NULL ? base->time[base->count - 1] : base->start + base->interval * (double)(base->count - 1);
}

int up_recording_tracks(const up_recording *recording, up_recorded *recorded) {
    int left_out = 0;
    *recorded = (up_recorded){.tracks = 0};
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *column = &recording->column[i];
        if (column->role != UP_ROLE_SIGNAL || column->base < 0 || column->count == 0) {
            continue;
        }
        if (recorded->tracks >= UP_TRACKS_MAX) {
            left_out++;
            continue;
        }
        const up_time_base *base = &recording->base[column->base];
        recorded->track[recorded->tracks++] = (up_track){.signal = column->signal,
                                                         .count = column->count,
                                                         .start = base->start,
                                                         .interval = base->interval,
                                                         .time = base->time,
                                                         .value = column->value,
                                                         .on_glass = column->on_glass,
                                                         .low_clip = column->low_clip,
                                                         .high_clip = column->high_clip,
                                                         .step = column->step};
    }
    return left_out;
}

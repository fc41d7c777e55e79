/* Sound, by libsndfile: the rate stands in the file, full scale is 1. */
#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "io/recording/formats.h"

enum { FRAMES = 16384 };

static int cannot(up_draft *draft, SNDFILE *file) {
    char found[UP_NOTE_TEXT_MAX];
    snprintf(found, sizeof found, "sound that cannot be read: %s", sf_strerror(file));
    return up_problem_set(draft->problem, 0, 0, found, "WAV sound", "save it again as WAV, 16 bit or more");
}

static int add_channels(up_draft *draft, const SF_INFO *about) {
    for (int k = 0; k < about->channels && k < UP_COLUMNS_MAX; k++) {
        char name[32];
        snprintf(name, sizeof name, "channel %d", k + 1);
        up_column *column = up_column_add(draft, name, "", NULL);
        if (column == NULL) {
            return 3;
        }
        column->role = UP_ROLE_SIGNAL;
        column->signal = UP_SIGNAL_SOUND;
        column->why = "the file's format";
        column->value = malloc((size_t)about->frames * sizeof *column->value);
        if (column->value == NULL) {
            return 3;
        }
    }
    return 0;
}

static int take_samples(up_draft *draft, SNDFILE *file, const SF_INFO *about) {
    double *block = malloc((size_t)FRAMES * (size_t)about->channels * sizeof *block);
    up_recording *recording = draft->recording;
    sf_count_t got, at = 0;
    if (block == NULL) {
        return 3;
    }
    while ((got = sf_readf_double(file, block, FRAMES)) > 0 && at + got <= about->frames) {
        for (int k = 0; k < recording->column_count; k++) {
            for (sf_count_t i = 0; i < got; i++) {
                recording->column[k].value[at + i] = block[i * about->channels + k];
            }
        }
        at += got;
    }
    free(block);
    for (int k = 0; k < recording->column_count; k++) {
        recording->column[k].count = (size_t)at;
    }
    recording->rows = (size_t)at;
    if (at < about->frames) {
        up_note_add(recording, 1, 0, 0, "the sound ends after %lld of %lld samples that its header states",
                    (long long)at, (long long)about->frames);
    }
    return 0;
}

int up_recording_wav(up_draft *draft, const char *path) {
    SF_INFO about = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &about);
    if (file == NULL) {
        return cannot(draft, NULL);
    }
    int status = 0;
    if (about.frames <= 0 || about.samplerate <= 0 || about.channels <= 0 || about.channels > UP_COLUMNS_MAX ||
        about.frames > (sf_count_t)1 << 34) {
        status = up_problem_set(draft->problem, 0, 0, "sound without samples, or with a header that makes no sense",
                                "WAV sound", "save it again as WAV, 16 bit or more");
    } else {
        draft->format_interval = 1.0 / about.samplerate;
        draft->one_table = 1;
        status = add_channels(draft, &about);
    }
    if (status == 0) {
        status = take_samples(draft, file, &about);
    }
    sf_close(file);
    return status == 0 ? up_draft_finish(draft) : status;
}

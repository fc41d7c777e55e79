/* Whatever the bytes, the reader of recordings comes back with samples whose time rises, or with one clear message. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "io/recording.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void require(int holds) {
    if (!holds) {
        abort();
    }
}

static void check_bases(const up_recording *recording) {
    for (int b = 0; b < recording->base_count; b++) {
        const up_time_base *base = &recording->base[b];
        require(base->column < recording->column_count && base->of < recording->base_count);
        require((base->time == NULL) == (isfinite(base->interval) != 0) || base->count == 0);
        require(base->time != NULL || base->count < 2 || base->interval > 0);
        for (size_t i = 1; base->time != NULL && i < base->count; i++) {
            require(base->time[i] >= base->time[i - 1]);
        }
        require(base->gap_count >= 0 && base->gap_count <= UP_GAPS_MAX && base->gaps >= (size_t)base->gap_count);
    }
}

static void check(const up_recording *recording) {
    up_recorded recorded;
    require(recording->column_count > 0 && recording->base_count > 0);
    check_bases(recording);
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *column = &recording->column[i];
        require((int)column->role >= 0 && column->role < UP_ROLE_COUNT);
        require(column->value == NULL || column->base < 0 || column->count <= recording->base[column->base].count);
        require(column->role != UP_ROLE_TWIN || (column->twin_of >= 0 && column->twin_of < recording->column_count));
        require(isfinite(column->factor) && isfinite(column->offset));
        size_t missing = 0;
        for (size_t k = 0; column->value != NULL && k < column->count; k++) {
            missing += isnan(column->value[k]) != 0;
        }
        require(column->value == NULL || missing == column->missing);
    }
    (void)up_recording_tracks(recording, &recorded);
    require(recorded.tracks >= 0 && recorded.tracks <= UP_TRACKS_MAX);
}

static int read_once(const uint8_t *data, size_t size, const up_recording_options *options) {
    static up_units units; /* reading the units database anew for each input would be most of the work */
    up_recording recording;
    up_problem problem;
    FILE *file = fmemopen((void *)data, size, "rb");
    if (file == NULL) {
        return 0;
    }
    const int status = up_recording_read_text_with(&units, file, "fuzz", options, &recording, &problem);
    require(status == 0 || status == 2);
    if (status == 0) {
        check(&recording);
    } else {
        require(problem.found[0] != '\0' && problem.expected[0] != '\0' && problem.mend[0] != '\0' &&
                problem.line >= 0);
    }
    fclose(file);
    up_recording_free(&recording);
    return status;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    up_recording_options options;
    up_recording_options_usual(&options);
    if (size > 0 && read_once(data, size, &options) == 2) {
        options.rate = 1000;
        (void)read_once(data, size, &options);
    }
    return 0;
}

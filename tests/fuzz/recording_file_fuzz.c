/* Whatever the bytes behind the first ones of WAV sound or of a MAT file, there are samples or one clear message.
 *
 * Damaged MAT files are tried only with UPSTOP_FUZZ_MAT in the environment: the library makes room for what such a file
 * claims to list before anyone can look at it, which takes seconds and gigabytes now and then. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "io/recording.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void require(int holds) {
    if (!holds) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char path[512];
    const char *folder = getenv("TMPDIR");
    up_recording recording;
    up_recording_options options;
    up_problem problem;
    const int sound = size >= 12 && data[0] == 'R' && data[1] == 'I',
              mat = size >= 12 && data[0] == 'M' && data[1] == 'A';
    if (!sound && !(mat && getenv("UPSTOP_FUZZ_MAT") != NULL)) {
        return 0; /* text has a fuzzer of its own */
    }
    snprintf(path, sizeof path, "%s/upstop-fuzz-%d", folder != NULL ? folder : "/tmp", (int)getpid());
    FILE *file = fopen(path, "wb");
    require(file != NULL && fwrite(data, 1, size, file) == size && fclose(file) == 0);
    up_recording_options_usual(&options);
    options.rate = 1000;
    const int status = up_recording_read(path, &options, &recording, &problem);
    require(status == 0 || status == 2 || status == 3);
    require(status != 2 || (problem.found[0] != '\0' && problem.expected[0] != '\0' && problem.mend[0] != '\0'));
    for (int i = 0; status == 0 && i < recording.column_count; i++) {
        const up_column *column = &recording.column[i];
        double sum = 0;
        for (size_t k = 0; column->value != NULL && k < column->count; k++) {
            sum += column->value[k];
        }
        require(isfinite(sum) || !isfinite(sum)); /* every sample can be touched */
    }
    up_recording_free(&recording);
    unlink(path);
    return 0;
}

/* MAT files and sound, written by matio and libsndfile themselves, come back as they were. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <matio.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "io/recording.h"

enum { SAMPLES = 500 };

static const char *scratch(const char *name) {
    static char path[512];
    const char *folder = getenv("TMPDIR");
    snprintf(path, sizeof path, "%s/%d-%s", folder != NULL ? folder : "/tmp", (int)getpid(), name);
    return path;
}

static void read_good(const char *path, up_recording *recording) {
    up_recording_options options;
    up_problem problem;
    up_recording_options_usual(&options);
    if (up_recording_read(path, &options, recording, &problem) != 0) {
        fail_msg("%s: %s; %s", path, problem.found, problem.expected);
    }
}

static void write_vector(mat_t *file, const char *name, double *data, size_t rows, size_t columns) {
    size_t dims[2] = {rows, columns};
    matvar_t *variable = Mat_VarCreate(name, MAT_C_DOUBLE, MAT_T_DOUBLE, 2, dims, data, 0);
    assert_non_null(variable);
    assert_int_equal(Mat_VarWrite(file, variable, MAT_COMPRESSION_NONE), 0);
    Mat_VarFree(variable);
}

static const up_column *named(const up_recording *recording, const char *name) {
    for (int i = 0; i < recording->column_count; i++) {
        if (strcmp(recording->column[i].name, name) == 0) {
            return &recording->column[i];
        }
    }
    fail_msg("no column %s", name);
    return NULL;
}

static void vectors_of_a_mat_file_are_columns(void **state) {
    (void)state;
    static double time[SAMPLES], voltage[SAMPLES], current[SAMPLES];
    const char *path = scratch("vectors.mat");
    for (int i = 0; i < SAMPLES; i++) {
        time[i] = i * 0.002 - 0.1;
        voltage[i] = 12 + 0.001 * i;
        current[i] = 3000 + i;
    }
    mat_t *file = Mat_CreateVer(path, NULL, MAT_FT_MAT5);
    assert_non_null(file);
    write_vector(file, "time_s", time, SAMPLES, 1);
    write_vector(file, "voltage_V", voltage, 1, SAMPLES);
    write_vector(file, "current_mA", current, SAMPLES, 1);
    Mat_Close(file);
    up_recording recording;
    read_good(path, &recording);
    assert_int_equal(recording.kind, UP_FILE_MAT);
    assert_int_equal(recording.base_count, 1);
    assert_true(fabs(recording.base[0].interval - 0.002) < 1e-12 && fabs(recording.base[0].start + 0.1) < 1e-12);
    const up_column *volts = named(&recording, "voltage"), *amps = named(&recording, "current");
    assert_int_equal(volts->count, SAMPLES);
    assert_int_equal(amps->signal, UP_SIGNAL_CURRENT);
    for (int i = 0; i < SAMPLES; i++) {
        assert_true(volts->value[i] == voltage[i]);
        assert_true(fabs(amps->value[i] - current[i] / 1000) < 1e-12);
    }
    up_recording_free(&recording);
    unlink(path);
}

/* Loggers that write no vector of times give rate and start as single numbers. */
static void single_numbers_of_a_mat_file_state_the_rate(void **state) {
    (void)state;
    static double current[SAMPLES];
    double interval = 5e-5, start = -0.01;
    const char *path = scratch("stated.mat");
    for (int i = 0; i < SAMPLES; i++) {
        current[i] = 2 + (i % 7) * 0.25;
    }
    mat_t *file = Mat_CreateVer(path, NULL, MAT_FT_MAT5);
    assert_non_null(file);
    write_vector(file, "Tinterval", &interval, 1, 1);
    write_vector(file, "Tstart", &start, 1, 1);
    write_vector(file, "current_A", current, SAMPLES, 1);
    Mat_Close(file);
    up_recording recording;
    read_good(path, &recording);
    assert_int_equal(recording.base[0].how, UP_TIME_STATED);
    assert_true(recording.base[0].interval == 5e-5 && recording.base[0].start == -0.01);
    assert_true(named(&recording, "current")->step == 0.25);
    up_recording_free(&recording);
    unlink(path);
}

static void sound_has_the_rate_of_its_file(void **state) {
    (void)state;
    static short samples[2 * SAMPLES];
    const char *path = scratch("whine.wav");
    for (int i = 0; i < SAMPLES; i++) {
        samples[2 * i] = (short)(8000 * sin(0.3 * i));
        samples[2 * i + 1] = (short)(i - 250);
    }
    SF_INFO about = {.samplerate = 44100, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = sf_open(path, SFM_WRITE, &about);
    assert_non_null(file);
    assert_int_equal(sf_writef_short(file, samples, SAMPLES), SAMPLES);
    sf_close(file);
    up_recording recording;
    read_good(path, &recording);
    assert_int_equal(recording.kind, UP_FILE_WAV);
    assert_int_equal(recording.column_count, 2);
    assert_true(recording.base[0].interval == 1.0 / 44100);
    assert_int_equal(recording.column[0].signal, UP_SIGNAL_SOUND);
    for (int i = 0; i < SAMPLES; i++) {
        assert_true(recording.column[1].value[i] == (i - 250) / 32768.0);
    }
    up_recording_free(&recording);
    unlink(path);
}

/* A literal and its size. */
#define BYTES(text) text, sizeof(text) - 1

static void broken_files_give_one_message(void **state) {
    (void)state;
    static const struct {
        const char *name, *text;
        size_t size;
    } broken[] = {
        {"a.mat", BYTES("MATLAB 5.0 MAT-file, but only these words")},
        {"b.wav", BYTES("RIFF\x24\0\0\0WAVEfmt nothing behind")},
        {"c.bin", BYTES("\x01\x02\x03\x04\x05\x06\x07\x08\x0b\x0c\x0e\x0f\x10\x11\x12\x13")},
        {"d.csv", BYTES("")},
        {"e.csv", BYTES("only words\nand no numbers\n")},
    };
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        up_recording recording;
        up_recording_options options;
        up_problem problem;
        const char *path = scratch(broken[i].name);
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(broken[i].text, 1, broken[i].size, file), broken[i].size);
        fclose(file);
        up_recording_options_usual(&options);
        assert_int_equal(up_recording_read(path, &options, &recording, &problem), 2);
        assert_true(problem.found[0] != '\0' && problem.expected[0] != '\0' && problem.mend[0] != '\0');
        up_recording_free(&recording);
        unlink(path);
    }
}

/* A file that was not copied to its end: at every eleventh byte there are samples or a message. */
static void files_cut_off_anywhere_give_one_message(void **state) {
    (void)state;
    static const char *const names[] = {"vectors", "packed", "sound", "sound-float"};
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
        char bytes[4096], from[512];
        snprintf(from, sizeof from, "%s/tests/fuzz/corpus/recording_file/%s", UPSTOP_SOURCE_DIR, names[n]);
        FILE *file = fopen(from, "rb");
        assert_non_null(file);
        const size_t size = fread(bytes, 1, sizeof bytes, file);
        fclose(file);
        assert_true(size > 200 && size < sizeof bytes);
        int good = 0, refused = 0;
        for (size_t cut = 12; cut <= size; cut += cut + 11 > size && cut < size ? size - cut : 11) {
            up_recording recording;
            up_recording_options options;
            up_problem problem;
            const char *path = scratch("cut");
            file = fopen(path, "wb");
            assert_non_null(file);
            assert_int_equal(fwrite(bytes, 1, cut, file), cut);
            fclose(file);
            up_recording_options_usual(&options);
            const int status = up_recording_read(path, &options, &recording, &problem);
            assert_true(status == 0 || (status == 2 && problem.found[0] != '\0'));
            assert_true(cut == size || n > 1 || status == 2); /* half a MAT file is none */
            good += status == 0;
            refused += status == 2;
            up_recording_free(&recording);
            unlink(path);
        }
        assert_true(good > 0 && refused > 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(vectors_of_a_mat_file_are_columns),
        cmocka_unit_test(single_numbers_of_a_mat_file_state_the_rate),
        cmocka_unit_test(sound_has_the_rate_of_its_file),
        cmocka_unit_test(broken_files_give_one_message),
        cmocka_unit_test(files_cut_off_anywhere_give_one_message),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* One small file a shape, in tests/recordings: what must be understood of each. The figures can be read off the files. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tests/unit/recording_shape.h"

static const wanted shapes[] = {
    {"brackets.csv",
     UP_TIME_COLUMN,
     40,
     -0.002,
     1e-4,
     NULL,
     0,
     {TIME_COLUMN("Time", "s"), {"Voltage", "V", VOLTS, 0, 0, 12.00}, {"Current", "A", AMPS, 0, 39, 8.31}}},
    {"decimal-comma.csv",
     UP_TIME_COLUMN,
     30,
     0,
     5e-4,
     NULL,
     0,
     {TIME_COLUMN("Zeit", "ms"), {"Spannung", "V", VOLTS, 0, 29, 12.39}, {"Strom", "A", AMPS, 0, 1, 3.18}}},
    {"utf16.csv",
     UP_TIME_COLUMN,
     30,
     0,
     5e-4,
     NULL,
     0,
     {TIME_COLUMN("Zeit", "ms"), {"Spannung", "V", VOLTS, 0, 29, 12.39}, {"Strom", "A", AMPS, 0, 1, 3.18}}},
    {"units-row.txt",
     UP_TIME_COLUMN,
     25,
     0,
     2e-5,
     NULL,
     0,
     {TIME_COLUMN("Time", "ms"), {"Motor", "V", VOLTS, 0, 1, 12.59}, {"Clamp", "A", AMPS, 0, 6, 4.6}}},
    {"beside.csv", UP_TIME_COLUMN, 50, -4e-5, 4e-6, NULL, 0, {TIME_COLUMN("", "s"), {"CH1", "V", VOLTS, 0, 0, 6}}},
    {"start-and-step.csv",
     UP_TIME_NUMBERED,
     40,
     -2e-3,
     1e-4,
     NULL,
     0,
     {{"X", "Sequence", UP_ROLE_NUMBERING, UP_SIGNAL_COUNT, 0, 0, 0},
      {"CH1", "Volt", VOLTS, 0, 21, 11},
      {"CH2", "Volt", VOLTS, 0, 24, 0.4}}},
    {"rounded.csv",
     UP_TIME_COLUMN,
     200,
     0,
     3.2e-5,
     NULL,
     0,
     {TIME_COLUMN("Second", "Second"), {"Volt", "Volt", VOLTS, 0, 0, 12}}},
    {"twin.csv",
     UP_TIME_COLUMN,
     40,
     0,
     1e-3,
     NULL,
     0,
     {TIME_COLUMN("TIME", "s"),
      {"CH1", "V", VOLTS, 0, 2, 12.4},
      {"CH1 Peak Detect", "V", UP_ROLE_TWIN, UP_SIGNAL_VOLTAGE, 0, 3, 12.1},
      {"CH2", "A", AMPS, 0, 4, 3.2}}},
    {"two-rates.csv",
     UP_TIME_COLUMN,
     60,
     0,
     1e-3,
     NULL,
     0,
     {TIME_COLUMN("Time", "s"),
      {"Current", "A", AMPS, 0, 3, 3.3},
      {"Voltage", "V", VOLTS, 0, 1, 12.23},
      {"Temperature",
       "\xc2\xb0"
       "C",
       UP_ROLE_SIGNAL, UP_SIGNAL_TEMPERATURE, 0, 0, 294.65}}},
    {"two-times.csv",
     UP_TIME_COLUMN,
     60,
     0,
     1e-3,
     NULL,
     0,
     {TIME_COLUMN("Time A", "s"),
      {"Current", "A", AMPS, 0, 3, 3.3},
      TIME_COLUMN("Time B", "s"),
      {"Temperature", "degC", UP_ROLE_SIGNAL, UP_SIGNAL_TEMPERATURE, 0, 5, 299.65}}},
    {"glued.csv",
     UP_TIME_COLUMN,
     30,
     0,
     5e-4,
     NULL,
     0,
     {TIME_COLUMN("Time", "ms"), {"CH1", "mV", VOLTS, 0, 29, 2.9}, {"CH2", "mA", AMPS, 0, 29, 0.39}}},
    {"quoted-rows.csv",
     UP_TIME_COLUMN,
     30,
     0,
     2e-3,
     NULL,
     0,
     {TIME_COLUMN("Time", "s"), {"Voltage", "V", VOLTS, 0, 29, 12.29}, {"Current", "A", AMPS, 0, 29, 4.9}}},
    {"first-stamp.csv",
     UP_TIME_COLUMN,
     30,
     0,
     0.01,
     "out of order",
     2,
     {TIME_COLUMN("Time", "s"), {"Current", "A", AMPS, 0, 0, 0.1}}},
    {"restart.csv",
     UP_TIME_COLUMN,
     30,
     0,
     0.01,
     "time starts anew",
     14,
     {TIME_COLUMN("Time", "s"), {"Current", "A", AMPS, 0, 0, 5}}},
    {"read-errors.csv",
     UP_TIME_COLUMN,
     60,
     0,
     0.01,
     "the first \"#ERR\"",
     9,
     {TIME_COLUMN("Time", "s"), {"Voltage", "V", VOLTS, 3, 1, 12.01}, {"Current", "A", AMPS, 3, 59, 3.3}}},
    {"prose.csv",
     UP_TIME_COLUMN,
     30,
     0,
     0.02,
     "skipped: \"Door trim rattles",
     5,
     {TIME_COLUMN("Time", "s"), {"Voltage", "V", VOLTS, 0, 29, 12.29}, {"Current", "A", AMPS, 0, 0, 2}}},
    {"stamps.csv",
     UP_TIME_STAMPS,
     40,
     0,
     0.1,
     NULL,
     0,
     {TIME_COLUMN("Stamp", ""), {"Voltage", "V", VOLTS, 0, 39, 12.39}}},
    {"clock.csv", UP_TIME_STAMPS, 40, 0, 0.1, NULL, 0, {TIME_COLUMN("Uhrzeit", ""), {"Strom", "A", AMPS, 0, 39, 3.39}}},
    {"gap.csv",
     UP_TIME_COLUMN,
     32,
     0,
     NAN,
     NULL,
     0,
     {TIME_COLUMN("Time", "s"), {"Voltage", "V", VOLTS, 3, 31, 12.39}, {"Current", "A", AMPS, 0, 31, 4.9}}},
    {"nul.csv",
     UP_TIME_COLUMN,
     20,
     0,
     0.01,
     "3 NUL bytes",
     0,
     {TIME_COLUMN("Time", "s"), {"Current", "A", AMPS, 0, 5, 1.5}}},
    {"named-wrongly.csv",
     UP_TIME_NUMBERED,
     30,
     0,
     5e-4,
     "\"Strom\" sounds like current",
     2,
     {{"Time", "s", UP_ROLE_NUMBERING, UP_SIGNAL_COUNT, 0, 0, 0},
      {"Voltage", "V", VOLTS, 0, 29, 12.29},
      {"Strom", "V", VOLTS, 0, 0, 0.3}}},
    {"keyed.csv",
     UP_TIME_STATED,
     30,
     -5e-3,
     1e-3,
     NULL,
     0,
     {{"CH1", "V", VOLTS, 0, 29, 12.29}, {"CH2", "A", AMPS, 0, 0, 1}}},
    {"clipped.csv",
     UP_TIME_COLUMN,
     200,
     0,
     5e-4,
     "clipped by the instrument in 27 samples",
     0,
     {TIME_COLUMN("Time", "s"), {"Current", "A", AMPS, 0, 0, 0.55}}},
    {"loop-times.txt",
     UP_TIME_COLUMN,
     60,
     0,
     NAN,
     "not spaced evenly",
     2,
     {TIME_COLUMN("millis", "millis"), {"current", "A", AMPS, 0, 5, 2.5}}},
    {"lone-cr.csv",
     UP_TIME_COLUMN,
     20,
     0,
     0.01,
     NULL,
     0,
     {TIME_COLUMN("Time", "s"), {"Current", "A", AMPS, 0, 19, 2.9}}},
    {"header-rows.csv",
     UP_TIME_COLUMN,
     30,
     0,
     2.5e-6,
     NULL,
     0,
     {TIME_COLUMN("Time", "us"),
      {"Channel A Voltage", "mV", VOLTS, 0, 29, 0.129},
      {"Channel A Current", "mA", AMPS, 0, 0, 0.02},
      {"Channel B Voltage", "V", VOLTS, 0, 0, 12}}},
};

enum { SHAPES = sizeof shapes / sizeof shapes[0] };

static void every_shape_is_understood(void **state) {
    (void)state;
    for (int i = 0; i < SHAPES; i++) {
        shape_check(&shapes[i]);
    }
}

/* A slow group has its own time base: every tenth row from the fourth on; or its own column of times. */
static void slower_channels_have_their_own_time(void **state) {
    (void)state;
    up_recording recording;
    shape_read("two-rates.csv", NULL, &recording);
    const up_time_base *slow = &recording.base[recording.column[2].base];
    assert_int_equal(recording.column[2].base, recording.column[3].base);
    assert_int_equal(slow->stride, 10);
    assert_true(slow->count == 6 && shape_near(slow->start, 0.003) && shape_near(slow->interval, 0.01));
    assert_int_equal(recording.column[1].base, 0);
    up_recording_free(&recording);
    shape_read("two-times.csv", NULL, &recording);
    slow = &recording.base[recording.column[3].base];
    assert_true(recording.column[3].count == 6 && shape_near(slow->interval, 0.01) && slow->column == 2);
    up_recording_free(&recording);
}

static void gaps_rounding_clipping_and_wild_samples_are_told(void **state) {
    (void)state;
    up_recording recording;
    shape_read("gap.csv", NULL, &recording);
    assert_int_equal(recording.base[0].gaps, 1);
    assert_true(shape_near(recording.base[0].gap[0].at, 0.19) && shape_near(recording.base[0].gap[0].length, 0.09));
    assert_true(shape_near(recording.base[0].time[31], 0.39));
    up_recording_free(&recording);
    shape_read("rounded.csv", NULL, &recording);
    assert_true(shape_near(recording.base[0].rounded_to, 1e-5) && recording.base[0].stated == 3.2e-5);
    up_recording_free(&recording);
    shape_read("clipped.csv", NULL, &recording);
    assert_true(recording.column[1].high_clip == 25 && recording.column[1].clipped_high == 27);
    assert_true(isnan(recording.column[1].low_clip));
    assert_true(shape_near(recording.column[1].step, 0.05));
    up_recording_free(&recording);
    shape_read("read-errors.csv", NULL, &recording);
    assert_int_equal(recording.column[1].unreadable, 1);
    assert_int_equal(recording.column[1].unreadable_column, 7);
    assert_int_equal(recording.column[1].over, 1);
    assert_true(isnan(recording.column[1].value[45]) && isnan(recording.column[1].value[50]));
    assert_int_equal(recording.column[2].spikes, 1);
    assert_int_equal(recording.column[2].spike_row, 33);
    assert_true(recording.column[2].spike_value == 9999 && isnan(recording.column[2].value[33]));
    up_recording_free(&recording);
    up_recording_options keep;
    up_recording_options_usual(&keep);
    keep.keep_spikes = 1;
    shape_read("read-errors.csv", &keep, &recording);
    assert_true(recording.column[2].value[33] == 9999);
    up_recording_free(&recording);
}

static void no_time_asks_for_the_rate(void **state) {
    (void)state;
    char path[512];
    up_recording recording;
    up_recording_options options;
    up_problem problem;
    up_recording_options_usual(&options);
    snprintf(path, sizeof path, "%s/tests/recordings/no-time.csv", UPSTOP_SOURCE_DIR);
    assert_int_equal(up_recording_read(path, &options, &recording, &problem), 2);
    assert_non_null(strstr(problem.found, "without a time"));
    assert_non_null(strstr(problem.mend, "--rate"));
    up_recording_free(&recording);
    options.rate = 2000;
    options.start = -0.001;
    shape_read("no-time.csv", &options, &recording);
    assert_int_equal(recording.base[0].how, UP_TIME_SAID);
    assert_true(shape_near(recording.base[0].interval, 5e-4) && shape_near(recording.base[0].start, -0.001));
    up_recording_free(&recording);
}

/* A column named wrongly, an oscilloscope's volts that are a clamp's amperes, a piece of time, another part. */
static void what_is_said_counts(void **state) {
    (void)state;
    up_recording recording;
    up_recording_options options;
    const char *expected;
    up_recording_options_usual(&options);
    assert_int_equal(up_said_column_read("Strom = current[100 mV/A]", &options.said[options.said_count++], &expected),
                     0);
    options.from = 0.002;
    options.to = 0.004;
    shape_read("named-wrongly.csv", &options, &recording);
    const up_column *current = &recording.column[2];
    assert_int_equal(current->signal, UP_SIGNAL_CURRENT);
    assert_int_equal(current->count, 5);
    assert_true(shape_near(recording.base[0].start, 0.002) && shape_near(current->value[0], 3.4) &&
                shape_near(current->value[4], 3.8));
    up_recorded recorded;
    assert_int_equal(up_recording_tracks(&recording, &recorded), 0);
    assert_int_equal(recorded.tracks, 2);
    assert_int_equal(recorded.track[1].signal, UP_SIGNAL_CURRENT);
    assert_true(recorded.track[1].value == current->value && recorded.track[1].count == 5);
    up_recording_free(&recording);
    up_recording_options_usual(&options);
    options.part = 1;
    shape_read("restart.csv", &options, &recording);
    assert_int_equal(recording.base[0].count, 12);
    assert_true(shape_near(recording.column[1].value[11], 3.1));
    up_recording_free(&recording);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_shape_is_understood),
        cmocka_unit_test(slower_channels_have_their_own_time),
        cmocka_unit_test(gaps_rounding_clipping_and_wild_samples_are_told),
        cmocka_unit_test(no_time_asks_for_the_rate),
        cmocka_unit_test(what_is_said_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

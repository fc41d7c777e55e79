/* What was judged is what can be flashed: the header that is written, compiled with the detector by the system's compiler,
 * decides in recorded closings at the tick at which the simulation decided; and the sheet that is written, read again,
 * gives the very same constants. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/overhear.h"
#include "analysis/tuning.h"
#include "core/base/counter_random.h"
#include "core/base/up_math.h"
#include "io/detector_header.h"
#include "io/tuned_entries.h"

enum { SETTINGS = 4, CLOSINGS = 6, PATH = 400, COMMAND = 2000 };

static const char *const sheets[] = {"front-door.yaml", "passenger-door.yaml", "rear-door.yaml", "sliding-door.yaml"};
enum { SHEETS = sizeof sheets / sizeof sheets[0] };

static char folder[PATH];

static int make_folder(void **state) {
    (void)state;
    const char *const scratch = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/flashed.XXXXXX", scratch ? scratch : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state) {
    char command[COMMAND];
    (void)state;
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    return system(command);
}

static char *read_text(const char *path) {
    char *const text = malloc(UP_SHEET_SIZE_MAX + 1);
    FILE *const file = fopen(path, "rb");
    assert_non_null(file);
    text[fread(text, 1, UP_SHEET_SIZE_MAX, file)] = '\0';
    fclose(file);
    return text;
}

static void read_sheet(const char *text, up_sheet *sheet) {
    up_findings findings = {0};
    assert_int_equal(up_sheet_read_text(text, strlen(text), "sheet", sheet, &findings), 0);
    up_findings_free(&findings);
}

static char *example(int index) {
    char path[PATH];
    snprintf(path, sizeof path, "%s/examples/%s", UPSTOP_SOURCE_DIR, sheets[index]);
    return read_text(path);
}

static void any_tuning(const up_values *sheet, int index, up_tuning *tuning) {
    up_tuning_of(sheet, tuning);
    tuning->principle = index % 2;
    tuning->profile = index / 2 % 2;
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        double low = 0;
        double high = 0;
        up_tuned_range((up_tuned)i, &low, &high);
        const double u = up_random_unit(3, 79, (uint64_t)(index * UP_TUNED_COUNT + i));
        if (up_tuned_is_used(tuning, (up_tuned)i)) {
            tuning->value[i] = up_tuned_rounded((up_tuned)i, low * up_pow(high / low, u));
        }
    }
}

/* ---- sheets ---- */

static void test_a_new_sheet_gives_the_constants_that_were_judged(void **state) {
    (void)state;
    for (int i = 0; i < SHEETS * 40; i++) {
        char *const old = example(i % SHEETS);
        up_sheet sheet;
        up_sheet changed;
        up_tuning tuning;
        up_control_settings judged;
        up_control_settings read;
        up_tuning as_read;
        const char *entry = NULL;
        read_sheet(old, &sheet);
        any_tuning(&sheet.known.values, i / SHEETS, &tuning);
        assert_int_equal(up_tuning_control(&sheet.known.values, &tuning, &judged), UP_OK);
        char *const text = up_sheet_with_entries(old, &sheet, &tuning, &entry);
        assert_non_null(text);
        read_sheet(text, &changed);
        up_tuning_of(&changed.known.values, &as_read);
        assert_int_equal(up_tuning_control(&changed.known.values, &as_read, &read), UP_OK);
        assert_memory_equal(&judged, &read, sizeof judged);
        for (int n = 0; n < UP_NUMBER_COUNT; n++) { /* nothing else changed */
            int tuned = 0;
            for (int k = 0; k < UP_TUNED_COUNT; k++) {
                tuned |= (int)up_tuned_number((up_tuned)k) == n;
            }
            if (!tuned) {
                assert_memory_equal(&sheet.known.values.number[n], &changed.known.values.number[n], sizeof(double));
                assert_memory_equal(&sheet.known.spread[n], &changed.known.spread[n], sizeof(double));
            }
        }
        up_sheet_free(&sheet);
        up_sheet_free(&changed);
        free(old);
        free(text);
    }
}

/* Entries in a form that cannot be changed line by line are named. */
static void test_forms_that_are_not_changed(void **state) {
    static const char *const forms[] = {"detector:\n  threshold:\n    value: 43 N\n    from: measured\n",
                                        "detector: {threshold: 43 N, edges: 3}\n"};
    (void)state;
    for (int i = 0; i < 2; i++) {
        char text[300];
        up_sheet sheet;
        up_tuning tuning;
        const char *entry = NULL;
        snprintf(text, sizeof text, "regulator:\n  family: crossed-arms\n%s", forms[i]);
        read_sheet(text, &sheet);
        any_tuning(&sheet.known.values, 3, &tuning);
        assert_null(up_sheet_with_entries(text, &sheet, &tuning, &entry));
        assert_non_null(entry);
        assert_int_equal(strncmp(entry, "detector.", 9), 0);
        up_sheet_free(&sheet);
    }
}

/* ---- the header ---- */

static void write_file(const char *name, const up_control_settings *control) {
    static const char *const origin[] = {"Test. */ A comment that tries to end \\ early /* and begin again.", NULL};
    char path[2 * PATH];
    const up_detector_header header = {control, "A door */ int x; /* with \n bad \t letters", origin};
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *const file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(up_detector_header_write(&header, file), 0);
    assert_int_equal(fclose(file), 0);
}

static int run(const char *format, ...) __attribute__((format(printf, 1, 2)));
static int run(const char *format, ...) {
    char command[COMMAND];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    return system(command);
}

static int has(const char *program) {
    return run("command -v %s >/dev/null 2>&1", program) == 0;
}

/* One closing with a rod or none: overheard with the detector held back, and decided with the constants in the controller. */
static void record(const up_values *values, const up_control_settings *flashed, int index, FILE *file, double *time) {
    static up_overheard_word word[UP_OVERHEARD_MOST];
    up_overheard heard;
    up_run_options options;
    up_outcome outcome;
    up_door door;
    up_door other;
    const double opening[CLOSINGS] = {0, 0.12, 0.03, 0.2, 0.006, 0.08};
    assert_int_equal(up_door_prepare(values, UP_ROOM_TEMPERATURE, &door), UP_OK);
    up_run_options_default(&options);
    options.seed = (uint32_t)index;
    options.rod = opening[index] > 0;
    options.rod_opening = opening[index];
    options.rod_stiffness = index % 2 ? 65e3 : 10e3;
    other = door;
    up_flash(flashed, &other.control);
    assert_int_equal(up_run(&other, &options, NULL, &outcome, NULL), UP_OK);
    *time = outcome.reversals > 0 ? outcome.detection_time : -1;
    up_overheard_clear(&heard, word, UP_OVERHEARD_MOST);
    const up_listener listener = up_overhear(&heard);
    options.listener = &listener;
    up_hold_back(&door.control);
    assert_int_equal(up_run(&door, &options, NULL, &outcome, NULL), UP_OK);
    fprintf(file, "closing %d %d %u\n", heard.opening, heard.limit_closed, heard.first.supply_mv);
    for (int i = 0; i < heard.count; i++) {
        const up_overheard_word *const w = &heard.word[i];
        if (w->what & UP_OVERHEARD_EDGE) {
            fprintf(file, "edge %u %d\n", w->now_us, w->value);
        } else {
            fprintf(file, "tick %u %u %d %u %d %d\n", w->now_us, (unsigned)w->supply_mv, w->value, (unsigned)w->hand,
                    (w->what & UP_OVERHEARD_LIMIT) != 0, (w->what & UP_OVERHEARD_POWERED) != 0);
        }
    }
    fputs("end\n", file);
}

static void test_the_header_decides_as_the_simulation_did(void **state) {
    (void)state;
    const char *const source = UPSTOP_SOURCE_DIR;
    int reversed = 0;
    int closed = 0;
    if (!has("cc")) {
        skip();
    }
    for (int i = 0; i < SETTINGS; i++) {
        char *const text = example(i % SHEETS);
        char path[2 * PATH];
        up_sheet sheet;
        up_tuning tuning;
        up_control_settings control;
        double time[CLOSINGS];
        read_sheet(text, &sheet);
        free(text);
        any_tuning(&sheet.known.values, i, &tuning);
        tuning.value[UP_TUNED_detect_force] = 70; /* so that both happen */
        assert_int_equal(up_tuning_control(&sheet.known.values, &tuning, &control), UP_OK);
        write_file("constants.h", &control);
        snprintf(path, sizeof path, "%s/heard", folder);
        FILE *const file = fopen(path, "wb");
        assert_non_null(file);
        fprintf(file, "%u %d %u %u\n", control.debounce_ticks, control.limit_edges, control.two_channels,
                control.back_off_us);
        for (int k = 0; k < CLOSINGS; k++) {
            record(&sheet.known.values, &control, k, file, &time[k]);
        }
        fclose(file);
        up_sheet_free(&sheet);
        assert_int_equal(run("cc -std=c17 -Wall -Wextra -Wpedantic -Werror -I'%s' -I'%s' "
                             "'%s'/tests/detector/flashed_replay.c '%s'/core/control/controller.c '%s'/detector/*.c "
                             "-o '%s/replay' && '%s/replay' <'%s/heard' >'%s/said'",
                             folder, source, source, source, source, folder, folder, folder, folder),
                         0);
        snprintf(path, sizeof path, "%s/said", folder);
        FILE *const said = fopen(path, "rb");
        assert_non_null(said);
        for (int k = 0; k < CLOSINGS; k++) {
            int tick = -2;
            unsigned told = 0;
            assert_int_equal(fscanf(said, "%d %u", &tick, &told), 2);
            assert_int_equal((told & UP_TOLD_REVERSAL) != 0, time[k] >= 0);
            if (time[k] >= 0) { /* ticks begin at time 0 and are whole */
                assert_int_equal((int)(time[k] * 1e6 / control.tick_us + 0.5), tick);
            }
            reversed += time[k] >= 0;
            closed += time[k] < 0;
        }
        fclose(said);
    }
    assert_true(reversed > 5 && closed > 2);
}

static void test_the_header_compiles_for_the_chip(void **state) {
    (void)state;
    if (!has("arm-none-eabi-gcc")) {
        skip();
    }
    up_values values;
    up_tuning tuning;
    up_control_settings control;
    up_values_fallback(UP_FAMILY_CABLE, &values);
    any_tuning(&values, 3, &tuning);
    assert_int_equal(up_tuning_control(&values, &tuning, &control), UP_OK);
    write_file("constants.h", &control);
    assert_int_equal(run("printf '#include \"constants.h\"\\nconst up_detector_settings *it(void);\\n"
                         "const up_detector_settings *it(void) { return &upstop_detector; }\\n' >'%s/chip.c' && "
                         "arm-none-eabi-gcc -std=c17 -Os -mcpu=cortex-m0plus -mthumb -ffreestanding -Wall -Wextra "
                         "-Wpedantic -Werror -I'%s' -I'%s' -c '%s/chip.c' -o '%s/chip.o'",
                         folder, folder, UPSTOP_SOURCE_DIR, folder, folder),
                     0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_a_new_sheet_gives_the_constants_that_were_judged),
                                       cmocka_unit_test(test_forms_that_are_not_changed),
                                       cmocka_unit_test(test_the_header_decides_as_the_simulation_did),
                                       cmocka_unit_test(test_the_header_compiles_for_the_chip)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}

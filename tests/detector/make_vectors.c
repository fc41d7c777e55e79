/* Writes a file of vectors for the detector: the calls it gets while doors close in the simulation, and random ones.
 *
 * usage: detector_vectors FILE
 *
 * The calls are caught on their way (linked with --wrap, cmake/upstop_detector_tests.cmake), so a vector is what the
 * detector of a simulated controller was really told, and what it answered. The random ones cover the whole range of
 * every number, which no closing does. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/counter_random.h"
#include "core/sim/run.h"
#include "tests/detector/any_settings.h"
#include "tests/detector/calls.h"
#include "tests/reference/doors.h"

static FILE *file;
static call_file_head head = {.magic = CALL_FILE_MAGIC,
                              .settings_bytes = sizeof(up_detector_settings),
                              .memory_bytes = sizeof(up_detector_memory),
                              .detector_bytes = sizeof(up_detector)};
static detector_rig known; /* settings and memory as last written */

static void die(const char *what) {
    fprintf(stderr, "detector_vectors: %s\n", what);
    exit(2);
}

/* ---- catching ---------------------------------------------------------------------------------------------------- */

static void put(const void *bytes, size_t size) {
    if (fwrite(bytes, size, 1, file) != 1) {
        die("cannot write");
    }
}

static void put_call(call what) {
    put(&what, sizeof what);
    head.calls++;
}

static void put_blocks(uint32_t kind) {
    const call what = {.kind = kind, .said = ANY_ANSWER};
    call *place;
    const uint32_t blocks = rig_blocks(&known, &what, &place);
    put_call(what);
    put(place, blocks * sizeof *place);
}

/* Settings and memory are written when they are not what the reader has already. */
static void tell(const up_detector_settings *settings, const up_detector_memory *memory) {
    static bool told_settings, told_memory;
    if (!told_settings || memcmp(settings, &known.settings, sizeof *settings) != 0) {
        memcpy(&known.settings, settings, sizeof *settings);
        put_blocks(CALL_SETTINGS);
        told_settings = true;
    }
    if (memory != NULL && (!told_memory || memcmp(memory, &known.memory, sizeof *memory) != 0)) {
        memcpy(&known.memory, memory, sizeof *memory);
        put_blocks(CALL_MEMORY);
        told_memory = true;
    }
}

/* The linker leads every call of a detector's function to __wrap_ of its name, and __real_ to the function. */
#define CAUGHT(result, name, ...)      \
    result __real_##name(__VA_ARGS__); \
    result __wrap_##name(__VA_ARGS__); \
    result __wrap_##name(__VA_ARGS__)

CAUGHT(void, up_detector_memory_start, up_detector_memory *memory, const up_detector_settings *settings) {
    tell(settings, NULL);
    put_call((call){CALL_SET_UP, ANY_ANSWER, {0}});
    __real_up_detector_memory_start(memory, settings);
    memcpy(&known.memory, memory, sizeof *memory);
}

CAUGHT(void, up_detector_start, up_detector *detector, uint32_t now_us) {
    put_call((call){CALL_START, ANY_ANSWER, {now_us}});
    __real_up_detector_start(detector, now_us);
}

static call of_reading(uint32_t kind, bool said, const up_detector_reading *r) {
    return (call){
        kind, said, {r->now_us, r->supply_mv, (uint32_t)r->current_ma, (uint32_t)r->opening_edges, r->place_known}};
}

CAUGHT(bool, up_detector_edge, up_detector *detector, const up_detector_settings *settings,
       const up_detector_memory *memory, const up_detector_reading *reading) {
    tell(settings, memory);
    const bool seen = __real_up_detector_edge(detector, settings, memory, reading);
    put_call(of_reading(CALL_EDGE, seen, reading));
    return seen;
}

CAUGHT(bool, up_detector_tick, up_detector *detector, const up_detector_settings *settings,
       const up_detector_memory *memory, const up_detector_reading *reading) {
    tell(settings, memory);
    const bool seen = __real_up_detector_tick(detector, settings, memory, reading);
    put_call(of_reading(CALL_TICK, seen, reading));
    return seen;
}

CAUGHT(void, up_detector_moved, up_detector *detector, const up_detector_settings *settings,
       const up_detector_memory *memory, int32_t believed_edges, int32_t true_edges) {
    tell(settings, memory);
    put_call((call){CALL_MOVED, ANY_ANSWER, {(uint32_t)believed_edges, (uint32_t)true_edges}});
    __real_up_detector_moved(detector, settings, memory, believed_edges, true_edges);
}

CAUGHT(void, up_detector_closed, const up_detector *detector, const up_detector_settings *settings,
       up_detector_memory *memory) {
    tell(settings, memory);
    put_call((call){CALL_CLOSED, ANY_ANSWER, {0}});
    __real_up_detector_closed(detector, settings, memory);
    memcpy(&known.memory, memory, sizeof *memory);
}

CAUGHT(uint32_t, up_detector_worn_knots, const up_detector_settings *settings, const up_detector_memory *memory) {
    tell(settings, memory);
    const uint32_t worn = __real_up_detector_worn_knots(settings, memory);
    put_call((call){CALL_WORN, worn, {0}});
    return worn;
}

/* ---- closings ---------------------------------------------------------------------------------------------------- */

static void close_door(const up_values *values, const up_run_options *options) {
    static up_door door;
    up_outcome outcome;
    if (up_door_prepare(values, options->temperature, &door) != UP_OK ||
        up_run(&door, options, NULL, &outcome, NULL) != UP_OK) {
        die("a closing failed");
    }
}

/* Free; onto three rods; cold; on a battery that gives way; with the position lost and found again. */
static void close_in_every_way(const up_values *values) {
    up_run_options options;
    up_run_options_default(&options);
    close_door(values, &options);
    for (int rod = 0; rod < ROD_CLOSINGS; rod++) {
        rod_closing(rod, &options);
        close_door(values, &options);
    }
    up_run_options_default(&options);
    options.temperature = 253.15;
    close_door(values, &options);
    up_run_options_default(&options);
    options.supply_steps = 2;
    options.supply_step[0] = (up_supply_step){1.0, 9.0};
    options.supply_step[1] = (up_supply_step){1.5, 14.0};
    close_door(values, &options);
    up_run_options_default(&options);
    options.position_lost = 1;
    options.switch_step[0].position = UP_SWITCH_RAISE_HELD;
    close_door(values, &options);
}

/* By both principles, with and without a profile. */
static void close_by_everything(up_values *values) {
    for (int way = 0; way < 4; way++) {
        values->detect_principle = way % 2 ? UP_BY_OBSERVER : UP_BY_PACE;
        values->detect_profile = way / 2 ? UP_PROFILE_LEARNED : UP_PROFILE_NONE;
        close_in_every_way(values);
    }
}

static void closings(void) {
    up_values values;
    for (int i = 0; i < TYPICAL_DOORS; i++) {
        typical_door(i, &values);
        close_by_everything(&values);
    }
    for (int i = 0; i < EXAMPLE_DOORS; i++) {
        if (example_door(i, &values) != 0) {
            die("a sheet of examples/ cannot be read");
        }
        close_by_everything(&values);
    }
}

/* ---- random calls -------------------------------------------------------------------------------------------------- */

static void random_window(uint64_t round) {
    static up_detector_settings settings;
    static up_detector_memory memory;
    static up_detector detector;
    const uint64_t place = round << 16;
    any_settings(place, &settings);
    any_memory(place, &settings, &memory);
    any_drive drive = any_drive_of(place);
    for (uint64_t closing = 0; closing < 3; closing++) {
        up_detector_start(&detector, drive.now_us);
        for (uint64_t i = 0; i < 150; i++) {
            const any_call what = any_call_of(&drive, place + 1000 * closing + i);
            (void)up_detector_edge(&detector, &settings, &memory, &what.edge);
            (void)up_detector_tick(&detector, &settings, &memory, &what.tick);
            if (what.moved) {
                up_detector_moved(&detector, &settings, &memory, what.edge.opening_edges, what.true_edges);
            }
        }
        up_detector_closed(&detector, &settings, &memory);
        (void)up_detector_worn_knots(&settings, &memory);
    }
    up_detector_memory_start(&memory, &settings);
}

int main(int argc, char **argv) {
    if (argc != 2) {
        die("usage: detector_vectors FILE");
    }
    file = fopen(argv[1], "wb");
    if (file == NULL) {
        die("the file cannot be opened");
    }
    put(&head, sizeof head);
    closings();
    const uint32_t recorded = head.calls;
    for (uint64_t round = 0; round < 150; round++) {
        random_window(round);
    }
    if (fseek(file, 0, SEEK_SET) != 0) {
        die("cannot go back to the head");
    }
    put(&head, sizeof head);
    if (fclose(file) != 0) {
        die("cannot write");
    }
    fprintf(stderr, "detector_vectors: %" PRIu32 " calls of closings, %" PRIu32 " random ones\n", recorded,
            head.calls - recorded);
    return 0;
}

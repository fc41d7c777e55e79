#include "tests/detector/any_settings.h"

#include "core/base/counter_random.h"

enum { SEED = 3 };

uint32_t any_number(uint64_t place, uint64_t stream, uint32_t low, uint32_t high) {
    const uint64_t bits = up_random_u64(SEED, stream, place);
    const uint64_t span = (uint64_t)high - low + 1;
    switch (bits >> 60) { /* the low bits are still free */
    case 0:
        return low;
    case 1:
        return high;
    case 2: /* as many of each length in bits */
        return low + (uint32_t)(((uint32_t)bits >> (bits >> 32) % 32) % span);
    default:
        return low + (uint32_t)((uint32_t)bits % span);
    }
}

/* A gain that times the longest step stays within `most`. */
static uint32_t any_gain(uint64_t place, uint64_t stream, uint32_t step_max_us, uint64_t most) {
    return any_number(place, stream, 0, (uint32_t)(most / step_max_us));
}

static void any_profile(uint64_t place, up_detector_settings *s) {
    s->learns = (uint16_t)any_number(place, 60, 0, 1);
    s->soon_us = any_number(place, 69, 0, 1) * any_number(place, 70, 0, 20000);
    s->stretch = any_number(place, 66, 0, 1U << 20);
    s->lag = (uint16_t)any_number(place, 68, 0, 1024);
    s->taught_load = (int32_t)any_number(place, 67, 0, 2 * 32000 * 16) - 32000 * 16;
    s->fine_shift = (uint16_t)any_number(place, 61, 0, 14);
    s->coarse_shift = (uint16_t)any_number(place, 62, 0, 14);
    s->bound = (int32_t)any_number(place, 63, 0, 32000 * 16);
    for (uint32_t i = 0; i < UP_DETECTOR_KNOTS; i++) {
        s->profile[i] = (int16_t)any_number(place, 100 + i, 0, UINT16_MAX);
    }
}

static void any_observer(uint64_t place, up_detector_settings *s) {
    const uint64_t unit = 1U << 24;
    s->principle = (uint16_t)any_number(place, 70, UP_DETECTOR_BY_PACE, UP_DETECTOR_BY_OBSERVER);
    s->current_gain = any_number(place, 71, 0, UINT32_MAX);
    s->step_max_us = any_number(place, 72, 1, 20000);
    s->per_acceleration = any_gain(place, 73, s->step_max_us, 4 * unit);
    s->speed_gain = any_gain(place, 74, s->step_max_us, unit);
    s->load_gain = any_gain(place, 75, s->step_max_us, 4 * unit);
    s->per_filter = any_number(place, 76, 0, UINT32_MAX);
}

/* As a door has them: mask and row short, threshold and bound small. Else nothing would ever be seen. */
static void tame(up_detector_settings *s) {
    s->mask_edges %= 64;
    s->confirm_edges = (uint16_t)(1 + s->confirm_edges % 8);
    s->threshold = 1 + s->threshold % (500 * 16);
    s->learning_edges = (uint16_t)(1 + s->learning_edges % 256);
    s->bound %= 300 * 16;
    s->brush_mv %= 3000;
    s->free_speed_gain %= 1U << 16;
}

void any_settings(uint64_t place, up_detector_settings *settings) {
    up_detector_settings s = {
        .speed_numerator = any_number(place, 1, 0, UINT32_MAX),
        .free_speed_gain = any_number(place, 2, 0, 1U << 24),
        .brush_mv = any_number(place, 3, 0, UINT32_MAX),
        .zone_shift = (uint16_t)any_number(place, 4, 0, 14),
        .window = (uint16_t)any_number(place, 5, 1, UP_DETECTOR_WINDOW_MAX),
        .confirm_edges = (uint16_t)any_number(place, 6, 1, UINT16_MAX),
        .mask_edges = (uint16_t)any_number(place, 7, 0, UP_DETECTOR_MASK_MAX),
        .supply_edges = (uint16_t)any_number(place, 8, 1, UINT16_MAX),
        .learning_edges = (uint16_t)any_number(place, 9, 1, UINT16_MAX),
        .threshold = (int32_t)any_number(place, 30, 1, 32000 * 16),
    };
    for (uint32_t i = 0; i <= UP_DETECTOR_ZONES; i++) {
        s.gain[i] = (uint16_t)any_number(place, 10 + i, 0, UINT16_MAX);
    }
    any_profile(place, &s);
    any_observer(place, &s);
    if (any_number(place, 31, 0, 1)) {
        tame(&s);
    }
    *settings = s;
}

void any_memory(uint64_t place, const up_detector_settings *settings, up_detector_memory *memory) {
    const int worn_store = any_number(place, 80, 0, 1) == 1;
    for (uint32_t i = 0; i < UP_DETECTOR_KNOTS; i++) {
        memory->profile[i] = worn_store ? (int16_t)any_number(place, 200 + i, 0, UINT16_MAX) : settings->profile[i];
    }
}

any_drive any_drive_of(uint64_t place) {
    static const uint32_t wildness[] = {0, 1, 5, 50};
    return (any_drive){.now_us = any_number(place, 40, 0, UINT32_MAX),
                       .period_us = any_number(place, 41, 100, 20000),
                       .supply_mv = any_number(place, 42, 6000, 16000),
                       .opening_edges = any_number(place, 43, 0, 4000),
                       .current_ma = (int32_t)any_number(place, 45, 0, 30000),
                       .wild = wildness[any_number(place, 44, 0, 3)]};
}

static up_detector_reading any_reading(uint64_t place, uint64_t stream, const any_drive *drive, int wild) {
    if (wild) {
        return (up_detector_reading){.now_us = drive->now_us,
                                     .supply_mv = any_number(place, stream, 0, UINT32_MAX),
                                     .current_ma = (int32_t)any_number(place, stream + 1, 0, UINT32_MAX),
                                     .opening_edges = (int32_t)any_number(place, stream + 2, 0, UINT32_MAX),
                                     .place_known = any_number(place, 69, 0, 1) == 1};
    }
    return (up_detector_reading){.now_us = drive->now_us,
                                 .supply_mv = drive->supply_mv + any_number(place, stream, 0, 300),
                                 .current_ma = drive->current_ma + (int32_t)any_number(place, stream + 1, 0, 500),
                                 .opening_edges = (int32_t)drive->opening_edges,
                                 .place_known = true};
}

any_call any_call_of(any_drive *drive, uint64_t place) {
    const int wild = drive->wild > 0 && any_number(place, 50, 1, drive->wild) == 1;
    any_call what;
    drive->now_us +=
        wild ? any_number(place, 51, 0, UINT32_MAX) : drive->period_us + any_number(place, 52, 0, drive->period_us / 8);
    drive->opening_edges -= drive->opening_edges > 0;
    what.edge = any_reading(place, 53, drive, wild);
    what.tick = any_reading(place, 56, drive, wild);
    what.tick.now_us += drive->period_us / 2;
    what.true_edges = (int32_t)any_number(place, 64, 0, UINT32_MAX);
    what.moved = any_number(place, 65, 0, 63) == 0;
    return what;
}

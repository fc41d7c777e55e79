#include "tests/detector/calls.h"

void rig_clear(detector_rig *rig) {
    for (uint32_t i = 0; i < CALL_SETTINGS_BLOCKS; i++) {
        rig->settings_blocks[i] = (call){0};
    }
    for (uint32_t i = 0; i < RIG_WORDS; i++) {
        rig->word[i] = 0;
    }
}

uint32_t rig_blocks(detector_rig *rig, const call *what, call **place) {
    switch (what->kind) {
    case CALL_SETTINGS:
        *place = rig->settings_blocks;
        return CALL_SETTINGS_BLOCKS;
    case CALL_MEMORY:
        *place = rig->memory_blocks;
        return CALL_MEMORY_BLOCKS;
    default:
        *place = 0;
        return 0;
    }
}

/* Every bit of the state changes it. */
static uint32_t digest(const detector_rig *rig) {
    uint32_t sum = 2166136261U;
    for (uint32_t i = 0; i < RIG_WORDS; i++) {
        sum = (sum ^ rig->word[i]) * 16777619U;
        sum ^= sum >> 15;
    }
    return sum;
}

static uint32_t make_call(detector_rig *rig, const call *what) {
    up_detector *detector = &rig->detector;
    const up_detector_settings *settings = &rig->settings;
    const uint32_t *n = what->number;
    const up_detector_reading reading = {n[0], n[1], (int32_t)n[2], (int32_t)n[3], n[4] != 0};
    switch (what->kind) {
    case CALL_SETTINGS:
        return up_detector_settings_are_valid(settings);
    case CALL_SET_UP:
        up_detector_memory_start(&rig->memory, settings);
        return 0;
    case CALL_START:
        up_detector_start(detector, n[0]);
        return 0;
    case CALL_EDGE:
        return up_detector_edge(detector, settings, &rig->memory, &reading);
    case CALL_TICK:
        return up_detector_tick(detector, settings, &rig->memory, &reading);
    case CALL_MOVED:
        up_detector_moved(detector, settings, &rig->memory, (int32_t)n[0], (int32_t)n[1]);
        return 0;
    case CALL_CLOSED:
        up_detector_closed(detector, settings, &rig->memory);
        return 0;
    case CALL_WORN:
        return up_detector_worn_knots(settings, &rig->memory);
    default:
        return 0;
    }
}

answer rig_perform(detector_rig *rig, const call *what, void (*before)(void), void (*after)(void)) {
    before();
    const uint32_t said = make_call(rig, what);
    after();
    return (answer){said, digest(rig)};
}

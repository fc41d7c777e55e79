/* What Frama-C's Eva looks at: the detector with any valid settings, any memory, and any calls in any order and number.
 *
 * Not run, only analysed (tools/detector-proof). Every number takes its whole range at once; settings are narrowed by the
 * same predicate that the library uses, so what is proved here is proved for whatever it lets through. */
#include <__fc_builtin.h>
#include <stdbool.h>
#include <stdint.h>

#include "detector/pinch_detector.h"

static uint32_t any_u32(void) {
    return Frama_C_unsigned_int_interval(0, UINT32_MAX);
}

static int32_t any_i32(void) {
    return Frama_C_int_interval(INT32_MIN, INT32_MAX);
}

static bool maybe(void) {
    return Frama_C_interval(0, 1) == 1;
}

static uint16_t any_u16(void) {
    return (uint16_t)Frama_C_unsigned_int_interval(0, UINT16_MAX);
}

static int16_t any_i16(void) {
    return (int16_t)Frama_C_int_interval(INT16_MIN, INT16_MAX);
}

static up_detector_reading any_reading(void) {
    up_detector_reading reading;
    reading.now_us = any_u32();
    reading.supply_mv = any_u32();
    reading.current_ma = any_i32();
    reading.opening_edges = any_i32();
    reading.place_known = maybe();
    return reading;
}

static void any_memory(up_detector_memory *memory) {
    for (int i = 0; i < UP_DETECTOR_KNOTS; i++) {
        memory->profile[i] = any_i16();
    }
}

/* Every member, so that a new one is not forgotten: what stays uninitialised is an alarm. */
static void any_settings(up_detector_settings *s) {
    s->speed_numerator = any_u32();
    s->free_speed_gain = any_u32();
    s->brush_mv = any_u32();
    for (int i = 0; i <= UP_DETECTOR_ZONES; i++) {
        s->gain[i] = any_u16();
    }
    s->zone_shift = any_u16();
    s->window = any_u16();
    s->soon_us = any_u32();
    s->confirm_edges = any_u16();
    s->mask_edges = any_u16();
    s->supply_edges = any_u16();
    s->learning_edges = any_u16();
    s->threshold = any_i32();
    s->learns = any_u16();
    s->stretch = any_u32();
    s->lag = any_u16();
    s->taught_load = any_i32();
    s->fine_shift = any_u16();
    s->coarse_shift = any_u16();
    s->bound = any_i32();
    for (int i = 0; i < UP_DETECTOR_KNOTS; i++) {
        s->profile[i] = any_i16();
    }
    s->principle = any_u16();
    s->current_gain = any_u32();
    s->per_acceleration = any_u32();
    s->speed_gain = any_u32();
    s->load_gain = any_u32();
    s->per_filter = any_u32();
    s->step_max_us = any_u32();
}

static void any_call(up_detector *detector, const up_detector_settings *settings, up_detector_memory *memory) {
    const up_detector_reading reading = any_reading();
    switch (Frama_C_interval(0, 7)) {
    case 0:
        up_detector_start(detector, any_u32());
        break;
    case 1:
        (void)up_detector_edge(detector, settings, memory, &reading);
        break;
    case 2:
        (void)up_detector_tick(detector, settings, memory, &reading);
        break;
    case 3:
        up_detector_moved(detector, settings, memory, any_i32(), any_i32());
        break;
    case 4:
        up_detector_closed(detector, settings, memory);
        break;
    case 5:
        (void)up_detector_worn_knots(settings, memory);
        break;
    case 6:
        (void)up_detector_glass_place(settings, Frama_C_int_interval(-32000 * 16, 32000 * 16), any_i32());
        break;
    default:
        any_memory(memory); /* read back from a worn store */
        break;
    }
}

int main(void) {
    up_detector_settings settings; /* not initialised: reading a member that no one has set would be an alarm */
    up_detector_memory memory;
    up_detector detector;
    any_settings(&settings);
    if (!up_detector_settings_are_valid(&settings)) {
        return 1;
    }
    up_detector_memory_start(&memory, &settings);
    if (maybe()) {
        any_memory(&memory);
    }
    up_detector_start(&detector, any_u32());
    while (maybe()) {
        any_call(&detector, &settings, &memory);
    }
    return 0;
}

#include "core/control/controller.h"

void up_controller_start(up_controller *controller, const up_control_settings *settings,
                         const up_detector_memory *memory, int32_t opening, bool position_lost, bool limit_closed) {
    *controller = (up_controller){.duty = UP_DUTY_REST,
                                  .drive = UP_DRIVE_BRAKE,
                                  .position_known = !position_lost,
                                  .limit_closed = limit_closed,
                                  .opening = position_lost ? 0 : opening,
                                  .counting = -1};
    up_detector_start(&controller->detector, 0);
    if (memory) {
        controller->memory = *memory;
        /* a worn store may give back anything; learning from nothing brings it inside its bound */
        up_detector_closed(&controller->detector, &settings->detector, &controller->memory);
    } else {
        up_detector_memory_start(&controller->memory, &settings->detector);
    }
}

/* ---- what the detector hears ------------------------------------------------------------------------------------- */

/* The opening that an obstacle is judged by is that where the load began to be too high: by the time the detector is
 * sure, the glass has squeezed on. */
static bool felt_above_end_zone(const up_controller *controller, const up_control_settings *settings) {
    return !controller->position_known || controller->detector.over_place > settings->end_zone_edges;
}

/* A sensor that shows a current where none flows shows as much too much later. */
static int32_t without_zero(const up_controller *controller, int32_t current_ma) {
    const int32_t most = 1 << 30; /* mA; keeps the difference inside 32 bits */
    const int32_t shown = current_ma > most ? most : current_ma < -most ? -most : current_ma;
    return shown - controller->zero_ma;
}

static up_detector_reading reading_of(const up_controller *controller, const up_control_settings *settings,
                                      uint32_t now_us, const up_measured *measured) {
    return (up_detector_reading){.now_us = now_us,
                                 .supply_mv = measured->supply_mv,
                                 .current_ma = without_zero(controller, measured->current_ma),
                                 .opening_edges =
                                     controller->position_known ? controller->opening : settings->stroke_edges / 2,
                                 .place_known = controller->position_known};
}

static void heed(up_controller *controller, const up_control_settings *settings, bool obstacle) {
    if (obstacle && !controller->unprotected && felt_above_end_zone(controller, settings)) {
        controller->pinch_seen = true;
    }
}

/* What the detector takes for an edge that came twice does not count; where it takes one for lost, two count. */
static int32_t mended(const up_detector *detector, uint32_t edges_before, int32_t step) {
    if (detector->edges == edges_before) {
        return -step;
    }
    return detector->mended ? step : 0;
}

/* A drive that was stalled at the bottom stays wound up, the worm holds it. While it unwinds and is wound up the other way the
 * glass stands still and its load is not told: the detector's start begins after that. A stall is watched for all the time. */
void up_controller_edge(up_controller *controller, const up_control_settings *settings, uint32_t now_us,
                        const up_measured *measured, int32_t direction) {
    const int32_t step = settings->two_channels ? direction : controller->counting;
    controller->opening += step;
    controller->watch_us = now_us;
    if (controller->duty == UP_DUTY_RAISE && controller->wound > 0) {
        controller->wound--;
        up_detector_start(&controller->detector, now_us);
    } else if (controller->duty == UP_DUTY_RAISE) {
        up_detector *const detector = &controller->detector;
        const uint32_t before = detector->edges;
        const up_detector_reading reading = reading_of(controller, settings, now_us, measured);
        heed(controller, settings, up_detector_edge(detector, &settings->detector, &controller->memory, &reading));
        controller->opening += mended(detector, before, step);
    }
}

static void hear_tick(up_controller *controller, const up_control_settings *settings, const up_control_inputs *inputs) {
    if (controller->duty == UP_DUTY_RAISE && controller->wound == 0) {
        const up_measured measured = {inputs->supply_mv, inputs->current_ma};
        const up_detector_reading reading = reading_of(controller, settings, inputs->now_us, &measured);
        heed(controller, settings,
             up_detector_tick(&controller->detector, &settings->detector, &controller->memory, &reading));
    }
}

/* ---- what a tick can do --------------------------------------------------------------------------------------- */

static void drive(up_controller *controller, up_drive wanted, uint32_t now_us) {
    controller->drive = wanted;
    controller->watch_us = now_us;
    if (wanted == UP_DRIVE_RAISE) {
        controller->counting = -1;
    } else if (wanted == UP_DRIVE_LOWER) {
        controller->counting = 1;
    }
}

static unsigned rest(up_controller *controller, uint32_t now_us) {
    drive(controller, UP_DRIVE_BRAKE, now_us);
    controller->duty = UP_DUTY_REST;
    controller->touch = false;
    controller->pinch_seen = false;
    return UP_TOLD_REST;
}

/* At rest no current flows: what is shown then, once the glass stands, is the sensor's zero. */
static void take_zero(up_controller *controller, const up_control_settings *settings, uint32_t now_us,
                      int32_t current_ma) {
    const int32_t most = 100000; /* mA; more is no zero but a broken sensor */
    if (now_us - controller->watch_us >= (settings->debounce_ticks - 1) * settings->tick_us) {
        controller->zero_ma = current_ma > most ? most : current_ma < -most ? -most : current_ma;
    }
}

static unsigned begin_raise(up_controller *controller, const up_control_settings *settings, bool touch,
                            uint32_t now_us) {
    const bool worn_out = settings->reversals_allowed > 0 && controller->reversals >= settings->reversals_allowed;
    const bool refused = touch && (!controller->position_known || worn_out);
    controller->touch = touch && !refused;
    controller->unprotected = settings->off_after > 0 && controller->reversals >= settings->off_after;
    controller->duty = UP_DUTY_RAISE;
    controller->pinch_seen = false;
    drive(controller, UP_DRIVE_RAISE, now_us);
    up_detector_start(&controller->detector, now_us);
    return refused ? UP_TOLD_TOUCH_REFUSED : 0;
}

static void begin_lower(up_controller *controller, bool touch, uint32_t now_us) {
    controller->touch = touch;
    controller->duty = UP_DUTY_LOWER;
    drive(controller, UP_DRIVE_LOWER, now_us);
}

static unsigned reverse(up_controller *controller, uint32_t now_us) {
    drive(controller, UP_DRIVE_BRAKE, now_us);
    controller->duty = UP_DUTY_PAUSE;
    controller->pause_us = now_us;
    controller->reversed_at = controller->opening;
    controller->pinch_seen = false;
    controller->touch = false;
    controller->reversals++;
    return UP_TOLD_REVERSAL;
}

static unsigned top_found(up_controller *controller, const up_control_settings *settings, uint32_t now_us) {
    if (controller->position_known) {
        up_detector_closed(&controller->detector, &settings->detector, &controller->memory);
    }
    controller->opening = 0;
    controller->position_known = true;
    controller->reversals = 0;
    return UP_TOLD_TOP | rest(controller, now_us);
}

/* No edge for the stall time while the bridge drives. */
static bool stalled(const up_controller *controller, const up_control_settings *settings, uint32_t now_us) {
    return now_us - controller->watch_us >= settings->stall_us;
}

/* A stall near the top is the top, unless the load began to be too high above the end zone, or the supply was so low that
 * the drive may have stood still on little. */
static bool is_top(const up_controller *controller, const up_control_settings *settings, uint32_t supply_mv) {
    const bool near = controller->position_known && controller->opening <= settings->top_band_edges;
    const bool felt_before = controller->detector.over > 0 && felt_above_end_zone(controller, settings);
    const bool weak = supply_mv < settings->weak_mv;
    return near && !((felt_before || weak) && !controller->unprotected);
}

static unsigned raise_tick(up_controller *controller, const up_control_settings *settings,
                           const up_control_inputs *inputs) {
    const uint32_t now_us = inputs->now_us;
    if (controller->pinch_seen) {
        return UP_TOLD_PINCH | reverse(controller, now_us);
    }
    if (stalled(controller, settings, now_us)) {
        const bool top = is_top(controller, settings, inputs->supply_mv);
        return UP_TOLD_STALL | (top ? top_found(controller, settings, now_us) : reverse(controller, now_us));
    }
    return 0;
}

/* Backing off by time: no edge has come since, the encoder is dead. Driving onto the down-stop hurts nobody; leaving the
 * glass on what was in the way does. */
static bool backs_off_blindly(const up_controller *controller, const up_control_settings *settings, uint32_t now_us) {
    return controller->duty == UP_DUTY_BACK_OFF && controller->opening <= controller->reversed_at &&
           now_us - controller->watch_us < settings->back_off_us;
}

static unsigned lower_tick(up_controller *controller, const up_control_settings *settings, uint32_t now_us) {
    const bool far_enough = controller->duty == UP_DUTY_BACK_OFF &&
                            controller->opening - controller->reversed_at >= settings->reverse_edges;
    if (far_enough) {
        return rest(controller, now_us);
    }
    if (stalled(controller, settings, now_us) && !backs_off_blindly(controller, settings, now_us)) {
        if (controller->duty == UP_DUTY_BACK_OFF && controller->opening <= controller->reversed_at) {
            controller->position_known = false; /* who knows how far it went */
        }
        const bool at_bottom = controller->position_known && controller->opening > settings->stroke_edges / 2;
        controller->wound = at_bottom ? settings->wound_edges : 0; /* higher up an obstacle must be felt at once */
        return UP_TOLD_STALL | UP_TOLD_BOTTOM | rest(controller, now_us);
    }
    return 0;
}

static unsigned duty_tick(up_controller *controller, const up_control_settings *settings,
                          const up_control_inputs *inputs) {
    const uint32_t now_us = inputs->now_us;
    switch (controller->duty) {
    case UP_DUTY_RAISE:
        return raise_tick(controller, settings, inputs);
    case UP_DUTY_PAUSE:
        if (now_us - controller->pause_us >= settings->reverse_pause_us) {
            controller->duty = UP_DUTY_BACK_OFF;
            drive(controller, UP_DRIVE_LOWER, now_us);
        }
        return 0;
    case UP_DUTY_BACK_OFF:
    case UP_DUTY_LOWER:
        return lower_tick(controller, settings, now_us);
    case UP_DUTY_REST:
        break;
    }
    return 0;
}

/* ---- inputs ---------------------------------------------------------------------------------------------------- */

/* True when a new hand position has been there for the debounce time. */
static bool hand_changed(up_controller *controller, const up_control_settings *settings, int hand) {
    controller->hand_same = hand == controller->hand_raw ? controller->hand_same + 1 : 1;
    controller->hand_raw = hand;
    if (hand == controller->hand || controller->hand_same < settings->debounce_ticks) {
        return false;
    }
    controller->hand = hand;
    return true;
}

/* Where the position was lost, the limit contact gives it back while raising. */
static void read_limit(up_controller *controller, const up_control_settings *settings, bool limit_closed) {
    controller->limit_differs = limit_closed != controller->limit_closed ? controller->limit_differs + 1 : 0;
    if (controller->limit_differs < settings->debounce_ticks) {
        return;
    }
    controller->limit_closed = limit_closed;
    controller->limit_differs = 0;
    if (!limit_closed && !controller->position_known && controller->duty == UP_DUTY_RAISE) {
        up_detector_moved(&controller->detector, &settings->detector, &controller->memory, settings->stroke_edges / 2,
                          settings->limit_edges);
        controller->opening = settings->limit_edges;
        controller->position_known = true;
    }
}

static unsigned obey_hand(up_controller *controller, const up_control_settings *settings,
                          const up_control_inputs *inputs) {
    const uint32_t now_us = inputs->now_us;
    const bool reversing = controller->duty == UP_DUTY_PAUSE || controller->duty == UP_DUTY_BACK_OFF;
    if (reversing) {
        return 0; /* what was in the way comes free first */
    }
    if (controller->hand == UP_HAND_FREE) {
        const bool runs_held = controller->duty != UP_DUTY_REST && !controller->touch;
        return runs_held ? UP_TOLD_RELEASED | rest(controller, now_us) : 0;
    }
    if (controller->duty != UP_DUTY_REST) {
        return UP_TOLD_RELEASED | rest(controller, now_us); /* any press stops a window that runs */
    }
    take_zero(controller, settings, now_us, inputs->current_ma);
    switch (controller->hand) {
    case UP_HAND_RAISE:
        return begin_raise(controller, settings, false, now_us);
    case UP_HAND_RAISE_TOUCH:
        return begin_raise(controller, settings, true, now_us);
    case UP_HAND_LOWER:
        begin_lower(controller, false, now_us);
        return 0;
    default:
        begin_lower(controller, true, now_us);
        return 0;
    }
}

unsigned up_controller_tick(up_controller *controller, const up_control_settings *settings,
                            const up_control_inputs *inputs) {
    if (!inputs->powered) {
        return controller->duty == UP_DUTY_REST ? 0 : rest(controller, inputs->now_us);
    }
    read_limit(controller, settings, inputs->limit_closed);
    hear_tick(controller, settings, inputs);
    const unsigned told = duty_tick(controller, settings, inputs);
    if (hand_changed(controller, settings, inputs->hand)) {
        return told | obey_hand(controller, settings, inputs);
    }
    return told;
}

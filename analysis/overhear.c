#include "analysis/overhear.h"

#include <stddef.h>

#include "core/base/up_math.h"

void up_overheard_clear(up_overheard *kept, up_overheard_word *word, int room) {
    *kept = (up_overheard){.word = word, .room = room};
}

/* ---- listening ---- */

static void hear_start(void *context, const up_controller *controller, const up_measured *measured) {
    up_overheard *const kept = context;
    kept->opening = controller->opening;
    kept->position_lost = !controller->position_known;
    kept->limit_closed = controller->limit_closed;
    kept->first = *measured;
}

static void keep(up_overheard *kept, up_overheard_word word) {
    if (kept->decided) {
        return;
    }
    if (kept->count < kept->room) {
        kept->word[kept->count++] = word;
    } else {
        kept->cut = 1;
    }
}

static void hear_edge(void *context, uint32_t now_us, int32_t direction) {
    keep(context, (up_overheard_word){.now_us = now_us, .value = direction, .what = UP_OVERHEARD_EDGE});
}

static void hear_tick(void *context, const up_control_inputs *inputs, unsigned told) {
    up_overheard *const kept = context;
    const unsigned what =
        (inputs->limit_closed ? UP_OVERHEARD_LIMIT : 0U) | (inputs->powered ? UP_OVERHEARD_POWERED : 0U);
    keep(kept, (up_overheard_word){.now_us = inputs->now_us,
                                   .value = inputs->current_ma,
                                   .supply_mv = (uint16_t)(inputs->supply_mv < 65535 ? inputs->supply_mv : 65535),
                                   .what = (uint8_t)what,
                                   .hand = (uint8_t)inputs->hand});
    kept->decided |= (told & (UP_TOLD_REVERSAL | UP_TOLD_REST)) != 0;
}

up_listener up_overhear(up_overheard *kept) {
    return (up_listener){kept, hear_start, hear_edge, hear_tick};
}

void up_hold_back(up_control_settings *control) {
    control->detector.threshold = 512000; /* the most that is valid: 32,000 N */
    control->detector.mask_edges = UP_DETECTOR_MASK_MAX;
}

/* ---- telling it again ---- */

/* The last readings, as core/sim/heard.c keeps them. A row is judged by where it began. */
typedef struct lasting {
    int32_t excess[UP_REPLAY_READINGS_MAX];
    int judged[UP_REPLAY_READINGS_MAX]; /* the reading was above the end zone */
    uint32_t readings;
    int32_t most;
} lasting;

/* While it is masked every edge is a reading, whatever the principle: then it judges what the bound leaves over. */
static int is_reading(const up_controller *c, const up_control_settings *control, int edge) {
    const int by_edges =
        !c->detector.armed || control->detector.principle == UP_DETECTOR_BY_PACE || c->detector.by_pulses;
    return edge == by_edges;
}

static void note_reading(lasting *l, const up_controller *c, const up_control_settings *control, uint32_t wanted) {
    const int over = c->detector.excess > control->detector.threshold;
    const int32_t place =
        over ? c->detector.over_place : up_detector_glass_place(&control->detector, c->detector.load, c->opening);
    const uint32_t at = l->readings++ % UP_REPLAY_READINGS_MAX;
    l->excess[at] = c->detector.excess;
    l->judged[at] = !c->position_known || place > control->end_zone_edges;
    if (wanted > UP_REPLAY_READINGS_MAX || l->readings < wanted) {
        return;
    }
    int32_t least = INT32_MAX;
    for (uint32_t i = 1; i <= wanted; i++) {
        const int32_t excess = l->excess[(l->readings - i) % UP_REPLAY_READINGS_MAX];
        least = excess < least ? excess : least;
    }
    if (least > l->most && l->judged[(l->readings - wanted) % UP_REPLAY_READINGS_MAX]) {
        l->most = least;
    }
}

/* One word told to a controller; what it says to a tick. */
static unsigned tell(up_controller *c, const up_control_settings *control, const up_overheard_word *w,
                     up_measured *measured) {
    if (w->what & UP_OVERHEARD_EDGE) {
        up_controller_edge(c, control, w->now_us, measured, w->value);
        return 0;
    }
    *measured = (up_measured){w->supply_mv, w->value};
    const up_control_inputs inputs = {.now_us = w->now_us,
                                      .hand = w->hand,
                                      .limit_closed = (w->what & UP_OVERHEARD_LIMIT) != 0,
                                      .powered = (w->what & UP_OVERHEARD_POWERED) != 0,
                                      .supply_mv = w->supply_mv,
                                      .current_ma = w->value};
    return up_controller_tick(c, control, &inputs);
}

void up_replay_overheard(const up_overheard *kept, const up_control_settings *control, const up_detector_memory *memory,
                         int want_lasting, up_replay *replay) {
    up_controller c;
    up_control_settings own = *control;
    lasting l = {.readings = 0};
    up_measured measured = kept->first;
    int tick = 0;
    *replay = (up_replay){.tick = -1};
    if (want_lasting) {
        own.detector.confirm_edges = UINT16_MAX;
    }
    up_controller_start(&c, control, memory, kept->opening, kept->position_lost != 0, kept->limit_closed != 0);
    for (const up_overheard_word *w = kept->word, *end = w + kept->count; w < end && replay->told == 0; w++) {
        const int raising = c.duty == UP_DUTY_RAISE;
        const int edge = (w->what & UP_OVERHEARD_EDGE) != 0;
        const unsigned told = tell(&c, &own, w, &measured);
        if (told & (UP_TOLD_REVERSAL | UP_TOLD_REST)) {
            replay->told = told;
            replay->tick = tick;
        }
        tick += !edge;
        if (want_lasting && raising && is_reading(&c, control, edge)) {
            note_reading(&l, &c, control, control->detector.confirm_edges);
        }
    }
    replay->lasting = up_max(0.0, l.most / 16.0);
}

/* ---- learning ---- */

static int clamped(int x, int low, int high) {
    return x < low ? low : x > high ? high : x;
}

void up_learn_overheard(const up_overheard *kept, const up_control_settings *control, up_detector_memory *memory) {
    enum { TIMES = 3, USUAL_THRESHOLD = 60 * 16 };
    up_control_settings calm = *control;
    calm.detector.threshold = USUAL_THRESHOLD;
    calm.detector.confirm_edges = UINT16_MAX; /* never decides */
    calm.detector.learns = 1;
    calm.detector.bound = 512000;
    for (int time = 0; time < TIMES; time++) {
        up_controller c;
        up_measured measured = kept->first;
        unsigned told = 0;
        up_controller_start(&c, &calm, memory, kept->opening, kept->position_lost != 0, kept->limit_closed != 0);
        for (int i = 0; i < kept->count && (told & (UP_TOLD_REVERSAL | UP_TOLD_REST)) == 0; i++) {
            told = tell(&c, &calm, &kept->word[i], &measured);
        }
        for (int k = 0; k < UP_DETECTOR_KNOTS && (told & UP_TOLD_TOP) != 0; k++) {
            memory->profile[k] = (int16_t)clamped(memory->profile[k] + 16 * c.detector.seen[k], INT16_MIN, INT16_MAX);
        }
    }
}

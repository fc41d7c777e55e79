/* A controller with the constants of a header that upstop tune wrote: hears what was overheard, tells when it decides.
 *
 * Compiled by tests/laws/flashed_test.c together with the detector and the controller, "constants.h" being the header.
 * Standard input: the controller's numbers that are none of the header's, then closings, each a line `closing opening
 * limit`, lines `edge us direction` and `tick us supply current hand limit powered`. For each closing it prints the number of
 * the tick that ended it, or -1, and what was told. */
#include <stdio.h>
#include <string.h>

#include "constants.h"
#include "core/control/controller.h"

static up_control_settings settings;
static up_controller controller;
static up_measured measured;
static int ticks, ended;
static unsigned said;

static void begin(void) {
    int opening = 0;
    int limit = 0;
    unsigned supply = 0;
    if (scanf("%d %d %u", &opening, &limit, &supply) == 3) {
        up_controller_start(&controller, &settings, NULL, opening, 0, limit != 0);
        measured = (up_measured){.supply_mv = supply};
        ticks = 0;
        ended = -1;
        said = 0;
    }
}

static void edge(void) {
    unsigned now = 0;
    int direction = 0;
    if (scanf("%u %d", &now, &direction) == 2 && ended < 0) {
        up_controller_edge(&controller, &settings, now, &measured, direction);
    }
}

static void tick(void) {
    up_control_inputs in = {0};
    unsigned now = 0;
    unsigned supply = 0;
    int current = 0;
    int limit = 0;
    int powered = 0;
    if (scanf("%u %u %d %d %d %d", &now, &supply, &current, &in.hand, &limit, &powered) != 6 || ended >= 0) {
        return;
    }
    in.now_us = now;
    in.supply_mv = supply;
    in.current_ma = current;
    in.limit_closed = limit != 0;
    in.powered = powered != 0;
    measured = (up_measured){.supply_mv = supply, .current_ma = current};
    const unsigned told = up_controller_tick(&controller, &settings, &in);
    if (told & (UP_TOLD_REVERSAL | UP_TOLD_REST)) {
        ended = ticks;
        said = told;
    }
    ticks++;
}

int main(void) {
    char word[16];
    settings.detector = upstop_detector;
    settings.tick_us = UPSTOP_TICK_US;
    settings.end_zone_edges = UPSTOP_END_ZONE_EDGES;
    settings.top_band_edges = UPSTOP_TOP_BAND_EDGES;
    settings.stroke_edges = UPSTOP_STROKE_EDGES;
    settings.reverse_edges = UPSTOP_REVERSE_EDGES;
    settings.reverse_pause_us = UPSTOP_REVERSE_PAUSE_US;
    settings.stall_us = UPSTOP_STALL_US;
    if (!up_detector_settings_are_valid(&upstop_detector) ||
        scanf("%u %d %u %u", &settings.debounce_ticks, &settings.limit_edges, &settings.two_channels,
              &settings.back_off_us) != 4) {
        return 2;
    }
    while (scanf("%15s", word) == 1) {
        if (strcmp(word, "closing") == 0) {
            begin();
        } else if (strcmp(word, "edge") == 0) {
            edge();
        } else if (strcmp(word, "tick") == 0) {
            tick();
        } else {
            printf("%d %u\n", ended, said);
        }
    }
    return 0;
}

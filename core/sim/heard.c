/* What the detector reckons, for the books: its largest excess, and the largest that lasts as long as a decision takes. */
#include "core/base/up_math.h"
#include "core/sim/run_state.h"

static uint32_t readings_to_decide(const up_run_state *run) {
    const uint32_t wanted = run->door->control.detector.confirm_edges;
    return wanted < UP_HEARD_MAX ? wanted : UP_HEARD_MAX;
}

/* Below 1 by a 32nd for every edge that a row began too low. A severity without this would jump where a rise moves over
 * the line of the end zone, and whoever climbs it by small steps would not find the way. */
static double place_nearness(const up_run_state *run, int32_t began) {
    const double edges_in_zone = (double)run->door->control.end_zone_edges - (double)began;
    return 1.0 - (edges_in_zone + 1.0) / 32.0;
}

/* The smallest excess of the last readings that a decision takes; the row has to begin above the end zone. */
static void keep_lasting(up_run_state *run, const up_heard *now) {
    const uint32_t wanted = readings_to_decide(run);
    run->heard[run->readings % UP_HEARD_MAX] = *now;
    run->readings++;
    if (run->readings < wanted) {
        return;
    }
    int32_t least = now->excess;
    for (uint32_t i = 1; i <= wanted; i++) {
        const int32_t excess = run->heard[(run->readings - i) % UP_HEARD_MAX].excess;
        least = excess < least ? excess : least;
    }
    const int32_t began = run->heard[(run->readings - wanted) % UP_HEARD_MAX].opening;
    const int judged = !run->controller.position_known || began > run->door->control.end_zone_edges;
    if (judged) {
        run->outcome->lasting_detector_excess = up_max(run->outcome->lasting_detector_excess, least / 16.0);
    }
    const double nearness = least / (double)run->door->control.detector.threshold;
    const double allowed = judged ? nearness : up_min(nearness, place_nearness(run, began));
    run->outcome->reversal_nearness = up_max(run->outcome->reversal_nearness, allowed);
}

/* The detector judges from the second half of its start mask on. */
static int was_judged(const up_run_state *run) {
    const up_detector *detector = &run->controller.detector;
    const up_detector_settings *settings = &run->door->control.detector;
    return detector->armed || (detector->edges > settings->window && detector->edges > settings->mask_edges / 2U);
}

void up_run_note_reading(up_run_state *run, double time, up_duty duty) {
    const up_controller *c = &run->controller;
    if (duty != UP_DUTY_RAISE || !was_judged(run)) {
        run->readings = 0;
        return;
    }
    const up_detector_settings *settings = &run->door->control.detector;
    const int over = c->detector.excess > settings->threshold; /* then the row is judged by where it began */
    const up_heard now = {c->detector.excess, over ? c->detector.over_place
                                                   : up_detector_glass_place(settings, c->detector.load, c->opening)};
    keep_lasting(run, &now);
    const double excess = now.excess / 16.0;
    const int judged = !c->position_known || now.opening > run->door->control.end_zone_edges;
    if (judged && excess > run->outcome->peak_detector_excess) {
        run->outcome->peak_detector_excess = excess;
        run->outcome->peak_excess_travel = up_span_value(&run->span, UP_TRAVEL, time - run->span.start);
    }
}

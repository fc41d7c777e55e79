/* The refit card's acceptance figures, the pinch test, and the armature. */
#include <math.h>
#include <stdio.h>

#include "apps/cli/refit_answer.h"
#include "apps/cli/train_show.h"

/* A figure that is asked for with the engine off and on. */
static void both_row(up_paper *paper, const char *what, const char *with, const up_reading *off, const up_reading *on) {
    char without[32];
    char running[32];
    up_refit_close_range(off->low, off->high, without, sizeof without);
    up_refit_close_range(on->low, on->high, running, sizeof running);
    const char *cells[] = {what, with, without, UP_PAPER_BLANK, running, UP_PAPER_BLANK};
    up_paper_row(paper, 1, cells);
}

static void strokes(const up_card *card, up_paper *paper) {
    static const int widths[] = {22, 17, 10, 7, 9, 6};
    static const char *const heads[] = {"full stroke", "with", "engine off", "found", "on", "found"};
    const up_stroke *up = card->raise;
    const up_stroke *down = card->lower;
    up_paper_heads(paper, 6, widths, heads);
    both_row(paper, "closing time, s", "stopwatch", &up[UP_CARD_ENGINE_OFF].time, &up[UP_CARD_ENGINE_ON].time);
    both_row(paper, "opening time, s", "stopwatch", &down[UP_CARD_ENGINE_OFF].time, &down[UP_CARD_ENGINE_ON].time);
    both_row(paper, "current closing, A", "clamp meter", &up[UP_CARD_ENGINE_OFF].current,
             &up[UP_CARD_ENGINE_ON].current);
    both_row(paper, "current opening, A", "clamp meter", &down[UP_CARD_ENGINE_OFF].current,
             &down[UP_CARD_ENGINE_ON].current);
    both_row(paper, "current at the top, A", "clamp, peak hold",
             &card->reading[UP_CARD_ENGINE_OFF][UP_METER_AT_STOP][UP_METER_current],
             &card->reading[UP_CARD_ENGINE_ON][UP_METER_AT_STOP][UP_METER_current]);
}

static void figure_row(up_paper *paper, const char *what, const char *with, const char *must) {
    const char *cells[] = {what, with, must, UP_PAPER_BLANK};
    up_paper_row(paper, 1, cells);
}

/* ---- holding ---- */

static void holding(const up_card *card, up_paper *paper) {
    char what[48];
    char must[48];
    if (isnan(card->sink.nominal)) {
        return;
    }
    const double most = 1e3 * (fmax(card->sink.high, 0) + card->give);
    snprintf(what, sizeof what, "%.0f N down on the glass, 1 min", UP_CARD_HOLD_PULL);
    snprintf(must, sizeof must, "gives %.1f mm at most", most);
    figure_row(paper, what, "spring scale", must);
}

static void holding_words(const up_card *card, up_paper *paper) {
    char low[32];
    if (isinf(card->hold_push_shaking.low)) {
        up_paper_say(paper, UP_PAPER_WORDS, "Holding: the worm holds any push, on a shaking door too.");
        return;
    }
    up_paper_say(paper, UP_PAPER_WORDS,
                 "On a shaking door the worm of the weakest doors that the sheet allows lets go from %s N on: if the "
                 "glass sinks on the road, look at worm, wheel and grease.",
                 up_train_show(card->hold_push_shaking.low, 2, low, sizeof low));
}

static void not_closing(const up_card *card, up_card_supply supply, up_paper *paper) {
    const char *engine = supply == UP_CARD_ENGINE_ON ? "on" : "off";
    const up_share *closed = &card->raise[supply].done;
    const int lost = closed->of - closed->hits;
    if (isnan(card->raise[supply].time.value)) {
        up_paper_say(
            paper, UP_PAPER_CAUTION,
            "Engine %s: the sheet's own door does not close in one touch at this temperature; %d of %d that its "
            "tolerances allow do not. upstop move tells why. Cure that first.",
            engine, lost, closed->of);
    } else if (lost > 0) {
        up_paper_say(paper, UP_PAPER_WORDS,
                     "Engine %s: %d of %d doors that the sheet allows do not close in one touch. If this one does not, "
                     "see upstop vary and upstop tune.",
                     engine, lost, closed->of);
    }
}

void up_refit_paper_acceptance(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {31, 16, 20, 6};
    static const char *const heads[] = {"and", "with", "must be", "found"};
    const up_card *card = &answer->card;
    char pulses[32];
    up_paper_say(paper, UP_PAPER_SECTION, "Acceptance");
    strokes(card, paper);
    up_paper_heads(paper, 4, widths, heads);
    figure_row(paper, "pulses per stroke", "counter or scope",
               up_refit_whole_range(card->pulses.low, card->pulses.high, pulses, sizeof pulses));
    holding(card, paper);
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "Times: one touch, from the relay's click to the glass touching its stop; a stopwatch is 0.2 s off either "
        "way (practice). A start reads as high as a stop: set peak hold after it. Holding: %.0f mm open, leads off.",
        1e3 * UP_CARD_HOLD_OPENING);
    holding_words(card, paper);
    not_closing(card, UP_CARD_ENGINE_OFF, paper);
    not_closing(card, UP_CARD_ENGINE_ON, paper);
}

/* ---- pinch ---- */

static void gauge_row(const up_card *card, const up_card_gauge *gauge, up_paper *paper) {
    char what[32];
    char must[32];
    char calculated[40];
    char range[32];
    char backs[32];
    snprintf(what, sizeof what, "met at %.0f mm open", 1e3 * gauge->opening);
    snprintf(must, sizeof must, "%.0f N at most", card->force_limit);
    if (gauge->force.low > 0) {
        snprintf(calculated, sizeof calculated, "%s N",
                 up_refit_range(gauge->force.low, gauge->force.high, 1, range, sizeof range));
    } else { /* some did not touch it */
        snprintf(calculated, sizeof calculated, "up to %.0f N", gauge->force.high);
    }
    up_refit_range(gauge->backed.low, gauge->backed.high, 1e3, backs, sizeof backs);
    const char *cells[] = {what, must, calculated, UP_PAPER_BLANK, backs, UP_PAPER_BLANK};
    up_paper_row(paper, 1, cells);
}

/* The place where most of the drawn doors fail the rule; NULL: none does anywhere. */
static const up_card_gauge *worst_gauge(const up_card *card) {
    const up_card_gauge *worst = NULL;
    for (int i = 0; i < UP_CARD_GAUGES; i++) {
        const up_card_gauge *gauge = &card->gauge[i];
        if (gauge->within.hits < gauge->within.of && (!worst || gauge->within.share < worst->within.share)) {
            worst = gauge;
        }
    }
    return worst;
}

static int some_turn_before(const up_card *card) {
    int some = 0;
    for (int i = 0; i < UP_CARD_GAUGES; i++) {
        some |= !(card->gauge[i].force.low > 0);
    }
    return some;
}

static void exceeding(const up_card *card, const up_card_gauge *worst, up_paper *paper) {
    up_paper_say(
        paper, UP_PAPER_CAUTION,
        "As the sheet's detector is set, %d of the %d doors that it allows squeeze harder than %.0f N, or do not "
        "back off as they must, at %.0f mm. What the gauge reads decides: beyond the limit no one-touch until it is "
        "set lower (upstop tune).",
        worst->within.of - worst->within.hits, worst->within.of, card->force_limit, 1e3 * worst->opening);
}

void up_refit_paper_pinch(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {19, 13, 12, 7, 13, 7};
    static const char *const heads[] = {"gauge", "must be", "calculated", "found", "backs off, mm", "found"};
    const up_card *card = &answer->card;
    const up_card_gauge *worst = worst_gauge(card);
    up_paper_say(paper, UP_PAPER_SECTION, "Pinch test, with an instrument");
    up_paper_say(
        paper, UP_PAPER_CAUTION,
        "A force gauge, or a rod on a spring of %.0f N/mm with its travel read off, standing by itself on the "
        "glass edge below the frame. Never a hand, an arm or a head, also not \"to feel it\". From fully open, "
        "engine running, one touch.",
        1e-3 * card->gauge_stiffness);
    up_paper_heads(paper, 6, widths, heads);
    for (int i = 0; i < UP_CARD_GAUGES; i++) {
        gauge_row(card, &card->gauge[i], paper);
    }
    if (some_turn_before(card)) {
        up_paper_say(
            paper, UP_PAPER_CAUTION,
            "Up to: some of the doors that the sheet allows turn round before they meet the gauge, with nothing in "
            "the way. Then there is nothing to read; cure that first (upstop move tells why).");
    }
    if (worst) {
        exceeding(card, worst, paper);
    }
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "Limit and gauge after UN Regulation No. 21, 5.8.3 (the gauge's stiffness from memory: check the official "
        "text). The places are this tool's choice; upstop pinch looks everywhere, and at the stiffer rods of the US "
        "rule.");
}

/* ---- armature ---- */

static void balance(const up_refit_answer *answer, up_paper *paper) {
    const up_refit *refit = answer->refit;
    const double rpm = 9.549296585513721 * answer->card.top_armature_speed;
    if (isnan(refit->armature_mass)) {
        up_paper_say(paper, UP_PAPER_TICK,
                     "Balance, if the armature was wound or turned: its centre of mass within %.0f um of the axis (ISO "
                     "21940-11, G 6.3, at %.0f rpm, running free with the engine on). Weigh it for the unbalance: "
                     "--armature-mass 95g.",
                     1e6 * answer->eccentricity, rpm);
        return;
    }
    up_paper_say(
        paper, UP_PAPER_TICK,
        "Balance of the armature, %.3g g: %.2g g.mm may remain (ISO 21940-11, G 6.3, at %.0f rpm, running free "
        "with the engine on), half of it in each plane. On knife edges a speck of clay of %.3g mg, %.0f mm off the "
        "axis, must roll it down from every position.",
        1e3 * refit->armature_mass, 1e6 * answer->unbalance, rpm, 1e6 * answer->speck, 1e3 * UP_REFIT_SPECK_RADIUS);
    if (!isnan(refit->unbalance)) {
        up_paper_say(paper, answer->unbalanced ? UP_PAPER_CAUTION : UP_PAPER_WORDS, "Measured: %.2g g.mm, %s.",
                     1e6 * refit->unbalance, answer->unbalanced ? "TOO MUCH: balance it again" : "good");
    }
}

static void brushes(const up_refit_answer *answer, up_paper *paper) {
    const up_brush *brush = &answer->refit->brush;
    const up_brush_answer *judged = &answer->brush;
    char share[48] = "";
    if (isnan(judged->least)) {
        up_paper_say(
            paper, UP_PAPER_TICK,
            "Brushes: the maker's least length; without one half of a new brush's (practice, no source). Sliding "
            "freely, faces bedded, both wires whole. Say what you measured: --brush-new 11mm --brush-now 8.2mm.");
        return;
    }
    if (!isnan(judged->worn)) {
        snprintf(share, sizeof share, ", %.0f %% of what may wear is gone", 100 * judged->worn);
    }
    if (isnan(brush->now)) {
        up_paper_say(paper, UP_PAPER_TICK, "Brushes: not below %.3g mm (%s). Measured: ________ mm",
                     1e3 * judged->least, judged->makers ? "the maker's" : "half of a new one, practice");
        return;
    }
    up_paper_say(paper, judged->short_of ? UP_PAPER_CAUTION : UP_PAPER_TICK,
                 "Brushes: not below %.3g mm (%s); measured %.3g mm%s: %s.", 1e3 * judged->least,
                 judged->makers ? "the maker's" : "half of a new one, practice", 1e3 * brush->now, share,
                 judged->short_of ? "TOO SHORT, put new ones in" : "good");
}

void up_refit_paper_armature(const up_refit_answer *answer, up_paper *paper) {
    up_paper_say(paper, UP_PAPER_SECTION, "Armature and brushes, if the motor was open");
    balance(answer, paper);
    brushes(answer, paper);
}

/* The refit card's leads: what the meter reads, and how the controller finds its place again. */
#include <math.h>
#include <stdio.h>

#include "apps/cli/refit_answer.h"

/* ---- with the battery off ---- */

static void ohm_row(up_paper *paper, const char *between, const char *reads) {
    const char *cells[] = {between, reads, UP_PAPER_BLANK};
    up_paper_row(paper, 1, cells);
}

static void wire_words(const up_card *card, char *out, size_t size) {
    char greatest[48] = "";
    if (!isnan(card->wire.greatest)) {
        snprintf(greatest, sizeof greatest, ", at most %.0f (IEC 60228, flexible)", 1e3 * card->wire.greatest);
    }
    snprintf(out, size, "%.0f mohm%s; plugs and fuse about %.0f more", 1e3 * card->wire.solid, greatest,
             1e3 * card->contact_resistance);
}

static void battery_off(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {28, 38, 8};
    static const char *const heads[] = {"ohm-meter, plug off", "reads", "found"};
    const up_card *card = &answer->card;
    const int two = answer->sheet->known.values.encoder_channels;
    char words[128];
    up_paper_heads(paper, 3, widths, heads);
    snprintf(words, sizeof words, "%.2f ohm or some more (brushes), changing as the shaft turns",
             card->motor_resistance);
    ohm_row(paper, "power lead 1 to 2, at motor", words);
    ohm_row(paper, "either to the motor's case", "no contact");
    wire_words(card, words, sizeof words);
    ohm_row(paper, "wires, there and back", words);
    snprintf(words, sizeof words, "contact; none above %.0f mm from closed", 1e3 * card->restart.limit_opening);
    ohm_row(paper, "limit lead to common", words);
    ohm_row(paper, two ? "each pulse lead to common" : "pulse lead to common",
            "contact comes and goes as the shaft turns; a magnet sensor shows nothing here");
}

/* ---- with the battery on ---- */

static void volt_row(const up_card *card, up_card_supply supply, up_meter_state state, const char *what,
                     up_paper *paper) {
    const up_reading *r = card->reading[supply][state];
    char text[5][32];
    static const up_meter columns[5] = {UP_METER_high, UP_METER_low, UP_METER_across, UP_METER_current,
                                        UP_METER_pulse_rate};
    for (int i = 0; i < 5; i++) {
        up_refit_close_range(r[columns[i]].low, r[columns[i]].high, text[i], sizeof text[i]);
    }
    if (state == UP_METER_AT_STOP) {
        snprintf(text[4], sizeof text[4], "none");
    }
    const char *cells[] = {what, text[0], text[1], text[2], text[3], text[4]};
    up_paper_row(paper, 1, cells);
}

static void rest_row(const up_card *card, up_card_supply supply, up_paper *paper) {
    char battery[32];
    const double volt = card->open_voltage[supply];
    const double spread = card->open_spread[supply];
    up_refit_close_range(volt - spread, volt + spread, battery, sizeof battery);
    const char *cells[] = {"battery, at rest", battery, "", "0.0", "0.0", "none"};
    up_paper_row(paper, 1, cells);
}

static void battery_on(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {17, 12, 12, 12, 10, 8};
    static const char *const off[] = {"engine off", "feeds, V", "returns, V", "1 to 2, V", "clamp, A", "Hz"};
    static const char *const on[] = {"engine on", "feeds, V", "returns, V", "1 to 2, V", "clamp, A", "Hz"};
    const up_card *card = &answer->card;
    for (int s = 0; s < UP_CARD_SUPPLIES; s++) {
        const up_card_supply supply = (up_card_supply)s;
        up_paper_heads(paper, 6, widths, s == UP_CARD_ENGINE_ON ? on : off);
        rest_row(card, supply, paper);
        volt_row(card, supply, UP_METER_RAISING, "raising, halfway", paper);
        volt_row(card, supply, UP_METER_LOWERING, "lowering, halfway", paper);
        volt_row(card, supply, UP_METER_AT_STOP, "held at the top", paper);
    }
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "Plugs on, nobody near the glass, black clip on the battery's minus post. Lead 1 feeds raising, lead 2 "
        "lowering. Held at the top for less than a second, clamp meter on peak hold. Losses are taken as shared "
        "evenly between both ways; more than that in one lead is a bad joint on its side. At rest the bridge shorts "
        "both leads; a real one may leave both at the battery: alike, none across.");
}

static void signals(const up_refit_answer *answer, up_paper *paper) {
    const up_values *door = &answer->sheet->known.values;
    const up_card *card = &answer->card;
    char pulses[32];
    up_refit_whole_range(card->pulses.low, card->pulses.high, pulses, sizeof pulses);
    up_paper_say(
        paper, UP_PAPER_TICK,
        "Signal lead, pulses%s: high and low in turn while it moves, steady at rest; %s a stroke, on the meter's Hz "
        "range as in the tables. On DC volts about half of high while running (practice).",
        door->encoder_channels ? " (two leads, the same on both, a quarter of a pulse apart)" : "", pulses);
    up_paper_say(paper, UP_PAPER_TICK,
                 "Signal lead, limit contact: changes once, %.0f mm from closed, at the same place up and down.",
                 1e3 * card->restart.limit_opening);
    up_paper_say(paper, UP_PAPER_TICK,
                 "Signal lead, common: below 0.1 V to the battery's minus post also while it runs (practice).");
}

void up_refit_paper_leads(const up_refit_answer *answer, up_paper *paper) {
    const int two = answer->sheet->known.values.encoder_channels;
    up_paper_say(paper, UP_PAPER_SECTION, "Leads: two for power, %s for signals", two ? "four" : "three");
    battery_off(answer, paper);
    battery_on(answer, paper);
    signals(answer, paper);
}

/* ---- after the battery was off ---- */

void up_refit_paper_restart(const up_refit_answer *answer, up_paper *paper) {
    const up_card_restart *restart = &answer->card.restart;
    const double limit = 1e3 * restart->limit_opening;
    up_paper_say(paper, UP_PAPER_SECTION, "After the battery was off: the controller finds its place");
    up_paper_say(
        paper, UP_PAPER_TICK,
        "The maker's procedure, where there is one, instead of these lines: they are of the controller that upstop "
        "models (docs/model.md, section 12). Many real ones ask for the same.");
    up_paper_say(paper, UP_PAPER_TICK,
                 "Lower the glass by the held switch to more than %.0f mm open, better all the way.", limit + 50);
    if (restart->from_open == UP_END_CLOSED) {
        up_paper_say(
            paper, UP_PAPER_TICK,
            "Hold the switch at raise until the glass stands at the top and the motor has gone quiet: %.1f s from "
            "fully open. At %.0f mm the limit contact tells it where it is, at the top it takes that as closed.",
            restart->from_open_time, limit);
    } else {
        up_paper_say(
            paper, UP_PAPER_TICK,
            "Hold the switch at raise. With this sheet's numbers it does not get to the top (%s): look at channels "
            "and threshold first.",
            up_end_text(restart->from_open));
    }
    if (restart->from_closed == UP_END_REVERSED) {
        up_paper_say(
            paper, UP_PAPER_TICK,
            "Begun above that contact it cannot know: it takes the top for an obstacle and backs off %.0f mm. That "
            "is no fault; raise again.",
            1e3 * restart->from_closed_backed);
    }
    up_paper_say(paper, UP_PAPER_TICK, "One-touch is refused until then and must work now, both ways%s.",
                 restart->profile_kept
                     ? "; what its detector has learned is kept. After new seals, glass or grease let "
                       "it close twenty times before the pinch test: it learns an eighth of what is "
                       "new each time"
                     : "");
}

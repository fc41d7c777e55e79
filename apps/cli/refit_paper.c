/* The refit card's frame: head, cautions, order, screws, grease. */
#include <math.h>
#include <stdio.h>

#include "apps/cli/refit_answer.h"
#include "apps/cli/refit_screws.h"
#include "apps/cli/refit_words.h"
#include "apps/cli/train_show.h"

static char *range(double from, double to, const char *between, char *out, size_t size) {
    char begin[32];
    char end[32];
    if (isnan(from) || isnan(to)) {
        snprintf(out, size, "-");
        return out;
    }
    /* an interval of no width still has three digits */
    const double width = to - from > 0.002 * fabs(to) ? to - from : 0.01 * fabs(to);
    const int decimals = up_train_decimals(width);
    snprintf(out, size, "%s%s%s", up_train_show_decimals(from, decimals, begin, sizeof begin), between,
             up_train_show_decimals(to, decimals, end, sizeof end));
    return out;
}

char *up_refit_range(double low, double high, double factor, char *out, size_t size) {
    return range(factor * low, factor * high, " to ", out, size);
}

char *up_refit_close_range(double low, double high, char *out, size_t size) {
    return range(low, high, low < 0 ? " to " : "-", out, size);
}

char *up_refit_whole_range(double low, double high, char *out, size_t size) {
    if (isnan(low) || isnan(high)) {
        snprintf(out, size, "-");
    } else {
        snprintf(out, size, "%.0f to %.0f", floor(low), ceil(high));
    }
    return out;
}

const char *up_refit_statement(void) {
    return "calculated by upstop from a door sheet: no certification; the maker's figures come first";
}

static const char *family_words(up_family family) {
    static const char *const words[UP_FAMILY_COUNT] = {"single lift arm", "crossed arms", "cable and drum",
                                                       "rack or toothed tape"};
    return words[family];
}

static void head(const up_refit_answer *answer, up_paper *paper) {
    const up_sheet *sheet = answer->sheet;
    const up_card *card = &answer->card;
    up_paper_say(paper, UP_PAPER_TITLE, "Refit card: %s", sheet->title[0] ? sheet->title : sheet->path);
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "%s; at %.0f degC. Figures: what %d doors that the sheet's tolerances allow show, 95 %% of them. The reading "
        "error of your own instrument comes on top. This is a calculation and no certification; where the maker of "
        "the vehicle gives a figure, that one comes first.",
        family_words((up_family)sheet->known.values.family), card->temperature - 273.15, card->draws);
    up_paper_say(paper, UP_PAPER_WORDS, "done by ______________________   date ______________   place ______________");
}

static void order(const up_refit_answer *answer, up_paper *paper) {
    const up_values *door = &answer->sheet->known.values;
    const char *words[UP_REFIT_WORDS];
    int count = up_refit_cautions(door, words);
    up_paper_say(paper, UP_PAPER_SECTION, "Before you begin");
    for (int i = 0; i < count; i++) {
        up_paper_say(paper, UP_PAPER_CAUTION, "%s", words[i]);
    }
    up_paper_say(paper, UP_PAPER_SECTION, "Order of assembly");
    count = up_refit_order(door, words);
    for (int i = 0; i < count; i++) {
        up_paper_say(paper, UP_PAPER_TICK, "%d. %s", i + 1, words[i]);
    }
}

/* ---- screws ---- */

static void screw_row(const up_refit_screw *screw, const up_tightening *t, up_paper *paper) {
    char thread[24];
    char what[64];
    char set[16];
    char highest[16];
    char preload[32];
    char flats[16];
    snprintf(what, sizeof what, "%s %s, %s, in %s", up_refit_thread_words(&screw->screw, thread, sizeof thread),
             up_screw_class_word(screw->screw.screw_class), up_lubrication_word(screw->screw.lubrication),
             up_thread_in_word(screw->screw.into));
    snprintf(set, sizeof set, "%.1f", t->set);
    snprintf(highest, sizeof highest, "%.1f", t->highest);
    up_refit_close_range(1e-3 * t->preload_low, 1e-3 * t->preload_high, preload, sizeof preload);
    snprintf(flats, sizeof flats, "%.3g", 1e3 * t->across_flats);
    char name[UP_REFIT_NAME + 2];
    snprintf(name, sizeof name, "%s%s", screw->name, screw->given ? "" : " *");
    const char *cells[] = {name, what, set, highest, preload, flats};
    up_paper_row(paper, 1, cells);
}

void up_refit_paper_screws(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {24, 25, -4, -7, -8, -3};
    static const char *const heads[] = {"holds", "screw", "N.m", "at most", "pull kN", "hex"};
    const up_refit *refit = answer->refit;
    int assumed = 0;
    int capped = 0;
    up_paper_say(paper, UP_PAPER_SECTION, "Screws: set the torque wrench to");
    up_paper_heads(paper, 6, widths, heads);
    for (int i = 0; i < refit->screws; i++) {
        screw_row(&refit->screw[i], &answer->tightening[i], paper);
        assumed |= !refit->screw[i].given;
        capped |= answer->tightening[i].capped;
    }
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "Torque for 75 %% of the proof load (ISO 898-1), the lower of two reckonings: by nut factor (0.20 dry, 0.15 "
        "oiled) and by friction in thread and head (ISO 16047); at most: the higher. Pull: what that torque makes of "
        "it between slippery and rough. Published tables for one screw differ by 20 %% and more.");
    if (capped) {
        up_paper_say(
            paper, UP_PAPER_WORDS,
            "Where a weld nut or plastic holds the thread, that decides and not the screw: M6 8 to 10 and 4 to 7 N.m, "
            "other sizes by the cube of the diameter (practice, no source).");
    }
    if (assumed) {
        up_paper_say(
            paper, UP_PAPER_WORDS,
            "* Not looked at, so taken as usual (practice): M6 8.8 dry. Read size and class off your screws and say "
            "so: "
            "--screw \"motor to regulator=M6 8.8 oiled\". New lock nuts and thread lock as the maker has them.");
    }
}

static void grease(const up_refit_answer *answer, up_paper *paper) {
    static const int widths[] = {23, 16, 35};
    static const char *const heads[] = {"place", "material", "with"};
    const up_refit_grease *greases[UP_REFIT_WORDS];
    const int count = up_refit_greases(&answer->sheet->known.values, greases);
    up_paper_say(paper, UP_PAPER_SECTION, "Grease");
    up_paper_heads(paper, 3, widths, heads);
    for (int i = 0; i < count; i++) {
        const char *cells[] = {greases[i]->place, greases[i]->material, greases[i]->with};
        up_paper_row(paper, 1, cells);
    }
    up_paper_say(
        paper, UP_PAPER_WORDS,
        "Practice, no source. Why PAO: usable from about -60 degC, mineral oil from -30 degC (published table of base "
        "oils). Sheet metal edges and painted faces stay dry.");
}

void up_refit_paper(const up_refit_answer *answer, up_paper *paper) {
    head(answer, paper);
    order(answer, paper);
    up_refit_paper_screws(answer, paper);
    grease(answer, paper);
    up_refit_paper_leads(answer, paper);
    up_refit_paper_restart(answer, paper);
    up_refit_paper_acceptance(answer, paper);
    up_refit_paper_pinch(answer, paper);
    up_refit_paper_armature(answer, paper);
}

#include "apps/cli/train_text.h"

#include <math.h>
#include <string.h>

#include "apps/cli/train_show.h"
#include "io/entry_texts.h"

enum { TEXT_MAX = 48, LINE_WIDTH = 99 };

/* ---- stages -------------------------------------------------------------------------------------------------- */

static void ratio_text(const up_stage_state *s, char *text) {
    char number[TEXT_MAX];
    if (isnan(s->ratio)) {
        snprintf(text, TEXT_MAX, "-");
        return;
    }
    up_train_show(s->ratio, 4, number, sizeof number);
    snprintf(text, TEXT_MAX, "%s", number);
}

static void quantity_text(double value, const char *unit, int digits, char *text) {
    char number[TEXT_MAX];
    snprintf(text, TEXT_MAX, "%.20s %s", up_train_show(value, digits, number, sizeof number), unit);
}

static void output_texts(const up_stage_state *s, char *speed, char *effort) {
    const double rpm = 9.549296585513721;
    switch (s->kind) {
    case UP_STAGE_ELECTRIC:
        quantity_text(s->speed, "V", 4, speed);
        quantity_text(s->effort, "A", 3, effort);
        break;
    case UP_STAGE_TURNING:
        quantity_text(s->speed * rpm, "rpm", 3, speed);
        quantity_text(fabs(s->effort) < 0.5 ? s->effort * 1e3 : s->effort, fabs(s->effort) < 0.5 ? "N.mm" : "N.m", 3,
                      effort);
        break;
    case UP_STAGE_STRAIGHT:
        quantity_text(s->speed * 1e3, "mm/s", 3, speed);
        quantity_text(s->effort, "N", 3, effort);
        break;
    }
}

static void share_text(double share, const char *otherwise, char *text) {
    if (isnan(share)) {
        snprintf(text, TEXT_MAX, "%s", otherwise);
    } else if (share <= 0) {
        snprintf(text, TEXT_MAX, "holds");
    } else {
        snprintf(text, TEXT_MAX, "%.1f %%", 100 * share);
    }
}

static void print_stage(const up_stage_state *s, up_stage stage, FILE *out) {
    char ratio[TEXT_MAX], speed[TEXT_MAX], effort[TEXT_MAX], power[TEXT_MAX], passes[TEXT_MAX], back[TEXT_MAX];
    ratio_text(s, ratio);
    output_texts(s, speed, effort);
    quantity_text(s->power_out, "W", 3, power);
    share_text(s->efficiency, s->power_in > 0 && s->power_out < 0 ? "both fed in" : "-", passes);
    share_text(s->backward, "-", back);
    fprintf(out, "  %-10s %8s  %11s  %11s  %9s  %12s  %12s\n", up_stage_name(stage), ratio, speed, effort, power,
            passes, back);
}

static void print_stages(const up_stage_state stages[UP_STAGE_COUNT], const char *motion, const char *where,
                         double travel, const up_steady *steady, FILE *out) {
    fprintf(out, "\n%s, %s: glass %.0f mm above its down-stop", motion, where, 1e3 * travel);
    if (!steady->runs) {
        fprintf(out, ". It stalls here\n");
        return;
    }
    fprintf(out, "%s\n", steady->starts ? "" : " (keeps running, but would not start here)");
    fprintf(out, "  %-10s %8s  %11s  %11s  %9s  %12s  %12s\n", "stage", "ratio", "speed", "effort", "power",
            "passes on", "driven back");
    for (int i = 0; i < UP_STAGE_COUNT; i++) {
        print_stage(&stages[i], (up_stage)i, out);
    }
}

static void print_places(const up_train *train, int all, FILE *out) {
    static const char *const where[UP_TRAIN_PLACES] = {"at the bottom", "halfway", "below the header seal"};
    for (int i = 0; i < UP_TRAIN_PLACES; i++) {
        if (all || i == 1) {
            const up_train_place *at = &train->at[i];
            print_stages(at->raise, "Raising", where[i], at->place.travel, &at->raising, out);
            print_stages(at->lower, "Lowering", where[i], at->place.travel, &at->lowering, out);
        }
    }
    fprintf(out, "  Each line is what leaves the stage towards the glass; minus: power comes from there. Ratio: speed\n"
                 "  in over speed out, rad/m where turning becomes straight. Driven back: what would pass from the\n"
                 "  glass's side. Both fed in: battery and glass push into this stage and all of it turns to heat.\n");
}

/* ---- along the travel ------------------------------------------------------------------------------------------ */

static void print_travel(const up_train *train, FILE *out) {
    const up_train_point *last = &train->point[UP_TRAIN_POINTS - 1];
    fprintf(out, "\nAlong the travel\n");
    fprintf(out, "  %7s  %9s  %8s  %8s  %8s  %9s  %13s  %13s  %6s\n", "opening", "mm a turn", "pulses", "lift to",
            "lift at", "squeeze", "raising", "lowering", "lost");
    fprintf(out, "  %7s  %9s  %8s  %8s  %8s  %9s  %6s %6s  %6s %6s  %6s\n", "mm", "of motor", "per mm", "start N",
            "stall N", "stall N", "mm/s", "A", "mm/s", "A", "tilt %");
    for (int i = 0; i < UP_TRAIN_POINTS; i++) {
        const up_train_point *p = &train->point[i];
        fprintf(out, "  %7.1f  %9.3f  %8.3f  %8.0f  %8.0f  %9.0f  %6.0f %6.2f  %6.0f %6.2f  %6.1f\n",
                1e3 * (last->travel - p->travel), 1e3 * p->per_motor_turn, 1e-3 * p->pulses_per_metre, p->needed_lift,
                p->stall_lift, p->stall_squeeze, 1e3 * p->raise_speed, p->raise_current, 1e3 * fabs(p->lower_speed),
                fabs(p->lower_current), 100 * p->tilt_share);
    }
    fprintf(out, "  Squeeze: what a stalled motor leaves for an obstacle, steady. The energy of the moving parts\n"
                 "  comes on top of it; `upstop move --rod` works that out.\n");
}

/* ---- headline figures ------------------------------------------------------------------------------------------ */

typedef struct figure_line {
    up_train_figure figure;
    const char *label;
    const char *unit; /* an SI unit of up_train_unit, or "share" for a plain number in per cent */
} figure_line;

static const figure_line running_lines[] = {
    {UP_TRAIN_FIGURE_raise_time, "raising, full stroke", "s"},
    {UP_TRAIN_FIGURE_lower_time, "lowering, full stroke", "s"},
    {UP_TRAIN_FIGURE_raise_speed, "glass speed raising, halfway", "m/s"},
    {UP_TRAIN_FIGURE_lower_speed, "glass speed lowering, halfway", "m/s"},
    {UP_TRAIN_FIGURE_raise_current, "current raising, halfway", "A"},
    {UP_TRAIN_FIGURE_lower_current, "current lowering, halfway", "A"},
    {UP_TRAIN_FIGURE_running_voltage, "motor voltage raising, halfway", "V"},
    {UP_TRAIN_FIGURE_wire_drop_running, "lost in wires and plugs, raising", "V"},
    {UP_TRAIN_FIGURE_wire_drop_stall, "lost in wires and plugs, at stall", "V"},
    {UP_TRAIN_FIGURE_efficiency, "lifting power over battery power", "share"},
    {UP_TRAIN_FIGURE_free_speed, "pinion or drum, regulator off", "rad/s"},
    {UP_TRAIN_FIGURE_free_current, "current, regulator off", "A"},
};

static const figure_line force_lines[] = {
    {UP_TRAIN_FIGURE_stall_current, "current at stall", "A"},
    {UP_TRAIN_FIGURE_stall_squeeze_least, "steady squeeze at stall, least", "N"},
    {UP_TRAIN_FIGURE_stall_squeeze_most, "steady squeeze at stall, most", "N"},
    {UP_TRAIN_FIGURE_lift_reserve, "stall lift over needed lift, least", "1"},
    {UP_TRAIN_FIGURE_lift_reserve_opening, "  opening left where that is", "m"},
};

static const figure_line holding_lines[] = {
    {UP_TRAIN_FIGURE_worm_efficiency, "worm driving the wheel, running", "share"},
    {UP_TRAIN_FIGURE_worm_efficiency_back, "wheel driving the worm, from rest", "share"},
    {UP_TRAIN_FIGURE_hold_margin, "rest friction over locking friction", "1"},
    {UP_TRAIN_FIGURE_hold_margin_shaking, "the same on a shaking door", "1"},
    {UP_TRAIN_FIGURE_hold_push, "push on the glass that it withstands", "N"},
    {UP_TRAIN_FIGURE_hold_push_shaking, "the same on a shaking door", "N"},
};

static const figure_line signal_lines[] = {
    {UP_TRAIN_FIGURE_per_motor_turn, "glass per turn of the motor, halfway", "m"},
    {UP_TRAIN_FIGURE_output_turns, "turns of pinion or drum per stroke", "count"},
    {UP_TRAIN_FIGURE_pulses_per_metre, "encoder pulses, halfway", "1/m"},
    {UP_TRAIN_FIGURE_pulses_per_stroke, "encoder pulses per stroke", "count"},
    {UP_TRAIN_FIGURE_limit_turns, "turns of the limit ring per stroke", "count"},
    {UP_TRAIN_FIGURE_limit_opening, "opening where limit contact opens", "m"},
};

static const figure_line strength_lines[] = {
    {UP_TRAIN_FIGURE_windup_running, "damper wind-up raising, halfway", "rad"},
    {UP_TRAIN_FIGURE_windup_stall, "damper wind-up at stall", "rad"},
    {UP_TRAIN_FIGURE_windup_stall_share, "  as share of its limit", "share"},
    {UP_TRAIN_FIGURE_contact_ratio, "tooth pairs in contact at the pinion", "1"},
    {UP_TRAIN_FIGURE_pinion_stress_running, "pinion root stress, raising", "Pa"},
    {UP_TRAIN_FIGURE_pinion_stress_stall, "pinion root stress, at stall", "Pa"},
    {UP_TRAIN_FIGURE_pinion_stress_share, "  as share of strength", "share"},
    {UP_TRAIN_FIGURE_wheel_stress_running, "worm wheel root stress, raising", "Pa"},
    {UP_TRAIN_FIGURE_wheel_stress_stall, "worm wheel root stress, at stall", "Pa"},
    {UP_TRAIN_FIGURE_wheel_stress_share, "  as share of strength", "share"},
    {UP_TRAIN_FIGURE_tilt_margin, "jamming tilt over the glass's tilt", "1"},
};

static const char *assumed_star(const up_sheet *sheet, up_number number) {
    return sheet->known.mark[number] == UP_MARK_ASSUMED ? "*" : "";
}

static void print_figure(const up_sheet *sheet, const up_train_answer *answer, const figure_line *line, FILE *out) {
    const up_shown_unit unit = up_train_unit(line->unit);
    char value[TEXT_MAX], low[TEXT_MAX], high[TEXT_MAX], shown[2 * TEXT_MAX], interval[2 * TEXT_MAX + 8];
    const double width = 0.5 * (answer->high - answer->low) * unit.factor;
    const int decimals = isinf(width) ? 0 : up_train_decimals(width);
    if (!(width > 1e-6)) {
        up_train_show(answer->value * unit.factor, 4, value, sizeof value);
        interval[0] = '\0';
    } else {
        up_train_show_decimals(answer->value * unit.factor, decimals, value, sizeof value);
        up_train_show_decimals(answer->low * unit.factor, decimals, low, sizeof low);
        up_train_show_decimals(answer->high * unit.factor, decimals, high, sizeof high);
        snprintf(interval, sizeof interval, "%s to %s", low, high);
    }
    snprintf(shown, sizeof shown, "%s%s%s", value, isfinite(answer->value) && unit.shown[0] ? " " : "",
             isfinite(answer->value) ? unit.shown : "");
    fprintf(out, "  %-36s %12s  %-18s", line->label, shown, interval);
    if (answer->mostly_share > 0) {
        fprintf(out, " %s%s", up_entry_text_of_number(answer->mostly)->key, assumed_star(sheet, answer->mostly));
    }
    putc('\n', out);
}

static void print_lines(const up_sheet *sheet, const up_train *train, const char *title, const figure_line *lines,
                        size_t count, FILE *out) {
    fprintf(out, "\n%-51s  %-18s %s\n", title, "95 % interval", "mostly from");
    for (size_t i = 0; i < count; i++) {
        const up_train_answer *answer = &train->answer[lines[i].figure];
        if (!isnan(answer->value) || answer->count > 0) {
            print_figure(sheet, answer, &lines[i], out);
        }
    }
}

#define LINES(list) list, sizeof list / sizeof list[0]

static const char *holding_sentence(const up_train *train) {
    const double sure = 0.975;
    if (train->worm_static_friction < train->worm_locking_friction) {
        return "The worm lets go: brushes and bearings hold, and only so far.";
    }
    if (train->worm_shaking_friction < train->worm_locking_friction) {
        return "The worm holds at rest; shaking may let the glass creep.";
    }
    return train->holds_at_rest >= sure && train->holds_shaking >= sure
               ? "The worm holds the glass against any push, shaking or not."
               : "At these values the worm holds; the tolerances leave it open.";
}

static void print_holding_words(const up_train *train, FILE *out) {
    fprintf(out,
            "  Lead angle %.2f deg: the worm holds while its friction is above %.3f. At rest it is %.3f, on a\n"
            "  shaking door %.3f. %s\n",
            57.29577951308232 * train->worm_lead_angle, train->worm_locking_friction, train->worm_static_friction,
            train->worm_shaking_friction, holding_sentence(train));
    fprintf(out, "  It holds in %.0f %% of the doors that the sheet allows at rest, in %.0f %% while shaking.\n",
            100 * train->holds_at_rest, 100 * train->holds_shaking);
}

static void print_strength_words(const up_train *train, FILE *out) {
    const double plain = train->contact_ratio_plain;
    const double ratio = train->answer[UP_TRAIN_FIGURE_contact_ratio].value;
    if (isfinite(plain) && plain > ratio + 0.005) {
        fprintf(out,
                "  Below %.1f teeth a pinion is undercut; the textbook contact ratio without that would be %.2f. A\n"
                "  pinion with profile shift lies between.\n",
                train->undercut_teeth, plain);
    }
    fprintf(out,
            "  Root stress after Lewis with one tooth carrying everything and no shift: a cautious estimate. The\n"
            "  worm has %.1f wheel teeth in contact in its middle plane; shared evenly that is %.0f MPa at stall.\n",
            train->wheel_contact_ratio, 1e-6 * train->wheel_stress_shared);
}

static void print_figures(const up_sheet *sheet, const up_train *train, FILE *out) {
    print_lines(sheet, train, "Running", LINES(running_lines), out);
    print_lines(sheet, train, "Force", LINES(force_lines), out);
    print_lines(sheet, train, "What holds the glass", LINES(holding_lines), out);
    print_holding_words(train, out);
    print_lines(sheet, train, "Signals", LINES(signal_lines), out);
    print_lines(sheet, train, "Damper, teeth, guides", LINES(strength_lines), out);
    print_strength_words(train, out);
    fprintf(out, "  * assumed: nobody has looked.\n");
}

/* ---- contradictions -------------------------------------------------------------------------------------------- */

static void side_text(double value, double deviation, const up_shown_unit *unit, char *text) {
    char number[TEXT_MAX];
    up_train_show_decimals(value * unit->factor, up_train_decimals(1.96 * deviation * unit->factor), number,
                           sizeof number);
    snprintf(text, TEXT_MAX, "%.24s%s%s", number, unit->shown[0] ? " " : "", unit->shown);
}

/* A side that leaves a range open is shown as that range. */
static void other_text(const up_contradiction *c, const up_shown_unit *unit, char *text) {
    char low[TEXT_MAX], high[TEXT_MAX];
    if (!(c->slack > 0)) {
        side_text(c->other, c->deviation, unit, text);
        return;
    }
    const int decimals = up_train_decimals(fmax(1.96 * c->deviation, c->slack) * unit->factor);
    up_train_show_decimals((c->other - c->slack) * unit->factor, decimals, low, sizeof low);
    up_train_show_decimals((c->other + c->slack) * unit->factor, decimals, high, sizeof high);
    snprintf(text, TEXT_MAX, "%.16s to %.16s%s%s", low, high, unit->shown[0] ? " " : "", unit->shown);
}

static void print_pair(const up_sheet *sheet, const up_contradiction *c, up_pair pair, FILE *out) {
    const up_shown_unit unit = up_train_unit(up_pair_unit(pair));
    char one[TEXT_MAX], other[TEXT_MAX];
    side_text(c->one, c->deviation, &unit, one);
    other_text(c, &unit, other);
    fprintf(out, "  %-11s %6.1f  %s: %s\n", up_accord_word(c->accord), c->score, up_pair_one(pair), one);
    fprintf(out, "                      %s%s: %s\n", up_pair_is_one_sided(pair) ? "at most " : "", up_pair_other(pair),
            other);
    if (c->accord == UP_ACCORD_AGREES || c->suspects == 0) {
        return;
    }
    fprintf(out, "                      look first at");
    for (int i = 0; i < c->suspects; i++) {
        fprintf(out, "%s %s%s", i ? "," : "", up_entry_text_of_number(c->suspect[i])->key,
                assumed_star(sheet, c->suspect[i]));
    }
    putc('\n', out);
}

static void print_left_out(const up_train *train, FILE *out) {
    int column = 0;
    for (int i = 0; i < UP_PAIR_COUNT; i++) {
        const char *name = up_pair_one((up_pair)i);
        const int named =
            i > 0 && !train->contradiction[i - 1].applies && strcmp(name, up_pair_one((up_pair)(i - 1))) == 0;
        if (train->contradiction[i].applies || named) {
            continue;
        }
        if (column == 0) {
            column = fprintf(out, "  Not given, or not for this door:");
        } else if (column + 2 + (int)strlen(name) > LINE_WIDTH) {
            column = fprintf(out, ",\n   ") - 2;
        } else {
            column += fprintf(out, ",");
        }
        column += fprintf(out, " %s", name);
    }
    fprintf(out, "%s", column ? ".\n" : "");
}

static void print_contradictions(const up_sheet *sheet, const up_train *train, FILE *out) {
    fprintf(out, "\nEntries that say the same thing two ways (difference in combined standard deviations:\n"
                 "below 2 agrees, 2 to 3 doubtful, above 3 contradicts)\n");
    for (int i = 0; i < UP_PAIR_COUNT; i++) {
        if (train->contradiction[i].applies) {
            print_pair(sheet, &train->contradiction[i], (up_pair)i, out);
        }
    }
    print_left_out(train, out);
}

void up_train_print_text(const up_sheet *sheet, const up_train *train, int places, FILE *out) {
    fprintf(out, "%s%s%s\n", sheet->path, sheet->title[0] ? ": " : "", sheet->title);
    fprintf(out, "Power train at %.0f degC and %.1f V; intervals from %d doors drawn from the sheet's tolerances\n",
            train->temperature - 273.15, train->circuit.open_voltage, train->draws);
    print_places(train, places, out);
    print_travel(train, out);
    print_figures(sheet, train, out);
    print_contradictions(sheet, train, out);
    fprintf(out,
            "\nCaution: a stalled window squeezes with the forces above; try it on a rod, never on a hand. Hold or\n"
            "wedge the glass before motor or regulator is taken off. A model, not a certification.\n");
}

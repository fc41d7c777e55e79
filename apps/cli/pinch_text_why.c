/* The table, the explanation of the worst case, and what would help. */
#include <math.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "apps/cli/pinch_text.h"
#include "core/base/up_math.h"
#include "io/pinch_number.h"

enum { CELL = 9, BAND = 48 };

/* ---- table ---- */

/* A band's end in the unit people use for the axis. */
static double shown(up_pinch_axis axis, double value) {
    return axis == UP_PINCH_TEMPERATURE                             ? value - UP_ZERO_CELSIUS
           : axis == UP_PINCH_MEASURE || axis == UP_PINCH_CLEARANCE ? 1e3 * value
           : axis == UP_PINCH_PLACE || axis == UP_PINCH_WEAR        ? 100 * value
                                                                    : value;
}

static const char *across_words(up_pinch_axis axis) {
    return axis == UP_PINCH_TEMPERATURE ? "temperature, degC"
           : axis == UP_PINCH_SUPPLY    ? "battery, V"
           : axis == UP_PINCH_PLACE     ? "place along the header, % from the front"
                                        : "wear, % of a life";
}

static void print_cell(const up_pinch_table *table, int row, int column, double limit, int width,
                       const up_plot_look *look, FILE *out) {
    const double force = table->force[row][column];
    char number[32];
    char word[40];
    if (!isfinite(force)) {
        fprintf(out, "%*s", width, table->missed[row][column] > 0 ? "-" : ".");
        return;
    }
    snprintf(word, sizeof word, "%s%s%s", up_number_beside(force, limit, 0, number, sizeof number),
             table->unseen[row][column] > 0 ? "*" : "", force >= limit ? "!" : " ");
    up_plot_colour(force >= limit ? UP_COLOUR_SQUEEZE : UP_COLOUR_INK, look, out);
    fprintf(out, "%*s", width, word);
    up_plot_plain(look, out);
}

static char *column_words(const up_pinch_table *table, int column, char *out) {
    return up_number_band(shown(table->across, table->column_edge[column]),
                          shown(table->across, table->column_edge[column + 1]), "..", out, BAND);
}

void up_pinch_print_table(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_pinch_table *table = &rule->table;
    char heading[160];
    char band[BAND];
    snprintf(heading, sizeof heading, "%s: largest force found, N, by %s (mm, rows) and %s (columns)",
             rule->study.rule->name, rule->study.rule->range_is_diameter ? "rod diameter" : "height of the opening",
             across_words(table->across));
    up_move_print_heading(heading, look, out);
    int width = CELL; /* a narrow range has long ends */
    for (int column = 0; column < table->columns; column++) {
        const int needed = (int)strlen(column_words(table, column, band)) + 2;
        width = needed > width ? needed : width;
    }
    fprintf(out, "  %13s", "");
    for (int column = 0; column < table->columns; column++) {
        fprintf(out, "%*s", width, column_words(table, column, band));
    }
    fputc('\n', out);
    for (int row = 0; row < table->rows; row++) {
        up_number_band(1e3 * table->row_edge[row], 1e3 * table->row_edge[row + 1], " to ", band, sizeof band);
        fprintf(out, "  %13s", band);
        for (int column = 0; column < table->columns; column++) {
            print_cell(table, row, column, rule->limit, width, look, out);
        }
        fputc('\n', out);
    }
    up_move_print_wrapped(
        "! limit reached; * in some closing there it never turned back; - all closings turned or stopped "
        "before the rod; . not looked at",
        2, look, out);
}

/* ---- explanation ---- */

static void print_moments(const up_pinch_story *story, FILE *out) {
    fputs("        ms    mm on   N on rod     mm/s\n", out);
    int told[UP_PINCH_MOMENTS] = {0};
    for (int n = 0; n < UP_PINCH_MOMENTS; n++) { /* in the order they happened */
        int next = -1;
        for (int i = 0; i < UP_PINCH_MOMENTS; i++) {
            if (!told[i] && isfinite(story->at[i].after) && (next < 0 || story->at[i].after < story->at[next].after)) {
                next = i;
            }
        }
        if (next < 0) {
            return;
        }
        const up_pinch_instant *at = &story->at[next];
        told[next] = 1;
        fprintf(out, "  %8.1f %8.2f %10.1f %8.1f  %s\n", 1e3 * at->after, 1e3 * at->depth, at->force,
                1e3 * at->speed + 0.0,
                next == UP_PINCH_AT_SEEN && story->stall ? "controller sees that the shaft stands still"
                                                         : up_pinch_moment_text((up_pinch_moment)next));
    }
}

static void print_flows(const up_pinch_story *story, FILE *out) {
    int told[UP_LEDGER_COUNT] = {0};
    double rest = 0;
    fprintf(out,
            "  At contact %.3f J were in motion, %.3f J of them in the glass;\n"
            "  until standstill the battery gave %.3f J more. They went, J:\n",
            story->motion, story->glass_motion, story->flow[UP_LEDGER_drawn]);
    told[UP_LEDGER_drawn] = 1;
    told[UP_LEDGER_kinetic] = 1;
    for (int n = 0; n < UP_LEDGER_COUNT; n++) {
        int next = -1;
        for (int i = 0; i < UP_LEDGER_COUNT; i++) {
            if (!told[i] && (next < 0 || fabs(story->flow[i]) > fabs(story->flow[next]))) {
                next = i;
            }
        }
        if (next < 0) {
            break;
        }
        told[next] = 1;
        if (fabs(story->flow[next]) < 0.01 * (story->motion + fabs(story->flow[UP_LEDGER_drawn]))) {
            rest += story->flow[next];
            continue;
        }
        fprintf(out, "  %10.3f  %s\n", story->flow[next], up_ledger_text((up_ledger_account)next));
    }
    fprintf(out, "  %10.3f  the smaller accounts together\n", rest);
    const double left = story->motion + story->flow[UP_LEDGER_kinetic];
    if (left > 0.001) {
        fprintf(out, "  %10.3f  still in motion\n", left);
    }
}

static void print_bounds(const up_pinch_story *story, double limit, const up_plot_look *look, FILE *out) {
    char line[512];
    size_t used = (size_t)snprintf(line, sizeof line,
                                   "The glass's own motion alone gives at least %.1f N on this rod; at its speed a rod "
                                   "alone would be at %.4g N after "
                                   "%.1f ms.",
                                   story->least_force, limit, 1e3 * story->rod_only);
    if (story->whole.status == UP_OK && story->whole.touched) {
        snprintf(line + used, sizeof line - used, " The same closing from fully open: %.1f N.", story->whole.force);
    } else if (story->whole.status == UP_OK) {
        snprintf(line + used, sizeof line - used, " From fully open it turns back before it reaches the rod.");
    }
    up_move_print_wrapped(line, 2, look, out);
}

void up_pinch_print_story(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_pinch_story *story = &rule->story[rule->worst];
    char heading[128];
    char place[320];
    if (rule->told[rule->worst] != UP_OK) {
        return;
    }
    snprintf(heading, sizeof heading, "%s: how the worst case comes about, %.1f N", rule->study.rule->name,
             story->result.force);
    up_move_print_heading(heading, look, out);
    up_move_print_wrapped(up_pinch_place_words(&story->result, place, sizeof place), 2, look, out);
    print_moments(story, out);
    if (story->stall) {
        const int passed = isfinite(story->at[UP_PINCH_AT_EXCESS].after);
        up_move_print_wrapped(passed
                                  ? "What the detector reckoned did pass its threshold, but it began to rise so near "
                                    "to the top that it counts as the top, or did not last: the controller went by "
                                    "the shaft standing still."
                                  : "The detector saw nothing: the controller went by the shaft standing still.",
                              2, look, out);
    }
    if (isfinite(story->at[UP_PINCH_AT_TOP_TAKEN].after)) {
        up_move_print_wrapped("It took the rod for the top and rests there: the glass keeps pressing.", 2, look, out);
    }
    print_flows(story, out);
    print_bounds(story, rule->limit, look, out);
}

/* ---- what would help ---- */

enum { HELP_INDENT = 21 };

static void print_help(const up_pinch_help *help, double limit, const up_plot_look *look, FILE *out) {
    const int all = help->missed + help->touched;
    char after[32];
    if (help->touched > 0) {
        const double more = help->after - help->before;
        fprintf(out, "  %8s %+8.1f  ", up_number_beside(help->after, limit, 1, after, sizeof after),
                fabs(more) < 0.05 ? 0.0 : more);
    } else {
        fprintf(out, "  %8s %8s  ", "-", "");
    }
    up_move_print_hanging(help->change->text, HELP_INDENT, look, out);
    if (help->missed > 0) {
        fprintf(out, "%*s%d of %d turn or stop before the rod\n", HELP_INDENT, "", help->missed, all);
    }
}

void up_pinch_print_helps(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    char heading[160];
    char before[32];
    int evade = 0;
    if (rule->helps == 0) {
        return;
    }
    snprintf(heading, sizeof heading,
             "%s: what would help, one thing changed at a time (largest force of %d closings near that place, N)",
             rule->study.rule->name, UP_PINCH_NEIGHBOURS);
    up_move_print_heading(heading, look, out);
    fprintf(out, "  %8s           as it is",
            up_number_beside(rule->help[0].before, rule->limit, 1, before, sizeof before));
    if (rule->help[0].missed_before > 0) {
        fprintf(out, "; %d of %d turn or stop before the rod", rule->help[0].missed_before, UP_PINCH_NEIGHBOURS);
    }
    fputc('\n', out);
    for (int i = 0; i < rule->helps; i++) {
        if (!rule->help[i].differs) {
            continue; /* in force already */
        }
        if (up_pinch_help_evades(&rule->help[i]) && !evade++) {
            fputs("  No cure, the window no longer gets there:\n", out);
        }
        print_help(&rule->help[i], rule->limit, look, out);
    }
}

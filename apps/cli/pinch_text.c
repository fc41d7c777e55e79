#include "apps/cli/pinch_text.h"

#include <math.h>
#include <string.h>

#include "analysis/injury.h"
#include "apps/cli/move_text.h"
#include "core/base/up_math.h"

const char *up_pinch_mark(up_source source) {
    return source == UP_SOURCE_READ ? "[read]" : "[memory]";
}

static void print_word(up_verdict_result result, int width, const up_plot_look *look, FILE *out) {
    up_plot_colour(result == UP_VERDICT_PASSED   ? UP_COLOUR_FRICTION
                   : result == UP_VERDICT_FAILED ? UP_COLOUR_SQUEEZE
                                                 : UP_COLOUR_QUIET,
                   look, out);
    fprintf(out, "%-*s", width, up_verdict_word(result));
    up_plot_plain(look, out);
}

char *up_pinch_place_words(const up_pinch_result *result, char *out, size_t size) {
    const up_pinch_point *point = &result->point;
    char start[64] = "";
    if (up_pinch_start_of(point) == UP_PINCH_FROM_REST) {
        snprintf(start, sizeof start, ", started %.1f mm below it", 1e3 * point->clearance);
    }
    snprintf(out, size,
             "rod of %.1f mm diameter met %.1f mm open, %.0f %% of the way along the header from the front, %.3g N/mm, "
             "%.1f V, %.0f degC, wear %.0f %%%s",
             1e3 * result->lie.diameter, 1e3 * result->lie.height, 100 * point->place, point->stiffness / 1e3,
             point->supply, point->temperature - UP_ZERO_CELSIUS, 100 * point->wear, start);
    return out;
}

/* ---- the rule and its rods ---- */

static void print_rods(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_rule *text = rule->study.rule;
    const up_pinch_range range = rule->plan.range[UP_PINCH_MEASURE];
    const up_rule_number *low = &text->numbers[text->range_low];
    const up_rule_number *thin = NULL;
    const up_rule_number *thick = NULL;
    char line[512];
    const double thin_stiffness = text->rod_stiffness(range.low, &thin);
    const double thick_stiffness = text->rod_stiffness(range.high, &thick);
    size_t used = (size_t)snprintf(line, sizeof line, "%s %.4g to %.4g mm (%s %s); rod of %s%.4g N/mm (%s %s)",
                                   text->range_is_diameter ? "Rods against the header, of any diameter from"
                                                           : "Height of the opening, from",
                                   1e3 * range.low, 1e3 * range.high, low->paragraph, up_pinch_mark(low->source),
                                   text->stiffness_tolerance < 0 ? "at least " : "", thin_stiffness / 1e3,
                                   thin->paragraph, up_pinch_mark(thin->source));
    if (thin != thick) {
        used += (size_t)snprintf(line + used, sizeof line - used, ", %.4g N/mm (%s) for the thickest",
                                 thick_stiffness / 1e3, up_pinch_mark(thick->source));
    }
    if (text->stiffness_tolerance >= 0) {
        const up_rule_number *tolerance = &text->numbers[text->stiffness_tolerance];
        snprintf(line + used, sizeof line - used, ", plus and minus %.4g N/mm (%s)", tolerance->value / 1e3,
                 up_pinch_mark(tolerance->source));
    }
    up_move_print_wrapped(line, 4, look, out);
}

static void print_worst(const up_pinch_rule *rule, up_pinch_start start, const up_plot_look *look, FILE *out) {
    static const char *const names[] = {"coming up from below", "started close to it"};
    const int cell = rule->map.worst[start];
    const up_pinch_spread *force = &rule->verdict.force[start];
    char value[64];
    char interval[64];
    char place[320];
    if (cell < 0) {
        fprintf(out, "    largest force, %-22s no rod was touched\n", names[start]);
        return;
    }
    up_move_show_interval(force->low, force->high, "N", interval, sizeof interval);
    fprintf(out, "    largest force, %-21s ", names[start]);
    up_plot_colour(force->nominal >= rule->limit ? UP_COLOUR_SQUEEZE : UP_COLOUR_INK, look, out);
    fprintf(out, "%8s", up_move_show(force->nominal, "N", force->nominal / 4, value, sizeof value));
    up_plot_plain(look, out);
    fprintf(out, "%s%s%s\n", interval[0] ? "  (95 %: " : "", interval, interval[0] ? ")" : "");
    up_move_print_wrapped(up_pinch_place_words(&rule->map.cell[cell].result, place, sizeof place), 8, look, out);
}

/* ---- paragraphs ---- */

static void print_clause(const up_pinch_clause *clause, const up_plot_look *look, FILE *out) {
    const up_verdict *verdict = &clause->verdict;
    char figure[64];
    char limit[64];
    char margin[64];
    char line[640];
    size_t used = (size_t)snprintf(line, sizeof line, "%s: %s", verdict->title, verdict->reason);
    if (isfinite(verdict->figure) && isfinite(verdict->limit)) {
        used += (size_t)snprintf(line + used, sizeof line - used, ", %s against %s, margin %s",
                                 up_move_show(verdict->figure, verdict->unit, 0, figure, sizeof figure),
                                 up_move_show(verdict->limit, verdict->unit, 0, limit, sizeof limit),
                                 up_move_show(verdict->margin, verdict->unit, 0, margin, sizeof margin));
    }
    used += (size_t)snprintf(line + used, sizeof line - used, " %s%s", up_pinch_mark(verdict->source),
                             verdict->required ? "" : "; not asked of this closing");
    if (clause->draws_passed.of > 0) {
        used += (size_t)snprintf(line + used, sizeof line - used,
                                 "; at the worst place %d of %d drawn doors pass (95 %%: %.0f to %.0f %%)",
                                 clause->draws_passed.hits, clause->draws_passed.of, 100 * clause->draws_passed.low,
                                 100 * clause->draws_passed.high);
    }
    if (verdict->of_closing && verdict->required && clause->failed > 0) {
        snprintf(line + used, sizeof line - used, "; %d of %d closings looked at fail", clause->failed,
                 clause->failed + clause->passed);
    }
    fprintf(out, "    %-14s ", verdict->paragraph);
    print_word(verdict->result, 16, look, out);
    fputc(' ', out);
    up_move_print_hanging(line, 36, look, out);
}

static void print_reach(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_pinch_count *run = &rule->map.count[UP_PINCH_RUNNING];
    const up_pinch_count *rest = &rule->map.count[UP_PINCH_FROM_REST];
    char line[400];
    if (run->touched + rest->touched == 0) {
        up_move_print_wrapped("No closing came to the rod: nothing can be judged.", 4, look, out);
    }
    const double from = up_pinch_free_from(&rule->map, UP_PINCH_STARTS, rule->limit);
    const double low = rule->plan.range[UP_PINCH_MEASURE].low;
    if (isfinite(from) && from > low) {
        snprintf(line, sizeof line, "Above %.3g mm no closing of the map reaches %.4g N.", 1e3 * from, rule->limit);
        up_move_print_wrapped(line, 4, look, out);
    }
    snprintf(
        line, sizeof line,
        "%d closings came to the rod; %d never turned back from it; %d turned or stopped before they reached it, so "
        "they say nothing of the force. The worst found is a lower bound: other seeds and a finer search (--samples, "
        "--picture) find up to a third more.",
        run->touched + rest->touched, run->unseen + rest->unseen, run->missed + rest->missed);
    up_move_print_wrapped(line, 4, look, out);
    if (run->unreached + rest->unreached > 0) {
        fprintf(out, "    %d places lie higher than this window opens.\n", run->unreached + rest->unreached);
    }
    if (run->failed + rest->failed > 0) {
        fprintf(out, "    %d closings could not be calculated.\n", run->failed + rest->failed);
    }
}

/* Rods that the rule allows too, and what a controller does that gives up protecting. */
static void print_more(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    char line[400];
    size_t used = 0;
    if (rule->has_stiffer) {
        used = (size_t)snprintf(
            line, sizeof line, "The stiffness is a floor: at the worst place stiffer rods, which the rule allows, get");
        for (int i = 0; i < UP_PINCH_STIFFER && used < sizeof line; i++) {
            used += (size_t)snprintf(line + used, sizeof line - used, "%s %.0f N (%.3g times as stiff)", i ? "," : "",
                                     rule->stiffer[i], up_pinch_stiffer_factor[i]);
        }
        up_move_print_wrapped(line, 4, look, out);
    }
    if (isfinite(rule->unprotected)) {
        snprintf(
            line, sizeof line,
            "The controller gives up protecting after repeated reversals: the attempt after that squeezes with %.0f N "
            "there.",
            rule->unprotected);
        up_move_print_wrapped(line, 4, look, out);
    }
}

/* Where the rule lets it close on, and where the controller does so. */
static void print_exempt(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_plot_look *look,
                         FILE *out) {
    const up_verdict *exempt = &rule->verdict.exempt;
    const up_rule *text = rule->study.rule;
    const double zone = answer->sheet->known.values.zone_low;
    const double low = text->numbers[text->range_low].value;
    char line[400];
    snprintf(line, sizeof line, "Where it need not reverse: started from less than %.4g mm open, %s (%s %s). %s",
             1e3 * low, exempt->result == UP_VERDICT_NOT_APPLICABLE ? exempt->reason : up_verdict_word(exempt->result),
             exempt->paragraph, up_pinch_mark(exempt->source),
             zone < low ? "The controller's own end zone, where it does not reverse, is smaller."
             : zone > low
                 ? "The controller's own end zone, where it does not reverse, is larger than that: too large."
                 : "The controller's own end zone, where it does not reverse, begins at the same opening; what "
                   "it miscounts, and what a rod gives way, come off the safe side.");
    up_move_print_wrapped(line, 4, look, out);
}

void up_pinch_print_rule(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_plot_look *look,
                         FILE *out) {
    fputs("\n  ", out);
    up_plot_colour(UP_COLOUR_INK, look, out);
    fputs(rule->study.rule->citation, out);
    up_plot_plain(look, out);
    fputs(": ", out);
    print_word(rule->verdict.overall, 0, look, out);
    if (rule->verdict.overall == UP_VERDICT_UNKNOWN && rule->verdict.closing != UP_VERDICT_UNKNOWN) {
        fprintf(out, "; of what a closing shows: %s", up_verdict_word(rule->verdict.closing));
    }
    fputc('\n', out);
    print_rods(rule, look, out);
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        print_worst(rule, (up_pinch_start)start, look, out);
    }
    for (int i = 0; i < rule->verdict.count; i++) {
        if (rule->verdict.clause[i].cell >= 0) {
            print_clause(&rule->verdict.clause[i], look, out);
        }
    }
    print_more(rule, look, out);
    print_exempt(answer, rule, look, out);
    print_reach(rule, look, out);
}

/* ---- all of it ---- */

static size_t one_range(char *out, size_t size, const char *name, double low, double high, const char *unit) {
    const int used = high > low ? snprintf(out, size, "%s%.3g to %.3g%s", name, low, high, unit)
                                : snprintf(out, size, "%s%.3g%s", name, low, unit);
    return (size_t)used < size ? (size_t)used : size - 1;
}

char *up_pinch_range_words(const up_pinch_range *range, const char *degrees, char *out, size_t size) {
    size_t used = one_range(out, size, "", range[UP_PINCH_SUPPLY].low, range[UP_PINCH_SUPPLY].high, " V, ");
    used += one_range(out + used, size - used, "", range[UP_PINCH_TEMPERATURE].low - UP_ZERO_CELSIUS,
                      range[UP_PINCH_TEMPERATURE].high - UP_ZERO_CELSIUS, degrees);
    used += one_range(out + used, size - used, ", wear ", 100 * range[UP_PINCH_WEAR].low,
                      100 * range[UP_PINCH_WEAR].high, " % of a life, ");
    one_range(out + used, size - used, "", 100 * range[UP_PINCH_PLACE].low, 100 * range[UP_PINCH_PLACE].high,
              " % of the way along the header");
    return out;
}

static void print_head(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    const char *name = answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path;
    char line[256] = "Squeezing force over ";
    const size_t used = strlen(line);
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "%s\n", name);
    up_plot_plain(look, out);
    up_pinch_range_words(answer->rule[0].plan.range, " degC", line + used, sizeof line - used);
    up_move_print_wrapped(line, 0, look, out);
}

/* What an opening of 4 mm is for a rod square to the edges, and for a finger. */
static void print_gap(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    const up_values *door = &answer->sheet->known.values;
    const up_rule *text = answer->rule[0].study.rule;
    up_rule by_diameter = *text;
    up_rule by_height = *text;
    by_diameter.range_is_diameter = 1;
    by_height.range_is_diameter = 0;
    up_pinch_lie front;
    up_pinch_lie rear;
    up_pinch_lie upright;
    up_pinch_point point = {.measure = text->numbers[text->range_low].value};
    char line[640];
    up_pinch_lie_of(door, &by_diameter, &point, &front);
    up_pinch_lie_of(door, &by_height, &point, &upright);
    point.place = 1;
    up_pinch_lie_of(door, &by_diameter, &point, &rear);
    up_move_print_heading("The gap as it lies", look, out);
    snprintf(
        line, sizeof line,
        "A rod of %.4g mm square to the edges is met %.1f mm open at the front corner (slope %.0f deg) and %.1f mm "
        "open at the rear one (%.0f deg). The lip of the frame stands %.0f mm inside the glass: where the window is "
        "%.4g mm open, a finger finds a gap of %.0f mm. The literature gives 18 mm for an upright gap of 4 mm; nearly "
        "all children's fingers fit (Unfallchirurg 116 (2013) 531) [read].",
        1e3 * point.measure, 1e3 * front.height, front.slope * 180 / UP_PI, 1e3 * rear.height, rear.slope * 180 / UP_PI,
        1e3 * door->frame_lip, 1e3 * point.measure, 1e3 * upright.oblique);
    up_move_print_wrapped(line, 2, look, out);
}

static void print_advice(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    double force = 0;
    char line[512];
    for (int i = 0; i < answer->rules; i++) {
        const int cell = up_pinch_worst_cell(&answer->rule[i]);
        force = fmax(force, cell < 0 ? 0 : answer->rule[i].map.cell[cell].result.force);
    }
    const up_injury *injury = up_injury_advice(force);
    if (injury) {
        snprintf(line, sizeof line,
                 "Advice, no law: %.0f N is more than the %.0f N of %s (%s; %s) %s. The authors on children's fingers "
                 "want less than 100 N, and not over 50 N [read].",
                 force, injury->force, injury->effect, injury->people, injury->source, up_pinch_mark(injury->known));
        fputc('\n', out);
        up_move_print_wrapped(line, 2, look, out);
    }
}

void up_pinch_print(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    print_head(answer, look, out);
    up_move_print_heading("Verdicts, by the worst case found", look, out);
    for (int i = 0; i < answer->rules; i++) {
        up_pinch_print_rule(answer, &answer->rule[i], look, out);
    }
    up_move_print_wrapped(
        "[read]: the figure was read in a public page; [memory]: from memory, check the official text.", 2, look, out);
    print_advice(answer, look, out);
    for (int i = 0; i < answer->rules; i++) {
        up_pinch_print_table(&answer->rule[i], look, out);
    }
    for (int i = 0; i < answer->rules; i++) {
        up_pinch_print_story(&answer->rule[i], look, out);
        up_pinch_print_helps(&answer->rule[i], look, out);
    }
    print_gap(answer, look, out);
}

void up_pinch_print_end(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    fprintf(out, "\n%d closings, %d drawn doors behind each interval, %.2f s.\n", answer->closings,
            answer->request->draws, answer->seconds);
    up_move_print_wrapped(up_judge_statement(), 0, look, out);
    up_move_print_wrapped(
        "The physical test belongs to a laboratory. Never try a closing window with a hand or an arm: "
        "measure with a force gauge or a rod of known stiffness, and keep clear of the glass.",
        0, look, out);
}

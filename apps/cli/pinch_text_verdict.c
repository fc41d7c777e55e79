/* One rule's verdict: its rods, the worst closings, the paragraphs. */
#include <math.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "apps/cli/pinch_text.h"
#include "io/pinch_number.h"

enum { PARAGRAPH_INDENT = 36 };

static void print_word(up_verdict_result result, int width, const up_plot_look *look, FILE *out) {
    up_plot_colour(result == UP_VERDICT_PASSED   ? UP_COLOUR_FRICTION
                   : result == UP_VERDICT_FAILED ? UP_COLOUR_SQUEEZE
                                                 : UP_COLOUR_QUIET,
                   look, out);
    fprintf(out, "%-*s", width, up_verdict_word(result));
    up_plot_plain(look, out);
}

/* ---- rods ---- */

/* The thickest rod, in whole millimetres, that has the stiffness of the thinnest; m. */
static double same_rod_up_to(const up_rule *text, up_pinch_range range) {
    const up_rule_number *thin = NULL;
    const up_rule_number *number = NULL;
    double up_to = range.low;
    text->rod_stiffness(range.low, &thin);
    const int first = (int)ceil(1e3 * range.low);
    const int last = (int)floor(1e3 * range.high);
    for (int mm = first; mm <= last; mm++) {
        text->rod_stiffness(1e-3 * mm, &number);
        up_to = number == thin ? 1e-3 * mm : up_to;
    }
    return up_to;
}

static void print_rods(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_rule *text = rule->study.rule;
    const up_pinch_range range = rule->plan.range[UP_PINCH_MEASURE];
    const up_rule_number *low = &text->numbers[text->range_low];
    const up_rule_number *thin = NULL;
    const up_rule_number *thick = NULL;
    const char *least = text->stiffness_tolerance < 0 ? "at least " : "";
    char band[64];
    char line[512];
    const double thin_stiffness = text->rod_stiffness(range.low, &thin);
    const double thick_stiffness = text->rod_stiffness(range.high, &thick);
    size_t used =
        (size_t)snprintf(line, sizeof line, "%s %s mm (%s %s); test rod of %s%.4g N/mm",
                         text->range_is_diameter ? "Rods against the header, diameter" : "Height of the opening",
                         up_number_band(1e3 * range.low, 1e3 * range.high, " to ", band, sizeof band), low->paragraph,
                         up_pinch_mark(low->source), least, thin_stiffness / 1e3);
    if (thin != thick) {
        used += (size_t)snprintf(line + used, sizeof line - used, " up to %.4g mm, %s%.4g N/mm above",
                                 1e3 * same_rod_up_to(text, range), least, thick_stiffness / 1e3);
    }
    if (text->stiffness_tolerance >= 0) {
        used += (size_t)snprintf(line + used, sizeof line - used, ", plus and minus %.4g N/mm",
                                 text->numbers[text->stiffness_tolerance].value / 1e3);
    }
    const up_source source = thin->source == UP_SOURCE_READ ? thick->source : thin->source;
    snprintf(line + used, sizeof line - used, " (%s %s)", thin->paragraph, up_pinch_mark(source));
    up_move_print_wrapped(line, 4, look, out);
}

/* A demand on the test and nothing that a door passes: the rod that the worst closing met, as a fact. */
static void print_rod_used(const up_pinch_rule *rule, const up_pinch_clause *clause, const up_plot_look *look,
                           FILE *out) {
    const up_pinch_result *worst = &rule->map.cell[up_pinch_worst_cell(rule)].result;
    const up_rule *text = rule->study.rule;
    const up_rule_number *number = NULL;
    char line[256];
    const double asked = text->rod_stiffness(worst->lie.diameter, &number);
    size_t used = (size_t)snprintf(line, sizeof line, "test rod: diameter %.1f mm, %.3g N/mm; the rule asks for %s%.4g",
                                   1e3 * worst->lie.diameter, worst->point.stiffness / 1e3,
                                   text->stiffness_tolerance < 0 ? "at least " : "", asked / 1e3);
    if (text->stiffness_tolerance >= 0) {
        used += (size_t)snprintf(line + used, sizeof line - used, " plus and minus %.4g",
                                 text->numbers[text->stiffness_tolerance].value / 1e3);
    }
    snprintf(line + used, sizeof line - used, " N/mm %s", up_pinch_mark(clause->verdict.source));
    fprintf(out, "    %-14s %-16s ", clause->verdict.paragraph, "used");
    up_move_print_hanging(line, PARAGRAPH_INDENT, look, out);
}

/* ---- the worst closings ---- */

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
    fprintf(out, "%6s N", up_number_beside(force->nominal, rule->limit, 0, value, sizeof value));
    up_plot_plain(look, out);
    fprintf(out, "%s%s%s\n", interval[0] ? "  (drawn doors: " : "", interval, interval[0] ? ")" : "");
    up_move_print_wrapped(up_pinch_place_words(&rule->map.cell[cell].result, place, sizeof place), 8, look, out);
}

/* Why the figure may lie at the end of its interval or beyond. */
static void print_interval(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_plot_look *look,
                           FILE *out) {
    const up_pinch_spread *force = &rule->verdict.force[rule->worst];
    char line[512];
    if (up_pinch_worst_cell(rule) < 0 || !isfinite(force->low)) {
        return;
    }
    snprintf(
        line, sizeof line,
        "Drawn doors: the middle 95 %% of %d doors drawn from the sheet's tolerances, closed at that place, of those "
        "that met the rod (%d at the larger force). The place was sought with the sheet's own values, so %s",
        answer->request->draws, force->count,
        force->nominal > force->high ? "its force lies above theirs: most other doors have their worst elsewhere."
        : force->nominal < force->low
            ? "it is not theirs; still its force lies below: most doors that the tolerances allow squeeze harder "
              "there."
            : "its force lies high among theirs; other doors have their worst elsewhere.");
    up_move_print_wrapped(line, 4, look, out);
}

static size_t more_words(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_pinch_more *more, char *out,
                         size_t size) {
    char force[64];
    const up_fault_sum *broken = up_pinch_faults_of(&answer->faults, rule->study.rule);
    up_number_beside(more->force, rule->limit, 0, force, sizeof force);
    switch (more->kind) {
    case UP_PINCH_MORE_STIFFER:
        return (size_t)snprintf(out, size, "%s N with a rod %.3g times as stiff, which the rule allows", force,
                                more->factor);
    case UP_PINCH_MORE_DRAWN:
        return (size_t)snprintf(out, size, "%s N in the worst of the drawn doors", force);
    case UP_PINCH_MORE_UNPROTECTED:
        return (size_t)snprintf(out, size, "%s N in the attempt after the controller gave up protecting", force);
    case UP_PINCH_MORE_WHOLE:
        return (size_t)snprintf(out, size, "%s N when the same closing starts fully open", force);
    case UP_PINCH_MORE_FINE:
        return (size_t)snprintf(out, size, "%s N when the same closing is calculated more finely", force);
    case UP_PINCH_MORE_FAULT:
    default:
        return (size_t)snprintf(out, size, "%s N with something broken, on a rod of %.3g N/mm", force,
                                broken ? answer->faults.cases[broken->worst].rod_stiffness / 1e3 : UP_ABSENT);
    }
}

static void print_larger(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_plot_look *look,
                         FILE *out) {
    char line[800] = "Larger still, outside this map:";
    size_t used = strlen(line);
    int seen[UP_PINCH_MORE_FAULT + 1] = {0};
    int told = 0;
    char largest[64], force[64];
    up_number_beside(rule->verdict.force[rule->worst].nominal, rule->limit, 0, largest, sizeof largest);
    for (int i = 0; i < rule->more && used < sizeof line / 2; i++) {
        const up_pinch_more *more = &rule->larger[i];
        up_number_beside(more->force, rule->limit, 0, force, sizeof force);
        /* the largest of each kind, and none that reads like the one above */
        if (!seen[more->kind]++ && strcmp(force, largest) != 0) {
            used += (size_t)snprintf(line + used, sizeof line - used, "%s ", told++ ? ";" : "");
            used += more_words(answer, rule, more, line + used, sizeof line - used);
        }
    }
    if (told > 0) {
        snprintf(line + used, sizeof line - used, ".");
        up_move_print_wrapped(line, 4, look, out);
    }
}

/* ---- paragraphs ---- */

/* Figure and limit as words that differ where the numbers do. */
static void show_beside(double figure, double limit, const char *unit, char *out, size_t size, char *limit_out,
                        size_t limit_size) {
    up_move_show(figure, unit, 0, out, size);
    up_move_show(limit, unit, 0, limit_out, limit_size);
    char word[48];
    if (strcmp(unit, "N") == 0) {
        snprintf(out, size, "%s N", up_number_beside(figure, limit, 0, word, sizeof word));
    } else if (strcmp(unit, "m") == 0) {
        const int decimals = fabs(figure) < 0.1 ? 1 : 0;
        snprintf(out, size, "%s mm", up_number_beside(1e3 * figure, 1e3 * limit, decimals, word, sizeof word));
    }
}

/* "never turned back" and "not far enough" are two faults, and need two cures. */
static size_t failed_words(const up_pinch_clause *clause, char *out, size_t size) {
    const int all = clause->failed + clause->passed;
    if (clause->unturned + clause->too_short == 0) {
        return (size_t)snprintf(out, size, "; %d of %d closings looked at fail", clause->failed, all);
    }
    const char *commoner = " (the commoner)";
    size_t used = (size_t)snprintf(
        out, size, "; of %d closings looked at %d never turned back%s, %d turned back but not far enough%s", all,
        clause->unturned, clause->unturned > clause->too_short && clause->too_short > 0 ? commoner : "",
        clause->too_short, clause->too_short > clause->unturned && clause->unturned > 0 ? commoner : "");
    const up_verdict *nearest = &clause->short_verdict;
    if (clause->short_cell >= 0) {
        char figure[64];
        char limit[64];
        show_beside(nearest->figure, nearest->limit, nearest->unit, figure, sizeof figure, limit, sizeof limit);
        used += (size_t)snprintf(out + used, size - used, ", the worst of these %s against %s (%s)", figure, limit,
                                 nearest->paragraph);
    }
    return used;
}

static void print_clause(const up_pinch_rule *rule, const up_pinch_clause *clause, int draws, const up_plot_look *look,
                         FILE *out) {
    const up_verdict *verdict = &clause->verdict;
    const up_share *passed = &clause->draws_passed;
    char figure[64];
    char limit[64];
    char margin[64];
    char line[1024];
    if (up_pinch_is_about_rod(clause)) {
        print_rod_used(rule, clause, look, out);
        return;
    }
    size_t used = (size_t)snprintf(line, sizeof line, "%s: %s", verdict->title, verdict->reason);
    if (isfinite(verdict->figure) && isfinite(verdict->limit)) {
        show_beside(verdict->figure, verdict->limit, verdict->unit, figure, sizeof figure, limit, sizeof limit);
        up_move_show(verdict->margin, verdict->unit, fabs(verdict->margin), margin, sizeof margin);
        used += (size_t)snprintf(line + used, sizeof line - used, ", %s against %s, margin %s", figure, limit, margin);
    }
    used += (size_t)snprintf(line + used, sizeof line - used, " %s%s", up_pinch_mark(verdict->source),
                             verdict->required ? "" : "; not asked of this closing");
    if (passed->of > 0) {
        used += (size_t)snprintf(line + used, sizeof line - used, "; at that place %d of ", passed->hits);
        used +=
            passed->of < draws
                ? (size_t)snprintf(line + used, sizeof line - used,
                                   "the %d drawn doors (of %d) that met the rod there pass", passed->of, draws)
                : (size_t)snprintf(line + used, sizeof line - used, "%d drawn doors pass, all met the rod", passed->of);
        used += (size_t)snprintf(line + used, sizeof line - used, " (95 %%: %.0f to %.0f %%)", 100 * passed->low,
                                 100 * passed->high);
    }
    if (verdict->of_closing && verdict->required && clause->failed > 0) {
        failed_words(clause, line + used, sizeof line - used);
    }
    fprintf(out, "    %-14s ", verdict->paragraph);
    print_word(verdict->result, 16, look, out);
    fputc(' ', out);
    up_move_print_hanging(line, PARAGRAPH_INDENT, look, out);
}

/* ---- what the map looked at ---- */

static void print_unlooked(const up_pinch_count *run, const up_pinch_count *rest, FILE *out) {
    if (run->unreached + rest->unreached > 0) {
        fprintf(out, "    %d places lie higher than this window opens.\n", run->unreached + rest->unreached);
    }
    if (run->failed + rest->failed > 0) {
        fprintf(out, "    %d closings could not be calculated.\n", run->failed + rest->failed);
    }
}

static void print_reach(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    const up_pinch_count *run = &rule->map.count[UP_PINCH_RUNNING];
    const up_pinch_count *rest = &rule->map.count[UP_PINCH_FROM_REST];
    char line[400];
    if (run->touched + rest->touched == 0) {
        snprintf(line, sizeof line,
                 "No closing came to the rod, %d turned or stopped before they reached it: nothing can be judged.",
                 run->missed + rest->missed);
        up_move_print_wrapped(line, 4, look, out);
        return;
    }
    const double from = up_pinch_free_from(&rule->map, UP_PINCH_STARTS, rule->limit);
    const double low = rule->plan.range[UP_PINCH_MEASURE].low;
    if (isfinite(from) && from > low) {
        snprintf(line, sizeof line, "Above %.3g mm no closing of the map reaches %.4g N.", 1e3 * from, rule->limit);
        up_move_print_wrapped(line, 4, look, out);
    }
    snprintf(line, sizeof line,
             "%d closings came to the rod; %d turned or stopped before they reached it, so they say nothing of the "
             "force. The worst found is a lower bound: on the example doors other seeds and a finer search (--samples) "
             "found up to a tenth more.",
             run->touched + rest->touched, run->missed + rest->missed);
    up_move_print_wrapped(line, 4, look, out);
}

/* Rods that the rule allows too, and what a controller does that gives up protecting. */
static void print_more(const up_pinch_rule *rule, const up_plot_look *look, FILE *out) {
    char line[400];
    size_t used = 0;
    if (rule->has_stiffer) {
        used = (size_t)snprintf(
            line, sizeof line, "The stiffness is a floor: at the worst place stiffer rods, which the rule allows, get");
        for (int i = 0; i < UP_PINCH_STIFFER && used < sizeof line; i++) {
            char force[64];
            used += (size_t)snprintf(line + used, sizeof line - used, "%s %s N (%.3g times as stiff)", i ? "," : "",
                                     up_number_beside(rule->stiffer[i], rule->limit, 0, force, sizeof force),
                                     up_pinch_stiffer_factor[i]);
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
    print_larger(answer, rule, look, out);
    print_interval(answer, rule, look, out);
    for (int i = 0; i < rule->verdict.count; i++) {
        if (rule->verdict.clause[i].cell >= 0) {
            print_clause(rule, &rule->verdict.clause[i], answer->request->draws, look, out);
        }
    }
    print_more(rule, look, out);
    print_exempt(answer, rule, look, out);
    print_reach(rule, look, out);
    print_unlooked(&rule->map.count[UP_PINCH_RUNNING], &rule->map.count[UP_PINCH_FROM_REST], out);
}

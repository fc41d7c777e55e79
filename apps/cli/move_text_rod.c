/* What the test rod felt, and what the rules say of it. */
#include <math.h>
#include <string.h>

#include "analysis/injury.h"
#include "apps/cli/move_text.h"

enum { ADVICE_MAX = 4 }; /* the highest reached; the lower ones go without saying */

static const char *short_mark(up_source source) {
    return source == UP_SOURCE_READ ? "[read]" : "[memory]";
}

static up_colour verdict_colour(up_verdict_result result) {
    return result == UP_VERDICT_PASSED   ? UP_COLOUR_FRICTION
           : result == UP_VERDICT_FAILED ? UP_COLOUR_SQUEEZE
                                         : UP_COLOUR_QUIET;
}

static void print_word(up_verdict_result result, int width, const up_plot_look *look, FILE *out) {
    up_plot_colour(verdict_colour(result), look, out);
    fprintf(out, "%-*s", width, up_verdict_word(result));
    up_plot_plain(look, out);
}

/* The rule's clause on the force itself; every rule has one. */
static const up_verdict *force_verdict(const up_judgement *judgement) {
    for (int i = 0; i < judgement->count; i++) {
        if (strcmp(judgement->verdict[i].title, "squeezing force") == 0) {
            return &judgement->verdict[i];
        }
    }
    return NULL;
}

static int is_decided(const up_verdict *verdict) {
    return verdict != NULL && (verdict->result == UP_VERDICT_PASSED || verdict->result == UP_VERDICT_FAILED);
}

/* What the rule says of this closing: the points it asks for and that a closing can decide. A rod where the rule limits no
 * force passes nothing, however the other points stand. */
static up_verdict_result closing_result(const up_judgement *judgement) {
    int decided = is_decided(force_verdict(judgement));
    for (int i = 0; i < judgement->count; i++) {
        const up_verdict *verdict = &judgement->verdict[i];
        if (verdict->required && verdict->result == UP_VERDICT_FAILED) {
            return UP_VERDICT_FAILED;
        }
    }
    return decided ? UP_VERDICT_PASSED : UP_VERDICT_UNKNOWN;
}

static void print_verdict(const up_move_rule *rule, int i, const up_plot_look *look, FILE *out) {
    const up_verdict *verdict = &rule->spread.nominal_judgement.verdict[i];
    const up_share *passed = &rule->spread.passed[i];
    const up_spread_figure *force = &rule->spread.figure[UP_HEADLINE_peak_rod_force];
    char figure[64];
    char limit[64];
    char line[512];
    size_t used = (size_t)snprintf(line, sizeof line, "%s", verdict->reason);
    if (isfinite(verdict->figure) && isfinite(verdict->limit)) {
        double width = strcmp(verdict->unit, "N") == 0 ? force->high - force->low : 0;
        used += (size_t)snprintf(line + used, sizeof line - used, ", %s against %s",
                                 up_move_show(verdict->figure, verdict->unit, width, figure, sizeof figure),
                                 up_move_show(verdict->limit, verdict->unit, 0, limit, sizeof limit));
    }
    used += (size_t)snprintf(line + used, sizeof line - used, " %s%s", short_mark(verdict->source),
                             verdict->required ? "" : "; not asked of this closing");
    if (passed->of > 0) {
        snprintf(line + used, sizeof line - used, "; %d of %d doors pass (%.0f to %.0f %%)", passed->hits, passed->of,
                 100 * passed->low, 100 * passed->high);
    }
    fprintf(out, "    %-14s ", verdict->paragraph);
    print_word(verdict->result, 7, look, out);
    fputc(' ', out);
    up_move_print_hanging(line, 27, look, out);
}

/* One quantity with its interval: "largest squeezing force   98.3 N   90.1 to 107.0". */
static void print_range(const char *name, const up_spread_figure *figure, const char *unit, FILE *out) {
    char value[64];
    char interval[64];
    up_move_show_interval(figure->low, figure->high, unit, interval, sizeof interval);
    fprintf(out, "    %-24s %10s   %s%s\n", name,
            up_move_show(figure->nominal, unit, figure->high - figure->low, value, sizeof value),
            interval[0] ? "95 %: " : "", interval);
}

/* Points that were not decided because they ask for facts that a closing does not give. */
static void print_open_points(const up_judgement *judgement, const up_plot_look *look, FILE *out) {
    char line[256] = "Not judged, they ask about more than this closing:";
    size_t used = strlen(line);
    size_t empty = used;
    for (int i = 0; i < judgement->count && used < sizeof line; i++) {
        const up_verdict *verdict = &judgement->verdict[i];
        if (verdict->result == UP_VERDICT_UNKNOWN && verdict->required) {
            used += (size_t)snprintf(line + used, sizeof line - used, "%s %s", used == empty ? "" : ",",
                                     verdict->paragraph);
        }
    }
    if (used > empty) {
        up_move_print_wrapped(line, 4, look, out);
    }
}

/* A rule's first clause says when it asks for a reversing device at all; a closing that is watched may be let off. */
static void print_why_it_binds(const up_judgement *judgement, const up_plot_look *look, FILE *out) {
    const up_verdict *first = &judgement->verdict[0];
    if (judgement->count > 0 && first->result == UP_VERDICT_NOT_APPLICABLE) {
        fprintf(out, "    %-14s binds   ", first->paragraph);
        up_move_print_hanging(first->reason, 27, look, out);
    }
}

static void print_why_no_force(const up_judgement *judgement, const up_plot_look *look, FILE *out) {
    const up_verdict *force = force_verdict(judgement);
    if (force != NULL && !is_decided(force)) {
        fprintf(out, "    %-14s open    ", force->paragraph);
        up_move_print_hanging(force->reason, 27, look, out);
    }
}

static void print_rule(const up_move_answer *answer, const up_move_rule *rule, const up_plot_look *look, FILE *out) {
    const up_judgement *judgement = &rule->spread.nominal_judgement;
    char value[64];
    fprintf(out, "  %s, this closing: ", rule->rule->citation);
    print_word(closing_result(judgement), 0, look, out);
    fprintf(out, "\n    %-24s %10s   ", "stiffness of the rod",
            up_move_show(rule->stiffness, "N/m", 0, value, sizeof value));
    fprintf(out, answer->move->rod_stiffness_given ? "as given; the rule's own is in %s %s\n" : "as in %s %s\n",
            rule->number->paragraph, short_mark(rule->number->source));
    print_range("largest squeezing force", &rule->spread.figure[UP_HEADLINE_peak_rod_force], "N", out);
    print_range("distance backed off", &rule->spread.figure[UP_HEADLINE_reversed_distance], "m", out);
    print_why_it_binds(judgement, look, out);
    print_why_no_force(judgement, look, out);
    for (int i = 0; i < judgement->count; i++) {
        const up_verdict *verdict = &judgement->verdict[i];
        if (verdict->result == UP_VERDICT_FAILED || (verdict->result == UP_VERDICT_PASSED && verdict->required)) {
            print_verdict(rule, i, look, out);
        }
    }
    print_open_points(judgement, look, out);
}

/* Of the largest force among the rods; a force can pass the law and still be more than a finger bears. */
static void print_advice(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    char line[512];
    double force = 0;
    for (int i = 0; i < answer->rules; i++) {
        force = fmax(force, answer->rule[i].spread.figure[UP_HEADLINE_peak_rod_force].nominal);
    }
    int reached = up_injury_reached(force);
    if (reached == 0) {
        return;
    }
    snprintf(line, sizeof line,
             "Advice, no law: a force of %.0f N reaches what the literature on injuries reports:", force);
    up_move_print_wrapped(line, 2, look, out);
    for (int i = reached > ADVICE_MAX ? reached - ADVICE_MAX : 0; i < reached; i++) {
        const up_injury *injury = up_injury_at(i);
        snprintf(line, sizeof line, "%.1f N: %s (%s). %s %s", injury->force, injury->effect, injury->people,
                 injury->source, short_mark(injury->known));
        up_move_print_wrapped(line, 4, look, out);
    }
}

void up_move_print_rod(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    char heading[128];
    if (!answer->run.rod) {
        return;
    }
    snprintf(heading, sizeof heading, "On a test rod of %.4g mm, %.4g mm below the top",
             1e3 * answer->move->rod_diameter, 1e3 * answer->run.rod_opening);
    up_move_print_heading(heading, look, out);
    for (int i = 0; i < answer->rules; i++) {
        print_rule(answer, &answer->rule[i], look, out);
    }
    up_move_print_wrapped(
        "[read]: the figure was read in a public page; [memory]: from memory, check the official text.", 2, look, out);
    print_advice(answer, look, out);
    if (!answer->move->rod_stiffness_given && answer->rules > 1) {
        snprintf(heading, sizeof heading, "All that follows is the closing on the %s rod, %.4g N/mm.",
                 answer->rule[0].rule->name, answer->rule[0].stiffness / 1e3);
        up_move_print_wrapped(heading, 2, look, out);
    }
}

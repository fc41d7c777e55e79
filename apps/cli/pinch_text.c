#include "apps/cli/pinch_text.h"

#include <math.h>
#include <string.h>

#include "analysis/injury.h"
#include "apps/cli/move_text.h"
#include "core/base/up_math.h"
#include "io/pinch_number.h"

const char *up_pinch_mark(up_source source) {
    return source == UP_SOURCE_READ ? "[read]" : "[memory]";
}

char *up_pinch_place_words(const up_pinch_result *result, char *out, size_t size) {
    const up_pinch_point *point = &result->point;
    const double below = result->start_opening - result->lie.height;
    const char *running = up_pinch_start_of(point) == UP_PINCH_RUNNING ? ", running freely" : "";
    char start[64] = "";
    if (below > 0) {
        snprintf(start, sizeof start, ", started %.*f mm below it%s", running[0] ? 0 : 1, 1e3 * below, running);
    }
    snprintf(out, size,
             "rod of %.1f mm diameter met %.1f mm open, %.0f %% of the way along the header from the front, %.3g N/mm, "
             "%.1f V, %.0f degC, wear %.0f %%%s",
             1e3 * result->lie.diameter, 1e3 * result->lie.height, 100 * point->place, point->stiffness / 1e3,
             point->supply, point->temperature - UP_ZERO_CELSIUS, 100 * point->wear, start);
    return out;
}

/* ---- all of it ---- */

static size_t one_range(char *out, size_t size, const char *name, double low, double high, const char *unit) {
    char band[64];
    const int used = snprintf(out, size, "%s%s%s", name, up_number_band(low, high, " to ", band, sizeof band), unit);
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

static size_t fault_words(const up_pinch_faults *faults, int rule, char *out, size_t size) {
    const up_fault_sum *sum = &faults->rule[rule];
    const up_fault_case *row = &faults->cases[sum->worst];
    char force[64];
    char sound[96] = "";
    if (sum->worst_sound >= 0) {
        char word[64];
        up_number_beside(faults->results[sum->worst_sound].outcome.peak_rod_force, UP_FAULT_FORCE_LIMIT, 0, word,
                         sizeof word);
        snprintf(sound, sizeof sound, " (%s N with nothing broken)", word);
    }
    up_number_beside(faults->results[sum->worst].outcome.peak_rod_force, UP_FAULT_FORCE_LIMIT, 0, force, sizeof force);
    return (size_t)snprintf(out, size, "up to %s N (%s) with \"%s\", on a rod of %.3g N/mm met %.4g mm open%s; ", force,
                            faults->request.rule[rule]->name, up_fault_text(row->fault), row->rod_stiffness / 1e3,
                            1e3 * row->rod_opening, sound);
}

/* The largest forces of --faults stand beside the verdicts, their closings further down. */
static void print_faults_here(const up_pinch_answer *answer, const up_plot_look *look, FILE *out) {
    const up_pinch_faults *faults = &answer->faults;
    char line[1000] = "With something broken (table below): ";
    size_t used = strlen(line);
    if (!answer->has_faults || faults->all.worst < 0) {
        return;
    }
    for (int i = 0; i < faults->request.rules && used < sizeof line - 500; i++) {
        used += faults->rule[i].worst < 0 ? 0 : fault_words(faults, i, line + used, sizeof line - used);
    }
    snprintf(line + used, sizeof line - used,
             "%d of %d such closings squeeze with %.4g N or more, in %d the glass keeps pressing.",
             faults->all.over_limit, faults->count, UP_FAULT_FORCE_LIMIT, faults->all.verdict[UP_FAULT_KEEPS_PRESSING]);
    fputc('\n', out);
    up_move_print_wrapped(line, 2, look, out);
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
    print_faults_here(answer, look, out);
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
        "The test that a rule asks for belongs to a laboratory. Keep clear of the closing glass, hands and arms above "
        "all.",
        0, look, out);
}

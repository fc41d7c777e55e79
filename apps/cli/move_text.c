#include "apps/cli/move_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/up_math.h"
#include "io/entry_texts.h"
#include "io/trace_events.h"

enum { EVENTS_MAX = 40 };

/* ---- what was asked, and how it ended, in a line each ---- */

static const char *how_driven(const up_move *move) {
    if (move->run.leads_open) {
        return "motor leads open";
    }
    if (move->run.leads_direct) {
        return move->raising ? "raising, battery straight on the leads" : "lowering, battery straight on the leads";
    }
    if (move->one_touch) {
        return move->raising ? "one-touch raising" : "one-touch lowering";
    }
    return move->raising ? "raising, switch held" : "lowering, switch held";
}

static double supply_voltage(const up_move_answer *answer) {
    return up_is_absent(answer->run.open_voltage) ? answer->door.open_voltage : answer->run.open_voltage;
}

char *up_move_title(const up_move_answer *answer, char *out, size_t size) {
    const char *name = answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path;
    double celsius = answer->run.temperature - UP_ZERO_CELSIUS;
    snprintf(out, size, "%s: %s, %.4g V, %s%.3g \u00b0C", name, how_driven(answer->move), supply_voltage(answer),
             celsius < -0.05 ? "\u2212" : "", fabs(celsius) < 0.05 ? 0.0 : fabs(celsius));
    return out;
}

/* Of a glass that nothing drives: how far it gave. */
static char *holding_outcome(const up_move_answer *answer, char *out, size_t size) {
    double moved = 1e3 * (answer->outcome.final_travel - answer->outcome.start_travel);
    snprintf(out, size, "%s: the glass gave %.1f mm %s under a push of %.4g N", up_end_text(answer->outcome.end),
             fabs(moved), moved < 0 ? "downwards" : "upwards", answer->run.push_force);
    return out;
}

char *up_move_outcome(const up_move_answer *answer, char *out, size_t size) {
    const up_outcome *outcome = &answer->outcome;
    double final_opening = 1e3 * (answer->door.travel - outcome->final_travel);
    char rests[64];
    if (answer->run.leads_open) {
        return holding_outcome(answer, out, size);
    }
    snprintf(rests, sizeof rests, final_opening < -0.05 ? "%.1f mm into its stop" : "%.1f mm open",
             fabs(final_opening));
    char turned[128] = "";
    if (outcome->reversals > 0 && isfinite(outcome->reversal_travel)) {
        snprintf(turned, sizeof turned, "turned round %.1f mm open %s; ",
                 1e3 * (answer->door.travel - outcome->reversal_travel),
                 !answer->run.rod || answer->has_cause ? "with nothing in the way" : "on the test rod");
    }
    snprintf(out, size, "%s, %.2f s: %s%s %s", up_end_text(outcome->end), outcome->time, turned,
             outcome->end == UP_END_RUNNING ? "then" : "rests", rests);
    return out;
}

double up_move_force_limit(const up_move_answer *answer, char *words, size_t size) {
    double limit = NAN;
    words[0] = '\0';
    for (int i = 0; i < answer->rules; i++) {
        const up_judgement *judgement = &answer->rule[i].spread.nominal_judgement;
        for (int j = 0; j < judgement->count; j++) {
            const up_verdict *verdict = &judgement->verdict[j];
            if (strcmp(verdict->unit, "N") == 0 && isfinite(verdict->limit)) {
                limit = fmin(isnan(limit) ? HUGE_VAL : limit, verdict->limit);
            }
        }
    }
    if (isfinite(limit)) {
        snprintf(words, size, "limit %.4g N", limit);
    }
    return limit;
}

/* The title without the letters that a plain locale cannot print. */
static void print_title(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    char line[256];
    const char *name = answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path;
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "%s\n", name);
    up_plot_plain(look, out);
    fprintf(out, "%s from %.4g mm open; battery %.4g V, %.3g degC%s\n", how_driven(answer->move),
            1e3 * (answer->door.travel - answer->run.start_travel), supply_voltage(answer),
            answer->run.temperature - UP_ZERO_CELSIUS,
            answer->run.position_lost ? "; the controller has lost its position" : "");
    fputc('\n', out);
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "%s\n", up_move_outcome(answer, line, sizeof line));
    up_plot_plain(look, out);
}

/* ---- answers with their intervals ---- */

static int worth_telling(const up_move_answer *answer, up_headline headline) {
    const up_spread_figure *figure = &answer->spread.figure[headline];
    if (answer->run.leads_open) {
        return headline == UP_HEADLINE_final_opening || (headline == UP_HEADLINE_peak_stop_force && figure->high > 0);
    }
    switch (headline) {
    case UP_HEADLINE_peak_rod_force:
        return 0; /* told with the rules, each with its own rod */
    case UP_HEADLINE_detection_delay:
        return answer->run.rod && figure->count > 0;
    case UP_HEADLINE_reversal_opening:
        return figure->count > 0;
    case UP_HEADLINE_reversed_distance:
        return figure->count > 0 && (figure->nominal > 0 || figure->high > 0);
    case UP_HEADLINE_peak_stop_force:
        return figure->nominal > 0 || figure->high > 0;
    case UP_HEADLINE_peak_detector_excess:
        return answer->outcome.reversals > 0; /* of a closing it is only the push into the stop */
    case UP_HEADLINE_moving_time:
        return 0;
    default:
        return figure->count > 0 || isfinite(figure->nominal);
    }
}

static void print_shares(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    const up_spread_result *spread = &answer->spread;
    char line[512];
    size_t used = (size_t)snprintf(line, sizeof line, "Of %d doors that this sheet's tolerances allow:", spread->draws);
    for (int i = 0; i < UP_END_COUNT && used < sizeof line; i++) {
        if (spread->end[i].hits > 0) {
            used += (size_t)snprintf(line + used, sizeof line - used, " %d %s (%.0f to %.0f %%);", spread->end[i].hits,
                                     up_end_text((up_end)i), 100 * spread->end[i].low, 100 * spread->end[i].high);
        }
    }
    if (used < sizeof line && line[used - 1] == ';') {
        line[used - 1] = '.';
    }
    up_move_print_wrapped(line, 2, look, out);
    if (spread->failed > 0) {
        fprintf(out, "  %d more could not be run: %s.\n", spread->failed, up_status_text(spread->first_failure));
    }
}

void up_move_print_answers(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    char value[64];
    char interval[64];
    up_move_print_heading("Answers, with the range that holds 95 % of the doors this sheet allows", look, out);
    for (int i = 0; i < UP_HEADLINE_COUNT; i++) {
        const up_spread_figure *figure = &answer->spread.figure[i];
        const char *unit = up_headline_unit((up_headline)i);
        if (!worth_telling(answer, (up_headline)i)) {
            continue;
        }
        double width = isfinite(figure->high - figure->low) ? figure->high - figure->low : 0;
        up_move_show_interval(figure->low, figure->high, unit, interval, sizeof interval);
        fprintf(out, "  %-52s %12s   %s", up_headline_text((up_headline)i),
                up_move_show(figure->nominal, unit, width, value, sizeof value), interval);
        if (figure->count < answer->spread.draws) {
            fprintf(out, " (%d of %d)", figure->count, answer->spread.draws);
        }
        fputc('\n', out);
    }
    print_shares(answer, look, out);
}

/* ---- events ---- */

static void print_events(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    size_t index[EVENTS_MAX];
    size_t count = up_trace_highlights(&answer->trace, index, EVENTS_MAX);
    up_move_print_heading("What happened", look, out);
    fputs("        ms   mm open        A   N on rod\n", out);
    for (size_t i = 0; i < count; i++) {
        const up_event *event = &answer->trace.event[index[i]];
        double opening = 1e3 * (answer->door.travel - event->travel);
        char force[32] = "";
        if (answer->run.rod) {
            snprintf(force, sizeof force, "%.1f", event->force);
        }
        fprintf(out, "  %8.1f  %8.1f  %7.1f  %9s  %s\n", 1e3 * event->time, fabs(opening) < 0.05 ? 0.0 : opening,
                fabs(event->current) < 0.05 ? 0.0 : event->current, force, up_event_text(event->kind));
    }
}

static void print_end(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    fputc('\n', out);
    up_move_print_wrapped(up_judge_statement(), 0, look, out);
    if (answer->move->raising && !answer->run.leads_open) {
        up_move_print_wrapped(
            "Never try a closing window with a hand or an arm: measure with a force gauge or a rod of "
            "known stiffness, and keep clear of the glass. Springs in the door are under tension.",
            0, look, out);
    }
    if (answer->run.leads_direct) {
        up_move_print_wrapped("On the bare leads nothing stops the motor and nothing reverses it: fuse the lead, keep "
                              "hands out of the door, let go at once when the glass is home.",
                              0, look, out);
    }
}

void up_move_print(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    print_title(answer, look, out);
    up_move_print_cause(answer, look, out);
    up_move_print_rod(answer, look, out);
    up_move_print_answers(answer, look, out);
    up_move_print_plots(answer, look, out);
    print_events(answer, look, out);
    up_move_print_energy(answer, look, out);
    print_end(answer, look, out);
}

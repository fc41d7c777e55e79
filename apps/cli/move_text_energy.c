/* Where the energy went, and the small plots over time. */
#include <math.h>
#include <stdlib.h>

#include "apps/cli/move_text.h"

enum { BAR = 24 };

static up_colour account_colour(int account) {
    switch (account) {
    case UP_LEDGER_supply_heat:
    case UP_LEDGER_winding_heat:
    case UP_LEDGER_brush_heat:
    case UP_LEDGER_switching:
    case UP_LEDGER_magnetic:
        return UP_COLOUR_ELECTRIC;
    case UP_LEDGER_kinetic:
    case UP_LEDGER_potential:
    case UP_LEDGER_spring_regulator:
    case UP_LEDGER_spring_balance:
    case UP_LEDGER_spring_damper:
        return UP_COLOUR_GLASS;
    case UP_LEDGER_spring_stops:
    case UP_LEDGER_stop_heat:
        return UP_COLOUR_HEADER;
    case UP_LEDGER_spring_rod:
    case UP_LEDGER_pushed:
    case UP_LEDGER_shaken:
        return UP_COLOUR_SQUEEZE;
    default:
        return UP_COLOUR_FRICTION;
    }
}

/* Accounts by size, largest first; the few of them are sorted by insertion. */
static int sorted_accounts(const double *ledger, int *order) {
    int count = 0;
    for (int i = 0; i < UP_LEDGER_COUNT; i++) {
        if (i == UP_LEDGER_drawn) {
            continue;
        }
        int place = count++;
        for (; place > 0 && fabs(ledger[order[place - 1]]) < fabs(ledger[i]); place--) {
            order[place] = order[place - 1];
        }
        order[place] = i;
    }
    return count;
}

void up_move_print_energy(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    const double *ledger = answer->outcome.ledger;
    double drawn = ledger[UP_LEDGER_drawn];
    int order[UP_LEDGER_COUNT];
    int count = sorted_accounts(ledger, order);
    double whole = fmax(fabs(drawn), fabs(ledger[order[0]]));
    up_move_print_heading("Where the energy went", look, out);
    fprintf(out, "  %9.2f J  taken from the battery\n", drawn);
    double rest = 0;
    for (int i = 0; i < count; i++) {
        double joules = ledger[order[i]];
        double share = whole > 0 ? joules / whole : 0;
        if (fabs(share) < 0.002) {
            rest += joules;
            continue;
        }
        fprintf(out, "  %9.2f J  %5.1f %%  ", joules, 100 * share);
        up_plot_bar(fabs(share), BAR, account_colour(order[i]), look, out);
        fprintf(out, " %s\n", up_ledger_text((up_ledger_account)order[i]));
    }
    if (fabs(rest) >= 0.005) {
        fprintf(out, "  %9.2f J  %5.1f %%  %*s the smaller accounts together\n", rest, 100 * rest / whole, BAR, "");
    }
    fprintf(out, "  The books close to %.2g J", fabs(answer->outcome.ledger_gap));
    if (drawn > 0) {
        fprintf(out, ", %.1g %% of what was drawn", 100 * fabs(answer->outcome.ledger_gap) / drawn);
    }
    fputs(".\n", out);
}

/* ---- plots over time ---- */

typedef double shown_value(const up_move_answer *answer, const up_sample *sample);

static double opening_of(const up_move_answer *answer, const up_sample *sample) {
    return 1e3 * (answer->door.travel - sample->travel);
}

static double current_of(const up_move_answer *answer, const up_sample *sample) {
    (void)answer;
    return sample->current;
}

static double rod_force_of(const up_move_answer *answer, const up_sample *sample) {
    (void)answer;
    return sample->rod_force;
}

static void plot_over_time(const up_move_answer *answer, shown_value *value, up_plot plot, double *numbers,
                           const up_plot_look *look, FILE *out) {
    const up_trace *trace = &answer->trace;
    double low = plot.up_low;
    double high = plot.up_high;
    for (size_t i = 0; i < trace->samples; i++) {
        numbers[i] = trace->sample[i].time;
        numbers[trace->samples + i] = value(answer, &trace->sample[i]);
        low = fmin(low, numbers[trace->samples + i]);
        high = fmax(high, numbers[trace->samples + i]);
    }
    plot.across = numbers;
    plot.count = trace->samples;
    plot.curves = 1;
    plot.curve[0].up = numbers + trace->samples;
    plot.across_low = trace->sample[0].time;
    plot.across_high = trace->sample[trace->samples - 1].time;
    plot.up_low = low;
    plot.up_high = high;
    up_plot_print(&plot, look, out);
}

void up_move_print_plots(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    size_t count = answer->trace.samples;
    double *numbers = count > 1 ? malloc(2 * count * sizeof *numbers) : NULL;
    if (!numbers) {
        return;
    }
    up_move_print_heading("Over time", look, out);
    plot_over_time(answer, opening_of,
                   (up_plot){.heading = "  opening, mm (closed is up)",
                             .curve = {{.colour = UP_COLOUR_GLASS}},
                             .rows = 5,
                             .turned = 1,
                             .up_high = 1},
                   numbers, look, out);
    plot_over_time(answer, current_of,
                   (up_plot){.heading = "  motor current, A",
                             .curve = {{.colour = UP_COLOUR_ELECTRIC}},
                             .rows = 4,
                             .up_high = 1,
                             .across_name = answer->run.rod ? NULL : "s"},
                   numbers, look, out);
    if (answer->run.rod) {
        plot_over_time(answer, rod_force_of,
                       (up_plot){.heading = "  force on the rod, N",
                                 .curve = {{.colour = UP_COLOUR_SQUEEZE}},
                                 .rows = 4,
                                 .up_high = 10,
                                 .across_name = "s"},
                       numbers, look, out);
    }
    free(numbers);
}

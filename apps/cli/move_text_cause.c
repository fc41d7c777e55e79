/* Why the glass turned round with nothing in the way. */
#include <math.h>
#include <stdlib.h>

#include "apps/cli/move_text.h"
#include "io/trace_events.h"

static void print_what_rose(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    const up_way_loads *before = &answer->cause.before;
    const up_way_loads *at = &answer->cause.at;
    char line[512];
    snprintf(
        line, sizeof line,
        "The detector decided %.1f mm open: it reckoned with %.0f N of extra force against its threshold of %.0f N. "
        "It compares with what it learned about %.0f mm earlier.",
        1e3 * at->opening, at->excess, at->threshold, 1e3 * (before->opening - at->opening));
    up_move_print_wrapped(line, 2, look, out);
    switch (answer->cause.risen) {
    case UP_RISEN_FRICTION:
        snprintf(line, sizeof line, "What rose is the friction on the glass, from %.0f to %.0f N", before->friction,
                 at->friction);
        break;
    case UP_RISEN_HEADER:
        snprintf(line, sizeof line, "What rose is the force of the header seal, from %.0f to %.0f N", before->header,
                 at->header);
        break;
    case UP_RISEN_SUPPLY:
        snprintf(line, sizeof line, "The loads hardly changed; the supply did, from %.1f to %.1f V", before->battery,
                 at->battery);
        break;
    default:
        snprintf(line, sizeof line, "Neither load nor supply changed much; look at encoder and detector settings");
        break;
    }
    size_t used = 0;
    while (line[used]) {
        used++;
    }
    snprintf(line + used, sizeof line - used, " (friction %+.0f N, header seal %+.0f N, battery %+.1f V).",
             at->friction - before->friction, at->header - before->header, at->battery - before->battery);
    up_move_print_wrapped(line, 2, look, out);
}

static void print_cure(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    const up_changed_run *held_back = &answer->cause.changed[UP_CHANGE_THRESHOLD];
    char line[320];
    if (!held_back->tried || !held_back->closes) {
        return;
    }
    int load = answer->cause.risen == UP_RISEN_FRICTION || answer->cause.risen == UP_RISEN_HEADER;
    snprintf(
        line, sizeof line,
        "Only a threshold above some %.0f N would let this pass; every newton more is a newton more on a finger.%s",
        ceil(fmax(held_back->peak_excess, answer->cause.at.excess)),
        load ? " Lower the load instead: clean, align, and treat the channel with dry silicone." : "");
    up_move_print_wrapped(line, 2, look, out);
}

static void print_changes(const up_move_answer *answer, FILE *out) {
    fputs("  The same closing once more, one thing changed:\n", out);
    for (int i = 0; i < UP_CHANGE_COUNT; i++) {
        const up_changed_run *changed = &answer->cause.changed[i];
        if (changed->tried) {
            fprintf(out, "    %-50s %-18s largest extra force %5.0f N, %.0f mm open\n", up_change_text((up_change)i),
                    changed->closes ? "closes" : "does not close", changed->peak_excess, 1e3 * changed->peak_opening);
        }
    }
}

/* The sample of the way up at an opening; NULL: not passed. */
static const up_sample *at_opening(const up_trace *trace, double closed_travel, double opening) {
    for (size_t i = 0; i < trace->samples; i++) {
        if (trace->sample[i].travel >= closed_travel - opening) {
            return &trace->sample[i];
        }
    }
    return NULL;
}

static void print_loads(const up_move_answer *answer, const up_trace *trace, FILE *out) {
    double here = answer->cause.at.opening;
    double step = here > 60e-3 ? 10e-3 : 5e-3;
    double first = step * ceil((here + 6 * step) / step);
    double closed_travel = answer->door.travel;
    fputs("  Loads on the way up, the detector held back:\n"
          "     mm open   friction N   header N   extra force N   threshold N\n",
          out);
    for (double opening = first; opening > here - 4 * step && opening > -1e-9; opening -= step) {
        const up_sample *sample = at_opening(trace, closed_travel, opening);
        if (!sample || opening > answer->door.travel) {
            continue;
        }
        int over = sample->detector_excess > answer->cause.at.threshold;
        fprintf(out, "    %8.0f   %10.0f   %8.0f   %13.0f   %11.0f%s\n", fabs(1e3 * opening),
                fabs(sample->friction_force), sample->header_force, sample->detector_excess, answer->cause.at.threshold,
                over ? "  over" : "");
    }
}

/* Extra force over the opening, with the threshold across. */
static void plot_excess(const up_move_answer *answer, const up_trace *trace, const up_plot_look *look, FILE *out) {
    size_t count = trace->samples;
    double *numbers = malloc(3 * count * sizeof *numbers);
    if (!numbers) {
        return;
    }
    double highest = 1.2 * answer->cause.at.threshold;
    double from = fmax(0, 1e3 * answer->cause.at.opening - 20);
    for (size_t i = 0; i < count; i++) {
        double opening = 1e3 * (answer->door.travel - trace->sample[i].travel);
        numbers[i] = opening;
        numbers[count + i] = trace->sample[i].detector_excess;
        numbers[2 * count + i] = answer->cause.at.threshold;
        if (opening >= from && opening <= from + 100) {
            highest = fmax(highest, fmin(trace->sample[i].detector_excess, 4 * answer->cause.at.threshold));
        }
    }
    const up_plot plot = {
        .heading = "  extra force as the detector reckons, N; its threshold across",
        .across = numbers,
        .count = count,
        .curves = 2,
        .curve = {{numbers + count, UP_COLOUR_DETECTOR, 0}, {numbers + 2 * count, UP_COLOUR_DETECTOR, 1}},
        .across_low = from,
        .across_high = from + 100,
        .up_low = 0,
        .up_high = highest,
        .rows = 6,
        .flipped = 1,
        .across_name = "mm open"};
    up_plot_print(&plot, look, out);
    free(numbers);
}

void up_move_print_cause(const up_move_answer *answer, const up_plot_look *look, FILE *out) {
    if (!answer->has_cause) {
        return;
    }
    up_move_print_heading("Why it turned round with nothing in the way", look, out);
    print_what_rose(answer, look, out);
    print_changes(answer, out);
    print_cure(answer, look, out);
    if (answer->held_back.samples > 1) {
        print_loads(answer, &answer->held_back, out);
        plot_excess(answer, &answer->held_back, look, out);
    }
}

#include "apps/cli/pinch_faults.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/command.h"
#include "apps/cli/move_text.h"
#include "apps/cli/pinch_text.h"
#include "io/pinch_number.h"

/* ---- running ----------------------------------------------------------------------------------------------------- */

static int complain(up_status status) {
    fprintf(stderr, "upstop pinch: --faults: the closing with nothing broken does not run: %s\n",
            up_status_text(status));
    return status == UP_BAD_OPTION ? UP_EXIT_INPUT : UP_EXIT_INTERNAL;
}

int up_pinch_faults_run(const up_fault_request *request, up_workers *workers, up_pinch_faults *faults) {
    faults->request = *request;
    up_status status = up_fault_cases(request, NULL, 0, &faults->count);
    if (status != UP_OK) {
        return complain(status);
    }
    const size_t count = (size_t)faults->count;
    faults->cases = calloc(count, sizeof *faults->cases);
    faults->results = calloc(count, sizeof *faults->results);
    if (!faults->cases || !faults->results) {
        fprintf(stderr, "upstop pinch: --faults: out of memory for %d closings\n", faults->count);
        return UP_EXIT_INTERNAL;
    }
    status = up_fault_cases(request, faults->cases, faults->count, &faults->count);
    if (status != UP_OK) {
        return complain(status);
    }
    up_fault_run(request->door, faults->cases, faults->count, workers, faults->results);
    up_fault_add_up(request, faults->cases, faults->results, faults->count, -1, &faults->all);
    for (int i = 0; i < request->rules; i++) {
        up_fault_add_up(request, faults->cases, faults->results, faults->count, i, &faults->rule[i]);
    }
    return -1;
}

void up_pinch_faults_forget(up_pinch_faults *faults) {
    free(faults->cases);
    free(faults->results);
    *faults = (up_pinch_faults){0};
}

const up_fault_sum *up_pinch_faults_of(const up_pinch_faults *faults, const up_rule *rule) {
    for (int i = 0; i < faults->request.rules; i++) {
        if (faults->request.rule[i] == rule) {
            return &faults->rule[i];
        }
    }
    return NULL;
}

int up_pinch_faults_status(const up_pinch_faults *faults) {
    const int pressing = faults->all.verdict[UP_FAULT_KEEPS_PRESSING];
    return pressing > 0 || faults->all.gave_up > 0 ? UP_EXIT_VERDICT : UP_EXIT_OK;
}

char *up_pinch_faults_rules(const up_pinch_faults *faults, const up_fault_rod *rod, char *out, size_t size) {
    size_t used = 0;
    out[0] = '\0';
    for (int i = 0; i < faults->request.rules && used < size; i++) {
        if (rod->rules >> i & 1U) {
            used += (size_t)snprintf(out + used, size - used, "%s%s", used > 0 ? " and " : "",
                                     faults->request.rule[i]->name);
        }
    }
    return out;
}

/* ---- text: one table for nothing in the way and one for each stiffness ---------------------------------------------- */

/* Rods next to each other with the same stiffness for the same rules; first -1, end 0: nothing in the way. */
typedef struct group {
    int first, end;
} group;

static group group_from(const up_fault_request *request, int first) {
    group g = {first, first + 1};
    const up_fault_rod *rod = request->rod;
    while (first >= 0 && g.end < request->rods && rod[g.end].rules == rod[first].rules &&
           !(rod[g.end].stiffness < rod[first].stiffness || rod[g.end].stiffness > rod[first].stiffness)) {
        g.end++;
    }
    return g;
}

typedef struct line {
    int rows, closed, turned, stopped;
    int count[UP_FAULT_KEEPS_PRESSING + 1];   /* by verdict                              */
    double left[UP_FAULT_KEEPS_PRESSING + 1]; /* N, largest force left at the end, by verdict */
    double peak[UP_FAULT_RODS_MAX];           /* N, largest, by rod of the group; -1: all gave up */
} line;

static void count_row(line *l, int column, const up_fault_result *result) {
    const double peak = result->outcome.peak_rod_force;
    const up_end end = result->outcome.end;
    l->rows++;
    l->closed += end == UP_END_CLOSED;
    l->turned += end == UP_END_REVERSED;
    l->stopped += end == UP_END_STOPPED_SHORT || end == UP_END_RELEASED;
    l->count[result->verdict]++;
    l->left[result->verdict] = fmax(l->left[result->verdict], result->final_force);
    l->peak[column] = fmax(l->peak[column], peak);
}

static line line_of(const up_pinch_faults *faults, const group *g, up_fault fault) {
    line l = {0};
    for (int column = 0; column < UP_FAULT_RODS_MAX; column++) {
        l.peak[column] = -1;
    }
    for (int i = 0; i < faults->count; i++) {
        const up_fault_case *row = &faults->cases[i];
        const int mine = row->fault == fault && row->rod >= g->first && row->rod < g->end;
        if (mine && faults->results[i].status == UP_OK) {
            count_row(&l, row->rod - g->first, &faults->results[i]);
        }
    }
    return l;
}

static void say_end(const line *l, const up_plot_look *look, FILE *out) {
    static const char *const words[] = {"", "over", "held", "presses"};
    for (int v = UP_FAULT_KEEPS_PRESSING; v > UP_FAULT_HARMLESS; v--) {
        if (l->count[v] > 0) {
            up_plot_colour(v == UP_FAULT_KEEPS_PRESSING ? UP_COLOUR_SQUEEZE : UP_COLOUR_QUIET, look, out);
            fprintf(out, "  %s %d, %.0f N", words[v], l->count[v], l->left[v]);
            up_plot_plain(look, out);
            break; /* the gravest */
        }
    }
}

/* A column is four letters wide: what only more decimals would tell from the limit stands as "<100" or ">100". */
static void print_peak(double peak, FILE *out) {
    char word[64] = "-";
    if (peak >= 0) {
        up_number_beside(peak, UP_FAULT_FORCE_LIMIT, 0, word, sizeof word);
        if (strlen(word) > 4) {
            snprintf(word, sizeof word, "%c%.0f", peak < UP_FAULT_FORCE_LIMIT ? '<' : '>', UP_FAULT_FORCE_LIMIT);
        }
    }
    fprintf(out, " %4s", word);
}

static void print_line(const line *l, const group *g, up_fault fault, const up_plot_look *look, FILE *out) {
    fprintf(out, "  %-36s%5d", up_fault_text(fault), l->rows);
    if (g->first < 0) {
        fprintf(out, " %6d %6d %7d\n", l->closed, l->turned, l->stopped);
        return;
    }
    fprintf(out, " %6d", l->turned);
    for (int column = 0; column < g->end - g->first; column++) {
        print_peak(l->peak[column], out);
    }
    say_end(l, look, out);
    fputc('\n', out);
}

/* "Rods of 65 N/mm, as US S8.1(b) [memory] asks"; what two rules ask for has two paragraphs, and none is named. */
static void print_group_name(const up_pinch_faults *faults, const group *g, FILE *out) {
    const up_fault_rod *rod = &faults->request.rod[g->first];
    char names[64];
    up_pinch_faults_rules(faults, rod, names, sizeof names);
    fprintf(out, "Test rods of %.4g N/mm", rod->stiffness / 1e3);
    for (int i = 0; i < faults->request.rules; i++) {
        if (rod->rules == 1U << i) {
            const up_rule_number *number = NULL;
            (void)faults->request.rule[i]->rod_stiffness(rod->opening, &number);
            fprintf(out, ", %s %s %s\n", names, number->paragraph, up_pinch_mark(number->source));
            return;
        }
    }
    fprintf(out, "%s%s\n", names[0] ? ", " : "", names);
}

static void print_group(const up_pinch_faults *faults, const group *g, const up_plot_look *look, FILE *out) {
    fputc('\n', out);
    up_plot_colour(UP_COLOUR_INK, look, out);
    if (g->first >= 0) {
        print_group_name(faults, g, out);
        up_plot_plain(look, out);
        fprintf(out, "%51s largest force, N, met so many mm open\n", "");
        fprintf(out, "  %-36s%5s %6s", "", "tried", "turned");
        for (int rod = g->first; rod < g->end; rod++) {
            fprintf(out, " %4.3g", 1e3 * faults->request.rod[rod].opening);
        }
        fputs("  at the end\n", out);
    } else {
        fputs("Nothing in the way\n", out);
        up_plot_plain(look, out);
        fprintf(out, "  %-36s%5s %6s %6s %7s\n", "", "tried", "closed", "turned", "stopped");
    }
    for (int fault = 0; fault < UP_FAULT_COUNT; fault++) {
        const line l = line_of(faults, g, (up_fault)fault);
        if (l.rows > 0) {
            print_line(&l, g, (up_fault)fault, look, out);
        }
    }
}

/* ---- text: single rows --------------------------------------------------------------------------------------------- */

static size_t amount_words(const up_fault_case *row, char *out, size_t size) {
    out[0] = '\0';
    switch (row->fault) {
    case UP_FAULT_CURRENT_OFFSET:
        return (size_t)snprintf(out, size, " (%+.3g A)", row->amount);
    case UP_FAULT_SUPPLY_DIP:
        return isnan(row->length) ? (size_t)snprintf(out, size, " (to %.3g V, for good)", row->amount)
                                  : (size_t)snprintf(out, size, " (to %.3g V, %.3g s)", row->amount, row->length);
    case UP_FAULT_TICK_JITTER:
        return (size_t)snprintf(out, size, " (up to %.3g ms)", 1e3 * row->amount);
    default:
        return 0;
    }
}

/* count: how many of the kind there are; 0: not told. */
static void print_row(const up_fault_case *row, const up_fault_result *result, int count, const up_plot_look *look,
                      FILE *out) {
    char text[400];
    char peak[64];
    size_t used = 0;
    if (count > 0) {
        used = (size_t)snprintf(text, sizeof text, "%d x ", count);
    }
    used += (size_t)snprintf(text + used, sizeof text - used, "rod of %.4g N/mm met %.4g mm open: %s%s",
                             row->rod_stiffness / 1e3, 1e3 * row->rod_opening, up_fault_text(row->fault),
                             row->moment == UP_FAULT_MOMENT_ALWAYS ? "" : ", ");
    if (row->moment == UP_FAULT_MOMENT_AT_TRAVEL) {
        used += (size_t)snprintf(text + used, sizeof text - used, "at %.0f mm of travel", 1e3 * row->travel);
    } else if (row->moment != UP_FAULT_MOMENT_ALWAYS) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%s", up_fault_moment_text(row->moment));
    }
    used += amount_words(row, text + used, sizeof text - used);
    snprintf(text + used, sizeof text - used, ": peak %s N, %.1f N left at the end",
             up_number_beside(result->outcome.peak_rod_force, UP_FAULT_FORCE_LIMIT, 1, peak, sizeof peak),
             result->final_force);
    up_move_print_wrapped(text, 2, look, out);
}

/* The row of this fault that leaves the most force; -1: none keeps pressing. */
static int most_pressing(const up_pinch_faults *faults, up_fault fault, int *count) {
    int worst = -1;
    *count = 0;
    for (int i = 0; i < faults->count; i++) {
        const up_fault_result *result = &faults->results[i];
        if (faults->cases[i].fault == fault && result->status == UP_OK && result->verdict == UP_FAULT_KEEPS_PRESSING) {
            (*count)++;
            worst = worst < 0 || result->final_force > faults->results[worst].final_force ? i : worst;
        }
    }
    return worst;
}

static void print_pressing(const up_pinch_faults *faults, const up_plot_look *look, FILE *out) {
    const int pressing = faults->all.verdict[UP_FAULT_KEEPS_PRESSING];
    char text[200];
    snprintf(text, sizeof text,
             "In %d of %d closings the glass keeps pressing on a rod that it could have felt and freed%s", pressing,
             faults->count, pressing > 0 ? " (the worst of each kind; --json has every closing):" : ".");
    up_move_print_wrapped(text, 0, look, out);
    for (int fault = 0; fault < UP_FAULT_COUNT && pressing > 0; fault++) {
        int count = 0;
        const int worst = most_pressing(faults, (up_fault)fault, &count);
        if (worst >= 0) {
            print_row(&faults->cases[worst], &faults->results[worst], count, look, out);
        }
    }
}

static void print_other_ends(const up_fault_sum *sum, const up_plot_look *look, FILE *out) {
    char text[400];
    if (sum->verdict[UP_FAULT_CLOSED_OVER] > 0) {
        snprintf(text, sizeof text,
                 "\"over\": in %d the rod is so soft and so near the top that the glass closes over it: it ends in the "
                 "last %.0f mm, where no rule asks for reversal, pressing %.0f N at most.",
                 sum->verdict[UP_FAULT_CLOSED_OVER], 1e3 * UP_FAULT_LEAST_OPENING, UP_FAULT_FORCE_LIMIT);
        up_move_print_wrapped(text, 0, look, out);
    }
    if (sum->verdict[UP_FAULT_HELD] > 0) {
        snprintf(text, sizeof text,
                 "\"held\": in %d the battery goes for good while the rod is squeezed: the worm holds what force there "
                 "was then, and nothing can free it without supply.",
                 sum->verdict[UP_FAULT_HELD]);
        up_move_print_wrapped(text, 0, look, out);
    }
}

static void print_rule(const up_pinch_faults *faults, int rule, const up_plot_look *look, FILE *out) {
    const up_fault_sum *sum = &faults->rule[rule];
    if (sum->worst >= 0) {
        fprintf(out, "%s: %d of %d closings onto its rods squeeze with %.0f N or more; the largest force:\n",
                faults->request.rule[rule]->name, sum->over_limit, sum->closings, UP_FAULT_FORCE_LIMIT);
        print_row(&faults->cases[sum->worst], &faults->results[sum->worst], 0, look, out);
    }
}

void up_pinch_faults_print(const up_pinch_faults *faults, const up_plot_look *look, FILE *out) {
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "\nSomething broken: %d closings with one fault each, or none to compare\n", faults->count);
    up_plot_plain(look, out);
    for (group g = group_from(&faults->request, -1); g.first < faults->request.rods;
         g = group_from(&faults->request, g.end)) {
        print_group(faults, &g, look, out);
    }
    fputc('\n', out);
    print_pressing(faults, look, out);
    print_other_ends(&faults->all, look, out);
    for (int i = 0; i < faults->request.rules; i++) {
        print_rule(faults, i, look, out);
    }
    if (faults->all.gave_up > 0) {
        fprintf(out, "%d closings gave up and are in no figure above.\n", faults->all.gave_up);
    }
}

#include "apps/cli/pinch_faults.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/command.h"
#include "apps/cli/move_text.h"
#include "io/json_run.h"
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
    return -1;
}

void up_pinch_faults_forget(up_pinch_faults *faults) {
    free(faults->cases);
    free(faults->results);
    *faults = (up_pinch_faults){0};
}

static int gave_up(const up_pinch_faults *faults) {
    int count = 0;
    for (int i = 0; i < faults->count; i++) {
        count += faults->results[i].status != UP_OK;
    }
    return count;
}

int up_pinch_faults_status(const up_pinch_faults *faults) {
    const int pressing = up_fault_tally(faults->results, faults->count, UP_FAULT_KEEPS_PRESSING);
    return pressing > 0 || gave_up(faults) > 0 ? UP_EXIT_VERDICT : UP_EXIT_OK;
}

/* ---- text: one line a fault and obstacle -------------------------------------------------------------------------- */

typedef struct line {
    int rows, closed, reversed, stopped, other;
    int count[UP_FAULT_KEEPS_PRESSING + 1];   /* by verdict */
    double left[UP_FAULT_KEEPS_PRESSING + 1]; /* N, largest force left at the end, by verdict */
    double low, high;                         /* N, smallest and largest peak */
} line;

/* A rod's opening, or NAN for nothing in the way; the rows of a table have exactly these values. */
static int same_obstacle(double a, double b) {
    return (isnan(a) && isnan(b)) || a == b;
}

static void count_end(line *l, up_end end) {
    switch (end) {
    case UP_END_CLOSED:
        l->closed++;
        break;
    case UP_END_REVERSED:
        l->reversed++;
        break;
    case UP_END_STOPPED_SHORT:
    case UP_END_RELEASED:
        l->stopped++;
        break;
    default:
        l->other++;
        break;
    }
}

static line line_of(const up_pinch_faults *faults, double opening, up_fault fault) {
    line l = {.low = HUGE_VAL, .high = -HUGE_VAL};
    for (int i = 0; i < faults->count; i++) {
        const up_fault_case *row = &faults->cases[i];
        const up_fault_result *result = &faults->results[i];
        if (row->fault != fault || !same_obstacle(row->rod_opening, opening) || result->status != UP_OK) {
            continue;
        }
        const double peak = result->outcome.peak_rod_force;
        l.rows++;
        count_end(&l, result->outcome.end);
        l.count[result->verdict]++;
        l.left[result->verdict] = fmax(l.left[result->verdict], result->final_force);
        l.low = fmin(l.low, peak);
        l.high = fmax(l.high, peak);
    }
    return l;
}

static void say_end(const line *l, const up_plot_look *look, FILE *out) {
    static const char *const words[] = {"", "closes over", "held", "presses on"};
    for (int v = UP_FAULT_KEEPS_PRESSING; v > UP_FAULT_HARMLESS; v--) {
        if (l->count[v] > 0) {
            up_plot_colour(v == UP_FAULT_KEEPS_PRESSING ? UP_COLOUR_SQUEEZE : UP_COLOUR_QUIET, look, out);
            fprintf(out, "  %s %d, %.0f N", words[v], l->count[v], l->left[v]);
            up_plot_plain(look, out);
            break; /* the gravest */
        }
    }
    fputc('\n', out);
}

static void print_line(const line *l, up_fault fault, int rod, const up_plot_look *look, FILE *out) {
    char peak[32] = "-"; /* every run gave up */
    if (l->high >= l->low) {
        char low[32];
        char high[32];
        snprintf(low, sizeof low, "%.0f", l->low);
        up_number_beside(l->high, UP_FAULT_FORCE_LIMIT, 0, high, sizeof high);
        snprintf(peak, sizeof peak, strcmp(low, high) == 0 ? "%s" : "%s-%s", low, high);
    }
    fprintf(out, "  %-36s %5d %6d %6d %7d", up_fault_text(fault), l->rows, l->closed, l->reversed, l->stopped);
    if (rod) {
        fprintf(out, "  %8s", peak);
        say_end(l, look, out);
    } else {
        fputc('\n', out);
    }
}

static void print_obstacle(const up_pinch_faults *faults, double opening, const up_plot_look *look, FILE *out) {
    const int rod = !isnan(opening);
    fputc('\n', out);
    up_plot_colour(UP_COLOUR_INK, look, out);
    if (rod) {
        fprintf(out, "Test rod of %.4g N/mm met %.4g mm open\n", faults->request.rod_stiffness / 1e3, 1e3 * opening);
    } else {
        fputs("Nothing in the way\n", out);
    }
    up_plot_plain(look, out);
    fprintf(out, "  %-36s %5s %6s %6s %7s%s\n", "", "tried", "closed", "turned", "stopped",
            rod ? "   peak, N  at the end" : "");
    for (int fault = 0; fault < UP_FAULT_COUNT; fault++) {
        const line l = line_of(faults, opening, (up_fault)fault);
        if (l.rows > 0) {
            print_line(&l, (up_fault)fault, rod, look, out);
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
    used += (size_t)snprintf(text + used, sizeof text - used, "rod at %.4g mm: %s%s", 1e3 * row->rod_opening,
                             up_fault_text(row->fault), row->moment == UP_FAULT_MOMENT_ALWAYS ? "" : ", ");
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
    char text[200];
    fputc('\n', out);
    if (up_fault_tally(faults->results, faults->count, UP_FAULT_KEEPS_PRESSING) == 0) {
        snprintf(text, sizeof text,
                 "In none of %d closings the glass keeps pressing on a rod that it could have felt and freed.",
                 faults->count);
        up_move_print_wrapped(text, 0, look, out);
        return;
    }
    fputs("The glass keeps pressing (the worst of each kind; --json has every closing):\n", out);
    for (int fault = 0; fault < UP_FAULT_COUNT; fault++) {
        int count = 0;
        const int worst = most_pressing(faults, (up_fault)fault, &count);
        if (worst >= 0) {
            print_row(&faults->cases[worst], &faults->results[worst], count, look, out);
        }
    }
}

static void print_summary(const up_pinch_faults *faults, const up_plot_look *look, FILE *out) {
    const int worst = up_fault_worst(faults->results, faults->count);
    const int held = up_fault_tally(faults->results, faults->count, UP_FAULT_HELD);
    const int over = up_fault_tally(faults->results, faults->count, UP_FAULT_CLOSED_OVER);
    char text[400];
    if (over > 0) {
        snprintf(text, sizeof text,
                 "In %d closings the rod is so soft and so near the top that the glass closes over it: it ends in the "
                 "last %.0f mm, where no rule asks for reversal, pressing %.0f N at most.",
                 over, 1e3 * UP_FAULT_LEAST_OPENING, UP_FAULT_FORCE_LIMIT);
        up_move_print_wrapped(text, 0, look, out);
    }
    if (held > 0) {
        snprintf(text, sizeof text,
                 "In %d closings the battery goes for good while the rod is squeezed: the worm holds what force there "
                 "was then, and nothing can free it without supply.",
                 held);
        up_move_print_wrapped(text, 0, look, out);
    }
    if (worst >= 0) {
        fprintf(out, "%d of %d closings squeeze with %.0f N or more; the largest force:\n",
                up_fault_over_limit(faults->results, faults->count), faults->count, UP_FAULT_FORCE_LIMIT);
        print_row(&faults->cases[worst], &faults->results[worst], 0, look, out);
    }
    if (gave_up(faults) > 0) {
        fprintf(out, "%d closings gave up and are in no figure above.\n", gave_up(faults));
    }
}

void up_pinch_faults_print(const up_pinch_faults *faults, const up_plot_look *look, FILE *out) {
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "\nSomething broken: %d closings, one fault in each\n", faults->count);
    up_plot_plain(look, out);
    print_obstacle(faults, NAN, look, out);
    for (int i = 0; i < faults->request.rods; i++) {
        print_obstacle(faults, faults->request.rod_opening[i], look, out);
    }
    print_pressing(faults, look, out);
    print_summary(faults, look, out);
}

/* ---- JSON ---------------------------------------------------------------------------------------------------------- */

static const char *amount_unit(up_fault fault) {
    return fault == UP_FAULT_CURRENT_OFFSET ? "A" : fault == UP_FAULT_SUPPLY_DIP ? "V" : "s";
}

static void set_result(json_t *json, const up_fault_result *result, double closed_travel) {
    const up_outcome *o = &result->outcome;
    up_json_set(json, "status", json_string(result->status == UP_OK ? "done" : up_status_text(result->status)));
    char end[32];
    up_json_set(json, "end", json_string(up_trace_word(up_end_name(o->end), end, sizeof end)));
    up_json_set(json, "end_text", json_string(up_end_text(o->end)));
    up_json_set(json, "peak_rod_force", up_json_quantity(o->peak_rod_force, "N"));
    up_json_set(json, "final_rod_force", up_json_quantity(result->final_force, "N"));
    up_json_set(json, "final_opening", up_json_quantity(closed_travel - o->final_travel, "m"));
    up_json_set(json, "reversals", json_integer(o->reversals));
    up_json_set(json, "driven", json_boolean(result->driven));
    up_json_set(json, "verdict", json_string(up_fault_verdict_word(result->verdict)));
}

static json_t *row_json(const up_fault_case *row, const up_fault_result *result, double closed_travel) {
    json_t *json = json_object();
    up_json_set(json, "fault", json_string(up_fault_name(row->fault)));
    up_json_set(json, "text", json_string(up_fault_text(row->fault)));
    up_json_set(json, "moment", json_string(up_fault_moment_name(row->moment)));
    up_json_set(json, "rod_opening", up_json_quantity(row->rod_opening, "m"));
    up_json_set(json, "travel", up_json_quantity(row->travel, "m"));
    up_json_set(json, "time", up_json_quantity(row->time, "s"));
    up_json_set(json, "edge", row->edge > 0 ? json_integer((json_int_t)row->edge) : json_null());
    up_json_set(json, "amount", up_json_quantity(row->amount, amount_unit(row->fault)));
    up_json_set(json, "length", up_json_quantity(row->length, "s"));
    set_result(json, result, closed_travel);
    return json;
}

json_t *up_pinch_faults_json(const up_pinch_faults *faults) {
    json_t *json = json_object();
    json_t *list = json_array();
    const int worst = up_fault_worst(faults->results, faults->count);
    for (int i = 0; i < faults->count; i++) {
        json_array_append_new(list, row_json(&faults->cases[i], &faults->results[i], faults->request.door->travel));
    }
    up_json_set(json, "rod_stiffness", up_json_quantity(faults->request.rod_stiffness, "N/m"));
    up_json_set(json, "closings", json_integer(faults->count));
    up_json_set(json, "gave_up", json_integer(gave_up(faults)));
    for (int v = UP_FAULT_HARMLESS; v <= UP_FAULT_KEEPS_PRESSING; v++) {
        static const char *const key[] = {"come_free", "close_over", "held_without_supply", "keep_pressing"};
        up_json_set(json, key[v], json_integer(up_fault_tally(faults->results, faults->count, (up_fault_verdict)v)));
    }
    up_json_set(json, "reach_limit", json_integer(up_fault_over_limit(faults->results, faults->count)));
    up_json_set(json, "worst", worst >= 0 ? json_integer(worst) : json_null());
    up_json_set(json, "cases", list);
    return json;
}

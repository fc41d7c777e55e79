/* The answers of `upstop move` in words, for people. */
#ifndef UPSTOP_CLI_MOVE_TEXT_H
#define UPSTOP_CLI_MOVE_TEXT_H

#include <stdio.h>

#include "apps/cli/move_run.h"
#include "io/terminal_plot.h"

/* Everything, to `out`. */
void up_move_print(const up_move_answer *answer, const up_plot_look *look, FILE *out);

/* One line each, UTF-8, for the chart; return out. */
char *up_move_title(const up_move_answer *answer, char *out, size_t size);
char *up_move_outcome(const up_move_answer *answer, char *out, size_t size);

/* The smallest squeezing force that a rule sets as its limit, N, and its words; NaN and "" without a rod. */
double up_move_force_limit(const up_move_answer *answer, char *words, size_t size);

/* The parts. */
void up_move_print_heading(const char *text, const up_plot_look *look, FILE *out);
void up_move_print_answers(const up_move_answer *answer, const up_plot_look *look, FILE *out);
void up_move_print_rod(const up_move_answer *answer, const up_plot_look *look, FILE *out);
void up_move_print_cause(const up_move_answer *answer, const up_plot_look *look, FILE *out);
void up_move_print_energy(const up_move_answer *answer, const up_plot_look *look, FILE *out);
void up_move_print_plots(const up_move_answer *answer, const up_plot_look *look, FILE *out);

/* A quantity in the unit people use for it: "4.52 s", "98.3 N"; the digits follow the width of the interval. The
 * interval without unit, "3.9 to 5.4"; "" when there is none. */
char *up_move_show(double si, const char *unit, double width, char *out, size_t size);
char *up_move_show_interval(double low, double high, const char *unit, char *out, size_t size);

/* Text wrapped to the width, each line after the indent; hanging: the first line goes on where the cursor is. */
void up_move_print_hanging(const char *text, int indent, const up_plot_look *look, FILE *out);
void up_move_print_wrapped(const char *text, int indent, const up_plot_look *look, FILE *out);

#endif

/* The answers of `upstop vary` in words, for people. */
#ifndef UPSTOP_CLI_VARY_TEXT_H
#define UPSTOP_CLI_VARY_TEXT_H

#include <stdio.h>

#include "apps/cli/vary_run.h"
#include "io/terminal_plot.h"

/* Everything, to `out`. */
void up_vary_print(const up_vary_answer *answer, const up_plot_look *look, FILE *out);

/* Parts. */
void up_vary_print_rare(const up_vary_answer *answer, const up_plot_look *look, FILE *out);
void up_vary_print_rank(const up_vary_answer *answer, const up_plot_look *look, FILE *out);
void up_vary_print_measures(const up_vary_answer *answer, const up_plot_look *look, FILE *out);

/* "4.1 %", "0.00032 %"; "2,000,000"; "2,000 closings", "1 closing"; "1 in 240", "" for a half and more. Return out. */
char *up_vary_percent(double share, char *out, size_t size);
char *up_vary_count_text(uint64_t count, char *out, size_t size);
char *up_vary_closings_text(uint64_t count, char *out, size_t size);
char *up_vary_one_in(double share, char *out, size_t size);

/* "4.1 % (95 %: 3.9 to 4.3 %)" */
char *up_vary_share_text(double share, double low, double high, char *out, size_t size);

#endif

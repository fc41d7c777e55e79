/* The answers of `upstop pinch` in words, for people. */
#ifndef UPSTOP_CLI_PINCH_TEXT_H
#define UPSTOP_CLI_PINCH_TEXT_H

#include <stdio.h>

#include "apps/cli/pinch_run.h"
#include "io/terminal_plot.h"

/* Everything but the table of faults and the last words. */
void up_pinch_print(const up_pinch_answer *answer, const up_plot_look *look, FILE *out);

/* What this is and is not, and the cautions. */
void up_pinch_print_end(const up_pinch_answer *answer, const up_plot_look *look, FILE *out);

/* The parts. */
void up_pinch_print_rule(const up_pinch_answer *answer, const up_pinch_rule *rule, const up_plot_look *look, FILE *out);
void up_pinch_print_table(const up_pinch_rule *rule, const up_plot_look *look, FILE *out);
void up_pinch_print_story(const up_pinch_rule *rule, const up_plot_look *look, FILE *out);
void up_pinch_print_helps(const up_pinch_rule *rule, const up_plot_look *look, FILE *out);

/* "rod of 5.1 mm, 71 % of the header from the front, 15.98 V, 29 degC, wear 3 %, 65 N/mm"; returns out. */
char *up_pinch_place_words(const up_pinch_result *result, char *out, size_t size);

/* "9 to 16 V, -30 to 80 degC, new to worn out ..."; degrees: the sign for it. Returns out. */
char *up_pinch_range_words(const up_pinch_range *range, const char *degrees, char *out, size_t size);

/* "[read]" or "[memory]" */
const char *up_pinch_mark(up_source source);

#endif

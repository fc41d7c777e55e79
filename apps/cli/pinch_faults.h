/* The table of faults of `upstop pinch --faults`: something broken in the closing of one door. */
#ifndef UPSTOP_CLI_PINCH_FAULTS_H
#define UPSTOP_CLI_PINCH_FAULTS_H

#include <jansson.h>
#include <stdio.h>

#include "analysis/faults.h"
#include "io/terminal_plot.h"

typedef struct up_pinch_faults {
    up_fault_request request;
    int count;
    up_fault_case *cases;     /* count; heap */
    up_fault_result *results; /* count; heap */
    up_fault_sum all;
    up_fault_sum rule[UP_FAULT_RULES_MAX]; /* of request.rule[], on its rods */
} up_pinch_faults;

/* Runs the table. request: from up_fault_request_default, changed as wished; its door and options must stay until
 * up_pinch_faults_forget, which is called in every case. *faults: zeroed by the caller.
 * Returns -1, or an exit status after one message on stderr. */
int up_pinch_faults_run(const up_fault_request *request, up_workers *workers, up_pinch_faults *faults);
void up_pinch_faults_forget(up_pinch_faults *faults);

/* The sum of this rule; NULL: not in the table. */
const up_fault_sum *up_pinch_faults_of(const up_pinch_faults *faults, const up_rule *rule);

/* UP_EXIT_VERDICT when the glass keeps pressing in some case or a run gave up, else UP_EXIT_OK. */
int up_pinch_faults_status(const up_pinch_faults *faults);

/* The rules that ask for a rod, "US" or "US and UN"; "" for none. Returns out. */
char *up_pinch_faults_rules(const up_pinch_faults *faults, const up_fault_rod *rod, char *out, size_t size);

/* Text for people, and a JSON object (docs/json.md, "pinch --faults"; NULL when memory is short). */
void up_pinch_faults_print(const up_pinch_faults *faults, const up_plot_look *look, FILE *out);
json_t *up_pinch_faults_json(const up_pinch_faults *faults);

#endif

/* One closing at a time, by calls that WebAssembly can carry: numbers in, numbers out, no struct crosses the border.
 *
 * Order: closing_typical, then any number of closing_set_... and closing_add_..., closing_run, then the questions. A new
 * closing_typical forgets everything. Each instance of the module is a world of its own; on this machine, where tests
 * build the same file, it is one for the whole program and not for threads. All units as in core/sim/run.h: SI, kelvin.
 * Texts are ASCII that ends with a zero byte, at the returned address of the module's memory; they stay. An index outside
 * its range gives NaN, 0 or "". */
#ifndef UPSTOP_WASM_CLOSING_H
#define UPSTOP_WASM_CLOSING_H

/* ---- the door ------------------------------------------------------------------------------------------------------ */

/* Typical values of a family (up_family), default options, one-touch raising. 0, or up_status UP_BAD_VALUE. */
int closing_typical(int family);
/* Entries of the door sheet that are numbers, by the names of core/door/entries.def. */
int closing_number_count(void);
const char *closing_number_name(int number);
double closing_number(int number);
void closing_set_number(int number, double value);
/* Entries that are one of several words, by the word's place. */
int closing_choice_count(void);
const char *closing_choice_name(int choice);
void closing_set_choice(int choice, int value);
/* 0, or UP_BAD_VALUE when there is no place left. */
int closing_add_drag_point(double position, double force);

/* ---- the run ------------------------------------------------------------------------------------------------------- */

/* The plain members of up_run_options, by name. */
int closing_option_count(void);
const char *closing_option_name(int option);
void closing_set_option(int option, double value);
/* The first call of closing_add_switch replaces the one-touch raising. 0, or UP_BAD_OPTION when there is no place left. */
int closing_add_switch(double time, int position);
int closing_add_supply(double time, double open_voltage);
/* Prepares the door and runs; an up_status. Sample rows beyond closing_sample_room are dropped, and events beyond
 * closing_event_room. */
int closing_run(void);

/* ---- what came out ------------------------------------------------------------------------------------------------- */

const char *closing_status_text(int status);
/* Members of up_outcome as numbers: the end first, as an up_end, the ledger's accounts last. */
int closing_result_count(void);
const char *closing_result_name(int result);
double closing_result(int result);
int closing_sample_room(void);
int closing_sample_count(void);
int closing_column_count(void);
const char *closing_column_name(int column);
const char *closing_column_unit(int column);
double closing_sample(int row, int column);
/* All samples, row by row, closing_column_count numbers to a row: for a view into the memory. */
const double *closing_samples(void);
int closing_event_room(void);
int closing_event_count(void);
const char *closing_event_name(int event);
const char *closing_event_text(int event);
double closing_event_time(int event);
double closing_event_travel(int event);
double closing_event_force(int event);
/* Encoder edges: how many, and FNV-1a over the bits of their times, for comparing two builds. */
double closing_edge_count(void);
unsigned long long closing_edge_digest(void);

#endif

/* Inside the sheet reader: what its files share. Not for others; use io/sheet.h. */
#ifndef UPSTOP_IO_SHEET_READER_H
#define UPSTOP_IO_SHEET_READER_H

#include "io/entry_texts.h"
#include "io/findings.h"
#include "io/sheet.h"
#include "io/sheet_quantity.h"
#include "io/sheet_tree.h"
#include "io/units.h"

#define UP_DRAG_POINTS_KEY "seal.drag_points"

enum { UP_SHEET_FORMAT = 1, UP_PHRASE_MAX = 400 };

typedef struct up_reader {
    up_sheet *sheet;
    up_findings *findings;
    up_units *units;
    up_family family;
    up_values typical; /* of the family */
    double typical_spread[UP_NUMBER_COUNT];
    int out_of_memory;
} up_reader;

/* Adds a finding of severity error. */
void up_complain(up_reader *reader, up_finding_code code, up_place place, const char *entry, const char *found,
                 const char *expected, const char *mend);
void up_warn(up_reader *reader, up_finding_code code, up_place place, const char *entry, const char *found,
             const char *expected, const char *mend);

/* "text" in quotes, cut when long, into out; returns out. */
char *up_quoted(const char *text, char *out, size_t size);

/* A copy that is freed with free, NULL and out_of_memory set when there is no memory. */
char *up_keep(up_reader *reader, const char *text);

/* Nothing written: an empty value, ~ or null. */
int up_node_is_empty(const up_node *node);

/* The entry in its short or long form taken apart. `value` NULL: a finding was added. Checks the keys of the long form. */
typedef struct up_forms {
    const up_node *value, *tolerance, *from, *note;
} up_forms;
int up_take_forms(up_reader *reader, const char *key, const up_node *node, up_forms *forms);

/* Mark and note of the long form; returns 0 when a finding was added. */
int up_take_from(up_reader *reader, const char *key, const up_forms *forms, int *has_mark, up_mark *mark);
int up_take_note(up_reader *reader, const up_forms *forms, char **note);

void up_read_number(up_reader *reader, up_number number, const up_node *node);
void up_read_choice(up_reader *reader, up_choice choice, const up_node *node);
void up_read_drag_points(up_reader *reader, const up_node *node);

/* Geometry of a sheet whose values are all sound by themselves: asks the core, gives each answer its place. */
void up_check_door(up_reader *reader);

/* "a mass such as 3.6 kg, from 0.1 to 60 kg" */
char *up_expected_number(up_reader *reader, up_number number, char *out, size_t size);

#endif

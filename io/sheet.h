/* A door sheet: the text file in which a person writes what was counted and measured on one door.
 * The format is described in docs/sheet-format.md. */
#ifndef UPSTOP_IO_SHEET_H
#define UPSTOP_IO_SHEET_H

#include <stddef.h>

#include "analysis/known.h"
#include "io/findings.h"
#include "io/units.h"

enum {
    UP_SHEET_SIZE_MAX = 1 << 20, /* bytes; a longer file is refused                 */
    UP_SHEET_DEPTH_MAX = 8       /* mappings and lists inside one another           */
};

typedef struct up_place {
    int line, column; /* from 1; 0: not in the file */
} up_place;

typedef struct up_sheet {
    up_known known; /* values SI, spreads SI, marks; what the file left out is the family's typical value, ASSUMED */
    up_place number_place[UP_NUMBER_COUNT]; /* where the value stands; line 0: the file left it out                 */
    up_place choice_place[UP_CHOICE_COUNT];
    up_place drag_place;                /* of seal.drag_points                                                  */
    up_mark drag_mark;                  /* ASSUMED when left out                                                */
    char *path;                         /* as given; "stdin" for "-"; never NULL                                */
    char *title;                        /* never NULL; "" when there is none                                    */
    char *notes;                        /* never NULL; several notes are joined by line ends                    */
    char *number_note[UP_NUMBER_COUNT]; /* of the long form; NULL: none                                         */
    char *choice_note[UP_CHOICE_COUNT];
} up_sheet;

/* Reads a sheet. Every problem goes into *findings (which may already hold some), in the order of the file.
 * path: a file name, or "-" for standard input.
 * Returns 0: usable (there may be warnings); 2: findings holds at least one error; 3: out of memory.
 * *sheet is filled in every case, as far as it got, and must be given to up_sheet_free. */
int up_sheet_read_file(const char *path, up_sheet *sheet, up_findings *findings);

/* The same from memory; name is shown as the file's name. text need not be terminated. */
int up_sheet_read_text(const char *text, size_t size, const char *name, up_sheet *sheet, up_findings *findings);

/* The same with the caller's units, for programs that read many sheets: each reading of the units database costs some
 * milliseconds, and UDUNITS-2 keeps about 8 kB of it until the process ends, whatever is freed. */
int up_sheet_read_with(up_units *units, const char *text, size_t size, const char *name, up_sheet *sheet,
                       up_findings *findings);

/* Was the entry given in the file? Otherwise it is assumed, or unknown when it has no typical value. */
static inline int up_sheet_has_number(const up_sheet *sheet, up_number number) {
    return sheet->number_place[number].line > 0;
}
static inline int up_sheet_has_choice(const up_sheet *sheet, up_choice choice) {
    return sheet->choice_place[choice].line > 0;
}

void up_sheet_free(up_sheet *sheet);

#endif

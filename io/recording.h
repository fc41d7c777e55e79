/* A recording as an instrument wrote it: what stands in the file, and what was understood of it.
 *
 * Text tables in many shapes, MAT files and WAV sound are read into columns of SI values with their time bases, together
 * with the reasons for every choice, so that a person can see them before they are used and say otherwise. docs/recordings.md
 * tells how each choice is made. Memory grows with the numbers, not with the file: text is read in blocks. */
#ifndef UPSTOP_IO_RECORDING_H
#define UPSTOP_IO_RECORDING_H

#include <stddef.h>
#include <stdio.h>

#include "analysis/fit/recorded.h"
#include "io/units.h"

enum {
    UP_COLUMNS_MAX = 256, /* columns of one table                                   */
    UP_FACTS_MAX = 200,   /* statements of a preamble that are kept                 */
    UP_NOTES_MAX = 100,   /* remarks that are kept; the rest are only counted       */
    UP_GAPS_MAX = 20,     /* gaps listed for a time base; the rest are only counted */
    UP_SAID_MAX = 32,     /* columns that can be said                               */
    UP_COLUMN_UNIT_MAX = 48,
    UP_FACT_TEXT_MAX = 96,
    UP_NOTE_TEXT_MAX = 240
};

/* ---- what can be said instead of being found ---- */

/* One column said by a person. unit "": as found, or SI. A unit like "100 mV/A" is the sensitivity of a probe: the file's
 * volts are divided by it. */
typedef enum up_said_kind { UP_SAID_SIGNAL, UP_SAID_TIME, UP_SAID_NUMBERING, UP_SAID_NOTHING } up_said_kind;

typedef struct up_said_column {
    char name[UP_FACT_TEXT_MAX]; /* as found in the file, or the column's number from 1 */
    up_said_kind kind;
    up_signal signal;
    char unit[UP_COLUMN_UNIT_MAX];
} up_said_column;

/* Start with up_recording_options_usual. */
typedef struct up_recording_options {
    double rate;     /* Hz; NaN: found in the file                                   */
    double start;    /* s, time of the first sample, with rate only; NaN: as found, or 0 */
    double from, to; /* s; only samples between them are kept; NaN: all              */
    int part;        /* where time starts anew: which part, from 1; 0: the longest    */
    char separator;  /* between cells: ',' ';' '\t' ' ' '|'; 0: found                 */
    char decimal;    /* '.' or ','; 0: found                                         */
    long first_line; /* line of the first samples, from 1; 0: found                   */
    int keep_spikes; /* 1: single wild samples stay                                  */
    int said_count;
    up_said_column said[UP_SAID_MAX];
} up_recording_options;

void up_recording_options_usual(up_recording_options *options);

/* Words for quantities, as --column takes and `upstop read` shows them: "voltage", "current", "speed" ... */
const char *up_signal_word(up_signal signal);
const char *up_signal_unit(up_signal signal, int on_glass); /* SI: "V", "A", "rad/s" or "m/s" ... */

/* Reads NAME=QUANTITY[UNIT], quantity one of up_signal_word, "time", "number" (of the sample), "nothing". Returns 0, or -1
 * and what should have been there in *expected (static). */
int up_said_column_read(const char *text, up_said_column *said, const char **expected);

/* ---- what was understood ---- */

typedef enum up_file_kind { UP_FILE_TEXT, UP_FILE_MAT, UP_FILE_WAV } up_file_kind;

/* One statement of the preamble. */
typedef struct up_fact {
    long line;                    /* from 1; 0: not a text file                  */
    int column;                   /* of the value, cells from 1                  */
    char key[UP_FACT_TEXT_MAX];   /* "Sample Interval"                           */
    char value[UP_FACT_TEXT_MAX]; /* "4.0e-06 s", as written                     */
    double number;                /* NaN: it is none                             */
    char unit[UP_COLUMN_UNIT_MAX];
    int used; /* 1: something above follows from it          */
} up_fact;

typedef enum up_role {
    UP_ROLE_SIGNAL,    /* a quantity of up_signal, handed to the analysis               */
    UP_ROLE_TIME,      /* its numbers are the time base                                 */
    UP_ROLE_NUMBERING, /* sample numbers                                                */
    UP_ROLE_TWIN,      /* the other edge of a peak-detecting channel, no channel itself */
    UP_ROLE_UNKNOWN,   /* numbers, but of what?                                         */
    UP_ROLE_TEXT,      /* words, which nothing here uses                                */
    UP_ROLE_EMPTY,     /* nothing in it                                                 */
    UP_ROLE_NOTHING,   /* said to be left out                                           */
    UP_ROLE_COUNT
} up_role;

const char *up_role_word(up_role role);

typedef struct up_column {
    char name[UP_FACT_TEXT_MAX];   /* as found, UTF-8; "" when there is none       */
    char unit[UP_COLUMN_UNIT_MAX]; /* as found; "" when there is none              */
    const char *unit_from;         /* "in brackets", "in the row of units" ... ; static */
    up_role role;
    up_signal signal;      /* role SIGNAL and TWIN                                       */
    int on_glass;          /* speed, position: of the glass                              */
    const char *why;       /* what the quantity follows from; static                     */
    double factor, offset; /* SI value = factor * number in the file + offset            */
    int base;              /* index of its time base; -1: none                           */
    int twin_of;           /* index of the channel; -1                                   */
    size_t count;          /* values                                                     */
    double *value;         /* (count) SI, NaN: missing; owned; NULL for TIME, TEXT, EMPTY */
    size_t missing;        /* of them                                                    */
    size_t empty;          /* rows of the file without a number here, before groups were told apart */
    size_t unreadable;     /* cells that hold something that is no number                */
    long unreadable_line;  /* the first of them: line, column in characters, text        */
    int unreadable_column;
    char unreadable_text[32];
    size_t over;      /* cells in which the instrument says "overrange"             */
    size_t spikes;    /* single wild samples taken for read errors, now missing     */
    size_t spike_row; /* the first of them                                          */
    double spike_value;
    double low, high;                 /* SI, of all values; NaN when there is none                  */
    double step;                      /* quantisation; NaN: not seen                                */
    double low_clip, high_clip;       /* NaN: not seen                                      */
    size_t clipped_low, clipped_high; /* samples there                                    */
} up_column;

typedef enum up_time_how {
    UP_TIME_COLUMN,   /* a column of times                                               */
    UP_TIME_STAMPS,   /* date and time of day                                            */
    UP_TIME_STATED,   /* the interval or rate stated in the preamble                     */
    UP_TIME_NUMBERED, /* sample numbers, with start and step stated in another row       */
    UP_TIME_SAID,     /* --rate                                                          */
    UP_TIME_FORMAT,   /* the file's format carries the rate (WAV)                        */
    UP_TIME_STRIDE,   /* every n-th row of another time base has a value                 */
    UP_TIME_NONE
} up_time_how;

typedef struct up_gap {
    size_t row;        /* samples before it                      */
    double at, length; /* s: time of the last sample before it, time without samples */
} up_gap;

typedef struct up_time_base {
    up_time_how how;
    int column;               /* of the times or numbers; -1                                             */
    int of, stride, phase;    /* STRIDE: the base it is a part of, every stride-th sample from phase; else -1, 1, 0 */
    size_t count;             /* samples                                                                 */
    double start, interval;   /* s; interval NaN: uneven, time[] holds                                   */
    double *time;             /* (count) s, rising; owned; NULL when even                                */
    double shortest, longest; /* s: steps as printed                                                     */
    double usual;             /* s: the usual step; NaN: there is none                                   */
    double rounded_to;        /* s: times are printed rounded to this; NaN: they are not                 */
    double stated;            /* s: interval stated in the preamble; NaN: none                           */
    int gap_count;
    up_gap gap[UP_GAPS_MAX];
    size_t gaps; /* all of them                                                             */
    char reason[UP_NOTE_TEXT_MAX];
} up_time_base;

/* A remark, or the reason for which nothing could be read. */
typedef struct up_note {
    int warning; /* 1: look at it; 0: good to know */
    long line;   /* 0: the whole file               */
    int column;
    char text[UP_NOTE_TEXT_MAX];
} up_note;

typedef struct up_problem {
    long line; /* from 1; 0: the whole file */
    int column;
    char found[UP_NOTE_TEXT_MAX], expected[UP_NOTE_TEXT_MAX], mend[UP_NOTE_TEXT_MAX];
} up_problem;

enum { UP_BASES_MAX = 32 };

typedef struct up_recording {
    char *path; /* owned; "stdin" for - */
    up_file_kind kind;
    const char *encoding; /* "UTF-8", "UTF-16LE" ...; static                        */
    char separator, decimal;
    int rows_quoted;             /* whole rows stand in quotes                         */
    long names_line, units_line; /* 0: none                                          */
    long first_line, last_line;  /* of the samples; 0 when not text                  */
    size_t rows;                 /* of samples in the file                           */
    int parts, part;             /* time starts anew parts - 1 times; the one kept, from 1 */
    size_t part_row;             /* its first row                                    */
    size_t prose;                /* lines between samples that hold none, skipped    */
    long prose_line;
    size_t ragged; /* rows with too few or too many cells              */
    long ragged_line;
    size_t nul_bytes;
    size_t mended_times; /* times that were missing or out of order, put right from their neighbours */
    long mended_line;
    char begun[UP_FACT_TEXT_MAX]; /* date and time of day of the first sample; "" */
    int fact_count;
    up_fact *fact; /* (fact_count) */
    int column_count;
    up_column *column; /* (column_count) in the order of the file */
    int base_count;
    up_time_base base[UP_BASES_MAX];
    int note_count;
    up_note *note;
    int notes_left_out;
} up_recording;

/* Reads the file at path ("-": standard input). Returns 0; 2 when it cannot be understood, then *problem says why;
 * 3 when memory is short. Free with up_recording_free after any of them. */
int up_recording_read(const char *path, const up_recording_options *options, up_recording *recording,
                      up_problem *problem);

/* The same from an open text stream; path is for messages only. MAT and WAV need a file and are refused. */
int up_recording_read_text(FILE *file, const char *path, const up_recording_options *options, up_recording *recording,
                           up_problem *problem);

/* The same with a units database that is there already: reading it takes some milliseconds. */
int up_recording_read_text_with(up_units *units, FILE *file, const char *path, const up_recording_options *options,
                                up_recording *recording, up_problem *problem);

void up_recording_free(up_recording *recording);

/* One line "path:line:column: found ...; expected ...; mend". */
void up_problem_print(const up_problem *problem, const char *path, FILE *out);

/* Time of the last sample, s; the start when there is none. */
double up_time_base_end(const up_time_base *base);

/* Hands the signals to the analysis; the arrays stay the recording's. At most UP_TRACKS_MAX: returns how many signals did
 * not fit. */
int up_recording_tracks(const up_recording *recording, up_recorded *recorded);

#endif

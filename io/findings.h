/* What is wrong or doubtful in something a person wrote: each finding has a place, what was found, what was expected
 * and how to mend it. All texts are copied and owned by the list. */
#ifndef UPSTOP_IO_FINDINGS_H
#define UPSTOP_IO_FINDINGS_H

#include <stdio.h>

#define UP_FINDING_LIST(X)                                                                \
    X(FILE_UNREADABLE, "file-unreadable", "the file cannot be read")                      \
    X(TEXT_BROKEN, "text-broken", "the text is not plain UTF-8 or not YAML")              \
    X(NOT_SUPPORTED, "not-supported", "YAML that a door sheet does not use")              \
    X(WRONG_SHAPE, "wrong-shape", "a mapping, list or text stands where another belongs") \
    X(MISSING, "missing", "something every sheet needs is not there")                     \
    X(DUPLICATE, "duplicate", "an entry is given twice")                                  \
    X(UNKNOWN_ENTRY, "unknown-entry", "no entry has this name")                           \
    X(UNKNOWN_WORD, "unknown-word", "the word is none of those allowed")                  \
    X(NOT_A_NUMBER, "not-a-number", "no number can be read")                              \
    X(UNIT_MISSING, "unit-missing", "the number needs its unit")                          \
    X(UNIT_UNKNOWN, "unit-unknown", "the unit is not known")                              \
    X(WRONG_DIMENSION, "wrong-dimension", "the unit measures another kind of thing")      \
    X(OUT_OF_BOUNDS, "out-of-bounds", "the value lies outside what is possible")          \
    X(BAD_TOLERANCE, "bad-tolerance", "the tolerance makes no sense")                     \
    X(NOT_FOR_FAMILY, "not-for-family", "this regulator family does not use the entry")   \
    X(GEOMETRY, "geometry", "the parts do not fit together")                              \
    X(DOUBTFUL, "doubtful", "possible, but worth a second look")

typedef enum up_finding_code {
#define UP_FINDING_ENUM(id, word, text) UP_FOUND_##id,
    UP_FINDING_LIST(UP_FINDING_ENUM)
#undef UP_FINDING_ENUM
        UP_FOUND_COUNT
} up_finding_code;

typedef enum up_severity { UP_SEVERITY_WARNING, UP_SEVERITY_ERROR } up_severity;

typedef struct up_finding {
    up_finding_code code;
    up_severity severity;
    int line, column;              /* both from 1; 0: the whole file                       */
    char *entry;                   /* "glass.mass"; "" when it belongs to no entry          */
    char *found, *expected, *mend; /* one plain phrase each, never NULL            */
} up_finding;

/* Start with {0}; free with up_findings_free. `count` never passes UP_FINDINGS_MAX: the rest are only counted. */
enum { UP_FINDINGS_MAX = 200 };

typedef struct up_findings {
    up_finding *item; /* (count) */
    int count, capacity;
    int errors, warnings; /* all that were added, also those past UP_FINDINGS_MAX */
    int out_of_memory;    /* 1: some finding could not be kept                    */
} up_findings;

/* "unit-missing" and so on; static storage. */
const char *up_finding_word(up_finding_code code);
const char *up_finding_text(up_finding_code code);

/* Adds one. The three texts and entry are copied; NULL counts as "". Control characters are shown escaped. */
void up_findings_add(up_findings *findings, up_finding_code code, up_severity severity, int line, int column,
                     const char *entry, const char *found, const char *expected, const char *mend);

/* Puts them in the order of the file. */
void up_findings_sort(up_findings *findings);

/* Four lines each, `path:line:column: error in entry` first. Prints nothing when there are none. */
void up_findings_print(const up_findings *findings, const char *path, FILE *out);

void up_findings_free(up_findings *findings);

#endif

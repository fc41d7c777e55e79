/* What each column is: from what was said, from its unit, from its name. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "io/recording/bases.h"
#include "io/recording/draft.h"
#include "io/recording/stamp.h"
#include "io/recording/words.h"
#include "io/sheet_suggest.h"

/* ---- what was said ---- */

static int names_column(const up_recording *recording, const char *name, int at) {
    char *end = NULL;
    const long number = strtol(name, &end, 10);
    if (end != name && *end == '\0') {
        return number == at + 1;
    }
    return strcasecmp(name, recording->column[at].name) == 0;
}

static int no_such_column(up_draft *draft, const up_said_column *said) {
    const up_recording *recording = draft->recording;
    char found[UP_NOTE_TEXT_MAX], expected[UP_NOTE_TEXT_MAX], mend[UP_NOTE_TEXT_MAX], called[80];
    const char *best = NULL;
    int apart = 0;
    size_t at = (size_t)snprintf(expected, sizeof expected, "one of");
    for (int i = 0; i < recording->column_count && at < sizeof expected; i++) {
        up_suggest(said->name, recording->column[i].name, &best, &apart);
        at += (size_t)snprintf(expected + at, sizeof expected - at, "%s %s", i > 0 ? "," : "",
                               up_column_called(recording, i, called, sizeof called));
    }
    snprintf(found, sizeof found, "no column \"%s\", which --column names", said->name);
    if (best != NULL) {
        snprintf(mend, sizeof mend, "did you mean \"%s\"?", best);
    } else {
        snprintf(mend, sizeof mend, "write the name as above, or the column's number from 1");
    }
    return up_problem_set(draft->problem, 0, 0, found, expected, mend);
}

static int find_said(up_draft *draft) {
    const up_recording *recording = draft->recording;
    for (int i = 0; i < recording->column_count; i++) {
        draft->said_of[i] = -1;
    }
    for (int s = 0; s < draft->options->said_count; s++) {
        int found = 0;
        for (int i = 0; i < recording->column_count; i++) {
            if (names_column(recording, draft->options->said[s].name, i)) {
                draft->said_of[i] = s;
                found = 1;
            }
        }
        if (!found) {
            return no_such_column(draft, &draft->options->said[s]);
        }
    }
    return 0;
}

static int wrong_unit(up_draft *draft, int column, const char *unit, const char *wanted) {
    char found[UP_NOTE_TEXT_MAX], expected[UP_NOTE_TEXT_MAX], called[80];
    snprintf(found, sizeof found, "the unit \"%s\" for %s", unit,
             up_column_called(draft->recording, column, called, sizeof called));
    snprintf(expected, sizeof expected, "a unit of %s", wanted);
    return up_problem_set(
        draft->problem, 0, 0, found, expected,
        "write it in brackets, such as --column NAME=current[mA]; a probe's sensitivity is current[100 mV/A]");
}

static int apply_said(up_draft *draft, int at) {
    const up_said_column *said = &draft->options->said[draft->said_of[at]];
    up_column *column = &draft->recording->column[at];
    column->why = "said with --column";
    if (said->kind == UP_SAID_NOTHING) {
        column->role = UP_ROLE_NOTHING;
        return 0;
    }
    if (column->role == UP_ROLE_TEXT || column->role == UP_ROLE_EMPTY) {
        char found[UP_NOTE_TEXT_MAX], called[80];
        snprintf(found, sizeof found, "words in %s, which --column takes for a quantity",
                 up_column_called(draft->recording, at, called, sizeof called));
        return up_problem_set(draft->problem, draft->recording->first_line, 0, found, "a column of numbers",
                              "name another column");
    }
    if (said->kind == UP_SAID_NUMBERING) {
        column->role = UP_ROLE_NUMBERING;
        return 0;
    }
    const char *unit = said->unit[0] != '\0' ? said->unit : column->unit;
    if (said->kind == UP_SAID_TIME) {
        const up_unit_meaning meaning = up_unit_look(draft->units, unit[0] != '\0' ? unit : "s");
        column->role = UP_ROLE_TIME;
        column->factor = meaning.factor;
        if (meaning.dimension != UP_DIMENSION_TIME && draft->stamp_has[at] == 0) {
            return wrong_unit(draft, at, unit, "time");
        }
        return 0;
    }
    column->role = UP_ROLE_SIGNAL;
    column->signal = said->signal;
    const up_unit_meaning meaning = up_unit_look(draft->units, unit);
    column->on_glass = (said->signal == UP_SIGNAL_SPEED || said->signal == UP_SIGNAL_POSITION) && meaning.on_glass;
    if (up_unit_for(draft->units, unit, column->unit, said->signal, column->on_glass, &column->factor,
                    &column->offset) != 0) {
        if (said->unit[0] == '\0') { /* a column named wrongly may carry a wrong unit too */
            column->factor = 1;
            column->offset = 0;
            up_note_add(draft->recording, 1, 0, 0,
                        "%s stands under the unit \"%s\", said to be %s: its numbers are taken for %s", column->name,
                        column->unit, up_signal_word(said->signal), up_signal_unit(said->signal, 0));
            return 0;
        }
        return wrong_unit(draft, at, unit, up_signal_word(said->signal));
    }
    return 0;
}

/* ---- what was found ---- */

static void from_name_alone(up_draft *draft, int at, up_meaning says, up_signal signal, int on_glass) {
    up_column *column = &draft->recording->column[at];
    char called[80];
    up_column_called(draft->recording, at, called, sizeof called);
    if (says == UP_MEANS_TIME) {
        column->role = UP_ROLE_TIME;
        column->why = "its name";
    } else if (says == UP_MEANS_NUMBERING) {
        column->role = UP_ROLE_NUMBERING;
        column->why = "its name";
    } else if (says == UP_MEANS_SIGNAL) {
        column->role = UP_ROLE_SIGNAL;
        column->signal = signal;
        column->on_glass = on_glass;
        column->why = "its name";
        if (signal != UP_SIGNAL_PULSES && signal != UP_SIGNAL_SOUND) {
            up_note_add(draft->recording, 1, draft->recording->names_line, 0,
                        "%s has no unit that is known: taken for %s", called, up_signal_unit(signal, on_glass));
        }
    }
}

static void find_meaning(up_draft *draft, int at) {
    up_column *column = &draft->recording->column[at];
    up_signal signal = UP_SIGNAL_COUNT;
    int on_glass = 0;
    char called[80];
    const up_meaning says = up_name_meaning(column->name, &signal, &on_glass);
    const up_unit_meaning unit = up_unit_look(draft->units, column->unit);
    if (draft->stamp_has[at] != 0) {
        column->role = UP_ROLE_TIME;
        column->why = "dates or times of day";
    } else if (unit.dimension == UP_DIMENSION_TIME) {
        column->role = UP_ROLE_TIME;
        column->factor = unit.factor;
        column->why = "its unit";
    } else if (unit.dimension == UP_DIMENSION_SIGNAL) {
        column->role = UP_ROLE_SIGNAL;
        column->signal = unit.signal;
        column->on_glass = unit.on_glass;
        column->factor = unit.factor;
        column->offset = unit.offset;
        column->why = "its unit";
        if (says == UP_MEANS_SIGNAL && signal != unit.signal) {
            if (unit.signal == UP_SIGNAL_VOLTAGE && (signal == UP_SIGNAL_PULSES || signal == UP_SIGNAL_SOUND)) {
                column->signal = signal; /* their leads carry volts */
                column->why = "its name";
            } else {
                up_note_add(draft->recording, 1, draft->recording->names_line, 0,
                            "%s sounds like %s, but its unit is %s: taken for %s; --column says otherwise",
                            up_column_called(draft->recording, at, called, sizeof called), up_signal_word(signal),
                            column->unit, up_signal_word(unit.signal));
            }
        }
    } else {
        up_signal other;
        const int numbering = up_name_meaning(column->unit, &other, &on_glass) == UP_MEANS_NUMBERING;
        if (numbering) { /* "Sequence" in the row of units */
            from_name_alone(draft, at, UP_MEANS_NUMBERING, signal, 0);
            column->why = "its unit";
            return;
        }
        if (column->unit[0] != '\0' && unit.dimension == UP_DIMENSION_NONE && says != UP_MEANS_NUMBERING) {
            up_note_add(draft->recording, 1, draft->recording->names_line, 0, "%s: the unit \"%s\" is not known",
                        up_column_called(draft->recording, at, called, sizeof called), column->unit);
        }
        /* "i" in front of the others that counts by one is no current. */
        const int counts = at == 0 && says == UP_MEANS_SIGNAL && column->count > 2 && up_column_counts_by_one(column);
        from_name_alone(draft, at, counts ? UP_MEANS_NUMBERING : says, signal, on_glass);
    }
}

/* One edge of an envelope never crosses the other. */
static int never_cross(const up_column *a, const up_column *b) {
    int above = 0, below = 0;
    for (size_t i = 0; a->value != NULL && b->value != NULL && i < a->count && i < b->count; i++) {
        above |= a->value[i] > b->value[i];
        below |= a->value[i] < b->value[i];
    }
    return !(above && below);
}

/* A peak-detecting channel comes as two columns: one edge of the envelope is no second channel. */
static void find_twin(up_recording *recording, int at) {
    up_column *column = &recording->column[at];
    size_t length;
    const int by_name = up_name_is_twin(column->name, &length);
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *other = &recording->column[i];
        const int same = by_name && strlen(other->name) >= length &&
                         strncasecmp(other->name, column->name, length) == 0 &&
                         (other->name[length] == '\0' || strchr(" _-:/(", other->name[length]) != NULL);
        const int repeated =
            i < at && column->name[0] != '\0' && strcmp(other->name, column->name) == 0 && never_cross(other, column);
        if (i != at && other->role == UP_ROLE_SIGNAL && other->signal == column->signal && (same || repeated)) {
            column->role = UP_ROLE_TWIN;
            column->twin_of = i;
            column->why = by_name ? "its name" : "the same name again";
            return;
        }
    }
}

int up_columns_meaning(up_draft *draft) {
    up_recording *recording = draft->recording;
    int status = find_said(draft);
    for (int i = 0; i < recording->column_count && status == 0; i++) {
        if (draft->said_of[i] >= 0) {
            status = apply_said(draft, i);
        } else if (recording->column[i].role == UP_ROLE_UNKNOWN) {
            find_meaning(draft, i);
        }
    }
    for (int i = 0; i < recording->column_count && status == 0; i++) {
        if (draft->said_of[i] < 0 && recording->column[i].role == UP_ROLE_SIGNAL) {
            find_twin(recording, i);
        }
    }
    return status;
}

/* One entry that is a word, and the list of drag points. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "io/sheet_number.h"
#include "io/sheet_reader.h"
#include "io/sheet_suggest.h"

enum { WORD_TEXT_MAX = 80, CHOICE_WORDS_MAX = 8 };

/* "single-arm, crossed-arms, cable or rack" */
static char *words_listed(up_choice choice, char *out, size_t size) {
    char word[WORD_TEXT_MAX];
    int count = up_choice_words_count(choice);
    size_t at = 0;
    out[0] = '\0';
    for (int i = 0; i < count && at < size; i++) {
        const char *join = i == 0 ? "" : (i == count - 1 ? " or " : ", ");
        at += (size_t)snprintf(out + at, size - at, "%s%s", join, up_choice_word(choice, i, word, sizeof word));
    }
    return out;
}

static void complain_word(up_reader *reader, up_choice choice, const up_node *node, const char *word) {
    char found[UP_PHRASE_MAX], expected[UP_PHRASE_MAX], mend[UP_PHRASE_MAX];
    char candidates[CHOICE_WORDS_MAX][WORD_TEXT_MAX];
    const up_choice_text *text = up_entry_text_of_choice(choice);
    const char *best = NULL;
    int apart = 0, count = up_choice_words_count(choice);
    for (int i = 0; i < count && i < CHOICE_WORDS_MAX; i++) {
        up_suggest(word, up_choice_word(choice, i, candidates[i], sizeof candidates[i]), &best, &apart);
    }
    if (best != NULL) {
        snprintf(mend, sizeof mend, "did you mean %s?", best);
    } else {
        snprintf(mend, sizeof mend, "%s", text->how);
    }
    up_complain(reader, UP_FOUND_UNKNOWN_WORD, node->place, text->key, up_quoted(node->text, found, sizeof found),
                words_listed(choice, expected, sizeof expected), mend);
}

/* Cuts a mark off the end of the word. */
static int split_mark(char *word, int *has_mark, up_mark *mark) {
    char *last = strrchr(word, ' ');
    if (last != NULL && up_mark_read(last + 1, mark)) {
        *has_mark = 1;
        *last = '\0';
        size_t length = strlen(word);
        while (length > 0 && (word[length - 1] == ' ' || word[length - 1] == ',')) {
            word[--length] = '\0';
        }
    }
    return *has_mark;
}

void up_read_choice(up_reader *reader, up_choice choice, const up_node *node) {
    up_sheet *sheet = reader->sheet;
    const up_choice_text *text = up_entry_text_of_choice(choice);
    char word[WORD_TEXT_MAX];
    int has_mark = 0;
    up_mark mark = UP_MARK_COUNTED; /* looked at on this door */
    up_forms forms;
    if (!up_take_forms(reader, text->key, node, &forms)) {
        return;
    }
    if (forms.tolerance != NULL) {
        up_complain(reader, UP_FOUND_BAD_TOLERANCE, forms.tolerance->place, text->key, "a tolerance",
                    "none: the value is a word", "take the line out");
    }
    int index = -1;
    if (up_trimmed(forms.value->text, word, sizeof word)) {
        split_mark(word, &has_mark, &mark);
        index = up_choice_index(choice, word);
    }
    if (index < 0) {
        complain_word(reader, choice, forms.value, word);
        return;
    }
    if (up_take_from(reader, text->key, &forms, &has_mark, &mark) &&
        up_take_note(reader, &forms, &sheet->choice_note[choice])) {
        sheet->known.values.choice[choice] = index;
        sheet->known.choice_mark[choice] = mark;
    }
}

/* ---- seal.drag_points ---- */

static const char points_expected[] = "a list of [position, force], like [[0 mm, 3 N], [350 mm, 18 N]]";
enum { FORCE_MAX = 2000 }; /* N, the bound of run-channel drag */

static int complain_points(up_reader *reader, up_finding_code code, const up_node *node, const char *found,
                           const char *mend) {
    up_complain(reader, code, node->place, UP_DRAG_POINTS_KEY, found, points_expected, mend);
    return 0;
}

static int read_coordinate(up_reader *reader, const up_node *node, const char *unit, double *value) {
    char found[UP_PHRASE_MAX], mend[UP_PHRASE_MAX];
    int unit_missing = 0, not_a_number = 0;
    if (node->kind != UP_NODE_TEXT) {
        return complain_points(reader, UP_FOUND_WRONG_SHAPE, node, "a list or mapping", "write a number with its unit");
    }
    up_quoted(node->text, found, sizeof found);
    up_unit_status status = up_units_read(reader->units, node->text, unit, value, &unit_missing, &not_a_number);
    if (status == UP_UNIT_OK) {
        return 1;
    }
    snprintf(mend, sizeof mend, "write a number and a unit such as %s", unit);
    return complain_points(reader,
                           not_a_number                        ? UP_FOUND_NOT_A_NUMBER
                           : unit_missing                      ? UP_FOUND_UNIT_MISSING
                           : status == UP_UNIT_WRONG_DIMENSION ? UP_FOUND_WRONG_DIMENSION
                                                               : UP_FOUND_UNIT_UNKNOWN,
                           node, found, mend);
}

static int read_point(up_reader *reader, const up_node *node) {
    up_values *values = &reader->sheet->known.values;
    double position, force, low, high;
    if (node->kind != UP_NODE_LIST || node->first == NULL || node->first->next == NULL ||
        node->first->next->next != NULL) {
        return complain_points(reader, UP_FOUND_WRONG_SHAPE, node, "a point that is not a pair",
                               "write [position, force]");
    }
    if (!read_coordinate(reader, node->first, "m", &position) ||
        !read_coordinate(reader, node->first->next, "N", &force)) {
        return 0;
    }
    up_number_bounds(UP_NUMBER_glass_travel, &low, &high);
    if (position < 0 || position > high || fabs(force) > FORCE_MAX) {
        return complain_points(reader, UP_FOUND_OUT_OF_BOUNDS, node, "a point outside what is possible",
                               "positions count from the down-stop, 0 to 1.5 m; forces up to 2000 N");
    }
    if (values->drag_count > 0 && !(position > values->drag_position[values->drag_count - 1])) {
        return complain_points(reader, UP_FOUND_OUT_OF_BOUNDS, node, "a position not above the one before",
                               "list the points from the bottom to the top");
    }
    if (values->drag_count == UP_DRAG_POINTS_MAX) {
        return complain_points(reader, UP_FOUND_OUT_OF_BOUNDS, node, "more than 16 points", "keep at most 16 points");
    }
    values->drag_position[values->drag_count] = position;
    values->drag_force[values->drag_count] = force;
    values->drag_count++;
    return 1;
}

void up_read_drag_points(up_reader *reader, const up_node *node) {
    if (node->kind != UP_NODE_LIST) {
        complain_points(reader, UP_FOUND_WRONG_SHAPE, node, "something that is not a list", "write a list of pairs");
        return;
    }
    reader->sheet->drag_mark = UP_MARK_MEASURED;
    for (const up_node *point = node->first; point != NULL && read_point(reader, point); point = point->next) {
    }
}

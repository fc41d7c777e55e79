#include "apps/cli/refit_screws.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/command.h"

enum { WORD = 24 };

static int bad_screw(const char *text, const char *expected, const char *mend) {
    return up_cli_bad_option("refit", "screw", text, expected, mend);
}

static const char example[] = "for example --screw \"regulator rail=M6 8.8 oiled\"";

/* ---- one screw as written ---- */

/* The next word, cut to its room; returns what follows it. */
static const char *next_word(const char *text, char word[WORD]) {
    const char *begin = text + strspn(text, " \t");
    const size_t length = strcspn(begin, " \t");
    snprintf(word, WORD, "%.*s", (int)(length < WORD ? length : WORD), begin);
    return begin + length;
}

/* "M6", "M6x0.75" */
static int read_thread(const char *word, up_thread *thread) {
    char *end = NULL;
    if (word[0] != 'M' && word[0] != 'm') {
        return -1;
    }
    const double diameter = 1e-3 * strtod(word + 1, &end);
    const up_thread_size *size = end != word + 1 ? up_thread_size_of(diameter) : NULL;
    if (!size) {
        return -1;
    }
    *thread = (up_thread){size->diameter, size->coarse_pitch};
    if (*end == 'x' || *end == 'X') {
        const char *pitch = end + 1;
        thread->pitch = 1e-3 * strtod(pitch, &end);
        if (end == pitch) {
            return -1;
        }
    }
    return *end == '\0' && thread->pitch >= 0.2e-3 && thread->pitch <= size->coarse_pitch + 1e-9 ? 0 : -1;
}

static int find_word(const char *word, int count, const char *(*word_of)(int)) {
    for (int i = 0; i < count; i++) {
        if (strcmp(word, word_of(i)) == 0) {
            return i;
        }
    }
    return -1;
}

static const char *class_word(int i) {
    return up_screw_class_word((up_screw_class)i);
}

static const char *lubrication_word(int i) {
    return up_lubrication_word((up_lubrication)i);
}

static const char *into_word(int i) {
    return up_thread_in_word((up_thread_in)i);
}

/* Size and class, then what may follow in any order. Returns -1 when all is well. */
static int read_rest(const char *text, const char *rest, up_refit_screw *screw) {
    char word[WORD];
    rest = next_word(rest, word);
    if (read_thread(word, &screw->screw.thread) != 0) {
        return bad_screw(
            text, "a size from M3 to M16, behind the =, such as M6 or M8x1 (no pitch above the coarse one)", example);
    }
    rest = next_word(rest, word);
    const int screw_class = find_word(word, UP_SCREW_CLASS_COUNT, class_word);
    if (screw_class < 0) {
        return bad_screw(text, "the property class on the head behind the size: 4.6 to 12.9, such as 8.8", example);
    }
    screw->screw.screw_class = (up_screw_class)screw_class;
    for (rest = next_word(rest, word); word[0]; rest = next_word(rest, word)) {
        const int lubrication = find_word(word, UP_LUBRICATION_COUNT, lubrication_word);
        int into = -1;
        if (strcmp(word, "into") == 0) {
            rest = next_word(rest, word);
            into = find_word(word, UP_THREAD_IN_COUNT, into_word);
        }
        if (lubrication < 0 && into < 0) {
            return bad_screw(text, "dry, oiled or greased, and into nut, weld-nut or plastic behind the class",
                             example);
        }
        screw->screw.lubrication = lubrication >= 0 ? (up_lubrication)lubrication : screw->screw.lubrication;
        screw->screw.into = into >= 0 ? (up_thread_in)into : screw->screw.into;
        screw->into_given |= into >= 0;
    }
    return -1;
}

int up_refit_read_screw(const char *text, up_refit_screw *screw) {
    const char *equals = strchr(text, '=');
    size_t length = equals ? (size_t)(equals - text) : 0;
    *screw = (up_refit_screw){.given = 1, .screw = {.into = UP_THREAD_IN_WELD_NUT}};
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    if (length == 0 || length >= UP_REFIT_NAME) {
        return bad_screw(text, "the place that it holds, at most 39 letters, an =, and the screw", example);
    }
    for (size_t i = 0; i < length; i++) {
        if ((unsigned char)text[i] < ' ' || text[i] == 0x7F) {
            return bad_screw("a name with control characters", "plain words before the =", example);
        }
    }
    memcpy(screw->name, text, length);
    json_t *utf8 = json_string(screw->name); /* which knows UTF-8 */
    if (!utf8) {
        return bad_screw("a name that is not UTF-8", "plain words before the =", example);
    }
    json_decref(utf8);
    return read_rest(text, equals + 1, screw);
}

char *up_refit_thread_words(const up_screw *screw, char *out, size_t size) {
    const up_thread_size *known = up_thread_size_of(screw->thread.diameter);
    if (known && fabs(known->coarse_pitch - screw->thread.pitch) < 1e-9) {
        snprintf(out, size, "M%g", 1e3 * screw->thread.diameter);
    } else {
        snprintf(out, size, "M%gx%g", 1e3 * screw->thread.diameter, 1e3 * screw->thread.pitch);
    }
    return out;
}

/* ---- usual screws ---- */

/* Common practice, no source: M6 of class 8.8 all of them. */
static const struct {
    const char *name;
    int families;
    up_thread_in into;
} usual[] = {
    {"motor to regulator", UP_ALL, UP_THREAD_IN_WELD_NUT},
    {"regulator to door", UP_ARMS, UP_THREAD_IN_WELD_NUT},
    {"equaliser rail to door", UP_CROSSED, UP_THREAD_IN_WELD_NUT},
    {"rail to door", UP_FOR_CABLE, UP_THREAD_IN_WELD_NUT},
    {"track to door", UP_FOR_RACK, UP_THREAD_IN_WELD_NUT},
    {"glass clamp", UP_ALL, UP_THREAD_IN_PLASTIC},
};

static int take_given(up_refit_screw *given, int *count, const char *name, up_refit_screw *out) {
    for (int i = 0; i < *count; i++) {
        if (strcmp(given[i].name, name) == 0) {
            *out = given[i];
            memmove(&given[i], &given[i + 1], (size_t)(*count - i - 1) * sizeof *given);
            (*count)--;
            return 1;
        }
    }
    return 0;
}

int up_refit_usual_screws(up_refit *refit, up_family family) {
    up_refit_screw given[UP_REFIT_SCREWS];
    int left = refit->screws;
    memcpy(given, refit->screw, sizeof given);
    refit->screws = 0;
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++) {
        if (!(usual[i].families & 1 << family)) {
            continue;
        }
        up_refit_screw *screw = &refit->screw[refit->screws++];
        if (!take_given(given, &left, usual[i].name, screw)) {
            *screw = (up_refit_screw){.screw = {{6e-3, 1e-3}, UP_SCREW_C8_8, UP_LUBRICATION_DRY, usual[i].into}};
            snprintf(screw->name, sizeof screw->name, "%s", usual[i].name);
        } else if (!screw->into_given) {
            screw->screw.into = usual[i].into;
        }
    }
    if (refit->screws + left > UP_REFIT_SCREWS) {
        return bad_screw(given[left - 1].name, "at most 12 screws together with the usual ones",
                         "leave some out, or write a second card");
    }
    memcpy(&refit->screw[refit->screws], given, (size_t)left * sizeof *given);
    refit->screws += left;
    return -1;
}
